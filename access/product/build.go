package product

import (
	"context"
	"fmt"
	"runtime"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/bvh"
	"stepscan/geom/mass"
	"stepscan/geom/mesh"
	"stepscan/geom/tess"
	"stepscan/geom/workers"
	"stepscan/step"
)

// Options say how finely the product is meshed and on how many cores.
type Options struct {
	Tol     geom.Tolerance
	Workers int // 0: all cores
	// MaxMemory bounds what the meshes take, in bytes; 0 for no bound. Bodies are
	// meshed some thousand faces at a time, and the bound is looked at between.
	MaxMemory int64
	// Progress, if set, is told of how many bodies are meshed, from the goroutine
	// that called Build.
	Progress func(meshed, of int)
}

// Build meshes every part of the assembly once and places the solids. The
// result does not depend on the number of workers. The only errors are the
// context's: a face that cannot be meshed is a fault of its part.
func Build(ctx context.Context, asm *step.Assembly, opt Options) (*Product, error) {
	p := Structure(asm)
	p.store(asm.Count())
	p.Tol = opt.Tol
	if err := p.meshParts(ctx, opt); err != nil {
		return nil, err
	}
	p.placeAll()
	return p, nil
}

// Structure is the product without any mesh: ids, names and placements, which
// is all that a listing of the structure needs. Its occurrences are not listed:
// All makes them out of the assembly's.
func Structure(asm *step.Assembly) *Product {
	p := &Product{Source: asm.Source, Skips: slices.Clip(asm.Skips), Hidden: asm.Hidden}
	for i := range asm.Parts {
		a := &asm.Parts[i]
		p.Parts = append(p.Parts, Part{
			ID: fmt.Sprintf("p%d", i+1), Name: a.Name, RawName: a.RawName, Color: a.Color, Bodies: a.Bodies, Lines: a.Lines, Made: a.Made,
			Declared: a.Declared, Hidden: a.Hidden, Transparency: a.Transparency, Layers: a.Layers, Attributes: a.Attributes,
		})
	}
	p.walk = func(yield func(*Occ) bool) {
		i := 0
		var occ Occ
		for o := range asm.All() {
			color := o.Color
			if color == "" {
				color = asm.Parts[o.Part].Color
			}
			occ = Occ{
				ID: OccID(i), Parent: int(o.Parent), Part: int(o.Part), Name: o.Name, Path: o.Path,
				Color: color, Placement: o.Placement, Depth: o.Depth, Solid: NoSolid,
				Body:   o.Parent >= 0 && o.Tag == asm.Parts[o.Part].Tag,
				RefDes: o.RefDes, RawName: o.RawName, Layers: o.Layers, Attributes: o.Attributes, Centre: o.Centre,
			}
			if !yield(&occ) {
				return
			}
			i++
		}
	}
	return p
}

// meshParts fills in everything of the parts that needs a mesh.
func (p *Product) meshParts(ctx context.Context, opt Options) error {
	var bodies []*brep.Body
	var part []int // the part that bodies[k] belongs to
	for i := range p.Parts {
		for _, b := range p.Parts[i].Bodies {
			bodies, part = append(bodies, b), append(part, i)
		}
	}
	workers := opt.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	meshes, faults, err := meshAll(ctx, bodies, opt, workers)
	if err != nil {
		return err
	}
	props, closed := mass.All(ctx, bodies, meshes, workers), make([]bool, len(bodies))
	ways, boxes := p.ways(), make([][]geom.Box, len(bodies))
	parallel(ctx, len(bodies), workers, func(k int) {
		closed[k] = meshes[k].IsClosed()
		props[k] = enclosed(props[k], bodies[k], closed[k])
		boxes[k] = turnedBoxes(bodies[k], meshes[k], ways[part[k]])
	})
	if err := ctx.Err(); err != nil {
		return err
	}
	perPart := make([]bodyMeshes, len(p.Parts))
	for k, i := range part {
		perPart[i].add(meshes[k], len(bodies[k].Faces), faults[k], props[k])
		p.Parts[i].turned = p.Parts[i].turned.join(ways[i], boxes[k])
	}
	parallel(ctx, len(p.Parts), workers, func(i int) {
		if b := &perPart[i]; len(b.meshes) > 0 {
			p.Parts[i].Faults = b.faults
			p.Parts[i].setMesh(mesh.Join(b.meshes, b.faces), b.props)
		}
	})
	p.tellOpen(closed)
	return ctx.Err()
}

// bodyMeshes are the meshes of one part's bodies, in order.
type bodyMeshes struct {
	meshes []*mesh.Mesh
	faces  []int // of each body
	total  int   // faces so far
	faults []tess.Fault
	props  mass.Properties
}

