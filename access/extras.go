package access

import (
	"stepscan/access/product"
	"stepscan/step"
)

// maxExtras bounds how many layers and attributes are listed of occurrences: a
// small file can give many to an occurrence that comes many times.
const maxExtras = 500_000

// extras hands out the layers and attributes of occurrences in their order, up
// to the bound. Occurrences of one usage share them.
type extras struct {
	left int
	made map[*step.Attribute][]Attribute
}

func newExtras() *extras { return &extras{left: maxExtras, made: map[*step.Attribute][]Attribute{}} }

// take reports whether those of the next occurrence are to be listed.
func (e *extras) take(o *product.Occ) bool {
	n := len(o.Layers) + len(o.Attributes)
	if n > e.left {
		return false
	}
	e.left -= n
	return true
}

func (e *extras) attributes(o *product.Occ) []Attribute {
	if len(o.Attributes) == 0 {
		return nil
	}
	key := &o.Attributes[0]
	if _, ok := e.made[key]; !ok {
		e.made[key] = attributes(o.Attributes)
	}
	return e.made[key]
}
