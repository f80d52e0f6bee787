package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/access/product"
	"stepscan/geom"
)

// fused lists parts on which heads of screws stand that are one body with them:
// somebody united the screws with what they hold. Such screws cannot be told
// from the part and are not counted; only that they are there is said. Looked
// for are cylinders as wide and high as a head of the tables, with that head's
// hexagon in them: bosses have no sockets, and round holes are no hexagons.
func (c *court) fused() []Doubt {
	p := c.scene.P
	at := map[int]int{}
	var out []Doubt
	for i := range p.Solids {
		part := p.Solids[i].Part
		if c.taken(product.SolidIndex(i)) || c.ruling(product.SolidIndex(i)) != nil {
			continue
		}
		k, ok := at[part]
		if !ok {
			k = -1
			if text := headsOn(&p.Parts[part], c.scene.Parts[part]); text != "" {
				k = len(out)
				out = append(out, Doubt{Text: text, Fused: true})
			}
			at[part] = k
		}
		if k >= 0 {
			out[k].Solids = append(out[k].Solids, product.SolidIndex(i))
		}
	}
	return out
}

// mostBosses bounds how many cylinders of one part are looked at.
const mostBosses = 200

// headsOn counts the heads on a part, in words; "" without any.
func headsOn(p *product.Part, feat *feature.Part) string {
	n, like := 0, ""
	for i := range feat.Bosses[:min(len(feat.Bosses), mostBosses)] {
		b := &feat.Bosses[i]
		if b.Sweep < 1.9*math.Pi {
			continue
		}
		if h, ok := headWith(p, b); ok {
			n++
			if like == "" {
				like = fmt.Sprintf("Ø%s × %s with a hexagon of %s, as %s %s has", trim(2*b.R), trim(b.Z1-b.Z0), trim(h.S), h.Standard, h.Size)
			}
		}
	}
	switch {
	case n == 0:
		return ""
	case n == 1:
		return "a head is part of its body (" + like + "): a fastener that is united with what it holds is not counted"
	}
	return fmt.Sprintf("%d heads are part of its body (the first %s): fasteners that are united with what they hold are not counted", n, like)
}

// headWith is the row of the tables whose head the boss is, and whose socket is
// in it.
func headWith(p *product.Part, b *feature.Hole) (table.Head, bool) {
	for _, h := range table.Heads() {
		if h.Head != "cylindrical" || h.Drive != string(HexSocket) || h.S == 0 {
			continue
		}
		lo := h.KMin
		if lo == 0 {
			lo = 0.9 * h.KMax
		}
		// A chamfer or fillet takes up to a fifth of the height off the cylinder.
		if l := b.Z1 - b.Z0; 2*b.R < 0.98*h.DkMin || 2*b.R > 1.01*h.DkMax || l < 0.8*lo || l > 1.02*h.KMax {
			continue
		}
		if hexagonIn(p, b, h.S) {
			return h, true
		}
	}
	return table.Head{}, false
}

// hexagonIn reports a hexagonal pocket, s mm across, in one end of the boss.
func hexagonIn(p *product.Part, b *feature.Hole, s float64) bool {
	m, ok := within(p, b)
	if !ok {
		return false
	}
	k := b.Z1 - b.Z0
	for _, z := range [2]float64{b.Z1 - 0.15*k, b.Z0 + 0.15*k} {
		if in := m.cut(z).inner(b.R); in.Fold == 6 && in.Open == 0 && near(2*in.Min, s, 0.045, 0.02) {
			return true
		}
	}
	return false
}

// within is what of the part's mesh lies inside the boss, in its coordinates.
func within(p *product.Part, b *feature.Hole) (*flat, bool) {
	f, err := geom.NewFrame(b.Axis.O, b.Axis.D, geom.Perpendicular(b.Axis.D))
	if err != nil {
		return nil, false
	}
	room := geom.EmptyBox().Add(b.Axis.At(b.Z0)).Add(b.Axis.At(b.Z1)).Grow(1.5 * b.R)
	var mine [][3]int32
	for _, t := range p.Mesh.Triangles {
		if room.Add(p.Mesh.Vertices[t[0]]) == room && b.Axis.Distance(p.Mesh.Vertices[t[0]]) < 1.02*b.R {
			mine = append(mine, t)
		}
	}
	sub := *p.Mesh
	sub.Triangles = mine
	return flatten(&sub, f), len(mine) > 0
}
