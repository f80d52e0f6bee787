package tess

import (
	"cmp"
	"math"
	"slices"
)

// straightened leans the plane so that loops which wind both ways at once, as
// diagonals of a torus do, wind in x only. It serves those that wind once one
// way and any number of times the other.
func straightened(c *chart, rings []ring) (*chart, []ring) {
	for _, r := range rings {
		a, b := r.wind[0], r.wind[1]
		if a == 0 || b == 0 {
			continue
		}
		if abs(a) != 1 && abs(b) != 1 {
			break
		}
		if abs(a) != 1 {
			c, a, b = c.turn(), b, -a
			rings = mapRings(rings, (*ring).turn)
		}
		c = c.leaning(b * a) // a is 1 or -1, so b/a
		return c, mapRings(rings, func(r *ring) ring { return r.leaning(c, b*a) })
	}
	return c, rings
}

func mapRings(rings []ring, f func(*ring) ring) []ring {
	out := make([]ring, len(rings))
	for i := range rings {
		out[i] = f(&rings[i])
	}
	return out
}

// bands is a face in several pieces, each between two loops that wind: every
// loop above which the material lies goes with the next one that runs back.
// Writers put pieces of one surface into one face though the standard wants
// them apart.
func (f *faceWork) bands(c *chart, wound, holes []ring) (region, error) {
	slices.SortStableFunc(wound, func(a, b ring) int { return cmp.Compare(a.mean()[1], b.mean()[1]) })
	out := region{c: c}
	taken := make([]bool, len(wound))
	left := slices.Clone(holes)
	for i := range wound {
		if wound[i].wind[0] < 0 {
			continue
		}
		j, height := c.next(wound, i)
		if j < 0 || taken[j] || wound[j].wind[0] > 0 {
			return region{}, errWinding
		}
		taken[i], taken[j] = true, true
		foot := wound[i].mean()[1]
		inside := func(h ring) bool { return c.rise(foot, h.mean()[1]) < height }
		var own, rest []ring
		for _, h := range left {
			if inside(h) {
				own = append(own, h)
			} else {
				rest = append(rest, h)
			}
		}
		r, err := f.band(c, []ring{wound[i], wound[j]}, own)
		if err != nil {
			return region{}, err
		}
		out.rings, left = append(out.rings, r.rings...), rest
	}
	if slices.Contains(taken, false) || len(left) > 0 {
		return region{}, errWinding
	}
	return out, nil
}

// rise is how far y is above from, within a period where there is one; +Inf for
// what is below.
func (c *chart) rise(from, y float64) float64 {
	d := y - from
	if p := c.period[1]; p > 0 {
		return d - p*math.Floor(d/p)
	}
	if d < 0 {
		return math.Inf(1)
	}
	return d
}

// next is the ring that is nearest above ring i, -1 for none.
func (c *chart) next(rings []ring, i int) (j int, height float64) {
	j, height = -1, math.Inf(1)
	for k := range rings {
		if d := c.rise(rings[i].mean()[1], rings[k].mean()[1]); k != i && d < height {
			j, height = k, d
		}
	}
	return j, height
}
