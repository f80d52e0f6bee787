package fastener

import (
	"fmt"
	"slices"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/mesh"
)

// mostPieces is into how many pieces a part may fall to be looked at piece by
// piece: a bag of screws has some dozens, a lattice or a board thousands.
const mostPieces = 256

// piece is one closed shell of a part, with the hollows in it.
type piece struct {
	specimen
	box geom.Box // in the part's coordinates
	ok  bool
}

// lumps reads parts that are no fastener as a whole shell by shell: several
// fasteners may have been saved as one solid, or one together with what it
// holds, or a screw with a ring loose on its shank.
func (c *court) lumps() {
	p := c.scene.P
	pieces := make([][]piece, len(p.Parts))
	for i := range p.Parts {
		if s := &c.parts[i]; c.used[i] && !(c.is[i] && s.fits) && mayFall(&p.Parts[i]) {
			pieces[i] = c.pieces(i)
		}
	}
	for i := range pieces {
		if s, ok := withRing(pieces[i]); ok {
			c.parts[i], c.is[i], pieces[i] = s, true, nil
		} else if c.is[i] {
			pieces[i] = nil
		}
	}
	c.shells = pieces
}

// mayFall reports parts that can have several shells: meshes, and bodies that
// say so.
func mayFall(p *product.Part) bool {
	if !p.HasShape() || !p.Closed {
		return false
	}
	shells := 0
	for _, b := range p.Bodies {
		shells += len(b.Shells)
		if b.Facets != nil {
			return true
		}
	}
	return len(p.Bodies) == 0 || shells > 1
}

// pieces splits a part and reads each piece; nil where it is one.
func (c *court) pieces(part int) []piece {
	p, feat := &c.scene.P.Parts[part], c.scene.Parts[part]
	split := apart(p.Mesh)
	if len(split) < 2 || len(split) > mostPieces {
		return nil
	}
	var out []piece
	for _, m := range withHollows(split) {
		sub := product.Part{Mesh: m, Closed: true, Volume: m.Volume(), Centroid: m.Centroid(), Box: m.Box()}
		k := piece{box: sub.Box}
		k.specimen, k.ok = examine(&sub, ownFaces(feat, &sub))
		out = append(out, k)
	}
	if len(out) < 2 {
		return nil
	}
	return out
}

// ownFaces gives a piece its faces, numbered anew. Where the part's faces are
// those of its surfaces they are taken over; a mesh without any is read anew.
func ownFaces(feat *feature.Part, sub *product.Part) *feature.Part {
	m := sub.Mesh
	if len(m.FaceOf) != len(m.Triangles) {
		return feature.Of(sub)
	}
	var faces []int32
	at := map[int32]int32{}
	for i, f := range m.FaceOf {
		if f < 0 || int(f) >= len(feat.Faces) {
			return feature.Of(sub)
		}
		k, ok := at[f]
		if !ok {
			k = int32(len(faces))
			at[f] = k
			faces = append(faces, f)
		}
		m.FaceOf[i] = k
	}
	return feat.Only(faces)
}

// apart splits a mesh into pieces that share no vertex, in the order of their
// first triangles. Edges are left out.
func apart(m *mesh.Mesh) []*mesh.Mesh {
	root := make([]int32, len(m.Vertices))
	for i := range root {
		root[i] = int32(i)
	}
	find := func(v int32) int32 {
		for root[v] != v {
			root[v] = root[root[v]]
			v = root[v]
		}
		return v
	}
	for _, t := range m.Triangles {
		a := find(t[0])
		root[find(t[1])] = a
		root[find(t[2])] = a
	}
	var out []*mesh.Mesh
	of := map[int32]int{} // piece by root
	name := make([]int32, len(m.Vertices))
	for i := range name {
		name[i] = -1
	}
	for i, t := range m.Triangles {
		r := find(t[0])
		k, ok := of[r]
		if !ok {
			if len(out) > mostPieces {
				return out
			}
			k = len(out)
			of[r] = k
			out = append(out, &mesh.Mesh{Chord: m.Chord})
		}
		o := out[k]
		for j, v := range t {
			if name[v] < 0 {
				name[v] = int32(len(o.Vertices))
				o.Vertices = append(o.Vertices, m.Vertices[v])
			}
			t[j] = name[v]
		}
		o.Triangles = append(o.Triangles, t)
		if len(m.FaceOf) == len(m.Triangles) {
			o.FaceOf = append(o.FaceOf, m.FaceOf[i])
		}
	}
	return out
}

// withHollows joins shells that are turned inside out, the walls of hollows, with the
// smallest piece that they lie in.
func withHollows(all []*mesh.Mesh) []*mesh.Mesh {
	var out, hollows []*mesh.Mesh
	for _, m := range all {
		if m.Volume() > 0 {
			out = append(out, m)
		} else {
			hollows = append(hollows, m)
		}
	}
	for _, h := range hollows {
		in, box := -1, h.Box()
		for i, m := range out {
			if b := m.Box(); b.Union(box) == b && (in < 0 || b.Diagonal() < out[in].Box().Diagonal()) {
				in = i
			}
		}
		if in >= 0 {
			out[in].Append(h, 0)
		}
	}
	return out
}

// withRing reads pieces of which one is a screw and the others are rings on its
// shank: a screw with captive washers, saved as one solid.
func withRing(all []piece) (specimen, bool) {
	if len(all) < 2 || len(all) > most {
		return specimen{}, false
	}
	k := slices.IndexFunc(all, func(p piece) bool { return p.ok && p.needs == none && p.HeadH > 0 && p.Kind != Nut })
	if k < 0 {
		return specimen{}, false
	}
	screw := instance{specimen: all[k].specimen}
	for i := range all {
		ring := instance{specimen: all[i].specimen}
		if i != k && !(all[i].ok && ring.Kind == Washer && screw.carriesRing(&ring)) {
			return specimen{}, false
		}
	}
	s := all[k].specimen
	s.Evidence = append(slices.Clone(s.Evidence), fmt.Sprintf("with a captive washer: the solid has %d separate shells", len(all)))
	return s, true
}

// placeShells puts a case for each shell of solid s that stands for itself.
func (c *court) placeShells(s product.SolidIndex) {
	solid := &c.scene.P.Solids[s]
	all := c.shells[solid.Part]
	if all == nil || !feature.KeepsSize(solid.Place) {
		return
	}
	for i := range all {
		if !all[i].ok || all[i].needs != none {
			continue
		}
		k := c.instance(all[i].specimen, s)
		k.shell, k.bounds = true, all[i].box.Transformed(solid.Place)
		k.say("one of %d separate shells of %s", len(all), c.scene.P.Name(s))
		c.cases = append(c.cases, k)
		c.mixed[s] = true
	}
}
