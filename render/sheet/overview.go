package sheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/render/view"
)

// Where the parts of the overview stand, mm. Without anything on the far side
// the near one gets the whole height and the list the far one's place.
var (
	overHead   = view.Rect{X0: frameX0, Y0: frameY0, X1: frameX1, Y1: 26}
	overMain   = view.Rect{X0: frameX0, Y0: 26, X1: 205, Y1: 158}
	overList   = view.Rect{X0: frameX0, Y0: 158, X1: 205, Y1: frameY1}
	overLegend = view.Rect{X0: 205, Y0: 26, X1: frameX1, Y1: 74}
	overFar    = view.Rect{X0: 205, Y0: 74, X1: frameX1, Y1: 183}
	overSource = view.Rect{X0: 205, Y0: 183, X1: frameX1, Y1: frameY1}
)

// Overview draws the whole product from the working side with every fastener
// marked by its verdict, and the far side where something is to be reached
// there.
func (b *Book) Overview() []byte {
	near, far := b.bySide()
	main, list := overMain, overList
	if len(far) == 0 {
		list, main.Y1 = overFar, frameY1
	}
	var g page
	file := clean(b.p.Source.File)
	g.open("Overview of "+file, fmt.Sprintf("%s from the working side, %s; its fasteners are marked by verdict. %s",
		file, sideWords(b.working()), b.countWords()))
	g.group("frame", "")
	for _, r := range []view.Rect{overHead, main, overLegend, list, overSource} {
		g.rect("rule", r)
	}
	g.rect("frame", view.Rect{X0: frameX0, Y0: frameY0, X1: frameX1, Y1: frameY1})
	g.end()
	g.text(view.Point{X: overHead.X0 + 4, Y: overHead.Y0 + 7}, "h", shorten(file, title*1.08, overHead.W()-8))
	g.text(view.Point{X: overHead.X0 + 4, Y: overHead.Y0 + 12.6}, "l", shorten(b.countWords(), large, overHead.W()-8))
	w := b.working()
	b.marked(&g, "near", main, octants(w)[0], w, near, "From the working side, "+sideWords(w))
	if len(far) > 0 {
		back := w.Mul(-1)
		b.marked(&g, "far", overFar, octants(back)[0], back, far, "From the other side")
	}
	b.legend(&g, overLegend)
	b.problems(&g, list)
	b.source(&g, overSource)
	return g.close()
}

// bySide sorts the fasteners that need a tool by the side they are driven
// from.
func (b *Book) bySide() (near, far []int) {
	w := b.working()
	for i := range b.fs {
		if i >= len(b.res.Reaches) || b.fs[i].Kind == fastener.Washer {
			continue
		}
		side := b.res.Reaches[i].Side
		if side.Len() < 0.5 {
			side = b.fs[i].Axis.D
		}
		if side.Dot(w) < -0.5 {
			far = append(far, i)
		} else {
			near = append(near, i)
		}
	}
	return near, far
}

func (b *Book) counts() (n map[reach.Verdict]int, hidden, total int) {
	n = map[reach.Verdict]int{}
	for i := range b.fs {
		if i < len(b.res.Reaches) && b.fs[i].Kind != fastener.Washer {
			n[b.res.Reaches[i].Verdict]++
			total++
			if b.res.Reaches[i].Hidden {
				hidden++
			}
		}
	}
	return n, hidden, total
}

func (b *Book) countWords() string {
	n, hidden, total := b.counts()
	words := []string{}
	for _, v := range verdictOrder {
		if n[v] > 0 {
			words = append(words, fmt.Sprintf("%d %s", n[v], v))
		}
	}
	if hidden > 0 {
		words = append(words, fmt.Sprintf("%d with the head hidden", hidden))
	}
	if total == 0 {
		return "No fasteners found."
	}
	return plural(total, "fastener") + ": " + strings.Join(words, ", ") + "."
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return strconv.Itoa(n) + " " + word + "s"
}

// marked draws one picture with the marks of some fasteners.
func (b *Book) marked(g *page, id string, frame view.Rect, dir, up mgl64.Vec3, list []int, words string) {
	window := view.Rect{X0: frame.X0 + 3, Y0: frame.Y0 + caption + 2, X1: frame.X1 - 3, Y1: frame.Y1 - 4}
	if frame.W() > 100 {
		window = window.Inset(4)
	}
	into := window.Inset(4)
	if frame.W() < 100 {
		into.Y1 -= 9 // for the axes in the corner
	}
	cam := b.fitted(dir, up, into)
	cam.Window = window
	mine := map[product.SolidIndex]bool{}
	for i := range b.fs {
		for _, x := range b.fs[i].Solids {
			mine[x] = true
		}
	}
	items := b.items(func(x product.SolidIndex) role {
		if mine[x] {
			return driven
		}
		return light
	})
	d := view.Draw(view.Scene{Camera: cam, Items: items})
	g.group(id, "picture")
	if frame.W() < 100 {
		g.rect("rule", frame)
	}
	g.text(view.Point{X: frame.X0 + 3, Y: frame.Y0 + 5}, "l b", words)
	g.group("", "product")
	g.lines(id, d, items, maxPointsMost)
	g.end()
	b.marks(g, id, cam, window, list)
	g.triad(cam, view.Point{X: frame.X0 + 11, Y: frame.Y1 - 11})
	g.end()
}

