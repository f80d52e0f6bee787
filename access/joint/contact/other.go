package contact

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener/feature"
	"stepscan/geom"
	"stepscan/geom/bvh"
)

// Samples of other surfaces: the faces are cut into pieces of about sampleMM²,
// coarser where they would be more than maxSamples in one pair of parts.
const (
	sampleMM2  = 0.25
	maxSamples = 2000
	// opposed is the cosine of what the normals of two facets that touch may
	// be off: two facets of 20 degrees each.
	opposed = -0.75
)

// nearby sums the area of the faces of a, on other surfaces than planes and
// cylinders, that lie on b's.
func (m *meeting) nearby() {
	if len(m.restA) == 0 {
		return
	}
	var tris [][3]mgl64.Vec3
	total, slack := 0.0, 0.0
	for _, i := range m.restA {
		for _, c := range cornersIn(m.x, i, m.place, m.box) {
			tris = append(tris, c)
			total += c[1].Sub(c[0]).Cross(c[2].Sub(c[0])).Len() / 2
		}
		slack = max(slack, m.x.sag[i])
	}
	theirs, reach := map[int]bool{}, 0.0
	for _, j := range m.restB {
		theirs[int(j)] = true
		reach = max(reach, m.y.sag[j])
	}
	p := probe{m: m, piece: max(sampleMM2, total/maxSamples), limit: m.touch + slack + reach, theirs: theirs, budget: 4 * maxSamples}
	area := 0.0
	for _, c := range tris {
		area += p.touching(c)
	}
	if area > leastArea {
		m.take(Contact{Kind: Other, Area: area})
	}
}

// probe asks how much of a triangle lies on part b.
type probe struct {
	m            *meeting
	piece, limit float64
	theirs       map[int]bool // faces of b that count
	budget       int
}

// touching halves the triangle along its longest side until the pieces are
// small, and adds those whose middle is near a facet that looks back at it.
func (p *probe) touching(c [3]mgl64.Vec3) float64 {
	n := c[1].Sub(c[0]).Cross(c[2].Sub(c[0]))
	area := n.Len() / 2
	if !(area > 0) {
		return 0
	}
	var small [64][3]mgl64.Vec3 // of the halves that wait: one a halving
	sum, waiting := 0.0, 1
	small[0] = c
	for waiting > 0 && p.budget > 0 {
		waiting--
		t := small[waiting]
		a := t[1].Sub(t[0]).Cross(t[2].Sub(t[0])).Len() / 2
		if a > p.piece && waiting+2 <= len(small) {
			small[waiting], small[waiting+1] = halves(t)
			waiting += 2
			continue
		}
		p.budget--
		if p.meets(t[0].Add(t[1]).Add(t[2]).Mul(1./3), n.Mul(1/(2*area))) {
			sum += a
		}
	}
	return sum
}

// halves cuts a triangle through the middle of its longest side.
func halves(t [3]mgl64.Vec3) (a, b [3]mgl64.Vec3) {
	k, most := 0, -1.0
	for i := range 3 {
		if l := t[(i+1)%3].Sub(t[i]).LenSqr(); l > most {
			k, most = i, l
		}
	}
	p, q, r := t[k], t[(k+1)%3], t[(k+2)%3]
	mid := p.Add(q).Mul(0.5)
	return [3]mgl64.Vec3{p, mid, r}, [3]mgl64.Vec3{mid, q, r}
}

func (p *probe) meets(at, normal mgl64.Vec3) bool {
	y := p.m.y
	hit, ok := y.part.Tree.Closest(at, p.limit)
	if !ok || !p.theirs[y.faceOf(hit.Tri)] {
		return false
	}
	c := y.corners(hit.Tri)
	n, ok := geom.Unit(c[1].Sub(c[0]).Cross(c[2].Sub(c[0])))
	return ok && n.Dot(normal) <= opposed
}

// line finds parts that touch in a line or a point, or on faces of a mesh whose
// surfaces are not known.
func (m *meeting) line() {
	back, ok := m.place.Inverse()
	if !ok {
		return
	}
	limit := m.touch + m.x.sagIn(m.box.Transformed(back)) + m.y.sagIn(m.box)
	g, ok := bvh.Distance(m.x.part.Tree, m.y.part.Tree, m.place, limit)
	if !ok {
		return
	}
	offA, sagA := m.x.standsOff(g.TriA, back.Point(g.PA))
	offB, sagB := m.y.standsOff(g.TriB, g.PB)
	if g.Dist-offA-offB > m.touch+sagA+sagB {
		return
	}
	c := Contact{Kind: Other}
	if n, ok := geom.Unit(g.PB.Sub(g.PA)); ok && g.Dist > 1e-6 {
		c.Normal = n
	}
	m.out.contacts = append(m.out.contacts, c)
}

// standsOff is how far, mm, outside of its facet the surface is at a place of
// triangle t, and what is left open about that: round walls of known axis say
// exactly, and those of holes lie behind their facets.
func (s *form) standsOff(t int32, at mgl64.Vec3) (off, open float64) {
	i := s.faceOf(t)
	if i < 0 {
		return 0, s.sagOf(t)
	}
	f := &s.feat.Faces[i]
	switch f.Kind {
	case feature.Cylinder:
		off = f.R - f.Axis.Distance(at)
	case feature.Sphere:
		off = f.R - at.Sub(f.Axis.O).Len()
	default:
		return 0, s.sag[i]
	}
	if f.Inward {
		off = -off
	}
	return off, 0
}

// nan is the volume of what has no inside.
var nan = math.NaN()
