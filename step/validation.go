package step

import (
	"math"
	"strings"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/step/p21"
)

// Declared are the properties that the writing system put into the file: what it
// thinks that the shape comes to, and so a check on our reading.
type Declared struct {
	// Of the solids, apart from surfaces and curves beside them.
	Volume    float64 // mm³, 0 where not given
	Area      float64 // mm², 0 where not given
	Centre    mgl64.Vec3
	HasCentre bool
	// SurfaceArea is that of the surfaces beside the solids, mm², 0 where not
	// given.
	SurfaceArea float64

	// Of an assembly: how many parts are directly below it, and the centre that
	// these would have if each were the same small solid.
	Children    int
	HasChildren bool
	Notional    mgl64.Vec3
	HasNotional bool
	// NotionalUnit is what the file's unit of length comes to there, mm: whether
	// the small solid is given in it or in mm is not known.
	NotionalUnit float64
}

// readDeclared reads the validation properties of products, of single bodies and
// of uses:
// PROPERTY_DEFINITION('geometric validation property', ...) or 'assembly
// validation property', tied to a representation of measures (CAx-IF
// recommended practice for geometric and assembly validation properties). The
// first of each kind counts.
func (r *reader) readDeclared() {
	r.useCentres, r.bodyDeclared = map[p21.ID]*mgl64.Vec3{}, map[p21.ID]*Declared{}
	asp := &aspects{r: r}
	var strange, pieces odd
	for rec := range r.f.Of("PROPERTY_DEFINITION_REPRESENTATION") {
		p := leafOr(rec, "PROPERTY_DEFINITION_REPRESENTATION")
		def, err := r.open(p.OptRef(0), "PROPERTY_DEFINITION")
		if err != nil {
			continue
		}
		d := leafOr(def, "PROPERTY_DEFINITION")
		kind := strings.ToLower(strings.TrimSpace(d.String(0)))
		if kind != "geometric validation property" && kind != "assembly validation property" {
			continue
		}
		rp := r.rep(p.OptRef(1))
		if rp == nil {
			continue
		}
		pr, use := r.productOf(d.OptRef(2)), r.attributed(d.OptRef(2))
		var single *Declared
		if kind == "geometric validation property" && asp.isAspect(d.OptRef(2)) {
			if single = r.ofBody(asp, d.OptRef(2)); single == nil {
				pieces.add(def.ID())
			}
		}
		for _, id := range rp.items {
			switch {
			case pr != nil && kind == "assembly validation property":
				r.assemblyItem(&pr.declared, id, rp)
			case pr != nil:
				r.declaredItem(&pr.declared, id, rp, &strange)
			case single != nil:
				r.declaredItem(single, id, rp, &strange)
			case use != 0 && kind == "geometric validation property":
				r.useCentre(use, id, rp)
			}
		}
	}
	pieces.tell(r, "stated figures of faces or of other pieces of a shape (%d): not compared")
	strange.tell(r, "stated volumes or areas in a unit that measures something else (%d), such as one with exponents of 0: not compared")
}

// figureSet is what a figure is of. The practice keeps the sets apart, and only
// by the names of their items.
type figureSet int

const (
	ofSolids figureSet = iota
	ofSurfaces
	ofOthers // curves, points, tessellations, construction geometry
)

// setOf tells the sets by the names of a representation and its item:
// "independent surface area", "independent curve centre point" and the like.
func setOf(rep, item string) figureSet {
	name := strings.ToLower(rep + " " + item)
	for _, word := range []string{"curve", "wire", "tessellated", "supplemental", "point cloud", "cloud of points"} {
		if strings.Contains(name, word) {
			return ofOthers
		}
	}
	if strings.Contains(name, "independent") {
		return ofSurfaces
	}
	return ofSolids
}

