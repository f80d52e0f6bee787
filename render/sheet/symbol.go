package sheet

import (
	"fmt"
	"math"

	"stepscan/access/reach"
	"stepscan/render/view"
)

// verdictOrder is the order of the legend.
var verdictOrder = []reach.Verdict{reach.Clear, reach.ClearAfter, reach.Turn, reach.TwoSided, reach.Blocked}

// verdictColor goes with a shape of its own, so that grey prints can be read.
func verdictColor(v reach.Verdict) string {
	switch v {
	case reach.Clear:
		return green
	case reach.ClearAfter:
		return skyBlue
	case reach.Turn:
		return orange
	case reach.TwoSided:
		return purple
	case reach.Blocked:
		return vermillion
	}
	return "#999999"
}

// symbol draws the mark of a verdict: a disc, a diamond, a triangle, a square,
// a disc with a cross; a ring around it where the head is hidden, paler and
// dashed where it is out of sight in the picture.
func (g *page) symbol(c view.Point, r float64, v *reach.Reach, unseen bool) {
	fill := fmt.Sprintf(`style="fill:%s;stroke:#000;stroke-width:.25"`, verdictColor(v.Verdict))
	if unseen {
		fill = fmt.Sprintf(`style="fill:%s;fill-opacity:.35;stroke:#000;stroke-width:.25;stroke-dasharray:.8 .5"`, verdictColor(v.Verdict))
	}
	switch v.Verdict {
	case reach.ClearAfter:
		g.shape(c, 1.2*r, 4, 0, fill)
	case reach.Turn:
		g.shape(add(c, 0, 0.2*r), 1.25*r, 3, 0, fill)
	case reach.TwoSided:
		g.shape(c, 1.25*r, 4, math.Pi/4, fill)
	default:
		if finite(c) {
			fmt.Fprintf(&g.b, "<circle cx=\"%s\" cy=\"%s\" r=\"%s\" %s/>\n", mm(c.X), mm(c.Y), mm(r), fill)
		}
	}
	if v.Verdict == reach.Blocked {
		d := 0.5 * r
		cross := [][]view.Point{{add(c, -d, -d), add(c, d, d)}, {add(c, -d, d), add(c, d, -d)}}
		g.b.WriteString(`<g style="stroke:#fff;stroke-width:` + mm(0.28*r) + "\">\n")
		g.path("cross", cross, false)
		g.end()
	}
	if v.Hidden {
		g.circle("ring", c, 1.45*r)
	}
}

// shape draws a regular polygon of n corners, the first upwards and turned by a.
func (g *page) shape(c view.Point, r float64, n int, a float64, attr string) {
	var pts []view.Point
	for i := range n {
		sin, cos := math.Sincos(a + 2*math.Pi*float64(i)/float64(n))
		pts = append(pts, add(c, r*sin, -r*cos))
	}
	if d := appendPath(nil, pts, true); len(d) > 0 {
		fmt.Fprintf(&g.b, "<path d=\"%s\" %s/>\n", d, attr)
	}
}
