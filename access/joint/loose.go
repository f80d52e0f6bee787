package joint

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener/feature"
	"stepscan/access/joint/contact"
	"stepscan/access/product"
)

// How is what keeps a part that no fastener, thread or press fit holds.
type How uint8

// The ways.
const (
	// Floating: it touches nothing at all.
	Floating How = iota
	// Unexplained: it touches others, and nothing in the model says why it stays.
	Unexplained
	// Between: its neighbours leave it no way out, or those on two opposite sides
	// of it are fastened together, over as many joints as there are.
	Between
)

// Loose are parts that no fastener, thread or press fit holds: one shape in one
// situation.
type Loose struct {
	How    How
	Solids []product.SolidIndex
	// By are the solids that any of them touches, in order; of parts between
	// others without touching them, those that bar their way.
	By []product.SolidIndex
	// Area is the contact area of all of them together, mm².
	Area float64
	// Fit says how it stands in or about a neighbour, "" where it does not; Play
	// is the least play on diameter, mm.
	Fit  contact.Class
	Play float64
	// Base: the greatest of parts that hang together by contact alone. The others
	// are said to lie on it.
	Base bool
}

// loose finds the parts that nothing else holds, and the joints of their
// contacts.
func (t *toucher) loose(ctx context.Context) {
	if len(t.p.Solids) < 2 {
		return // a single part is not held by anything
	}
	l := &looseness{toucher: t, held: t.heldSolids(), touching: make([][]int, len(t.p.Solids)), ball: make([]bool, len(t.p.Parts)), firm: t.firm(), sides: t.leans()}
	for i := range t.p.Parts {
		l.ball[i] = t.p.Parts[i].HasShape() && isBall(&t.p.Parts[i])
	}
	for i := range t.pairs {
		q := &t.pairs[i]
		l.touching[q.A] = append(l.touching[q.A], i)
		l.touching[q.B] = append(l.touching[q.B], i)
	}
	groups := l.groups()
	hows := make([]How, len(groups))
	bars := make([][]product.SolidIndex, len(groups))
	cut := make([]bool, len(groups))
	feature.Parallel(ctx, len(groups), func(k int) { hows[k], bars[k], cut[k] = l.how(groups[k][0], share(k, len(groups))) })
	between := make(map[product.SolidIndex]bool)
	for k, g := range groups {
		if cut[k] {
			t.out.Untried += len(g)
		}
		for _, s := range g {
			between[s] = hows[k] == Between
		}
	}
	bases := l.bases(between)
	for k, g := range groups {
		for _, s := range g {
			if bases[s] {
				x := l.describe([]product.SolidIndex{s}, hows[k], bars[k])
				x.Base = true
				t.out.Loose = append(t.out.Loose, x)
			}
		}
		if g = slices.DeleteFunc(g, func(s product.SolidIndex) bool { return bases[s] }); len(g) > 0 {
			t.out.Loose = append(t.out.Loose, l.describe(g, hows[k], bars[k]))
		}
	}
	l.joints(between)
}

// looseness is the work on what is not held.
type looseness struct {
	*toucher
	held     []bool
	touching [][]int // pairs of each solid
	ball     []bool  // by part
	firm     []product.SolidIndex
	sides    [][]side
}

// heldSolids marks fasteners and what a joint holds.
func (t *toucher) heldSolids() []bool {
	held := make([]bool, len(t.p.Solids))
	for s := range held {
		held[s] = t.of[s] >= 0
	}
	for i := range t.holds {
		for _, s := range slices.Concat(t.holds[i].Passes, t.holds[i].Bites) {
			held[s] = true
		}
	}
	for i := range t.out.Joints {
		for _, s := range t.out.Joints[i].Solids {
			held[s] = true
		}
	}
	return held
}

// other is the second solid of a pair.
func other(q *contact.Pair, s product.SolidIndex) product.SolidIndex {
	if q.A == s {
		return q.B
	}
	return q.A
}

// groups puts loose solids of the same part, with the same neighbours in the
// same places, together, in order.
func (l *looseness) groups() [][]product.SolidIndex {
	var out [][]product.SolidIndex
	at := map[string]int{} // looked up only
	for i := range l.held {
		s := product.SolidIndex(i)
		if l.held[s] {
			continue
		}
		key := l.situation(s)
		k, ok := at[key]
		if !ok {
			k = len(out)
			at[key] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], s)
	}
	return out
}

