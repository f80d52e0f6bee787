package contact

import (
	"cmp"
	"slices"

	"stepscan/access/fastener/feature"
	"stepscan/geom"
)

// verdict is what was found of a situation, in the coordinates of its part b.
// In fits Shaft is 0 where part a is the shaft and 1 where b is.
type verdict struct {
	contacts []Contact
	fits     []Fit
	deep     bool
	shared   float64
	skin     float64 // mm: they may share volume, deeper than this; 0 for no
}

func (v *verdict) any() bool { return len(v.contacts) > 0 || len(v.fits) > 0 || v.deep }

// meeting is the work on one situation.
type meeting struct {
	*situation
	x, y  *form // of parts a and b
	touch float64
	back  geom.Transform // b to a
	box   geom.Box       // where both are, in b's coordinates, and Touch about it
	out   verdict
	// rest are the faces of a and b that may touch on other surfaces than
	// planes and cylinders.
	restA, restB []int32
}

// meet makes the work on a situation ready; false where there is none.
func (s *study) meet(c *situation) (*meeting, bool) {
	back, ok := c.place.Inverse()
	if !ok || c.skip {
		return nil, false
	}
	m := &meeting{situation: c, x: s.forms[c.a], y: s.forms[c.b], back: back}
	m.touch = max(m.x.touch, m.y.touch)
	m.box = common3(m.x.box.Transformed(c.place), m.y.box, MaxTouch)
	return m, !m.box.IsEmpty()
}

// examine looks at a situation, but for the volume that the parts share.
func (s *study) examine(c *situation) verdict {
	m, ok := s.meet(c)
	if !ok {
		return verdict{}
	}
	m.faces()
	m.fit()
	m.nearby()
	if !m.deeper(&s.movers) {
		m.line()
	}
	slices.SortStableFunc(m.out.contacts, func(a, b Contact) int {
		return cmp.Or(cmp.Compare(order(a.Kind), order(b.Kind)), cmp.Compare(b.Area, a.Area))
	})
	return m.out
}

func order(k Kind) int { return slices.Index([]Kind{Planar, Cylindrical, Other}, k) }

// common3 is what two boxes share after the second has grown; empty if nothing.
func common3(a, b geom.Box, grow float64) geom.Box {
	b = b.Grow(grow)
	if !a.Overlaps(b) {
		return geom.EmptyBox()
	}
	for i := range 3 {
		a.Min[i], a.Max[i] = max(a.Min[i], b.Min[i]), min(a.Max[i], b.Max[i])
	}
	return a.Grow(grow)
}

// faces sorts the near pairs of faces by what they lie on. Those in one plane,
// or on one cylinder, come into one contact.
func (m *meeting) faces() {
	var mine []int32
	m.x.tree.Within(m.box.Transformed(m.back), func(i int32) bool {
		mine = append(mine, i)
		return true
	})
	slices.Sort(mine)
	inA, inB := map[int32]bool{}, map[int32]bool{} // looked up only
	for _, i := range mine {
		q := m.x.boxes[i].Transformed(m.place).Grow(m.touch)
		if !q.Overlaps(m.box) {
			continue
		}
		var theirs []int32
		m.y.tree.Within(q, func(j int32) bool {
			theirs = append(theirs, j)
			return true
		})
		slices.Sort(theirs)
		for _, j := range theirs {
			if !m.y.boxes[j].Overlaps(m.box) || !m.two(i, j) {
				continue
			}
			if !inA[i] {
				inA[i], m.restA = true, append(m.restA, i)
			}
			if !inB[j] {
				inB[j], m.restB = true, append(m.restB, j)
			}
		}
	}
}

// two compares face i of a with face j of b where both are planes or cylinders,
// and reports whether they are left to be compared as meshes.
func (m *meeting) two(i, j int32) (rest bool) {
	f, g := &m.x.feat.Faces[i], &m.y.feat.Faces[j]
	switch {
	case f.Kind == feature.Plane && g.Kind == feature.Plane:
		m.planes(i, j)
	case f.Kind == feature.Cylinder && g.Kind == feature.Cylinder:
		m.cylinders(i, j)
	case f.Kind == feature.Other || g.Kind == feature.Other, f.Kind == g.Kind:
		return true
	}
	return false
}

// take adds an area to the contact on the same surface.
func (m *meeting) take(c Contact) {
	for k := range m.out.contacts {
		o := &m.out.contacts[k]
		if same(o, &c, m.touch) {
			o.Area += c.Area
			return
		}
	}
	m.out.contacts = append(m.out.contacts, c)
}

// same reports that two contacts of one pair lie on the same surface. Axis
// stands for a point of the plane here.
func same(a, b *Contact, tol float64) bool {
	switch {
	case a.Kind != b.Kind:
		return false
	case a.Kind == Planar:
		return a.Normal.Dot(b.Normal) > 1-oneLine*oneLine && abs(b.Axis.O.Sub(a.Axis.O).Dot(a.Normal)) <= tol
	case a.Kind == Cylindrical:
		return a.Inner == b.Inner && abs(a.Radius-b.Radius) <= tol && feature.Coaxial(a.Axis, b.Axis, tol, oneLine)
	}
	return true
}

// oneLine is the angle, rad, up to which directions of two faces are the same:
// 0.1 mm on 50 mm, as within a part.
const oneLine = 2e-3

func abs(v float64) float64 { return max(v, -v) }
