package sheet

import (
	"fmt"
	"math"

	"stepscan/access/reach"
	"stepscan/render/view"
)

// verdictOrder is the order of the legend.
var verdictOrder = []reach.Verdict{reach.Clear, reach.ClearAfter, reach.Turn, reach.TwoSided, reach.Blocked}

// verdictClass is the class of a verdict's mark. Its colour, in the style block,
// goes with a shape of its own, so that grey prints can be read.
func verdictClass(v reach.Verdict) string {
	switch v {
	case reach.Clear:
		return "sign v-clear"
	case reach.ClearAfter:
		return "sign v-after"
	case reach.Turn:
		return "sign v-turn"
	case reach.TwoSided:
		return "sign v-two"
	case reach.Blocked:
		return "sign v-blocked"
	}
	return "sign"
}

// symbol draws the mark of a verdict: a disc, a diamond, a triangle, a square,
// a disc with a cross; a ring around it where the head is hidden, paler and
// dashed where it is out of sight in the picture.
func (g *page) symbol(c view.Point, r float64, v *reach.Reach, unseen bool) {
	class := verdictClass(v.Verdict)
	if unseen {
		class += " unseen"
	}
	switch v.Verdict {
	case reach.ClearAfter:
		g.shape(c, 1.2*r, 4, 0, class)
	case reach.Turn:
		g.shape(add(c, 0, 0.2*r), 1.25*r, 3, 0, class)
	case reach.TwoSided:
		g.shape(c, 1.25*r, 4, math.Pi/4, class)
	default:
		g.circle(class, c, r)
	}
	if v.Verdict == reach.Blocked {
		d := 0.5 * r
		cross := [][]view.Point{{add(c, -d, -d), add(c, d, d)}, {add(c, -d, d), add(c, d, -d)}}
		fmt.Fprintf(&g.b, "<g stroke=\"#fff\" stroke-width=\"%s\">\n", mm(0.28*r))
		g.path("cross", cross, false)
		g.end()
	}
	if v.Hidden {
		g.circle("ring", c, 1.45*r)
	}
}

// shape draws a regular polygon of n corners, the first upwards and turned by a.
func (g *page) shape(c view.Point, r float64, n int, a float64, class string) {
	var pts []view.Point
	for i := range n {
		sin, cos := math.Sincos(a + 2*math.Pi*float64(i)/float64(n))
		pts = append(pts, add(c, r*sin, -r*cos))
	}
	g.polygon(class, pts...)
}