// mark is a fastener in a picture.
type mark struct {
	i    int
	at   view.Point // where the fastener is
	mark view.Point // where its symbol stands
}

const (
	markR = 1.7 // mm: a symbol's size
	ringR = 2.6 // mm: with the ring of a hidden head
)

// marks draws the symbols where the fasteners are and their ids beside them.
// Symbols that would cover each other are moved apart, with a leader.
func (b *Book) marks(g *page, id string, cam view.Camera, window view.Rect, list []int) {
	var ms []mark
	for _, i := range list {
		f := &b.fs[i]
		p, _ := cam.Page(f.Point.Add(f.Axis.D.Mul(max(0, f.Front))))
		if finite(p) && window.Has(p) {
			ms = append(ms, mark{i, p, p})
		}
	}
	slices.SortStableFunc(ms, func(a, b mark) int { return cmp.Or(cmp.Compare(a.at.Y, b.at.Y), cmp.Compare(a.at.X, b.at.X)) })
	used := layout{within: window.Inset(-3)}
	used.taken = append(used.taken, view.Rect{X0: window.X0 - 6, Y0: window.Y1 - 14, X1: window.X0 + 16, Y1: window.Y1 + 6}) // the axes
	spread(ms, window)
	for _, m := range ms {
		used.taken = append(used.taken, around(m.mark, ringR))
	}
	for _, m := range ms {
		g.group(id+"-"+xmlID(b.fs[m.i].ID), "mark")
		b.mark(g, &used, m)
		g.end()
	}
}

func around(p view.Point, r float64) view.Rect {
	return view.Rect{X0: p.X - r, Y0: p.Y - r, X1: p.X + r, Y1: p.Y + r}
}

// spread moves symbols aside that would cover earlier ones, to the nearest of
// some places around; with very many, the last may stay covered.
func spread(ms []mark, window view.Rect) {
	for k := range ms {
		free := func(p view.Point) bool {
			for j := range k {
				if distance(p, ms[j].mark) < 2*ringR {
					return false
				}
			}
			return window.Has(p)
		}
		for _, d := range []float64{0, 5.5, 8, 11, 15, 20} {
			found := false
			for a := range 12 {
				sin, cos := math.Sincos(float64(a)*math.Pi/6 + 0.3)
				if p := add(ms[k].at, d*cos, d*sin); free(p) {
					ms[k].mark, found = p, true
					break
				}
			}
			if found {
				break
			}
		}
	}
}

func (b *Book) mark(g *page, used *layout, m mark) {
	r := b.reach(m.i)
	words := shorten(clean(b.fs[m.i].ID), normal*1.08, 20)
	w := textWidth(words, normal)
	var spots []view.Point
	for _, d := range []float64{ringR + 0.6, 6, 10, 15, 21, 28, 36} {
		for k := range 12 {
			sin, cos := math.Sincos(float64(k)*math.Pi/6 - math.Pi/6)
			c := add(m.mark, d*cos, d*sin)
			switch { // the near end of the text at c
			case cos > 0.3:
				spots = append(spots, add(c, 0, 1))
			case cos < -0.3:
				spots = append(spots, add(c, -w, 1))
			default:
				spots = append(spots, add(c, -w/2, 1+1.2*sin))
			}
		}
	}
	p, ok := used.place("n b", words, spots...)
	if distance(m.mark, m.at) > 0.1 {
		g.line("leader", m.mark, m.at)
		g.circle("dot", m.at, 0.5)
	}
	if ok {
		box := textBox(p, "n b", words)
		near := view.Point{X: max(box.X0, min(box.X1, m.mark.X)), Y: max(box.Y0, min(box.Y1, m.mark.Y))}
		if distance(near, m.mark) > 4 {
			g.line("leader", m.mark, near)
		}
	}
	g.symbol(m.mark, markR, &r)
	if ok {
		g.haloed(p, "n b", words)
	}
}

// xmlID keeps what an id may hold.
func xmlID(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return '_'
	}, s)
}

