package step

import (
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/surface"
)

// Corners lie on the curves and surfaces that meet in them. A wrong unit, a
// wrong frame or a wrong pole order moves them off by far more than the 0.02 mm
// that real files are sloppy by.
func TestCornersLieOnTheirGeometry(t *testing.T) {
	const tol = 0.02
	for _, name := range realFiles(t) {
		a := readReal(t, name)
		onCurve, onSurface, bad, n := 0.0, 0.0, 0, 0
		for _, p := range a.Parts {
			for _, b := range p.Bodies {
				for i := range b.Edges {
					e := &b.Edges[i]
					for _, v := range []brep.VertexIndex{e.Start, e.End} {
						d := offCurve(e.Curve, b.Vertices[v].P)
						onCurve = max(onCurve, d)
						n++
						if !(d <= tol) {
							if bad++; bad <= 3 {
								t.Errorf("%s: part %q: vertex #%d is %.3g mm off edge #%d (%T)", name, p.Name, b.Vertices[v].Tag, d, e.Tag, e.Curve)
							}
						}
					}
				}
				for i := range b.Faces {
					f := &b.Faces[i]
					for _, l := range f.Loops {
						for _, c := range l.Coedges {
							v := &b.Vertices[b.Edges[c.Edge].Start]
							d := offSurface(f.Surface, v.P)
							onSurface = max(onSurface, d)
							n++
							if !(d <= tol) {
								if bad++; bad <= 3 {
									t.Errorf("%s: part %q: vertex #%d is %.3g mm off face #%d (%T)", name, p.Name, v.Tag, d, f.Tag, f.Surface)
								}
							}
						}
					}
				}
			}
		}
		t.Logf("%s: %d checks, %d bad, worst %.2g mm off a curve, %.2g mm off a surface", name, n, bad, onCurve, onSurface)
	}
}

func offCurve(c curve.Curve, p mgl64.Vec3) float64 { return c.Point(c.Param(p)).Sub(p).Len() }

func offSurface(s surface.Surface, p mgl64.Vec3) float64 {
	return s.Point(s.Param(p, surface.Hint{})).Sub(p).Len()
}
