package product

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/extent"
	"stepscan/geom/mesh"
)

// maxTurned bounds, for one part, its triangles times the ways it is turned, as
// each way costs a look at all of them: 0.1 s. Ways beyond keep the mesh's box.
const maxTurned = 1 << 22

// turned are the exact boxes of a shape about its own origin, by how it is
// turned.
type turned map[mgl64.Mat3]geom.Box

// ways lists for each part how its occurrences are turned, each once, in order;
// first as it is. Scaled ones get a part of their own, whose faces are not known.
func (p *Product) ways() [][]mgl64.Mat3 {
	out := make([][]mgl64.Mat3, len(p.Parts))
	type way struct {
		part int
		m    mgl64.Mat3
	}
	seen := map[way]bool{}
	add := func(part int, m mgl64.Mat3) {
		if w := (way{part, m}); !seen[w] {
			seen[w] = true
			out[part] = append(out[part], m)
		}
	}
	for i := range p.Parts {
		if len(p.Parts[i].Bodies) > 0 {
			add(i, mgl64.Ident3())
		}
	}
	for i := range p.Occs {
		o := &p.Occs[i]
		if len(p.Parts[o.Part].Bodies) > 0 && (o.Placement.IsRigid() || o.Placement.IsMirror()) {
			add(o.Part, o.Placement.M)
		}
	}
	return out
}

// turnedBoxes are the boxes of one body, turned in each way.
func turnedBoxes(b *brep.Body, m *mesh.Mesh, ways []mgl64.Mat3) []geom.Box {
	n := max(1, min(len(ways), maxTurned/(len(m.Triangles)+1)))
	out := make([]geom.Box, n)
	x := extent.Of(b, m)
	for i, w := range ways[:n] {
		out[i] = x.Box(geom.Transform{M: w})
	}
	return out
}

// join adds the boxes of another body. What is not known of one of them is not
// known of both.
func (t turned) join(ways []mgl64.Mat3, boxes []geom.Box) turned {
	out := turned{}
	for i, b := range boxes {
		if c, ok := t[ways[i]]; ok || t == nil {
			if ok {
				b = b.Union(c)
			}
			out[ways[i]] = b
		}
	}
	return out
}

// exact is the exact box of a part placed without a scale, or that of its mesh
// where the exact one is not known.
func (part *Part) exact(place geom.Transform, ofMesh geom.Box) geom.Box {
	b, ok := part.turned[place.M]
	if !ok {
		return ofMesh
	}
	return geom.Box{Min: b.Min.Add(place.T), Max: b.Max.Add(place.T)}
}
