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
	// maxEnclosed bounds how many situations are tried for ways out, maxTrials how
	// many triangles and pairs of them are looked at for that, some 50 ns each, in
	// all of them together: each situation may have its share.
	maxEnclosed = 400
	maxTrials   = 400_000_000
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

// share is how much work situation k of n may cost.
func share(k, n int) int {
	if k >= maxEnclosed {
		return 0
	}
	return maxTrials / min(n, maxEnclosed)
}

// enclosed finds that its neighbours bar the way of a solid along all of its own
// axes, both ways, within some play; cut says that it did not get to the end.
func (l *looseness) enclosed(s product.SolidIndex, spare int) (by []product.SolidIndex, ok, cut bool) {
	solid, part := &l.p.Solids[s], l.p.Part(s)
	if part.Tree == nil || !feature.KeepsSize(solid.Place) {
		return nil, false, false
	}
	size := solid.Box.Max.Sub(solid.Box.Min)
	play := min(playMM, max(size[0], size[1], size[2])/2)
	if l.ball[solid.Part] {
		play = ballPlay * size[0]
	}
	near := l.near(s, play)
	if len(near) == 0 {
		return nil, false, false
	}
	if spare <= 0 {
		return nil, false, true
	}
	c := cage{
		p: l.p, solid: solid, part: part, near: near, far: play + contact.Touch,
		mover: bvh.NewMover(part.Tree, l.skin(part, near)), placed: make([]*bvh.Tree, len(near)), spare: spare,
	}
	for _, w := range c.ways(l.sides[s]) {
		k, ok := c.bar(w)
		if !ok {
			return nil, false, c.spare <= 0
		}
		by = append(by, k)
	}
	slices.Sort(by)
	return slices.Compact(by), true, false
}

// skin is how much a part is shrunk by, mm, before it is moved: what it and its
// neighbours may be off, but less where it is thin: a label or a foil would turn
// inside out.
func (l *looseness) skin(part *product.Part, near []product.SolidIndex) float64 {
	chord := part.Mesh.Chord
	for _, k := range near {
		chord = max(chord, l.p.Part(k).Mesh.Chord)
	}
	box := part.Mesh.Box()
	thin := box.Max.Sub(box.Min)
	return min(contact.Touch+2*chord, thinShare*min(thin[0], thin[1], thin[2]))
}

// cage is a solid among its neighbours.
type cage struct {
	p     *product.Product
	solid *product.Solid
	part  *product.Part
	near  []product.SolidIndex
	far   float64 // mm: how far the solid is moved
	mover *bvh.Mover
	// placed are neighbours in the solid's coordinates, aimed is the mover along
	// its own axes; both are made when they are needed.
	placed []*bvh.Tree
	aimed  [6]*bvh.Aimed
	spare  int // work left
}

// way is a direction along an axis of the solid: x, -x, y, -y, z, -z.
type way int

// own is the direction in the solid's coordinates.
func (w way) own() mgl64.Vec3 {
	var d mgl64.Vec3
	d[w/2] = 1 - 2*float64(w%2)
	return d
}

// ways lists all six. Those along which the solid leans on nothing come first:
// they are the likely ways out, and one is enough.
func (c *cage) ways(leans []side) []way {
	const along = 0.5 // cosine
	var free, barred []way
	for w := range way(len(c.aimed)) {
		d := c.solid.Place.Dir(w.own())
		if slices.ContainsFunc(leans, func(x side) bool { return x.n.Dot(d) > along }) {
			barred = append(barred, w)
		} else {
			free = append(free, w)
		}
	}
	return append(free, barred...)
}

// bar is the first neighbour that stops the solid on a way. What is not in the
// box of the way is not asked: the meshes lie in their boxes but for rounding.
func (c *cage) bar(w way) (product.SolidIndex, bool) {
	const rounding = 1e-3 // mm
	from := c.mover.Box().Transformed(c.solid.Place).Grow(rounding)
	d := c.solid.Place.Dir(w.own()).Mul(c.far)
	room := from.Union(geom.Box{Min: from.Min.Add(d), Max: from.Max.Add(d)})
	for i, k := range c.near {
		if c.spare > 0 && c.p.Solids[k].Box.Overlaps(room) && c.stops(i, w) {
			return k, true
		}
	}
	return product.NoSolid, false
}

// stops reports whether neighbour i bars a way. Of the two the one with fewer
// triangles is brought into the coordinates of the other.
func (c *cage) stops(i int, w way) bool {
	by, tree := &c.p.Solids[c.near[i]], c.p.Part(c.near[i]).Tree
	if !feature.KeepsSize(by.Place) {
		return false
	}
	mine, theirs := len(c.part.Mesh.Triangles), len(c.p.Part(c.near[i]).Mesh.Triangles)
	if theirs > mine {
		d := c.solid.Place.Dir(w.own())
		c.spare -= aimPasses * mine
		return c.asked(c.mover.Aim(by.Back.Mul(c.solid.Place), by.Back.Dir(d)), tree)
	}
	if c.placed[i] == nil {
		c.spare -= theirs
		c.placed[i] = tree.Placed(c.solid.Back.Mul(by.Place))
	}
	if c.aimed[w] == nil {
		c.spare -= aimPasses * mine
		c.aimed[w] = c.mover.Aim(geom.Identity(), w.own())
	}
	return c.asked(c.aimed[w], c.placed[i])
}

// aimPasses are made over a mover's triangles when it is aimed.
const aimPasses = 4

// asked counts what a question costs.
func (c *cage) asked(m *bvh.Aimed, fixed *bvh.Tree) bool {
	before := m.Work()
	blocked := m.Blocked(fixed, c.far)
	c.spare -= m.Work() - before
	return blocked
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
