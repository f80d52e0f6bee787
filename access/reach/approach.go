package reach

import (
	"slices"
	"strconv"
	"strings"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/product"
	"stepscan/access/tool"
	"stepscan/geom"
)

// approach is one way to get at a fastener: from where the tool comes, and
// where the fastener goes. Screws have one; a pin may be pushed or pulled
// either way.
type approach struct {
	axis  geom.Axis // from the meeting point towards the hand
	leave geom.Axis // from the fastener's leading end along its way out
	under float64   // height along leave, <= 0, at which its widest ring begins
	wide  float64   // radius of what passes out, mm
	// held: the tool only holds, while the other half of the joint is turned
	// out. It needs no swing, and no way out for the half that it holds.
	held  bool
	tools []tool.Tool
	tried []attempt  // one for each tool, as assembled
	out   []obstacle // on the fastener's own way out, as assembled
}

// approachesOf lists the ways to get at a fastener, commonest first.
func approachesOf(f *fastener.Fastener) []approach {
	tools := tool.For(f)
	if len(tools) == 0 {
		return nil
	}
	if f.Kind == fastener.Pin {
		return pinApproaches(f, tools)
	}
	a := approach{axis: along(f), leave: end(f, false), tools: tools, wide: widest(f)}
	a.under = underHead(f)
	out := []approach{a}
	if (f.Kind == fastener.Nut || f.Kind == fastener.Ring) && f.Symmetric { // joint could not tell its sense
		out = append(out, turned(f, a))
	}
	return out
}

// along is the fastener's axis from the meeting point.
func along(f *fastener.Fastener) geom.Axis { return geom.Axis{O: f.Point, D: f.Axis.D} }

// end is the axis from the fastener's front end outwards, or from its back end
// the other way.
func end(f *fastener.Fastener, back bool) geom.Axis {
	a := along(f)
	if back {
		return geom.Axis{O: a.At(f.Back), D: mgl64.Vec3{}.Sub(a.D)} // no negative zeros
	}
	return geom.Axis{O: a.At(f.Front), D: a.D}
}

// turned is an approach to a symmetric fastener from its other end.
func turned(f *fastener.Fastener, a approach) approach {
	a.axis = end(f, true)
	a.leave = a.axis
	return a
}

// pinApproaches: each tool in both senses, unless a head stops the pin.
func pinApproaches(f *fastener.Fastener, tools []tool.Tool) []approach {
	var out []approach
	for i := range tools {
		for _, back := range []bool{false, true} {
			if back && f.HeadD > 0 {
				continue
			}
			a := approach{leave: end(f, back), tools: tools[i : i+1], wide: f.Nominal / 2}
			a.axis = a.leave
			if tools[i].FarEnd {
				a.axis = end(f, !back)
			}
			if f.HeadD > 0 {
				a.wide, a.under = f.HeadD/2, -f.HeadH
			}
			out = append(out, a)
		}
	}
	return out
}

// The greatest radius of a fastener that turns out of a pocket of its own
// shape is that of its flats: a hexagon's inscribed circle is cos 30° of the
// circle through its corners, a square's cos 45°.
const (
	hexInscribed    = 0.8660254037844386
	squareInscribed = 0.7071067811865476
)

// widest is the radius, mm, that the way out must leave free.
func widest(f *fastener.Fastener) float64 {
	if f.Kind == fastener.Ring && f.Head == "E" {
		return f.Length / 2 // it leaves in its own plane, between what lies against it
	}
	r := f.HeadD / 2
	inscribed := 1.0
	switch g := f.Best(); {
	case g.Drive == fastener.OuterHex && g.Depth == 0:
		inscribed = hexInscribed
	case g.Drive == fastener.Square && g.Depth == 0:
		inscribed = squareInscribed
	}
	if s, err := strconv.ParseFloat(f.Best().Size, 64); err != nil || r*inscribed <= 0.55*s {
		r *= inscribed // else it is widest at a flange or collar
	}
	if f.Kind == fastener.Nut && r == 0 {
		r = 0.8 * f.Nominal // hexagon nuts have s between 1.5 d and 1.8 d (ISO 4032)
	}
	return max(r, f.Nominal/2)
}

// underHead is the height below the fastener's top, <= 0, from which its
// widest ring counts. A countersunk head is widest at its top. Below the head
// nothing can be told from the way out: what the shank passes as assembled it
// passes again on its way.
func underHead(f *fastener.Fastener) float64 {
	switch {
	case strings.Contains(f.Head, "countersunk"):
		return 0
	case f.Kind == fastener.Nut:
		return f.Back - f.Front
	case f.Kind == fastener.Ring && f.Head == "E":
		return 0
	case f.HeadD > 0:
		return -f.HeadH - f.Front
	}
	return 0
}

// orHeld adds to each way the one in which its tool only holds.
func orHeld(ways []approach) []approach {
	out := slices.Clone(ways)
	for _, w := range ways {
		w.held = true
		out = append(out, w)
	}
	return out
}

// unit is what one act undoes: a screw with its washers, or a bolt with the
// free nut that has to be held.
type unit struct {
	main    int // fastener that the tool turns
	nut     int // fastener that the second tool holds, or -1
	follow  []int
	solids  []product.SolidIndex // all of the above, sorted
	ways    []approach           // to main
	nutWays []approach
}

func (u *unit) fasteners() []int {
	out := []int{u.main}
	if u.nut >= 0 {
		out = append(out, u.nut)
	}
	return append(out, u.follow...)
}
