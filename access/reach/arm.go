package reach

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/access/tool"
	"stepscan/geom"
	"stepscan/geom/bvh"
)

// sector is what one solid takes from the turn of a tool's arm, and of its
// open head: angles of the arm, and of the way in which the mouth opens.
type sector struct {
	solid     product.SolidIndex
	arm, head bvh.Arcs
}

// sweep lists the angles at which a solid stands in an arm's way. An arm that
// comes along the axis is brought down through everything above it.
func (s *scene) sweep(k product.SolidIndex, a geom.Axis, t *tool.Tool) sector {
	out, w := sector{solid: k}, t.Swing
	if w == nil {
		return out
	}
	from, to := w.From+s.skin(), w.To+t.Lift
	if t.Entry == tool.Along {
		to = math.Inf(1)
	}
	if !s.near(k, a, from, to, w.R+w.HalfW) {
		return out
	}
	x := geom.Perpendicular(a.D)
	out.arm = s.blocked(k, a, x, from, to, 0, w.R, w.HalfW)
	for _, b := range w.Head {
		zero, r0, r1 := x, b.From, b.To
		if r0 < 0 { // behind the axis: told from -x, its angles are the mouth's
			zero, r0, r1 = mgl64.Vec3{}.Sub(x), -b.To, -b.From
		}
		out.head = out.head.Merge(s.blocked(k, a, zero, from, to, r0, r1, b.HalfW))
	}
	return out
}

// turnedBy is a set of angles with v added to all of them.
func turnedBy(arcs bvh.Arcs, v float64) bvh.Arcs {
	out := make([]bvh.Arc, len(arcs))
	for i, a := range arcs {
		out[i] = bvh.Arc{From: a.From + v, To: a.To + v}
	}
	return bvh.ArcsOf(out...)
}

// need is the arc, rad, that the arm of a tool must have free.
func (a *approach) need(i int) float64 {
	switch w := a.tools[i].Swing; {
	case w == nil:
		return 0
	case a.held:
		return min(w.Arc, tool.HoldArc)
	default:
		return w.Arc
	}
}

// cramped reports whether a tool's arm has too little room.
func (a *approach) cramped(i int, in present) bool {
	return a.tools[i].Swing != nil && a.gap(i, in) < a.need(i)
}

// gap is the widest free arc for a tool's arm, rad.
//
// An open head's mouth opens away from the arm, Offset to the one side or, the
// tool turned over, to the other. To turn a fastener on, both must be free all
// over the arm's swing: with the first the mouth begins, with the second it
// goes on, and between them they reach every position of the flats. To hold it
// one will do.
func (a *approach) gap(i int, in present) float64 {
	w := a.tools[i].Swing
	if w == nil {
		return math.Inf(1)
	}
	var arm, head bvh.Arcs
	for k := range a.tried[i].swing {
		if v := &a.tried[i].swing[k]; in(v.solid) {
			arm, head = append(arm, v.arm...), append(head, v.head...)
		}
	}
	one, other := turnedBy(head, math.Pi+w.Offset), turnedBy(head, math.Pi-w.Offset)
	either := one.Merge(other)
	if a.held {
		either = one.Free().Merge(other.Free()).Free()
	}
	free, _ := either.Merge(arm).Free().Longest()
	return free.Span()
}

// limitSwing names the solid that takes the most of the arm's turn.
func (t *Trial) limitSwing(a *approach, i int, in present) {
	w := a.tools[i].Swing
	t.Limit, t.Section = BySwing, w.Name
	t.Free, t.Needed, t.AtHeight = a.gap(i, in), a.need(i), (w.From+w.To)/2
	most := -1.0
	for k := range a.tried[i].swing {
		v := &a.tried[i].swing[k]
		if taken := span(v.arm) + span(v.head); in(v.solid) && taken > most {
			most, t.Limiter = taken, v.solid
		}
	}
}

// span is the sum of some arcs, rad.
func span(arcs bvh.Arcs) float64 {
	sum := 0.0
	for _, v := range arcs {
		sum += v.Span()
	}
	return sum
}
