package access

import (
	"fmt"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/step"
)

// children are what stands directly below an occurrence, placed in its frame.
type children struct {
	places []geom.Transform
}

// childrenOf finds the uses that the file lists directly below an occurrence.
func childrenOf(p *product.Product, occ int) children {
	var c children
	at := &p.Occs[occ]
	back, ok := at.Placement.Inverse()
	for i := occ + 1; ok && i < len(p.Occs) && p.Occs[i].Depth > at.Depth; i++ {
		if o := &p.Occs[i]; o.Parent == occ && !o.Body {
			c.places = append(c.places, back.Mul(o.Placement))
		}
	}
	return c
}

// notionalMM is the position, in each direction, of the centre of the small
// solid that stands for every part of an assembly: with it the three assemblies
// of a public test file (as1 by a toolkit of the practice's own authors) come
// out exactly.
const notionalMM = 10

// notional is the centre of the children if each were the small solid, which is
// given in a unit of so many mm.
func (c *children) notional(unit float64) mgl64.Vec3 {
	var sum mgl64.Vec3
	at := notionalMM * unit
	for _, t := range c.places {
		sum = sum.Add(t.Point(mgl64.Vec3{at, at, at}))
	}
	return sum.Mul(1 / float64(len(c.places)))
}

// children compares how many there are and where. The small solid may be in mm,
// in the file's unit or a point.
func (c *comparison) children(d *step.Declared, got children) {
	if n := len(got.places); d.HasChildren && n != d.Children {
		off := n - d.Children
		c.add(fmt.Sprintf("number of children %d, here %d", d.Children, n), float64(max(off, -off)), 0, "")
	}
	if !d.HasNotional || len(got.places) == 0 {
		return
	}
	found := got.notional(1)
	least := d.Notional.Sub(found).Len()
	for _, unit := range []float64{0, d.NotionalUnit} {
		least = min(least, d.Notional.Sub(got.notional(unit)).Len())
	}
	if !(least <= centreMM) {
		c.add(apart("centre of notional solids", d.Notional, found, centreMM), least, centreMM, "mm")
	}
}

// ownPlaces are the findings on occurrences that the file says to be elsewhere,
// one for all that come of the same statement.
func ownPlaces(p *product.Product) []Finding {
	var out []Finding
	const fine = -1
	at := map[*mgl64.Vec3]int{} // index of the finding, or fine
	for i := range p.Occs {
		o := &p.Occs[i]
		if o.Centre == nil || o.Parent < 0 {
			continue
		}
		k, seen := at[o.Centre]
		if !seen {
			k = fine
			if f, ok := comparePlace(p, i); ok {
				out = append(out, f)
				k = len(out) - 1
			}
			at[o.Centre] = k
		}
		if k != fine {
			out[k].Occurrences = append(out[k].Occurrences, o.ID)
		}
	}
	return out
}

// comparePlace makes a finding where the centre of an occurrence is not where
// the file says. The part's own centre is the one that the file states, where it
// does, so that a difference is one of the place.
func comparePlace(p *product.Product, i int) (Finding, bool) {
	o := &p.Occs[i]
	d := &p.Parts[o.Part].Declared
	got, whole := measure(p, i)
	whole = whole && got.solids > 0
	centre := d.Centre
	switch {
	case d.HasCentre:
	case whole:
		centre = got.centre()
	default:
		return Finding{}, false
	}
	back, ok := p.Occs[o.Parent].Placement.Inverse()
	if !ok {
		return Finding{}, false
	}
	local := back.Mul(o.Placement)
	found, limit := local.Point(centre), centreLimit(&got)
	off := o.Centre.Sub(found).Len()
	if off <= limit {
		return Finding{}, false
	}
	if inside, ok := local.Inverse(); ok && whole && !d.HasCentre && got.mayBalance(inside.Point(*o.Centre), limit) {
		return Finding{}, false
	}
	return Finding{
		Rule: rulePlaces, Level: "warn", Occurrences: []string{}, Fasteners: []string{}, Source: figureSource,
		Text:  fmt.Sprintf("The file puts %q elsewhere in its assembly than it was found: %s", o.Name, apart("centre", *o.Centre, found, limit)),
		Value: Number(off), Limit: Number(limit), Unit: "mm",
	}, true
}
