package step

import (
	"fmt"
	"slices"
	"strings"

	"stepscan/step/p21"
)

// carrier is a kind of thing that files hold beside bodies, or instead of them.
type carrier int

const (
	noCarrier carrier = iota
	otherSolids
	tessellated
	tessellatedCopies
	looseSurfaces
	wireframe
	pointSets
	annotation
	tolerances
	construction
	otherItems
	carriers // how many there are
)

// carrierTexts say what each kind is called and what is done with it. Those that
// are no part of the product's shape take nothing from the trust in a verdict.
var carrierTexts = [carriers]struct {
	what, done string
	shape      bool
}{
	otherSolids:       {"constructive or swept solids", "bodies of a kind that is not supported, left out", true},
	tessellated:       {"tessellated shapes", "beside exact bodies, under no product or of a kind that is not supported, left out", true},
	tessellatedCopies: {"tessellated copies of exact bodies", "the bodies are used", false},
	looseSurfaces:     {"surfaces or faces outside of any body", "left out", true},
	wireframe:         {"wireframes or sets of curves", "left out", false},
	pointSets:         {"points or sets of points", "left out", false},
	annotation:        {"annotations", "left out", false},
	tolerances:        {"tolerances, dimensions and datums", "not read", false},
	construction:      {"items of construction geometry", "left out", false},
	otherItems:        {"items that are no bodies", "left out", true},
}

// cargo counts what is left out, each record once.
type cargo struct {
	seen  map[p21.ID]bool
	count [carriers]int
	first [carriers]p21.ID // with the lowest number
}

func (c *cargo) add(k carrier, id p21.ID) {
	if k == noCarrier || c.seen[id] {
		return
	}
	c.see(id)
	if c.count[k] == 0 || id < c.first[k] {
		c.first[k] = id
	}
	c.count[k]++
}

// see keeps a record from being counted later.
func (c *cargo) see(id p21.ID) {
	if c.seen == nil {
		c.seen = map[p21.ID]bool{}
	}
	c.seen[id] = true
}

// carrierOf is the kind of an item of a representation that is no body.
func carrierOf(rec p21.Record) carrier {
	name := rec.Name()
	has := func(parts ...string) bool {
		for _, p := range parts {
			if strings.Contains(name, p) {
				return true
			}
		}
		return false
	}
	switch {
	case bareItems[name]:
		return noCarrier
	case has("ANNOTATION", "DRAUGHTING", "TEXT", "CALLOUT", "SYMBOL"):
		return annotation
	case has("TESSELLATED", "TRIANGULATED"):
		return tessellatedKind(rec, has)
	case solidItem(name):
		return otherSolids
	case has("SURFACE", "FACE", "SHELL", "PLANE"):
		return looseSurfaces
	case has("POINT", "VERTEX"):
		return pointSets
	case has("WIREFRAME", "CURVE", "GEOMETRIC_SET", "EDGE", "LINE", "CIRCLE", "ELLIPSE", "PARABOLA", "HYPERBOLA"):
		return wireframe
	}
	return otherItems
}

// tessellatedKind tells shapes from curves and points. A set that holds faces
// is a body and does not come here.
func tessellatedKind(rec p21.Record, has func(...string) bool) carrier {
	switch {
	case has("CURVE", "WIRE", "EDGE"), rec.Is("TESSELLATED_GEOMETRIC_SET"):
		return wireframe
	case has("POINT", "VERTEX"):
		return pointSets
	}
	return tessellated
}

// annotationEntities are shown words, lines and symbols (ISO 10303-46 and -101).
var annotationEntities = []string{
	"ANNOTATION_OCCURRENCE", "ANNOTATION_CURVE_OCCURRENCE", "ANNOTATION_TEXT_OCCURRENCE", "ANNOTATION_SYMBOL_OCCURRENCE",
	"ANNOTATION_FILL_AREA_OCCURRENCE", "ANNOTATION_POINT_OCCURRENCE", "ANNOTATION_SUBFIGURE_OCCURRENCE",
	"ANNOTATION_PLACEHOLDER_OCCURRENCE", "DRAUGHTING_ANNOTATION_OCCURRENCE", "TESSELLATED_ANNOTATION_OCCURRENCE",
}