// add appends a body; faces count on through the bodies.
func (b *bodyMeshes) add(m *mesh.Mesh, faces int, faults []tess.Fault, props mass.Properties) {
	for _, f := range faults {
		if f.Face != tess.NoFace {
			f.Face += brep.FaceIndex(b.total)
		}
		b.faults = append(b.faults, f)
	}
	b.meshes, b.faces = append(b.meshes, m), append(b.faces, faces)
	b.total += faces
	b.props = b.props.Add(props)
}

// setMesh gives the part a mesh and what follows from it. props are the
// integrals over the exact surface.
func (part *Part) setMesh(m *mesh.Mesh, props mass.Properties) {
	part.Mesh = m
	part.Tree = bvh.Build(m)
	part.Closed = len(m.Triangles) > 0 && m.IsClosed()
	part.Volume, part.Area, part.Inertia = props.Volume, props.Area, props.Inertia
	part.Box = part.exact(geom.Identity(), m.Box())
	part.Centroid = part.Box.Centre()
	if c, ok := props.Centroid(); ok && part.Closed {
		part.Centroid = c
	}
}

// placeAll makes the occurrences with a shape solids. Of uses of a part that lie
// exactly in each other, which is a fault of the file such as lost placements,
// one becomes a solid: each of the others would be in the way of all, and a few
// lines may stand for a hundred thousand of them.
func (p *Product) placeAll() {
	type spot struct {
		part  int
		place geom.Transform
	}
	taken := make(map[spot]bool, len(p.Occs))
	again := make([]int, len(p.Parts))
	for i := range p.Occs {
		o := &p.Occs[i]
		if !p.Parts[o.Part].HasShape() {
			continue
		}
		at := spot{o.Part, o.Placement}
		if taken[at] {
			again[o.Part]++
			continue
		}
		taken[at] = true
		p.place(i)
	}
	for i, n := range again {
		if n > 0 {
			often := "once"
			if n > 1 {
				often = fmt.Sprintf("%d times", n)
			}
			p.Skips = append(p.Skips, step.Skip{Why: fmt.Sprintf(
				"part \"%s\" is placed where it lies already, %s too often: each place is judged once", p.Parts[i].Name, often)})
		}
	}
}

// place makes the occurrence, whose part has a shape, a solid. Distances in a
// part's own frame hold in the root's only under rotations and reflections;
// a scaled occurrence gets a part of its own with the scale in its mesh.
func (p *Product) place(i int) {
	o := &p.Occs[i]
	place := o.Placement
	if !place.IsRigid() && !place.IsMirror() {
		o.Part = p.scaledPart(o.Part, place.M)
		place = geom.Transform{M: mgl64.Ident3(), T: place.T}
		o.Placement = place
	}
	back, _ := place.Inverse()
	o.Solid = SolidIndex(len(p.Solids))
	box := placedBox(p.Parts[o.Part].Mesh, place)
	p.Solids = append(p.Solids, Solid{
		Occ: i, Part: o.Part, Place: place, Back: back,
		Box: box, Exact: p.Parts[o.Part].exact(place, box),
	})
}

// scaledPart copies a part with its mesh mapped by m. Exact faces do not
// follow a scale, so the copy has none and its fasteners are not recognised;
// that is said among the skips.
func (p *Product) scaledPart(part int, m mgl64.Mat3) int {
	from := &p.Parts[part]
	c := Part{
		ID: fmt.Sprintf("p%d", len(p.Parts)+1), Name: from.Name + " (scaled)", Color: from.Color,
		Faults: from.Faults, Lines: from.Lines, Made: from.Made,
		Transparency: from.Transparency, Layers: from.Layers, Attributes: from.Attributes,
	}
	c.Mass = 0 // that of the part as it is
	scaled := from.Mesh.Transformed(geom.Transform{M: m})
	c.setMesh(scaled, massOf(scaled))
	p.Parts = append(p.Parts, c)
	p.Skips = append(p.Skips, step.Skip{
		Entity: "CARTESIAN_TRANSFORMATION_OPERATOR_3D",
		Why:    fmt.Sprintf("part \"%s\" is placed with a scale: its mesh is used, its exact faces are not", from.Name),
	})
	return len(p.Parts) - 1
}

// massOf integrates over a mesh whose exact faces are not known.
func massOf(m *mesh.Mesh) mass.Properties { return mass.Of(&brep.Body{}, m) }

// placedBox is the exact box of the placed mesh (the box of the placed box
// would be too wide for anything turned).
func placedBox(m *mesh.Mesh, t geom.Transform) geom.Box {
	b := geom.EmptyBox()
	for _, v := range m.Vertices {
		b = b.Add(t.Point(v))
	}
	return b
}

// parallel runs f(0) … f(n-1) on the workers and stops early when the context
// ends. Each call writes to its own place, so the result does not depend on
// the order.
func parallel(ctx context.Context, n, w int, f func(i int)) { workers.Run(ctx, n, w, f) }
