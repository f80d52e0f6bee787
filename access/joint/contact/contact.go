package contact

import (
	"context"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// Touch is how far apart, mm, or how deep in each other two faces may be drawn
// and still touch: ten times what rounding between inch and millimetre leaves,
// and below any clearance that a drawing would ask for. Where a file states a
// coarser accuracy the faces get that, up to MaxTouch.
const (
	Touch    = 0.02
	MaxTouch = 0.05
)

// Kind is the surface on which two solids touch, in the words of the report.
type Kind string

// The kinds.
const (
	Planar      Kind = "planar"
	Cylindrical Kind = "cylindrical"
	Other       Kind = "other"
)

// Contact is where two solids touch: all patches in one plane, or on one
// cylinder, or on other surfaces together. Positions are in the root's frame.
type Contact struct {
	A, B product.SolidIndex // A < B
	Kind Kind
	// Area is the common area, mm²: exact for the faces' triangles on planes
	// and cylinders, sampled on other surfaces. It is 0 where solids touch along
	// a line or in a point.
	Area float64
	// Normal looks from A to B: of planar contacts, and of contacts in a line or
	// a point where the meshes tell it; zero elsewhere.
	Normal mgl64.Vec3
	// Axis and Radius, mm, are a cylinder's; Inner tells that A is in B.
	Axis   geom.Axis
	Radius float64
	Inner  bool
}

// Class is how a shaft fits its hole, in the words of ISO 286-1:2010, 3.3.
type Class string

// The classes.
const (
	Clearance Class = "clearance"
	// Transition is also what a model with equal nominal diameters gets:
	// whether it is loose or tight is then a matter of tolerances, which it does
	// not show.
	Transition   Class = "transition"
	Interference Class = "interference"
	// Bite is a shaft that is thicker than its hole by more than any press fit:
	// a thread drawn plain, or a fault of the model.
	Bite Class = "bite"
)

// Fit is a shaft in a hole of about its diameter.
type Fit struct {
	Shaft, Hole product.SolidIndex
	Axis        geom.Axis
	D, Bore     float64 // mm, nominal diameters as drawn
	Overlap     float64 // mm on diameter, D - Bore; negative is play
	Length      float64 // mm along the axis
	Class       Class
}

// Pair is all that two near solids have to do with each other.
type Pair struct {
	A, B     product.SolidIndex // A < B
	Contacts []Contact
	Fits     []Fit
	// Deep: they share volume, deeper than the chords of their meshes and Touch
	// explain. Shared is how much, mm³, NaN where it is not known: a mesh is open
	// and so has no inside, or they are tangled beyond measure.
	Deep   bool
	Shared float64
	// Case is equal for pairs of the same parts in the same relative place.
	Case int
}

// Touches reports whether the solids touch, share volume or stand in each
// other with play.
func (p *Pair) Touches() bool { return len(p.Contacts) > 0 || len(p.Fits) > 0 || p.Deep }

// Area is the area of all contacts of the pair, mm².
func (p *Pair) Area() float64 {
	sum := 0.0
	for i := range p.Contacts {
		sum += p.Contacts[i].Area
	}
	return sum
}

// Result is what Pairs found.
type Result struct {
	Pairs []Pair // those that touch, by A and then B
	// Left is how many near pairs were not looked at because there were too
	// many: a product whose placements are lost lies in one heap.
	Left int
	// Cases is how many distinct cases there are.
	Cases int
}

// Find lists the contacts of all solids, by A and then B; those of a pair by
// kind and area. A cancelled context gives what was found so far.
func Find(ctx context.Context, p *product.Product) []Contact {
	var out []Contact
	r := Pairs(ctx, p)
	for i := range r.Pairs {
		out = append(out, r.Pairs[i].Contacts...)
	}
	return out
}

// Pairs looks at every pair of solids whose boxes come near. Pairs of the same
// parts in the same relative place are looked at once.
func Pairs(ctx context.Context, p *product.Product) *Result {
	return PairsIn(ctx, feature.NewScene(ctx, p))
}

// PairsIn is Pairs in a product whose features have been read.
func PairsIn(ctx context.Context, scene *feature.Scene) *Result {
	if len(scene.P.Solids) < 2 {
		return &Result{}
	}
	s := newStudy(ctx, scene)
	near, left := s.near()
	cases, of := s.distinct(near)
	left += s.affordable(cases, of)
	found := make([]verdict, len(cases))
	feature.Parallel(ctx, len(cases), func(i int) { found[i] = s.examine(&cases[i]) })
	s.measure(ctx, cases, found)
	out := &Result{Left: left, Cases: len(cases)}
	for i, pair := range near {
		if k := of[i]; k != tooMuch && found[k].any() {
			out.Pairs = append(out.Pairs, s.placed(pair, k, &found[k]))
		}
	}
	return out
}
