package step

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/step/p21"
)

// mapping is a mapped item, or a relation with a transformation, that stands for
// a use of another product.
type mapping struct {
	item  p21.ID
	child int
	place geom.Transform
	// hidden: the item, or something above it
	hidden bool
}

// placeByMapping ties mapped items of other products' shapes to the uses of
// those. Most files that have both say the same twice, so an item that lies
// where a use is placed goes first, then one for a use without any placement.
// Where the structure has as many uses and only places them elsewhere its word
// counts; beyond that items are uses that the structure does not tell of.
func (r *reader) placeByMapping(pr *product, mapped []mapping) {
	if len(mapped) == 0 {
		return
	}
	m := newMatcher(pr)
	for _, tie := range []func(mapping) bool{m.alike, m.unplaced, m.elsewhere} {
		var rest []mapping
		for _, it := range mapped {
			if !tie(it) {
				rest = append(rest, it)
			}
		}
		mapped = rest
	}
	for _, it := range m.moved {
		r.note(it, "", "another placement of an occurrence that has one: left out")
	}
	for _, it := range mapped {
		child := r.prods[it.child]
		child.used = true
		pr.uses = append(pr.uses, use{nauo: it.item, child: it.child, name: child.name, place: it.place, placed: true, hidden: it.hidden, item: it.item})
	}
}

// matcher finds uses of one product for mapped items, each in a few steps
// however many there are.
type matcher struct {
	pr    *product
	cells map[cell][]int // placed uses, by where they are
	rest  map[int][]int  // the same by product
	open  map[int][]int  // uses without a placement, by product
	moved []p21.ID       // items that lie elsewhere than their use
}

// cell is a cube of 1 mm in which a use of a product has its origin.
type cell struct {
	child   int
	x, y, z float64
}

func newMatcher(pr *product) *matcher {
	m := &matcher{pr: pr, cells: map[cell][]int{}, rest: map[int][]int{}, open: map[int][]int{}}
	for i, u := range pr.uses {
		if !u.placed {
			m.open[u.child] = append(m.open[u.child], i)
			continue
		}
		m.rest[u.child] = append(m.rest[u.child], i)
		c := cellOf(u.child, u.place.T)
		m.cells[c] = append(m.cells[c], i)
	}
	return m
}

// maxInCell is how many uses in one place are looked at for one item: blades
// about an axis share their origin, but not more of them than this.
const maxInCell = 2_000

func cellOf(child int, p mgl64.Vec3) cell {
	return cell{child, math.Floor(p[0]), math.Floor(p[1]), math.Floor(p[2])}
}

// alike ties an item to a use that is placed as the item is.
func (m *matcher) alike(it mapping) bool {
	tried := map[cell]bool{}
	for k := range 8 { // the corners of the box in which the origin may be
		p := it.place.T
		for axis := range p {
			p[axis] += alikeMM * float64(2*(k>>axis&1)-1)
		}
		c := cellOf(it.child, p)
		if tried[c] {
			continue
		}
		tried[c] = true
		list := m.cells[c]
		for n, i := range list[:min(len(list), maxInCell)] {
			if placedAlike(m.pr.uses[i].place, it.place) {
				m.tie(i, it)
				copy(list[1:n+1], list[:n])
				m.cells[c] = list[1:]
				return true
			}
		}
	}
	return false
}

// unplaced ties an item to a use that has no placement yet; of a quantity it
// takes one instance.
func (m *matcher) unplaced(it mapping) bool {
	list := m.open[it.child]
	if len(list) == 0 {
		return false
	}
	i := list[0]
	if u := &m.pr.uses[i]; u.times > 1 {
		u.times--
		one := *u
		one.times = 0
		m.pr.uses = append(m.pr.uses, one)
		i = len(m.pr.uses) - 1
	} else {
		m.open[it.child] = list[1:]
	}
	u := &m.pr.uses[i]
	u.place, u.placed = it.place, true
	m.tie(i, it)
	return true
}

// elsewhere ties an item to a use that is placed otherwise.
func (m *matcher) elsewhere(it mapping) bool {
	for list := m.rest[it.child]; len(list) > 0; list = m.rest[it.child] {
		m.rest[it.child] = list[1:]
		if m.pr.uses[list[0]].item == 0 {
			m.tie(list[0], it)
			m.moved = append(m.moved, it.item)
			return true
		}
	}
	return false
}

func (m *matcher) tie(i int, it mapping) {
	u := &m.pr.uses[i]
	u.hidden, u.item = u.hidden || it.hidden, it.item
}
