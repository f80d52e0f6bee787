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
	tris := make([][][3]mgl64.Vec3, len(m.restA))
	total, slack, count := 0.0, 0.0, 0
	for k, i := range m.restA {
		tris[k] = cornersIn(m.x, i, m.place, m.box)
		for _, c := range tris[k] {
			total += c[1].Sub(c[0]).Cross(c[2].Sub(c[0])).Len() / 2
		}
		slack, count = max(slack, m.x.sag[i]), count+len(tris[k])
	}
	stride := 1 + count/maxSamples // of very many triangles some stand for all
	theirs, reach := map[int]bool{}, 0.0
	for _, j := range m.restB {
		theirs[int(j)] = true
		reach = max(reach, m.y.sag[j])
	}
	p := probe{m: m, piece: max(sampleMM2, total/maxSamples), limit: m.touch + slack + reach, theirs: theirs}
	area := 0.0
	for k, i := range m.restA {
		p.face = int(i)
		for n := 0; n < len(tris[k]); n += stride {
			area += p.touching(tris[k][n]) * float64(stride)
		}
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
	face         int          // of a, that is tried
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
	for waiting > 0 {
		waiting--
		t := small[waiting]
		a := t[1].Sub(t[0]).Cross(t[2].Sub(t[0])).Len() / 2
		if a > p.piece && waiting+2 <= len(small) {
			small[waiting], small[waiting+1] = halves(t)
			waiting += 2
			continue
		}
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
	if !ok || n.Dot(normal) > opposed {
		return false
	}
	onA, okA := p.m.x.project(p.face, p.m.back.Point(at))
	onA = p.m.place.Point(onA)
	onB, okB := y.project(y.faceOf(hit.Tri), onA)
	return !okA || !okB || onA.Sub(onB).Len() <= p.m.touch
}

// line finds parts that touch in a line or a point, or on faces of a mesh whose
// surfaces are not known.
func (m *meeting) line() {
	if m.out.any() {
		return
	}
	sagA, sagB := m.x.sagIn(m.box.Transformed(m.back)), m.y.sagIn(m.box)
	g, ok := bvh.Distance(m.x.part.Tree, m.y.part.Tree, m.place, m.touch+sagA+sagB)
	if !ok || !m.near(&g) {
		return
	}
	c := Contact{Kind: Other}
	if n, ok := geom.Unit(g.PB.Sub(g.PA)); ok && g.Dist > 1e-6 {
		c.Normal = n
	}
	m.out.contacts = append(m.out.contacts, c)
}

// near reports whether the surfaces at the ends of a gap of two meshes touch.
// Where both are simple their own gap decides, else what facets leave them.
func (m *meeting) near(g *bvh.Gap) bool {
	f, h := m.x.faceOf(g.TriA), m.y.faceOf(g.TriB)
	at := g.PB
	for range settleSteps {
		onA, okA := m.x.project(f, m.back.Point(at))
		onA = m.place.Point(onA)
		onB, okB := m.y.project(h, onA)
		if !okA || !okB {
			return g.Dist <= m.touch+m.x.sagOf(g.TriA)+m.y.sagOf(g.TriB)
		}
		if onA.Sub(onB).Len() <= m.touch {
			return m.x.reaches(f, m.back.Point(onA), m.touch) && m.y.reaches(h, onB, m.touch)
		}
		at = onB
	}
	return false
}

// reaches reports that a point of a face's surface lies on the part as well: at
// an edge a surface goes on where the part ends, and meets what the part does not.
func (s *form) reaches(face int, p mgl64.Vec3, slack float64) bool {
	_, ok := s.part.Tree.Closest(p, s.sag[face]+slack)
	return ok
}

// settleSteps projections to and fro find the gap of two surfaces from a place
// where it is wider by some facets' sag.
const settleSteps = 40

// project is the place of a face's surface nearest to p, its ends left out of
// account; false for surfaces that are not simple.
func (s *form) project(face int, p mgl64.Vec3) (mgl64.Vec3, bool) {
	if face < 0 {
		return p, false
	}
	f := &s.feat.Faces[face]
	h := f.Axis.Height(p)
	foot := f.Axis.At(h)
	out := p.Sub(foot)
	r := out.Len()
	if f.Kind == feature.Plane {
		return p.Sub(f.Axis.D.Mul(h)), true
	}
	if f.Kind == feature.Sphere {
		out, r, foot = p.Sub(f.Axis.O), p.Sub(f.Axis.O).Len(), f.Axis.O
	}
	if !(r > 1e-9) {
		return p, false
	}
	out = out.Mul(1 / r)
	switch f.Kind {
	case feature.Cylinder, feature.Sphere:
		return foot.Add(out.Mul(f.R)), true
	case feature.Cone:
		sin, cos := math.Sincos(f.Half)
		along := (r-f.R)*sin + h*cos
		return f.Axis.At(along * cos).Add(out.Mul(f.R + along*sin)), true
	case feature.Torus:
		ring := f.Axis.O.Add(out.Mul(f.R))
		if d := p.Sub(ring); d.Len() > 1e-9 {
			return ring.Add(d.Mul(f.R2 / d.Len())), true
		}
	}
	return p, false
}

// nan is the volume of what has no inside.
var nan = math.NaN()
