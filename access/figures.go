package access

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
)

// ruleFigures compares what a file states of its parts (volume, area, centre)
// with what they come to here. The file's figures are the writer's own, so a
// difference is about the writing or the reading, not about the design.
const ruleFigures = "file's own figures"

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
		d := &p.Parts[i].Declared
		if first[i] < 0 || d.Volume == 0 && d.Area == 0 && !d.HasCentre {
			continue
		}
		got, ok := measure(p, first[i])
		if !ok {
			continue
		}
		if f, ok := compareFigures(&p.Parts[i], &got); ok {
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

// figures are what the solids of an occurrence come to in its own frame.
type figures struct {
	volume, area float64
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

// measure sums the solids at and below an occurrence. It is not ok where one of
// them is open or was left out, or where the occurrence is scaled.
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
	return f, f.solids > 0
}

// compareFigures makes a finding where the file's figures of a part and ours
// disagree. Its value and limit are those of the first figure that does.
func compareFigures(part *product.Part, got *figures) (Finding, bool) {
	f := Finding{Rule: ruleFigures, Level: "warn", Fasteners: []string{}, Value: Unknown(), Limit: Unknown(), Source: figureSource}
	d := &part.Declared
	var says []string
	add := func(text string, value, limit float64, unit string) {
		if says = append(says, text); len(says) == 1 {
			f.Value, f.Limit, f.Unit = Number(value), Number(limit), unit
		}
	}
	share := func(what, unit string, stated, found float64) {
		if off := math.Abs(stated/found - 1); stated > 0 && !(off <= figureShare) {
			text := fmt.Sprintf("%s %.6g %s, here %.6g %s%s", what, stated, unit, found, unit, unitsHint(stated/found))
			add(text, 100*off, 100*figureShare, "%")
		}
	}
	share("volume", "mm³", d.Volume, got.volume)
	share("area", "mm²", d.Area, got.area)
	if d.HasCentre {
		limit := math.Max(centreMM, centreShare*got.box.Diagonal())
		if off := d.Centre.Sub(got.centre()).Len(); !(off <= limit) && !got.mayBalance(d.Centre, limit) {
			text := fmt.Sprintf("centre %s mm, here %s mm", coordinates(d.Centre), coordinates(got.centre()))
			add(text, off, limit, "mm")
		}
	}
	if len(says) == 0 {
		return f, false
	}
	f.Text = fmt.Sprintf("The file states other figures of %q than its shape comes to: %s", part.Name, strings.Join(says, "; "))
	return f, true
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
