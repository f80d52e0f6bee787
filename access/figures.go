package access

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/step"
)

// ruleFigures compares what a file states of its parts (volume, area, centre,
// number of children) with what they come to here, rulePlaces where it says that
// the centres of its occurrences are with where they were put. The file's
// figures are the writer's own, so a difference is about the writing or the
// reading, not about the design.
const (
	ruleFigures = "file's own figures"
	rulePlaces  = "file's own places"
)

// Tolerances of the comparison: usual ones of the CAx-IF recommended practice
// for geometric and assembly validation properties (from memory).
const (
	figureShare  = 0.01  // of volume and of area
	centreMM     = 1.0   // between the centres, or
	centreShare  = 0.001 // of the box's diagonal, whichever is greater
	figureSource = "CAx-IF recommended practice for validation properties (usual tolerances, from memory)"
)

// ownFigures are the findings on parts that the file states other figures of,
// one a part. Only what encloses a volume all round can be compared; the figures
// of a node are those of all solids below it.
func ownFigures(p *product.Product) []Finding {
	var out []Finding
	var parts []int // that out is about
	first := firstUses(p)
	uses := map[int][]string{}
	for i := range p.Parts {
		part := &p.Parts[i]
		if first[i] < 0 || part.Declared == (step.Declared{}) {
			continue
		}
		c := comparison{name: part.Name}
		if got, ok := measure(p, first[i]); ok {
			c.shape(&part.Declared, &got)
		}
		if part.Hidden == 0 {
			c.children(&part.Declared, childrenOf(p, first[i]))
		}
		if f, ok := c.finding(); ok {
			uses[i] = []string{}
			out = append(out, f)
			parts = append(parts, i)
		}
	}
	for i := range p.Occs {
		if l, ok := uses[p.Occs[i].Part]; ok {
			uses[p.Occs[i].Part] = append(l, p.Occs[i].ID)
		}
	}
	for k, i := range parts {
		out[k].Occurrences = uses[i]
	}
	return out
}

// firstUses is each part's first occurrence, -1 for none.
func firstUses(p *product.Product) []int {
	first := make([]int, len(p.Parts))
	for i := range first {
		first[i] = -1
	}
	for i := range slices.Backward(p.Occs) {
		first[p.Occs[i].Part] = i
	}
	return first
}

// figures are what the solids of an occurrence come to in its own frame, and the
// area of the open surfaces beside them, which are no solids in the file either.
type figures struct {
	volume, area float64
	surfaces     float64
	moment       mgl64.Vec3 // volume times centre
	box, centres geom.Box   // of the solids, and of their centres
	part         int        // of the first solid
	several      bool       // solids of different parts
	solids       int
}

func (f *figures) centre() mgl64.Vec3 { return f.moment.Mul(1 / f.volume) }

// mayBalance reports whether c can be the centre of mass: writers weigh the
// parts of an assembly by densities that the file does not give. Whatever they
// are, it lies among the centres of the parts.
func (f *figures) mayBalance(c mgl64.Vec3, limit float64) bool {
	within := f.centres.Grow(limit)
	return f.several && within.Add(c) == within
}

// measure sums the solids and surfaces at and below an occurrence. It is not ok
// where a solid is open or was left out, or where the occurrence is scaled.
func measure(p *product.Product, occ int) (figures, bool) {
	f := figures{box: geom.EmptyBox(), centres: geom.EmptyBox()}
	at := &p.Occs[occ]
	back, ok := at.Placement.Inverse()
	if !ok || !at.Placement.IsRigid() && !at.Placement.IsMirror() {
		return f, false
	}
	for i := occ; i < len(p.Occs); i++ { // what is below stands behind it
		o := &p.Occs[i]
		if i > occ && o.Depth <= at.Depth {
			break
		}
		part := &p.Parts[o.Part]
		if part.Hidden > 0 {
			return f, false
		}
		if len(part.Bodies) == 0 && !part.HasShape() {
			continue
		}
		if onlySurfaces(part) && !part.Closed {
			f.surfaces += part.Area
			continue
		}
		if o.Solid == product.NoSolid || !part.Closed || !(part.Volume > 0) {
			return f, false
		}
		place := back.Mul(p.Solids[o.Solid].Place)
		f.volume += part.Volume
		f.area += part.Area
		centre := place.Point(part.Centroid)
		f.moment = f.moment.Add(centre.Mul(part.Volume))
		f.box, f.centres = f.box.Union(part.Box.Transformed(place)), f.centres.Add(centre)
		if f.solids++; f.solids == 1 {
			f.part = o.Part
		}
		f.several = f.several || o.Part != f.part
	}
	return f, f.solids > 0 || f.surfaces > 0
}

