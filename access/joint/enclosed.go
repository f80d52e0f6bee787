package joint

import (
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener/feature"
	"stepscan/access/joint/contact"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/bvh"
)

const (
	// maxEnclosed bounds how many situations are tried for ways out.
	maxEnclosed = 400
	// playMM is how far a part that is held by form may move either way: more
	// rattles, and may come free on the way. A ball rolls along its race until
	// the race bends into its way, after ballPlay of its diameter or less.
	playMM   = 0.5
	ballPlay = 0.5
	// thinShare is how much of its thickness a part may be shrunk by on each side.
	thinShare = 0.4
	// maxNear bounds the neighbours that are tried: more lie in a heap.
	maxNear = 64
)

// enclosed finds that its neighbours bar the way of a solid along all of its own
// axes, both ways, within some play.
func (l *looseness) enclosed(s product.SolidIndex) ([]product.SolidIndex, bool) {
	solid, part := &l.p.Solids[s], l.p.Part(s)
	if part.Tree == nil || !feature.KeepsSize(solid.Place) {
		return nil, false
	}
	size := solid.Box.Max.Sub(solid.Box.Min)
	play := min(playMM, max(size[0], size[1], size[2])/2)
	if l.ball[solid.Part] {
		play = ballPlay * size[0]
	}
	near := l.near(s, play)
	if len(near) == 0 {
		return nil, false
	}
	chord := part.Mesh.Chord
	for _, k := range near {
		chord = max(chord, l.p.Part(k).Mesh.Chord)
	}
	skin := contact.Touch + 2*chord
	if thin := part.Mesh.Box().Max.Sub(part.Mesh.Box().Min); skin > thinShare*min(thin[0], thin[1], thin[2]) {
		skin = thinShare * min(thin[0], thin[1], thin[2]) // a label or a foil would turn inside out
	}
	c := cage{p: l.p, solid: solid, near: near, far: play + contact.Touch, mover: bvh.NewMover(part.Tree, skin)}
	var by []product.SolidIndex
	for _, d := range c.ways(l.sides(s)) {
		k, ok := c.bar(d)
		if !ok {
			return nil, false
		}
		by = append(by, k)
	}
	slices.Sort(by)
	return slices.Compact(by), true
}

// cage is a solid among its neighbours.
type cage struct {
	p     *product.Product
	solid *product.Solid
	near  []product.SolidIndex
	far   float64 // mm: how far the solid is moved
	mover *bvh.Mover
	// aimed is the mover as it was aimed last: neighbours in one frame share it.
	aimed   *bvh.Aimed
	aimedAt geom.Transform
	aimedTo mgl64.Vec3
}

// ways lists the solid's own axes, both ways. Those along which it leans on
// nothing come first: they are the likely ways out, and one is enough.
func (c *cage) ways(leans []side) []mgl64.Vec3 {
	const along = 0.5 // cosine
	var free, barred []mgl64.Vec3
	for axis := range 3 {
		for _, sense := range []float64{1, -1} {
			d := c.solid.Place.M.Col(axis).Mul(sense)
			if slices.ContainsFunc(leans, func(x side) bool { return x.n.Dot(d) > along }) {
				barred = append(barred, d)
			} else {
				free = append(free, d)
			}
		}
	}
	return append(free, barred...)
}

// bar is the first neighbour that stops the solid along d.
func (c *cage) bar(d mgl64.Vec3) (product.SolidIndex, bool) {
	// What is not in the box of the way cannot be met. The mover's mesh and the
	// neighbours' lie in their boxes but for rounding.
	const rounding = 1e-3 // mm
	from := c.mover.Box().Transformed(c.solid.Place).Grow(rounding)
	to := geom.Box{Min: from.Min.Add(d.Mul(c.far)), Max: from.Max.Add(d.Mul(c.far))}
	way := from.Union(to)
	for _, k := range c.near {
		if c.p.Solids[k].Box.Overlaps(way) && c.stops(k, d) {
			return k, true
		}
	}
	return product.NoSolid, false
}

// stops reports whether solid k bars the way along d.
func (c *cage) stops(k product.SolidIndex, d mgl64.Vec3) bool {
	by := &c.p.Solids[k]
	if !feature.KeepsSize(by.Place) {
		return false
	}
	if at, to := by.Back.Mul(c.solid.Place), by.Back.Dir(d); c.aimed == nil || at != c.aimedAt || to != c.aimedTo {
		c.aimed, c.aimedAt, c.aimedTo = c.mover.Aim(at, to), at, to
	}
	return c.aimed.Blocked(c.p.Part(k).Tree, c.far)
}

// isBall reports a part whose corners all lie on a sphere about its middle, to
// within its chord and a hundredth, on all sides.
func isBall(p *product.Part) bool {
	box := p.Mesh.Box()
	size := box.Max.Sub(box.Min)
	r := max(size[0], size[1], size[2]) / 2
	slack := p.Mesh.Chord + 0.01*r
	if min(size[0], size[1], size[2])/2 < r-slack {
		return false
	}
	for _, v := range p.Mesh.Vertices {
		if v.Sub(box.Centre()).Len() < r-slack {
			return false
		}
	}
	return true
}

// near lists the solids within some distance of the box of s, those that it
// touches first. What is drawn in it by mistake cannot bar its way.
func (l *looseness) near(s product.SolidIndex, d float64) []product.SolidIndex {
	var out []product.SolidIndex
	seen := map[product.SolidIndex]bool{s: true}
	for _, i := range l.touching[s] {
		q := &l.pairs[i]
		k := other(q, s)
		seen[k] = true
		if _, tight := tightest(q.Fits); tight || !q.Deep {
			out = append(out, k)
		}
	}
	for _, k := range l.scene.Near(l.p.Solids[s].Box.Grow(d)) {
		if len(out) >= maxNear {
			break
		}
		if !seen[k] && l.p.Part(k).Tree != nil {
			out = append(out, k)
		}
	}
	return out
}
