package fastener

import (
	"context"
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/name"
	"stepscan/access/product"
	"stepscan/geom"
)

// Find recognises the fasteners of a product, in the order of its solids. Each
// unique part is examined once. What the shape alone does not settle (a plain
// rod, a plate with a bore, a round head without a drive) is settled by the
// holes and shanks about it, or by its name. Kind is already Bolt where a nut
// sits on the shank. A cancelled context gives what was found so far.
func Find(ctx context.Context, p *product.Product) []Fastener {
	out, _ := FindAll(ctx, p)
	return out
}

// FindAll is Find with the names that the shapes deny.
func FindAll(ctx context.Context, p *product.Product) ([]Fastener, []Doubt) {
	c := &court{scene: feature.NewScene(ctx, p), read: reader{}}
	c.examine(ctx)
	c.place()
	c.settle()
	var out []Fastener
	for i := range c.cases {
		if k := &c.cases[i]; k.needs == none {
			f := k.Fastener
			f.ID = fmt.Sprintf("f%d", len(out)+1)
			f.Evidence = append([]string(nil), f.Evidence...)
			out = append(out, f)
		}
	}
	return out, c.doubts()
}

// court holds the cases: placed specimens, some of which still need a proof.
type court struct {
	scene *feature.Scene
	parts []specimen // per part of the product
	is    []bool
	cases []instance
	read  reader
	// of lists each solid's case, -1 without.
	of []int
}

// instance is a specimen placed in the root's frame.
type instance struct {
	specimen
	solid product.SolidIndex
	word  name.Statement
}

// examine reads every part that a solid uses.
func (c *court) examine(ctx context.Context) {
	p := c.scene.P
	c.parts, c.is = make([]specimen, len(p.Parts)), make([]bool, len(p.Parts))
	used := make([]bool, len(p.Parts))
	for i := range p.Solids {
		used[p.Solids[i].Part] = true
	}
	feature.Parallel(ctx, len(p.Parts), func(i int) {
		if used[i] {
			c.parts[i], c.is[i] = examine(&p.Parts[i], c.scene.Parts[i])
		}
	})
}

// place puts a case for each solid whose part looks like a fastener.
func (c *court) place() {
	p := c.scene.P
	c.of = make([]int, len(p.Solids))
	for i := range p.Solids {
		c.of[i] = -1
		s := &p.Solids[i]
		if !c.is[s.Part] || !feature.KeepsSize(s.Place) {
			continue
		}
		k := instance{specimen: c.parts[s.Part], solid: product.SolidIndex(i)}
		k.Solids = []product.SolidIndex{product.SolidIndex(i)}
		k.Axis = k.Axis.Transformed(s.Place)
		k.Axis.D = k.Axis.D.Add(mgl64.Vec3{}) // no -0
		k.Point = k.Axis.O
		k.Evidence = append([]string(nil), k.Evidence...)
		k.word = c.read.of(p.Parts[s.Part].Name, p.Occs[s.Occ].Name)
		c.of[i] = len(c.cases)
		c.cases = append(c.cases, k)
	}
}

// box holds the whole case, grown by d mm.
func (c *court) box(k *instance, d float64) geom.Box { return c.scene.P.Solids[k.solid].Box.Grow(d) }

// say adds a sentence to the evidence.
func (k *instance) say(format string, args ...any) {
	k.Evidence = append(k.Evidence, fmt.Sprintf(format, args...))
}

// trust raises the confidence by a share of what is missing to 1.
func (k *instance) trust(share float64) {
	k.Confidence = math.Round((k.Confidence+share*(1-k.Confidence))*100) / 100
}
