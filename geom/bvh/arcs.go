package bvh

import (
	"cmp"
	"math"
	"slices"
)

const turn = 2 * math.Pi

// angleTol, rad: gaps below it are closed. Two triangles' blocked arcs meet at
// an angle that each works out with its own rounding.
const angleTol = 1e-12

// Arc is an interval of angles, rad: From in [0, 2π), To in (From, From+2π].
type Arc struct{ From, To float64 }

// Span is the arc's angle, rad.
func (a Arc) Span() float64 { return a.To - a.From }

// Middle is the angle in its middle, in [0, 2π).
func (a Arc) Middle() float64 { return wrapped((a.From + a.To) / 2) }

// Arcs is a set of angles: arcs sorted by From that neither touch nor overlap.
// An arc across angle 0 is the last one, with To above 2π; the whole circle is
// the one arc from 0 to 2π.
type Arcs []Arc

// ArcsOf makes a set of any arcs, given by any angles with From <= To; those of
// a full turn or more are the whole circle.
func ArcsOf(arcs ...Arc) Arcs {
	var c circleSet
	for _, a := range arcs {
		c.add(a.From, a.To)
	}
	return c.arcs()
}

// Merge is the set of the angles in either.
func (a Arcs) Merge(b Arcs) Arcs {
	return ArcsOf(append(slices.Clone(a), b...)...)
}

// Free is the set of the angles that are not in a.
func (a Arcs) Free() Arcs {
	if len(a) == 0 {
		return Arcs{{0, turn}}
	}
	var out []Arc
	for i, arc := range a {
		next := a[(i+1)%len(a)].From
		if i == len(a)-1 {
			next += turn
		}
		if next > arc.To {
			out = append(out, Arc{arc.To, next})
		}
	}
	return ArcsOf(out...)
}

// Contains reports whether the angle, rad, is in the set.
func (a Arcs) Contains(angle float64) bool {
	x := wrapped(angle)
	for _, arc := range a {
		if arc.From <= x && x < arc.To || x+turn < arc.To {
			return true
		}
	}
	return false
}

// Longest is the longest arc of the set, the first of equal ones; false for an
// empty set. The longest free arc is a.Free().Longest().
func (a Arcs) Longest() (Arc, bool) {
	best, ok := Arc{}, false
	for _, arc := range a {
		if !ok || arc.Span() > best.Span() {
			best, ok = arc, true
		}
	}
	return best, ok
}

// wrapped brings an angle into [0, 2π).
func wrapped(x float64) float64 {
	x = math.Mod(x, turn)
	if x < 0 {
		x += turn
	}
	if x >= turn { // a tiny negative angle rounds up to a whole turn
		x = 0
	}
	return x
}

// circleSet collects arcs, cut at angle 0, sorted and merged.
type circleSet struct{ cover []Arc }

// add puts in the angles from..to, any numbers with from <= to.
func (c *circleSet) add(from, to float64) {
	switch {
	case !(from <= to): // NaN too
		return
	case !(to-from < turn):
		c.cover = append(c.cover[:0], Arc{0, turn})
		return
	}
	w := wrapped(from)
	to = w + (to - from)
	if w < angleTol {
		w = 0
	}
	if to > turn {
		c.put(Arc{0, to - turn})
	}
	if to > turn-angleTol {
		to = turn
	}
	c.put(Arc{w, to})
}

// put merges one arc within [0, 2π].
func (c *circleSet) put(a Arc) {
	i, _ := slices.BinarySearchFunc(c.cover, a.From-angleTol, func(b Arc, from float64) int { return cmp.Compare(b.To, from) })
	j := i
	for j < len(c.cover) && c.cover[j].From <= a.To+angleTol {
		a.From, a.To = min(a.From, c.cover[j].From), max(a.To, c.cover[j].To)
		j++
	}
	c.cover = slices.Replace(c.cover, i, j, a)
}

// has reports that the angles from..to are all in.
func (c *circleSet) has(from, to float64) bool {
	if !(to-from < turn) {
		return c.full()
	}
	w := wrapped(from)
	to = w + (to - from)
	if to > turn {
		return c.covers(0, to-turn) && c.covers(w, turn)
	}
	return c.covers(w, to)
}

func (c *circleSet) covers(from, to float64) bool {
	for _, a := range c.cover {
		if a.From <= from && to <= a.To {
			return true
		}
	}
	return false
}

func (c *circleSet) full() bool { return c.covers(0, turn) }

// arcs joins what was cut at angle 0 and leaves single angles out.
func (c *circleSet) arcs() Arcs {
	var out Arcs
	for _, a := range c.cover {
		if a.To-a.From > angleTol {
			out = append(out, a)
		}
	}
	if n := len(out); n > 1 && out[0].From == 0 && out[n-1].To == turn {
		out[n-1].To += out[0].To
		out = out[1:]
	}
	return out
}
