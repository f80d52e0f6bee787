package fastener

import (
	"context"
	"fmt"
	"math"
	"slices"

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
	return FindIn(ctx, feature.NewScene(ctx, p))
}

// FindIn is FindAll in a product whose features have been read.
func FindIn(ctx context.Context, s *feature.Scene) ([]Fastener, []Doubt) {
	return FindRuled(ctx, s, nil)
}

// court holds the cases: placed specimens, some of which still need a proof.
type court struct {
	scene *feature.Scene
	parts []specimen // per part of the product
	is    []bool
	used  []bool // by a solid
	// shells are the pieces of parts that are several; see lumps.
	shells [][]piece
	// mixed are solids of which shells are fasteners.
	mixed []bool
	cases []instance
	read  reader
	// rule gives a person's ruling on a solid; nil without any.
	rule func(product.SolidIndex) *Ruling
	// groups are the solids that may be one fastener together.
	groups []family
	// of lists each solid's case, -1 without.
	of []int
}

// instance is a specimen placed in the root's frame.
type instance struct {
	specimen
	solid product.SolidIndex // the main one of Solids
	word  name.Statement
	// shell: it is one of several shells of the solid, within bounds.
	shell  bool
	bounds geom.Box
}

// examine reads every part that a solid uses.
func (c *court) examine(ctx context.Context) {
	p := c.scene.P
	c.parts, c.is, c.used = make([]specimen, len(p.Parts)), make([]bool, len(p.Parts)), make([]bool, len(p.Parts))
	for i := range p.Solids {
		c.used[p.Solids[i].Part] = true
	}
	first := twins(p.Parts, c.scene.Parts, c.used)
	feature.Parallel(ctx, len(p.Parts), func(i int) {
		if c.used[i] && first[i] == i {
			c.parts[i], c.is[i] = examine(&p.Parts[i], c.scene.Parts[i])
		}
	})
	for i, j := range first {
		c.parts[i], c.is[i] = c.parts[j], c.is[j]
	}
}

// place puts a case for each solid whose part looks like a fastener.
func (c *court) place() {
	p := c.scene.P
	c.of, c.mixed = make([]int, len(p.Solids)), make([]bool, len(p.Solids))
	for i := range p.Solids {
		c.of[i] = -1
		if c.struck(product.SolidIndex(i)) {
			continue
		}
		s := &p.Solids[i]
		if !c.is[s.Part] || !feature.KeepsSize(s.Place) {
			c.placeShells(product.SolidIndex(i))
			continue
		}
		k := c.instance(c.parts[s.Part], product.SolidIndex(i))
		k.word = c.read.of(p.Parts[s.Part].Name, p.Occs[s.Occ].Name)
		c.of[i] = len(c.cases)
		c.cases = append(c.cases, k)
	}
}

// instance is a specimen in the coordinates of a solid's part as a case of the
// solid.
func (c *court) instance(of specimen, s product.SolidIndex) instance {
	k := instance{specimen: of, solid: s}
	k.Solids = []product.SolidIndex{s}
	k.Axis = k.Axis.Transformed(c.scene.P.Solids[s].Place)
	k.Axis.D = k.Axis.D.Add(mgl64.Vec3{}) // no -0
	k.Point = k.Axis.O
	k.Evidence = append([]string(nil), k.Evidence...)
	return k
}

// box holds the whole case, grown by d mm.
func (c *court) box(k *instance, d float64) geom.Box {
	if k.shell {
		return k.bounds.Grow(d)
	}
	b := c.scene.P.Solids[k.solid].Box
	for _, s := range k.Solids {
		b = b.Union(c.scene.P.Solids[s].Box)
	}
	return b.Grow(d)
}

// owns reports a solid of the case.
func (k *instance) owns(s product.SolidIndex) bool { return slices.Contains(k.Solids, s) }

// say adds a sentence to the evidence.
func (k *instance) say(format string, args ...any) {
	k.Evidence = append(k.Evidence, fmt.Sprintf(format, args...))
}

// trust raises the confidence by a share of what is missing to 1.
func (k *instance) trust(share float64) {
	k.Confidence = math.Round((k.Confidence+share*(1-k.Confidence))*100) / 100
}