// declaredItem reads one measure or point into d.
func (r *reader) declaredItem(d *Declared, id p21.ID, rp *rep, strange *odd) {
	rec, err := r.open(id)
	if err != nil {
		return
	}
	if rec.Is("CARTESIAN_POINT") {
		if c, ok := r.declaredPoint(rec, rp); ok && !d.HasCentre {
			d.Centre, d.HasCentre = c, true
		}
		return
	}
	name, value, unit := figureItem(rec)
	kind, _, _ := value.Typed()
	x, ok := value.Real()
	if !ok || !(x > 0) {
		return
	}
	set := setOf(rp.name, name)
	what := strings.ToUpper(kind + " " + name)
	if !strings.Contains(what, "VOLUME") && !strings.Contains(what, "AREA") {
		what = strings.ToUpper(rp.name)
	}
	switch {
	case strings.Contains(what, "VOLUME") && set == ofSolids:
		r.figure(&d.Volume, x, unit, 3, id, rp.u, strange)
	case strings.Contains(what, "AREA") && set == ofSolids:
		r.figure(&d.Area, x, unit, 2, id, rp.u, strange)
	case strings.Contains(what, "AREA") && set == ofSurfaces:
		r.figure(&d.SurfaceArea, x, unit, 2, id, rp.u, strange)
	}
}

// figure sets to to x of a unit of length to the power n, if it is not set yet.
// Unset, the context's length unit stands in. Units of other powers are not
// believed: some writers leave exponents of 0.
func (r *reader) figure(to *float64, x float64, unit p21.ID, n int, item p21.ID, u units, strange *odd) {
	if *to != 0 {
		return
	}
	if unit == 0 {
		*to = x * power(u.mm, n)
		return
	}
	if q, ok := r.unit(unit, maxChain); ok && q.dim == (dimension{float64(n)}) {
		*to = x * q.factor
		return
	}
	strange.add(item)
}

// declaredPoint is a centre of solids, mm.
func (r *reader) declaredPoint(rec p21.Record, rp *rep) (mgl64.Vec3, bool) {
	p := leafOr(rec, "REPRESENTATION_ITEM")
	if setOf(rp.name, p.String(0)) != ofSolids {
		return mgl64.Vec3{}, false
	}
	c, err := (&geometry{r: r, u: rp.u}).point(rec.ID())
	return c, err == nil
}

// useCentre reads where an occurrence's centre is said to be in its assembly.
func (r *reader) useCentre(nauo, id p21.ID, rp *rep) {
	rec, err := r.open(id, "CARTESIAN_POINT")
	if err != nil || r.useCentres[nauo] != nil {
		return
	}
	if c, ok := r.declaredPoint(rec, rp); ok {
		r.useCentres[nauo] = &c
	}
}

// assemblyItem reads the number of children, a count that many write as a real
// number, or the centre of the notional solids.
func (r *reader) assemblyItem(d *Declared, id p21.ID, rp *rep) {
	rec, err := r.open(id)
	if err != nil {
		return
	}
	if rec.Is("CARTESIAN_POINT") {
		if c, ok := r.declaredPoint(rec, rp); ok && !d.HasNotional {
			d.Notional, d.HasNotional, d.NotionalUnit = c, true, rp.u.mm
		}
		return
	}
	name, value, _ := figureItem(rec)
	x, ok := value.Number()
	if !ok || !strings.Contains(strings.ToLower(rp.name+" "+name), "children") {
		return
	}
	if n := math.Round(x); !d.HasChildren && n >= 0 && n <= maxChildren && math.Abs(x-n) < 1e-6 {
		d.Children, d.HasChildren = int(n), true
	}
}

// maxChildren bounds a stated number of children: no assembly has as many.
const maxChildren = 1e9

// figureItem opens an item that holds a number, with its unit where it has one.
func figureItem(rec p21.Record) (name string, value p21.Value, unit p21.ID) {
	if rec.Is("MEASURE_REPRESENTATION_ITEM") {
		return measureItem(rec)
	}
	for _, entity := range []string{"VALUE_REPRESENTATION_ITEM", "INTEGER_REPRESENTATION_ITEM", "REAL_REPRESENTATION_ITEM"} {
		leaf, ok := rec.Leaf(entity)
		switch {
		case ok && rec.IsComplex():
			n, _ := rec.Leaf("REPRESENTATION_ITEM")
			return n.String(0), leaf.Value(0), 0
		case ok:
			return leaf.String(0), leaf.Value(1), 0
		}
	}
	return "", p21.Value{}, 0
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

func power(x float64, n int) float64 {
	y := 1.0
	for range n {
		y *= x
	}
	return y
}
