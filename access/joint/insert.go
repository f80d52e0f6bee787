package joint

import (
	"fmt"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// coaxial reports whether two fasteners share an axis as a screw and its nut do.
func coaxial(f, g *fastener.Fastener) bool {
	return feature.Coaxial(f.Axis, g.Axis, max(0.1, 0.03*f.Nominal), 0.02)
}

// seatInserts finds what each insert is pressed, moulded or screwed into: the
// parts that reach as near to its axis as it is wide.
func (b *binder) seatInserts() {
	for i := range b.fs {
		f := &b.fs[i]
		if f.Kind != fastener.Insert {
			continue
		}
		b.inserts = append(b.inserts, i)
		h := &b.holds[i]
		for _, s := range b.near(i, 0.1) {
			if b.of[s] >= 0 {
				continue
			}
			if d, length := b.seatOf(f, s); length > 0 {
				h.Bites = append(h.Bites, s)
				h.Engagement = round3(max(h.Engagement, length))
				h.Evidence = append(h.Evidence, fmt.Sprintf("sits in %s: hole Ø%s", b.name(s), mm(d)))
			}
		}
	}
}

// seatOf is the hole of solid s that holds insert f: at most a tenth wider than
// the insert (knurls are drawn at either of their diameters), over a third of
// its length. A hole that is not round shows by the material near the axis.
func (b *binder) seatOf(f *fastener.Fastener, s product.SolidIndex) (d, length float64) {
	outer := 2 * b.widest(f.Solids, f.Axis, f.Back, f.Front)
	for _, g := range b.scene.Around(s, f.Axis, max(0.1, 0.03*outer), math.Pi) {
		if 2*g.R > 1.1*outer || 2*g.R < 0.6*outer {
			continue
		}
		if l := min(g.Z1, f.Front) - max(g.Z0, f.Back); l >= (f.Front-f.Back)/3 && l > length {
			d, length = 2*g.R, l
		}
	}
	if length > 0 {
		return d, length
	}
	inset := 0.2 * (f.Front - f.Back)
	if free, hit := b.scene.FreeRadius(s, f.Axis, f.Back+inset, f.Front-inset, outer/2); hit && free.R > 0.3*outer {
		return 2 * free.R, f.Front - f.Back
	}
	return 0, 0
}

// widest is the greatest distance, mm, of the solids from an axis between two
// heights along it.
func (b *binder) widest(solids []product.SolidIndex, a geom.Axis, z0, z1 float64) float64 {
	r := 0.0
	for _, s := range solids {
		m := b.scene.P.Part(s).Mesh
		if m == nil {
			continue
		}
		own := a.Transformed(b.scene.P.Solids[s].Back)
		for _, t := range m.Triangles {
			for k := range t {
				r = max(r, farthest(own, m.Vertices[t[k]], m.Vertices[t[(k+1)%3]], z0, z1))
			}
		}
	}
	return r
}

// farthest is the greatest distance from the axis of the part of an edge that
// lies between two heights, 0 without any: the distance is convex along it, so
// one of the part's ends has it.
func farthest(a geom.Axis, p, q mgl64.Vec3, z0, z1 float64) float64 {
	zp, zq := a.Height(p), a.Height(q)
	if zp > zq {
		p, q, zp, zq = q, p, zq, zp
	}
	if zq < z0 || zp > z1 {
		return 0
	}
	cut := func(z, end float64) float64 {
		t := 0.0
		if zq > zp {
			t = (z - zp) / (zq - zp)
		} else {
			t = end
		}
		return a.Distance(p.Add(q.Sub(p).Mul(t)))
	}
	return max(cut(max(z0, zp), 0), cut(min(z1, zq), 1))
}

// anchors are solids with each insert replaced by the part that holds it: what
// a person would say is screwed together.
func (b *binder) anchors(solids []product.SolidIndex) []product.SolidIndex {
	var out []product.SolidIndex
	for _, s := range solids {
		if k := b.of[s]; k >= 0 && b.fs[k].Kind == fastener.Insert && len(b.holds[k].Bites) > 0 {
			out = append(out, b.holds[k].Bites...)
			continue
		}
		out = append(out, s)
	}
	return slices.Compact(out)
}