// legend is the table of verdicts with their marks and counts.
func (b *Book) legend(g *page, r view.Rect) {
	n, hidden, total := b.counts()
	g.group("legend", "legend")
	g.text(view.Point{X: r.X0 + 3, Y: r.Y0 + 5}, "l b", "Verdicts")
	y := r.Y0 + 11.5
	line := func(v *reach.Reach, words string, n int) {
		g.symbol(view.Point{X: r.X0 + 6, Y: y - 1}, markR, v)
		g.text(view.Point{X: r.X0 + 12, Y: y}, "n", words)
		g.text(view.Point{X: r.X1 - 4, Y: y}, "n e", strconv.Itoa(n))
		y += 5.4
	}
	for _, v := range verdictOrder {
		line(&reach.Reach{Verdict: v}, verdictWords(&reach.Reach{Verdict: v}), n[v])
	}
	if other := total - n[reach.Clear] - n[reach.ClearAfter] - n[reach.Turn] - n[reach.TwoSided] - n[reach.Blocked]; other > 0 {
		line(&reach.Reach{}, "not judged", other)
	}
	line(&reach.Reach{Hidden: true}, "with a ring: the head is hidden", hidden)
	g.line("rule", view.Point{X: r.X0 + 3, Y: y - 3.6}, view.Point{X: r.X1 - 3, Y: y - 3.6})
	g.text(view.Point{X: r.X0 + 12, Y: y}, "n b", "all")
	g.text(view.Point{X: r.X1 - 4, Y: y}, "n b e", strconv.Itoa(total))
	g.end()
}

// problems lists the fasteners that are not simply clear, worst first.
func (b *Book) problems(g *page, r view.Rect) {
	var list []int
	for i := range b.fs {
		if i < len(b.res.Reaches) && b.fs[i].Kind != fastener.Washer {
			if x := &b.res.Reaches[i]; x.Verdict != reach.Clear || x.Hidden {
				list = append(list, i)
			}
		}
	}
	slices.SortStableFunc(list, func(x, y int) int {
		return cmp.Compare(severity(&b.res.Reaches[y]), severity(&b.res.Reaches[x]))
	})
	g.group("problems", "problems")
	words := "Not simply clear"
	switch _, _, total := b.counts(); {
	case total == 0:
		words = "No fasteners found"
	case len(list) == 0:
		words = "All are clear and in sight"
	}
	g.text(view.Point{X: r.X0 + 3, Y: r.Y0 + 5}, "l b", words)
	rows := int((r.H() - 9) / listStep)
	columns := max(1, int(r.W()/60))
	for k, i := range list {
		c := view.Point{X: r.X0 + float64(k/rows)*r.W()/float64(columns), Y: r.Y0 + 11 + float64(k%rows)*listStep}
		if k == rows*columns-1 && k < len(list)-1 {
			g.text(add(c, 12, 0), "s", fmt.Sprintf("and %d more", len(list)-k))
			break
		}
		g.symbol(add(c, 6, -1), markR, &b.res.Reaches[i])
		g.text(add(c, 12, 0), "s", shorten(b.callShort(i)+": "+b.brief(i), small, r.W()/float64(columns)-14))
	}
	g.end()
}

// callShort is a fastener's id and size.
func (b *Book) callShort(i int) string {
	f := &b.fs[i]
	what := clean(f.Size)
	if what == "" {
		what = string(f.Kind)
	}
	return clean(f.ID) + " · " + what
}

// listStep is the height of a line of the list, mm.
const listStep = 5.2

func severity(r *reach.Reach) int {
	s := 2 * slices.Index(verdictOrder, r.Verdict)
	if r.Hidden {
		s++
	}
	return s
}

// brief is a verdict with its culprit.
func (b *Book) brief(i int) string {
	r := &b.res.Reaches[i]
	switch r.Verdict {
	case reach.ClearAfter:
		return "after " + b.names(r.After, 1)
	case reach.Turn:
		if len(r.After) > 0 {
			return "from " + sideWords(r.Side) + ", after " + b.names(r.After, 1)
		}
		return "from " + sideWords(r.Side)
	case reach.TwoSided:
		return "hold the far side"
	case reach.Blocked:
		if n := b.name(r.As.Limiter); n != "" {
			return "blocked by " + n
		}
		return "blocked"
	}
	return "hidden by " + b.names(r.HiddenBy, 1)
}

// source is the overview's title block.
func (b *Book) source(g *page, r view.Rect) {
	g.group("title-block", "title")
	y := r.Y0 + 4.6
	for _, x := range []row{
		{"sha256", b.digest()},
		{"drawn by", strings.TrimSpace(clean(b.meta.Program) + " " + clean(b.meta.Version) + "  " + clean(b.meta.Date))},
		{"sheet", "overview, A4"},
	} {
		g.text(view.Point{X: r.X0 + 3, Y: y}, "s dim", x.key)
		g.text(view.Point{X: r.X0 + 18, Y: y}, "n", shorten(x.value, normal, r.W()-20))
		y += 4.6
	}
	g.end()
}
