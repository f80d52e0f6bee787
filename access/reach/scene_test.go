package reach

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/google/go-cmp/cmp"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/bvh"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

// corners round a circle in test meshes: the chord of a circle of 10 mm is
// 0.005 mm.
const corners = 96

var (
	up    = mgl64.Vec3{0, 0, 1}
	down  = mgl64.Vec3{0, 0, -1}
	right = mgl64.Vec3{1, 0, 0}
	left  = mgl64.Vec3{-1, 0, 0}
	back  = mgl64.Vec3{0, 1, 0}
	front = mgl64.Vec3{0, -1, 0}
)

// kit is a product under construction, with who holds whom said by hand.
type kit struct {
	p      *product.Product
	fs     []fastener.Fastener
	holds  []joint.Hold
	joints []joint.Joint
}

func newKit() *kit {
	return &kit{p: &product.Product{Tol: geom.Tolerance{Chord: 0.005, Angle: 0.2}}}
}

// part adds a solid where it is modelled.
func (k *kit) part(name string, m *mesh.Mesh) product.SolidIndex {
	i := len(k.p.Parts)
	k.p.Parts = append(k.p.Parts, product.Part{
		ID: fmt.Sprintf("p%d", i), Name: name, Mesh: m, Tree: bvh.Build(m), Closed: true, Volume: m.Volume(), Box: m.Box(),
	})
	k.p.Occs = append(k.p.Occs, product.Occ{
		ID: fmt.Sprintf("o%d", i), Name: name, Part: i, Placement: geom.Identity(), Solid: product.SolidIndex(i),
	})
	k.p.Solids = append(k.p.Solids, product.Solid{Occ: i, Part: i, Place: geom.Identity(), Back: geom.Identity(), Box: m.Box()})
	return product.SolidIndex(i)
}

// add makes a solid a fastener and returns its index.
func (k *kit) add(f fastener.Fastener, passes, bites []product.SolidIndex) int {
	i := len(k.fs)
	f.ID = fmt.Sprintf("f%d", i+1)
	f.Axis.O = f.Point
	k.fs = append(k.fs, f)
	k.holds = append(k.holds, joint.Hold{Fastener: i, Passes: passes, Bites: bites, Mate: -1})
	return i
}

type solids = []product.SolidIndex

// screw adds a cylinder head screw of M3 (ISO 4762: head 5.5 by 3, hex 2.5),
// its head's top at point, leaving along d.
func (k *kit) screw(point, d mgl64.Vec3, length float64, passes, bites solids) int {
	m := shape.Revolve(geom.Axis{O: point, D: d}, []mgl64.Vec2{
		{0, -3 - length}, {1.5, -3 - length}, {1.5, -3}, {2.75, -3}, {2.75, 0}, {1.4, 0}, {1.4, -1.3}, {0, -1.3},
	}, corners)
	s := k.part(fmt.Sprintf("screw %d", len(k.fs)+1), m)
	return k.add(fastener.Fastener{
		Solids: solids{s}, Kind: fastener.Screw, Head: "cylindrical", Size: "M3", Drive: fastener.HexSocket, DriveSize: "2.5",
		Axis: geom.Axis{D: d}, Point: point, Nominal: 3, Length: length, HeadD: 5.5, HeadH: 3, RecessDepth: 1.3,
		Back: -3 - length, Front: 0,
	}, passes, bites)
}

// hexBolt adds a bolt M6 with its head's top at point (ISO 4014: s 10, k 4).
func (k *kit) hexBolt(point, d mgl64.Vec3, length float64, passes solids) int {
	a := geom.Axis{O: point, D: d}
	m := shape.Prism(geom.Axis{O: a.At(-4), D: d}, 4, shape.Hexagon(0, 0, 10))
	m.Append(shape.Cylinder(geom.Axis{O: a.At(-4 - length), D: d}, 3, length, corners), 8)
	s := k.part(fmt.Sprintf("bolt %d", len(k.fs)+1), m)
	return k.add(fastener.Fastener{
		Solids: solids{s}, Kind: fastener.Bolt, Head: "hexagon", Size: "M6", Drive: fastener.OuterHex, DriveSize: "10",
		Axis: geom.Axis{D: d}, Point: point, Nominal: 6, Length: length, HeadD: 20 / math.Sqrt(3), HeadH: 4, Back: -4 - length,
	}, passes, nil)
}

// nut adds a nut M6 (ISO 4032: s 10, 5 thick) with its outer face at point.
func (k *kit) nut(point, d mgl64.Vec3, bolt int) int {
	a := geom.Axis{O: point, D: d}
	m := shape.Prism(geom.Axis{O: a.At(-5), D: d}, 5, shape.Hexagon(0, 0, 10), shape.Circle(0, 0, 3, corners))
	s := k.part(fmt.Sprintf("nut %d", len(k.fs)+1), m)
	i := k.add(fastener.Fastener{
		Solids: solids{s}, Kind: fastener.Nut, Head: "hexagon", Size: "M6", Drive: fastener.OuterHex, DriveSize: "10",
		Axis: geom.Axis{D: d}, Point: point, Nominal: 6, Length: 5, HeadD: 20 / math.Sqrt(3), HeadH: 5, Back: -5, Bore: 6,
	}, nil, nil)
	if bolt >= 0 {
		k.holds[i].Mate, k.holds[bolt].Mate = bolt, i
	}
	return i
}

// move carries the whole product along, fasteners included.
func (k *kit) move(t geom.Transform) {
	inv, _ := t.Inverse()
	for i := range k.p.Solids {
		s := &k.p.Solids[i]
		s.Place, s.Back = t.Mul(s.Place), s.Back.Mul(inv)
		s.Box = geom.EmptyBox()
		for _, v := range k.p.Part(product.SolidIndex(i)).Mesh.Vertices {
			s.Box = s.Box.Add(s.Place.Point(v))
		}
	}
	for i := range k.fs {
		k.fs[i].Axis = k.fs[i].Axis.Transformed(t)
		k.fs[i].Point = t.Point(k.fs[i].Point)
	}
}

func (k *kit) judge(side *mgl64.Vec3) *Result {
	return Judge(context.Background(), k.p, k.fs, k.holds, k.joints, Options{Side: side})
}

// slab is a plate in the ground plane with holes.
func plate(half, z0, z1 float64, holes ...shape.Contour) *mesh.Mesh {
	return shape.Plate(mgl64.Vec3{-half, -half, z0}, mgl64.Vec3{half, half, z1}, holes...)
}

func hole(x, y, r float64) shape.Contour { return shape.Circle(x, y, r, corners) }

func box(x0, y0, z0, x1, y1, z1 float64) *mesh.Mesh {
	return shape.Box(mgl64.Vec3{x0, y0, z0}, mgl64.Vec3{x1, y1, z1})
}

// near compares millimetres.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.4f, want %.4f", what, got, want)
	}
}

func verdicts(r *Result) []Verdict {
	out := make([]Verdict, len(r.Reaches))
	for i := range r.Reaches {
		out[i] = r.Reaches[i].Verdict
	}
	return out
}

func diff(a, b *Result) string { return cmp.Diff(a, b) }
