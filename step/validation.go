package step

import (
	"strings"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/step/p21"
)

// Declared are the mass properties that the writing system put into the file:
// what it thinks that the shape comes to, and so a check on our reading.
type Declared struct {
	Volume    float64 // mm³, 0 where not given
	Area      float64 // mm², 0 where not given
	Centre    mgl64.Vec3
	HasCentre bool
}

// readDeclared reads the geometric validation properties of products:
// PROPERTY_DEFINITION('geometric validation property', ...) tied to a
// representation of measures (CAx-IF recommended practice for geometric and
// assembly validation properties). The first of each kind counts.
func (r *reader) readDeclared() {
	for rec := range r.f.Of("PROPERTY_DEFINITION_REPRESENTATION") {
		p := leafOr(rec, "PROPERTY_DEFINITION_REPRESENTATION")
		def, err := r.open(p.OptRef(0), "PROPERTY_DEFINITION")
		if err != nil {
			continue
		}
		d := leafOr(def, "PROPERTY_DEFINITION")
		if !strings.EqualFold(strings.TrimSpace(d.String(0)), "geometric validation property") {
			continue
		}
		pr := r.productOf(d.OptRef(2))
		rp := r.rep(p.OptRef(1))
		if pr == nil || rp == nil || notOfSolids(rp.name) {
			continue
		}
		for _, id := range rp.items {
			r.declaredItem(&pr.declared, id, rp.u)
		}
	}
}

// declaredItem reads one measure or point into d.
func (r *reader) declaredItem(d *Declared, id p21.ID, u units) {
	rec, err := r.open(id)
	if err != nil {
		return
	}
	if rec.Is("CARTESIAN_POINT") {
		if p := rec.Params(); notOfSolids(p.String(0)) {
			return
		}
		c, err := (&geometry{r: r, u: u}).point(id)
		if err == nil && !d.HasCentre {
			d.Centre, d.HasCentre = c, true
		}
		return
	}
	if !rec.Is("MEASURE_REPRESENTATION_ITEM") {
		return
	}
	name, value, unit := measureItem(rec)
	if notOfSolids(name) {
		return
	}
	kind, _, _ := value.Typed()
	x, ok := value.Real()
	if !ok || !(x > 0) {
		return
	}
	what := strings.ToUpper(kind + " " + name)
	switch {
	case strings.Contains(what, "VOLUME"):
		if f, ok := r.lengthPower(unit, 3, u); ok && d.Volume == 0 {
			d.Volume = x * f
		}
	case strings.Contains(what, "AREA"):
		if f, ok := r.lengthPower(unit, 2, u); ok && d.Area == 0 {
			d.Area = x * f
		}
	}
}

// notOfSolids reports names of figures that speak of the surfaces and curves
// beside the solids, or of a tessellation: "independent surface area",
// "independent curve centre point" and the like in the same practice.
func notOfSolids(name string) bool {
	name = strings.ToLower(name)
	return strings.Contains(name, "independent") || strings.Contains(name, "curve") || strings.Contains(name, "tessellated")
}

// measureItem opens MEASURE_REPRESENTATION_ITEM(name, value, unit).
func measureItem(rec p21.Record) (name string, value p21.Value, unit p21.ID) {
	if rec.IsComplex() {
		m, _ := rec.Leaf("MEASURE_WITH_UNIT")
		n, _ := rec.Leaf("REPRESENTATION_ITEM")
		return n.String(0), m.Value(0), m.OptRef(1)
	}
	p := rec.Params()
	return p.String(0), p.Value(1), p.OptRef(2)
}

// lengthPower is what a derived unit of length to the power n comes to in mm^n.
// Unset, the context's length unit stands in. Units of other powers are not
// believed: some writers leave exponents of 0.
func (r *reader) lengthPower(id p21.ID, n int, u units) (float64, bool) {
	if id == 0 {
		return power(u.mm, n), true
	}
	rec, err := r.open(id)
	if err != nil || !rec.Is("DERIVED_UNIT") {
		return 0, false
	}
	p := leafOr(rec, "DERIVED_UNIT")
	elements := p.Refs(0, nil)
	if len(elements) != 1 {
		return 0, false
	}
	e, err := r.params(elements[0], "DERIVED_UNIT_ELEMENT")
	if err != nil {
		return 0, false
	}
	mm, _, ok := r.unitFactor(e.OptRef(0), "METRE", maxChain)
	return power(mm, n), ok && e.Real(1) == float64(n)
}

func power(x float64, n int) float64 {
	y := 1.0
	for range n {
		y *= x
	}
	return y
}