// onlySurfaces reports a part that the file gives as surface models.
func onlySurfaces(part *product.Part) bool {
	solid := func(b *brep.Body) bool { return b.Solid }
	return len(part.Bodies) > 0 && !slices.ContainsFunc(part.Bodies, solid)
}

// comparison gathers where the file's figures of a part and ours disagree.
// Value and limit of its finding are those of the first figure that does.
type comparison struct {
	name         string
	says         []string
	value, limit float64
	unit         string
}

func (c *comparison) add(text string, value, limit float64, unit string) {
	if c.says = append(c.says, text); len(c.says) == 1 {
		c.value, c.limit, c.unit = value, limit, unit
	}
}

func (c *comparison) finding() (Finding, bool) {
	if len(c.says) == 0 {
		return Finding{}, false
	}
	return Finding{
		Rule: ruleFigures, Level: "warn", Fasteners: []string{}, Source: figureSource,
		Text:  fmt.Sprintf("The file states other figures of %q than its shape comes to: %s", c.name, strings.Join(c.says, "; ")),
		Value: Number(c.value), Limit: Number(c.limit), Unit: c.unit,
	}, true
}

// shape compares volume, area and centre. The practice keeps solids and surfaces
// apart; files older than that give the area of both together.
func (c *comparison) shape(d *step.Declared, got *figures) {
	if got.solids > 0 {
		c.share("volume", "mm³", d.Volume, got.volume)
		if both := got.area + got.surfaces; !near(d.Area, both) {
			c.share("area", "mm²", d.Area, got.area)
		}
	}
	if got.surfaces > 0 {
		c.share("area of surfaces", "mm²", d.SurfaceArea, got.surfaces)
	}
	if !d.HasCentre || got.solids == 0 {
		return
	}
	limit := centreLimit(got)
	if off := d.Centre.Sub(got.centre()).Len(); !(off <= limit) && !got.mayBalance(d.Centre, limit) {
		c.add(apart("centre", d.Centre, got.centre(), limit), off, limit, "mm")
	}
}

// near reports figures of volume or area that agree.
func near(stated, found float64) bool { return math.Abs(stated/found-1) <= figureShare }

func (c *comparison) share(what, unit string, stated, found float64) {
	if stated > 0 && !near(stated, found) {
		text := fmt.Sprintf("%s %.6g %s, here %.6g %s%s", what, stated, unit, found, unit, unitsHint(stated/found))
		c.add(text, 100*math.Abs(stated/found-1), 100*figureShare, "%")
	}
}

// centreLimit is how far two centres may be apart, mm.
func centreLimit(got *figures) float64 {
	if got.solids == 0 {
		return centreMM
	}
	return math.Max(centreMM, centreShare*got.box.Diagonal())
}

// apart tells two positions, and whether a unit makes the difference.
func apart(what string, stated, found mgl64.Vec3, limit float64) string {
	hint := ""
	if ratio := stated.Len() / found.Len(); stated.Sub(found.Mul(ratio)).Len() <= limit*math.Max(1, ratio) {
		hint = unitsHint(ratio)
	}
	return fmt.Sprintf("%s %s mm, here %s mm%s", what, coordinates(stated), coordinates(found), hint)
}

func coordinates(v mgl64.Vec3) string { return fmt.Sprintf("(%.4g, %.4g, %.4g)", v[0], v[1], v[2]) }

// unitsHint says so where a ratio is a power of ten or of 25.4, within the
// tolerance of the comparison: then a unit is wrong, not a shape.
func unitsHint(ratio float64) string {
	for _, base := range []float64{10, 25.4} {
		n := math.Round(math.Log(ratio) / math.Log(base))
		if n != 0 && math.Abs(ratio/math.Pow(base, n)-1) <= figureShare {
			return fmt.Sprintf(" (a factor of %g to the power %g: this points to units, not to the shape)", base, n)
		}
	}
	return ""
}
