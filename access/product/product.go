package product

import (
	"fmt"
	"iter"
	"strconv"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/bvh"
	"stepscan/geom/mesh"
	"stepscan/geom/tess"
	"stepscan/step"
)

// Product is an assembly with meshes.
type Product struct {
	Source step.Source
	Parts  []Part // same order as the assembly's
	Occs   []Occ  // same order as the assembly's; see All
	Solids []Solid
	Skips  []step.Skip // read by step, not used
	Hidden []step.Hidden
	Tol    geom.Tolerance

	walk iter.Seq[*Occ] // makes the occurrences of a product without meshes
}

// All yields the occurrences in order, listed in Occs or not. Each stands until
// the next one's turn.
func (p *Product) All() iter.Seq[*Occ] {
	if p.walk != nil {
		return p.walk
	}
	return func(yield func(*Occ) bool) {
		for i := range p.Occs {
			if !yield(&p.Occs[i]) {
				return
			}
		}
	}
}

// store lists the n occurrences.
func (p *Product) store(n int) {
	list := make([]Occ, 0, n)
	for o := range p.walk {
		list = append(list, *o)
	}
	p.Occs, p.walk = list, nil
}

// OccID is the id of an occurrence by its place in the order.
func OccID(i int) string { return "o" + strconv.Itoa(i) }

// Part is a unique shape with its mesh, in its own coordinates.
type Part struct {
	ID      string // "p1", stable for a file
	Name    string
	RawName string // as decoded, where Name is another
	Color   string
	Bodies  []*brep.Body
	Lines   step.Lines // where the bodies and faces stand in the file
	// Mesh joins all bodies; FaceOf and EdgeLine.Faces count through the
	// bodies' faces in order (body 0's faces, then body 1's, ...).
	Mesh      *mesh.Mesh
	Tree      *bvh.Tree // over Mesh
	Faults    []tess.Fault
	Closed    bool
	Volume    float64 // mm³
	Area      float64 // mm²
	Centroid  mgl64.Vec3
	Inertia   mgl64.Mat3 // about the centroid for a density of 1, mm⁵: mass.Properties
	Box       geom.Box   // of the exact surface
	turned    turned     // that of the part as its occurrences turn it
	step.Made            // of what, from the file
	// Transparency (0 opaque, 1 invisible), layers and attributes are the file's.
	Transparency float64
	Layers       []string
	Attributes   []step.Attribute
	// Declared are the figures that the file itself states of the part.
	Declared step.Declared
	// Hidden is the number of its bodies and parts that were left out because
	// the file hides them.
	Hidden int
}

// HasShape reports whether the part is more than a node of the structure.
func (p *Part) HasShape() bool { return p.Mesh != nil && len(p.Mesh.Triangles) > 0 }

// Occ is one placed use, assembly nodes included.
type Occ struct {
	ID        string // "o0" is the root
	Parent    int    // -1 for the root
	Part      int
	Name      string
	Path      string
	Color     string
	Placement geom.Transform // in the root's frame
	Depth     int
	Solid     SolidIndex // NoSolid for nodes without shape
	// Body: the file does not list this use. It is one of several bodies of its
	// parent's product, or one of several roots.
	Body bool
	// RefDes, RawName, Layers, Attributes and Centre are the file's; see
	// step.Occurrence.
	RefDes     string
	RawName    string
	Layers     []string
	Attributes []step.Attribute
	Centre     *mgl64.Vec3
}

// SolidIndex points into Product.Solids.
type SolidIndex int32

// NoSolid is the index of no solid.
const NoSolid SolidIndex = -1

// Solid is an occurrence with a shape: the thing that stands in the way, is
// held, or is a fastener.
type Solid struct {
	Occ   int
	Part  int
	Place geom.Transform // part to root
	Back  geom.Transform // root to part
	// Box is that of the placed mesh, in the root's frame: what bounds the
	// questions that are asked of meshes. Exact is that of the exact surface in
	// its place, which is up to the chord error wider.
	Box, Exact geom.Box
}

// Part returns a solid's part.
func (p *Product) Part(s SolidIndex) *Part { return &p.Parts[p.Solids[s].Part] }

// Occ returns a solid's occurrence.
func (p *Product) Occ(s SolidIndex) *Occ { return &p.Occs[p.Solids[s].Occ] }

// Name is what a person calls the solid: its occurrence's name, or its id.
func (p *Product) Name(s SolidIndex) string {
	if o := p.Occ(s); o.Name != "" {
		return o.Name
	}
	return fmt.Sprintf("unnamed %s", p.Occ(s).ID)
}

// Box is the box of all solids' meshes, in the root's frame.
func (p *Product) Box() geom.Box {
	b := geom.EmptyBox()
	for i := range p.Solids {
		b = b.Union(p.Solids[i].Box)
	}
	return b
}

// Exact is the box of all solids' exact surfaces, in the root's frame.
func (p *Product) Exact() geom.Box {
	b := geom.EmptyBox()
	for i := range p.Solids {
		b = b.Union(p.Solids[i].Exact)
	}
	return b
}