// situation names a solid's part, and its pairs by their cases. What touches
// nothing may be barred by others all the same, and so stands alone.
func (l *looseness) situation(s product.SolidIndex) string {
	if len(l.touching[s]) == 0 {
		return fmt.Sprint("alone ", s)
	}
	var cases []string
	for _, i := range l.touching[s] {
		q := &l.pairs[i]
		k := other(q, s)
		if l.ball[l.p.Solids[s].Part] { // alike wherever they are in their race
			cases = append(cases, fmt.Sprint(l.p.Solids[k].Part, l.held[k]))
			continue
		}
		cases = append(cases, fmt.Sprint(q.Case, q.A == s, l.held[k]))
	}
	slices.Sort(cases)
	return fmt.Sprint(l.p.Solids[s].Part, cases)
}

// how says what keeps a solid in its place, and which solids bar its way; cut
// says that its ways out were not all tried.
func (l *looseness) how(s product.SolidIndex, spare int) (how How, by []product.SolidIndex, cut bool) {
	if by, ok := l.clamped(s); ok {
		return Between, by, false
	}
	by, ok, cut := l.enclosed(s, spare)
	switch {
	case ok:
		return Between, by, false
	case len(l.touching[s]) == 0:
		return Floating, nil, cut
	}
	return Unexplained, nil, cut
}

// side is a planar contact of a solid with another, n outward.
type side struct {
	by product.SolidIndex
	n  mgl64.Vec3
}

// leans lists the planar contacts of each solid.
func (t *toucher) leans() [][]side {
	out := make([][]side, len(t.p.Solids))
	for i := range t.pairs {
		q := &t.pairs[i]
		for k := range q.Contacts {
			if c := &q.Contacts[k]; c.Kind == contact.Planar {
				out[q.A] = append(out[q.A], side{q.B, c.Normal})
				out[q.B] = append(out[q.B], side{q.A, mgl64.Vec3{}.Sub(c.Normal)})
			}
		}
	}
	return out
}

// maxWays bounds the directions in which a solid is asked what it leans on.
const maxWays = 64

// clamped finds two solids on opposite sides that are firmly one with each
// other, so that what lies between them has to stay until they are undone.
// Between them and the solid others may lie that are as loose.
func (l *looseness) clamped(s product.SolidIndex) ([]product.SolidIndex, bool) {
	asked := map[mgl64.Vec3]bool{} // looked up only
	for _, x := range l.sides[s] {
		if asked[x.n] || len(asked) == maxWays {
			continue
		}
		asked[x.n] = true
		if by, ok := l.pinched(l.backed(s, x.n), l.backed(s, mgl64.Vec3{}.Sub(x.n))); ok {
			return by, true
		}
	}
	return nil, false
}

// pinched finds the first of the solids before and the first of those behind
// that are two and firmly one.
func (l *looseness) pinched(before, behind []product.SolidIndex) ([]product.SolidIndex, bool) {
	// Of those behind, by the set that they are one with, the first and the first
	// other one.
	type two [2]product.SolidIndex
	of := map[product.SolidIndex]two{} // looked up only
	for _, b := range behind {
		f := l.firm[b]
		switch t, ok := of[f]; {
		case !ok:
			of[f] = two{b, product.NoSolid}
		case t[1] == product.NoSolid && t[0] != b:
			of[f] = two{t[0], b}
		}
	}
	for _, a := range before {
		t, ok := of[l.firm[a]]
		b := t[0]
		if b == a {
			b = t[1]
		}
		if ok && b != product.NoSolid {
			return []product.SolidIndex{min(a, b), max(a, b)}, true
		}
	}
	return nil, false
}

// maxStacked bounds how many loose solids are followed to one that is held.
const maxStacked = 32

// backed lists the held solids that a solid leans on along d, at once or
// through others that are loose.
func (l *looseness) backed(s product.SolidIndex, d mgl64.Vec3) []product.SolidIndex {
	const along = 0.98 // cosine: within some 11 degrees
	var out []product.SolidIndex
	stack := []product.SolidIndex{s}
	for k := 0; k < len(stack); k++ {
		for _, x := range l.sides[stack[k]] {
			switch {
			case x.n.Dot(d) < along:
			case l.held[x.by]:
				out = append(out, x.by)
			case len(stack) < maxStacked && !slices.Contains(stack, x.by):
				stack = append(stack, x.by)
			}
		}
	}
	return out
}

