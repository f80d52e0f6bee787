package reach

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
)

// sightCone is how far from the axis an eye looks, rad: a person moves the
// head that far without turning the product (common practice).
const sightCone = math.Pi / 6

// sight says how much of a head can be seen, and what covers it.
type sight struct {
	share  float64 // of the sample points, 0 to 1
	covers []product.SolidIndex
}

// see looks at a ring of points and the middle of a head's top, r mm about the
// axis's origin, from a cone about the axis. Only the solids present, without
// the fastener's own, can cover it.
func (s *scene) see(a geom.Axis, r float64, without []product.SolidIndex, in present) sight {
	var solids []product.SolidIndex
	for i := range s.p.Solids {
		k := product.SolidIndex(i)
		if in(k) && !slices.Contains(without, k) && s.ahead(k, a, r) {
			solids = append(solids, k)
		}
	}
	points, rays := headPoints(a, r, s.skin()), coneRays(a)
	seen := 0
	for _, q := range points {
		if slices.ContainsFunc(rays, func(d mgl64.Vec3) bool { return !s.anyHit(solids, q, d) }) {
			seen++
		}
	}
	out := sight{share: float64(seen) / float64(len(points))}
	if seen == 0 {
		out.covers = s.covering(solids, points, rays)
	}
	return out
}

// ahead reports whether a solid can lie in the cone above the head.
func (s *scene) ahead(k product.SolidIndex, a geom.Axis, r float64) bool {
	b := &s.ball[k]
	h := a.Height(b.c) + b.r
	return h > 0 && a.Distance(b.c)-b.r <= r+h*math.Tan(sightCone)
}

func (s *scene) anyHit(solids []product.SolidIndex, o, d mgl64.Vec3) bool {
	for _, k := range solids {
		if s.hits(k, o, d) {
			return true
		}
	}
	return false
}

// covering lists what stands straight above the head, or where nothing does,
// what stands in the cone.
func (s *scene) covering(solids []product.SolidIndex, points, rays []mgl64.Vec3) []product.SolidIndex {
	for _, set := range [][]mgl64.Vec3{rays[:1], rays} {
		var out []product.SolidIndex
		for _, k := range solids {
			if s.hitsAny(k, points, set) {
				out = append(out, k)
			}
		}
		if len(out) > 0 {
			return out
		}
	}
	return nil
}

func (s *scene) hitsAny(k product.SolidIndex, points, rays []mgl64.Vec3) bool {
	for _, q := range points {
		for _, d := range rays {
			if s.hits(k, q, d) {
				return true
			}
		}
	}
	return false
}

// headPoints are the middle and twelve points on two rings, a skin above the
// head.
func headPoints(a geom.Axis, r, lift float64) []mgl64.Vec3 {
	o := a.At(lift)
	out := []mgl64.Vec3{o}
	x := geom.Perpendicular(a.D)
	y := a.D.Cross(x)
	for ring := 1; ring <= 2; ring++ {
		for k := range 6 {
			sin, cos := math.Sincos(float64(k)*math.Pi/3 + 0.1) // off the axes of a rectangular model
			q := float64(ring) / 2 * r
			out = append(out, o.Add(x.Mul(q*cos)).Add(y.Mul(q*sin)))
		}
	}
	return out
}

// coneRays are the axis and two rings of eight at half and at the whole angle
// of the cone, the axis first.
func coneRays(a geom.Axis) []mgl64.Vec3 {
	out := []mgl64.Vec3{a.D}
	x := geom.Perpendicular(a.D)
	y := a.D.Cross(x)
	for ring := 1; ring <= 2; ring++ {
		tilt, up := math.Sincos(float64(ring) / 2 * sightCone)
		for k := range 8 {
			sin, cos := math.Sincos(float64(k)*math.Pi/4 + 0.1)
			out = append(out, a.D.Mul(up).Add(x.Mul(tilt*cos)).Add(y.Mul(tilt*sin)))
		}
	}
	return out
}
