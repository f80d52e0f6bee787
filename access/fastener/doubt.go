package fastener

import (
	"fmt"
	"slices"

	"stepscan/access/product"
)

// Doubt is a name that says a fastener of something that no reading of the
// shape accepts: the name may lie, or recognition may have missed it.
type Doubt struct {
	Solids []product.SolidIndex // all uses of the part, in order
	Text   string               // both statements
	// Fused: it is not a name that is doubted, but that a part holds nothing else:
	// heads of screws are one body with it.
	Fused bool
	// Ruled: it is a person's ruling that could not be followed.
	Ruled bool
}

// doubts lists the parts in doubt, in the order of their first solids. Words
// that are common beyond the trade ("pin") raise none.
func (c *court) doubts() []Doubt {
	p := c.scene.P
	at := map[int]int{} // of a part in out
	var out []Doubt
	for i := range p.Solids {
		s := &p.Solids[i]
		if c.taken(product.SolidIndex(i)) || c.ruling(product.SolidIndex(i)) != nil {
			continue
		}
		w := c.read.of(p.Parts[s.Part].Name, p.Occs[s.Occ].Name)
		if !w.Says() || w.Weak {
			continue
		}
		k, ok := at[s.Part]
		if !ok {
			k = len(out)
			at[s.Part] = k
			out = append(out, Doubt{Text: c.denial(product.SolidIndex(i), w.Word)})
		}
		out[k].Solids = append(out[k].Solids, product.SolidIndex(i))
	}
	return slices.Concat(out, c.doubtsOfGroups(), c.fused())
}

// doubtsOfGroups lists the products and bought sub-assemblies of several solids
// that are called fasteners and have none in them.
func (c *court) doubtsOfGroups() []Doubt {
	var out []Doubt
	for i := range c.groups {
		f := &c.groups[i]
		if w := c.nameOf(f); f.whole && w.Says() && !w.Weak && !slices.ContainsFunc(f.solids, c.taken) {
			text := fmt.Sprintf("the name of the %d solids together says %q, the shape is none of a fastener that is known", len(f.solids), w.Word)
			out = append(out, Doubt{Solids: f.solids, Text: text})
		}
	}
	return out
}

// taken reports a solid that is of a fastener.
func (c *court) taken(s product.SolidIndex) bool {
	return c.mixed[s] || c.of[s] >= 0 && c.cases[c.of[s]].needs == none
}

// denial puts both statements into words.
func (c *court) denial(s product.SolidIndex, word string) string {
	text := `the name says "` + word + `", `
	if j := c.of[s]; j >= 0 {
		return text + "the shape could only be a " + string(c.cases[j].Kind) + ", and nothing about it shows that it is one"
	}
	return text + "the shape is none of a fastener that is known"
}
