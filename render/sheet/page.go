package sheet

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"

	"stepscan/render/view"
)

// The sheet is A4 landscape (ISO 216) with the frame of ISO 5457: 20 mm at the
// left for filing, 10 mm elsewhere.
const (
	pageW, pageH = 297.0, 210.0
	frameX0      = 20.0
	frameY0      = 10.0
	frameX1      = pageW - 10
	frameY1      = pageH - 10
)

// Font sizes, mm. Capitals of a common sans-serif font are 0.72 of the size, so
// these give the heights 1.8, 2.5 and 3.5 mm of the series of ISO 3098-1: notes,
// names and dimensions, the heading.
const (
	small  = 2.5
	normal = 3.5
	title  = 4.9
)

// Colours of Okabe and Ito, Color Universal Design (2008): told apart by
// people with any common colour vision; their grey values differ as well.
const (
	vermillion = "#D55E00"
	blue       = "#0072B2"
	green      = "#009E73"
	orange     = "#E69F00"
	purple     = "#CC79A7"
	skyBlue    = "#56B4E9"
)

// style is the one style block of a sheet: restyling needs no other place.
// Line widths are those of the series of ISO 128-2 (before: 128-20), 0.13, 0.18,
// 0.25, 0.35, 0.5 and 0.7 mm. Line types follow its table and ISO 128-3 (before:
// 128-24): continuous wide for outlines, narrow for edges, hatching, dimension
// and leader lines (01), dashed narrow for what is out of sight (02), long-dashed
// dotted for axes and cutting planes (04), long-dashed double-dotted for the tool
// and for parts in front (05), narrow with a zigzag where a thing is broken off.
const style = `
text{font-family:sans-serif;fill:#000}
.s{font-size:2.5px}.n{font-size:3.5px}.h{font-size:4.9px;font-weight:bold}
.dim{fill:#555}.b{font-weight:bold}.e{text-anchor:end}.m{text-anchor:middle}
.paper{fill:#fff}
path,line,circle,rect,polyline{fill:none;stroke-linejoin:round;stroke-linecap:round}
.frame{stroke:#000;stroke-width:.5}.rule{stroke:#000;stroke-width:.18}.ring{stroke:#000;stroke-width:.35}
.part .contour{stroke:#000;stroke-width:.35}.part .edge{stroke:#000;stroke-width:.18}.part .cut{stroke:#000;stroke-width:.5}
.light .contour{stroke:#777;stroke-width:.18}.light .edge{stroke:#aaa;stroke-width:.13}.light .cut{stroke:#777;stroke-width:.25}
.product .light .contour{stroke:#333;stroke-width:.25}.product .light .edge{stroke:#888;stroke-width:.13}.product .fastener .contour{stroke-width:.35}.product .fastener .edge{stroke-width:.13}
.fastener .contour{stroke:#0072B2;stroke-width:.5}.fastener .edge{stroke:#0072B2;stroke-width:.25}.fastener .cut{stroke:#0072B2;stroke-width:.5}
.obstacle .contour{stroke:#D55E00;stroke-width:.7}.obstacle .edge{stroke:#D55E00;stroke-width:.35}.obstacle .cut{stroke:#D55E00;stroke-width:.7}
#across .obstacle .contour{stroke-width:.35}#across .obstacle .edge{stroke-width:.18}#across .also .contour{stroke-width:.25}
#place .obstacle .contour{stroke-width:.5}#place .obstacle .edge{stroke-width:.18}#place .fastener .contour{stroke-width:.35}#place .fastener .edge{stroke-width:.13}
.also .contour{stroke:#D55E00;stroke-width:.35}.also .edge{stroke:#D55E00;stroke-width:.18}.also .cut{stroke:#D55E00;stroke-width:.5}
.ghost .contour,.ghost .edge,.ghost .cut{stroke:#D55E00;stroke-width:.25;stroke-dasharray:3 .8 .6 .8 .6 .8}
.inside .contour,.inside .edge{stroke:#0072B2;stroke-width:.25;stroke-dasharray:1.2 .6}
.hatch{stroke:#000;stroke-width:.13}.light .hatch{stroke:#999}.obstacle .hatch{stroke:#D55E00;stroke-width:.25}.also .hatch{stroke:#D55E00;stroke-width:.18}
.area{fill:#f6f6f6;stroke:none}.light .area{fill:#fafafa}.obstacle .area{fill:#fbdcc6}.also .area{fill:#fdeee2}
.mask{fill:#fff;stroke:none}.part .mask{fill:#ececec}.fastener .mask{fill:#d5e9f6}
.tool{stroke:#000;stroke-width:.25;stroke-dasharray:4 .8 .7 .8 .7 .8}.toolarea{fill:#56B4E9;fill-opacity:.16;stroke:none}
.axis{stroke:#000;stroke-width:.18;stroke-dasharray:5 1 .6 1}
.trace{stroke:#000;stroke-width:.25;stroke-dasharray:5 1 .6 1}.traceend{stroke:#000;stroke-width:.7}
.dimline,.break{stroke:#000;stroke-width:.18}.arrow{fill:#000;stroke:none}
.needed{stroke:#000;stroke-width:.35;stroke-dasharray:1.6 .9}.free{stroke:#D55E00;stroke-width:.5}
.hit{fill:#D55E00;stroke:#fff;stroke-width:.25}.halo{fill:#fff;fill-opacity:.85;stroke:none}
.leader{stroke:#000;stroke-width:.18}.dot{fill:#000;stroke:none}
.hand{fill:#000;stroke:#fff;stroke-width:.25}.person{fill:#fff;stroke:#000;stroke-width:.35}
.place{stroke:#0072B2;stroke-width:.5}.behind{stroke-dasharray:1.2 .9}
.sign{fill:#999;stroke:#000;stroke-width:.25}.unseen{fill-opacity:.35;stroke-dasharray:.8 .5}
.v-clear{fill:` + green + `}.v-after{fill:` + skyBlue + `}.v-turn{fill:` + orange + `}.v-two{fill:` + purple + `}.v-blocked{fill:` + vermillion + `}
`