// toleranceEntities are what the shape should keep to (ISO 10303-47).
var toleranceEntities = []string{
	"GEOMETRIC_TOLERANCE", "ANGULARITY_TOLERANCE", "CIRCULAR_RUNOUT_TOLERANCE", "COAXIALITY_TOLERANCE",
	"CONCENTRICITY_TOLERANCE", "CYLINDRICITY_TOLERANCE", "FLATNESS_TOLERANCE", "LINE_PROFILE_TOLERANCE",
	"PARALLELISM_TOLERANCE", "PERPENDICULARITY_TOLERANCE", "POSITION_TOLERANCE", "ROUNDNESS_TOLERANCE",
	"STRAIGHTNESS_TOLERANCE", "SURFACE_PROFILE_TOLERANCE", "SYMMETRY_TOLERANCE", "TOTAL_RUNOUT_TOLERANCE",
	"DIMENSIONAL_SIZE", "DIMENSIONAL_LOCATION", "ANGULAR_SIZE", "ANGULAR_LOCATION", "DIRECTED_DIMENSIONAL_LOCATION", "DATUM",
}

// looseEntities are models that a representation may list which hangs under no
// product.
var looseEntities = []string{
	"CSG_SOLID", "BOOLEAN_RESULT", "BLOCK", "SPHERE", "TORUS", "RIGHT_CIRCULAR_CYLINDER", "RIGHT_CIRCULAR_CONE",
	"RIGHT_ANGULAR_WEDGE", "EXTRUDED_AREA_SOLID", "REVOLVED_AREA_SOLID", "EXTRUDED_FACE_SOLID", "REVOLVED_FACE_SOLID",
	"SWEPT_DISK_SOLID", "SURFACE_CURVE_SWEPT_AREA_SOLID", "SOLID_REPLICA",
	"TESSELLATED_SOLID", "TESSELLATED_SHELL", "TRIANGULATED_SURFACE_SET", "COMPLEX_TRIANGULATED_SURFACE_SET",
	"GEOMETRIC_SET", "GEOMETRIC_CURVE_SET", "EDGE_BASED_WIREFRAME_MODEL", "SHELL_BASED_WIREFRAME_MODEL",
}

// countAnnotations goes before the representations are walked through: the text
// or the curves that an annotation shows are not to be counted again.
func (r *reader) countAnnotations() {
	for rec := range r.f.Of(annotationEntities...) {
		p, k := leafOr(rec, "STYLED_ITEM"), 2 // behind the name, which a leaf does not have
		if rec.IsComplex() {
			k = 1
		}
		r.cargo.add(annotation, rec.ID())
		if shown := p.OptRef(k); shown != 0 {
			r.cargo.see(shown)
		}
	}
}

// tellCarriers counts what no product's shape led to and names each kind once,
// with its number and its first record.
func (r *reader) tellCarriers() {
	c := &r.cargo
	for rec := range r.f.Of(toleranceEntities...) {
		c.add(tolerances, rec.ID())
	}
	for rec := range r.f.Of("CONSTRUCTIVE_GEOMETRY_REPRESENTATION") {
		if rp := r.rep(rec.ID()); rp != nil {
			r.addConstruction(rp)
		}
	}
	for rec := range r.f.Of("PROPERTY_DEFINITION_REPRESENTATION", "SHAPE_DEFINITION_REPRESENTATION") {
		p := leafOr(rec, "PROPERTY_DEFINITION_REPRESENTATION")
		def, err := r.params(p.OptRef(0), "PROPERTY_DEFINITION")
		if err != nil || !strings.EqualFold(strings.TrimSpace(def.String(0)), supplemental) {
			continue
		}
		if rp := r.rep(p.OptRef(1)); rp != nil && rp.aside && !r.onlyPlaces(rp) {
			r.addConstruction(rp)
		}
	}
	for rec := range r.f.Of(looseEntities...) {
		if c.seen[rec.ID()] || r.reached[rec.ID()] {
			continue
		}
		if home := r.homeOf(rec.ID()); home != nil && !home.aside { // else an operand, or what an annotation is drawn with
			c.add(carrierOf(rec), rec.ID())
		}
	}
	for k, text := range carrierTexts {
		if c.count[k] > 0 {
			s := r.skip(c.first[k], "", fmt.Sprintf("%s (%d): %s", text.what, c.count[k], text.done))
			s.Aside = !text.shape
			r.asm.Skips = append(r.asm.Skips, s)
		}
	}
}

// onlyPlaces reports a representation of coordinate systems.
func (r *reader) onlyPlaces(rp *rep) bool {
	return !slices.ContainsFunc(rp.items, func(id p21.ID) bool {
		rec, err := r.open(id)
		return err == nil && !bareItems[rec.Name()]
	})
}

func (r *reader) addConstruction(rp *rep) {
	for _, id := range rp.items {
		if _, err := r.open(id); err == nil {
			r.cargo.add(construction, id)
		}
	}
}