// firm gives each solid the first one of those that it is fastened, screwed or
// pressed together with, over as many joints as there are.
func (t *toucher) firm() []product.SolidIndex {
	root := make([]product.SolidIndex, len(t.p.Solids))
	for i := range root {
		root[i] = product.SolidIndex(i)
	}
	find := func(s product.SolidIndex) product.SolidIndex {
		for root[s] != s {
			root[s] = root[root[s]]
			s = root[s]
		}
		return s
	}
	join := func(set []product.SolidIndex) {
		for _, s := range set {
			a, b := find(set[0]), find(s)
			root[max(a, b)] = min(a, b)
		}
	}
	for i := range t.holds {
		h := &t.holds[i]
		join(slices.Concat(t.fs[i].Solids, h.Passes, h.Bites))
		if h.Mate >= 0 {
			join(slices.Concat(t.fs[i].Solids, t.fs[h.Mate].Solids))
		}
	}
	for i := range t.out.Joints {
		join(t.out.Joints[i].Solids)
	}
	for i := range root {
		root[i] = find(product.SolidIndex(i))
	}
	return root
}

// describe sums a group up.
func (l *looseness) describe(g []product.SolidIndex, how How, bars []product.SolidIndex) Loose {
	x := Loose{How: how, Solids: g}
	for _, s := range g {
		for _, i := range l.touching[s] {
			q := &l.pairs[i]
			k := other(q, s)
			x.By = append(x.By, k)
			x.Area += q.Area()
			if len(q.Fits) > 0 && x.Fit == "" {
				x.Fit, x.Play = q.Fits[0].Class, -q.Fits[0].Overlap
			}
		}
	}
	if how == Between {
		x.By = bars
	}
	slices.Sort(x.By)
	x.By = slices.Compact(x.By)
	x.Area = round3(x.Area)
	return x
}

// bases are, of each set of loose parts that hang together and touch nothing
// that is held, the greatest that its neighbours do not lock in.
func (l *looseness) bases(between map[product.SolidIndex]bool) map[product.SolidIndex]bool {
	root := make([]product.SolidIndex, len(l.held))
	for i := range root {
		root[i] = product.SolidIndex(i)
	}
	find := func(s product.SolidIndex) product.SolidIndex {
		for root[s] != s {
			root[s] = root[root[s]]
			s = root[s]
		}
		return s
	}
	attached := make([]bool, len(l.held))
	for i := range l.pairs {
		q := &l.pairs[i]
		if a, b := find(q.A), find(q.B); !l.held[q.A] && !l.held[q.B] && a != b {
			root[max(a, b)] = min(a, b)
		}
	}
	best := make([]product.SolidIndex, len(l.held))
	for i := range best {
		best[i] = product.NoSolid
	}
	for i := range l.pairs {
		q := &l.pairs[i]
		for _, s := range []product.SolidIndex{q.A, q.B} {
			if l.held[s] {
				continue
			}
			r := find(s)
			attached[r] = attached[r] || l.held[other(q, s)]
			if !between[s] && (best[r] == product.NoSolid || l.greater(s, best[r])) {
				best[r] = s
			}
		}
	}
	out := map[product.SolidIndex]bool{}
	for r, s := range best {
		if s != product.NoSolid && !attached[r] {
			out[s] = true
		}
	}
	return out
}

// greater orders solids by the size of their boxes, the earlier of two alike
// first.
func (l *looseness) greater(a, b product.SolidIndex) bool {
	return cmp.Or(cmp.Compare(l.p.Solids[a].Box.Diagonal(), l.p.Solids[b].Box.Diagonal()), cmp.Compare(b, a)) > 0
}

// joints makes a joint of each contact of a loose part.
func (l *looseness) joints(between map[product.SolidIndex]bool) {
	for i := range l.pairs {
		q := &l.pairs[i]
		if l.held[q.A] && l.held[q.B] {
			continue
		}
		text := ""
		for _, s := range []product.SolidIndex{q.A, q.B} {
			if between[s] {
				text = fmt.Sprintf("; %s is held between its neighbours", l.p.Name(s))
			}
		}
		l.out.Joints = append(l.out.Joints, l.touchJoint(q, text))
	}
}