// page collects one sheet.
type page struct {
	b bytes.Buffer
}

// open writes the head of the document. Names have been cleaned, and are
// escaped here.
func (g *page) open(heading, desc string) {
	fmt.Fprintf(&g.b, `<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="297mm" height="210mm" viewBox="0 0 297 210" role="img" aria-labelledby="title desc">
<title id="title">%s</title>
<desc id="desc">%s</desc>
<style type="text/css">%s</style>
<rect class="paper" x="0" y="0" width="297" height="210"/>
`, escape(heading), escape(desc), style)
}

func (g *page) close() []byte {
	g.b.WriteString("</svg>\n")
	return g.b.Bytes()
}

func escape(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;").Replace(s)
}

// mm prints a coordinate with at most two decimals; what is not finite, which
// callers keep out, becomes 0 so that the sheet stays readable.
func mm(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "0"
	}
	s := strconv.FormatFloat(math.Round(v*100)/100, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

func finite(p view.Point) bool {
	s := p.X + p.Y
	return !math.IsNaN(s - s)
}

// group opens a group; end closes it.
func (g *page) group(id, class string) {
	g.b.WriteString("<g")
	if id != "" {
		fmt.Fprintf(&g.b, ` id="%s"`, id)
	}
	if class != "" {
		fmt.Fprintf(&g.b, ` class="%s"`, class)
	}
	g.b.WriteString(">\n")
}

func (g *page) end() { g.b.WriteString("</g>\n") }

// text writes one line with its baseline at p; class holds size, weight and
// anchor.
func (g *page) text(p view.Point, class, s string) {
	if s == "" || !finite(p) {
		return
	}
	fmt.Fprintf(&g.b, "<text class=\"%s\" x=\"%s\" y=\"%s\">%s</text>\n", class, mm(p.X), mm(p.Y), escape(s))
}

// path writes many lines, or areas, as one element.
func (g *page) path(class string, paths [][]view.Point, closed bool) {
	var d []byte
	for _, p := range paths {
		d = appendPath(d, p, closed)
	}
	if len(d) > 0 {
		fmt.Fprintf(&g.b, "<path class=\"%s\" d=\"%s\"/>\n", class, d)
	}
}

// appendPath appends the path data of one line, with arcs where it is round.
// Points that fall on the one before, at two decimals, are left out.
func appendPath(d []byte, p []view.Point, closed bool) []byte {
	if len(p) < 2 {
		return d
	}
	for _, q := range p {
		if !finite(q) {
			return d
		}
	}
	d = append(d, 'M')
	d = appendPoint(d, p[0])
	for i := 1; i < len(p); {
		if n, c, r, sense := arcFrom(p[i-1:]); n > 0 {
			d = appendArc(d, p[i-1:i-1+n], c, r, sense)
			i += n - 1
			continue
		}
		if mm(p[i].X) != mm(p[i-1].X) || mm(p[i].Y) != mm(p[i-1].Y) {
			d = append(d, 'L')
			d = appendPoint(d, p[i])
		}
		i++
	}
	if closed {
		d = append(d, 'Z')
	}
	return d
}

func (g *page) line(class string, pts ...view.Point) { g.path(class, [][]view.Point{pts}, false) }

func (g *page) polygon(class string, pts ...view.Point) { g.path(class, [][]view.Point{pts}, true) }

func (g *page) circle(class string, c view.Point, r float64) {
	if finite(c) && r > 0 && !math.IsInf(r, 0) {
		fmt.Fprintf(&g.b, "<circle class=\"%s\" cx=\"%s\" cy=\"%s\" r=\"%s\"/>\n", class, mm(c.X), mm(c.Y), mm(r))
	}
}

func (g *page) rect(class string, r view.Rect) {
	fmt.Fprintf(&g.b, "<rect class=\"%s\" x=\"%s\" y=\"%s\" width=\"%s\" height=\"%s\"/>\n",
		class, mm(r.X0), mm(r.Y0), mm(r.W()), mm(r.H()))
}
