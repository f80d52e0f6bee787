package fastener

import "stepscan/access/product"

// Doubt is a name that says a fastener of something that no reading of the
// shape accepts: the name may lie, or recognition may have missed it.
type Doubt struct {
	Solids []product.SolidIndex // all uses of the part, in order
	Text   string               // both statements
}

// doubts lists the parts in doubt, in the order of their first solids. Words
// that are common beyond the trade ("pin") raise none.
func (c *court) doubts() []Doubt {
	p := c.scene.P
	at := map[int]int{} // of a part in out
	var out []Doubt
	for i := range p.Solids {
		s := &p.Solids[i]
		if c.taken(product.SolidIndex(i)) {
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
	return out
}

// taken reports a solid that is of a fastener.
func (c *court) taken(s product.SolidIndex) bool {
	return c.of[s] >= 0 && c.cases[c.of[s]].needs == none
}

// denial puts both statements into words.
func (c *court) denial(s product.SolidIndex, word string) string {
	text := `the name says "` + word + `", `
	if j := c.of[s]; j >= 0 {
		return text + "the shape could only be a " + string(c.cases[j].Kind) + ", and nothing about it shows that it is one"
	}
	return text + "the shape is none of a fastener that is known"
}
