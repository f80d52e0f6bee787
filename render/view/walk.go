package view

import (
	"math"

	"github.com/fogleman/ln/ln"
)

const (
	// sampleStep is the greatest distance, mm of paper, between two places of
	// a line that are asked for visibility: gaps shorter than this may stay
	// unseen.
	sampleStep = 0.4
	// edgeTol is how closely, mm of paper, a change of visibility is found.
	edgeTol = 1e-4
	// borderTol keeps lines that run along the window's border, mm of paper.
	borderTol = 1e-6
)

// walk returns the visible runs of a line in page space. Unlike ln's
// Chop-then-Filter it asks in the middle of each interval, away from the
// vertices where facets meet, and finds each change by bisection, so runs end
// where they should and not a step before.
func walk(path ln.Path, see ln.Filter) ln.Paths {
	at := lengths(path)
	total := at[len(at)-1]
	if !(total > 0) || math.IsInf(total, 1) {
		return nil
	}
	n := max(3, int(math.Ceil(min(total/sampleStep, 1e6))))
	step := total / float64(n)
	visible := func(s float64) bool {
		_, ok := see.Filter(pointAt(path, at, s))
		return ok
	}
	var runs ln.Paths
	from, on := 0.0, visible(step/2)
	for i := 1; i < n; i++ {
		s := (float64(i) + 0.5) * step
		if visible(s) == on {
			continue
		}
		c := change(visible, s-step, s, on)
		if on {
			runs = append(runs, cutOut(path, at, from, c))
		}
		from, on = c, !on
	}
	if on {
		runs = append(runs, cutOut(path, at, from, total))
	}
	return runs
}

// change bisects for the place between lo, which is as on says, and hi.
func change(visible func(float64) bool, lo, hi float64, on bool) float64 {
	for hi-lo > edgeTol {
		m := (lo + hi) / 2
		if m <= lo || m >= hi {
			break
		}
		if visible(m) == on {
			lo = m
		} else {
			hi = m
		}
	}
	return (lo + hi) / 2
}

// lengths are the lengths on the page, mm, from the start to each point.
func lengths(path ln.Path) []float64 {
	at := make([]float64, len(path))
	for i := 1; i < len(path); i++ {
		at[i] = at[i-1] + math.Hypot(path[i].X-path[i-1].X, path[i].Y-path[i-1].Y)
	}
	return at
}

// segmentAt is the number of the segment on which the length s falls.
func segmentAt(at []float64, s float64) int {
	lo, hi := 0, len(at)-1
	for hi-lo > 1 {
		if m := (lo + hi) / 2; at[m] <= s {
			lo = m
		} else {
			hi = m
		}
	}
	return lo
}

func pointAt(path ln.Path, at []float64, s float64) ln.Vector {
	i := segmentAt(at, s)
	a, b := path[i], path[i+1]
	d := at[i+1] - at[i]
	if !(d > 0) {
		return a
	}
	t := max(0, min(1, (s-at[i])/d))
	return ln.Vector{X: a.X + t*(b.X-a.X), Y: a.Y + t*(b.Y-a.Y), Z: a.Z + t*(b.Z-a.Z)}
}

// cutOut is the part of the path between two lengths.
func cutOut(path ln.Path, at []float64, from, to float64) ln.Path {
	out := ln.Path{pointAt(path, at, from)}
	for i := 1; i < len(path)-1; i++ {
		if at[i] > from && at[i] < to {
			out = append(out, path[i])
		}
	}
	return append(out, pointAt(path, at, to))
}

// clip returns the runs of a line in page space inside the window and not in
// front of the depth.
func clip(path ln.Path, win Rect, depth float64) ln.Paths {
	win = win.Inset(-borderTol)
	var out ln.Paths
	var run ln.Path
	for i := 1; i < len(path); i++ {
		a, b := path[i-1], path[i]
		t0, t1, ok := clipSegment(a, b, win, depth)
		if !ok {
			if len(run) > 1 {
				out = append(out, run)
			}
			run = nil
			continue
		}
		if len(run) == 0 || t0 > 0 {
			if len(run) > 1 {
				out = append(out, run)
			}
			run = ln.Path{between(a, b, t0)}
		}
		run = append(run, between(a, b, t1))
		if t1 < 1 {
			out = append(out, run)
			run = nil
		}
	}
	if len(run) > 1 {
		out = append(out, run)
	}
	return out
}

func between(a, b ln.Vector, t float64) ln.Vector {
	switch t {
	case 0:
		return a
	case 1:
		return b
	}
	return ln.Vector{X: a.X + t*(b.X-a.X), Y: a.Y + t*(b.Y-a.Y), Z: a.Z + t*(b.Z-a.Z)}
}

// clipSegment is Liang and Barsky's clipping (1984) against the window and the
// depth; coordinates that are not finite are clipped away.
func clipSegment(a, b ln.Vector, win Rect, depth float64) (t0, t1 float64, ok bool) {
	t0, t1 = 0, 1
	keep := func(pa, pb float64) bool { // keeps where p(t) >= 0
		switch {
		case pa >= 0 && pb >= 0:
			return true
		case pa < 0 && pb >= 0:
			t0 = max(t0, pa/(pa-pb))
		case pa >= 0 && pb < 0:
			t1 = min(t1, pa/(pa-pb))
		default:
			return false
		}
		return t0 < t1
	}
	ok = keep(a.X-win.X0, b.X-win.X0) && keep(win.X1-a.X, win.X1-b.X) &&
		keep(a.Y-win.Y0, b.Y-win.Y0) && keep(win.Y1-a.Y, win.Y1-b.Y)
	if ok && !math.IsInf(depth, 1) {
		ok = keep(depth-a.Z, depth-b.Z)
	}
	return t0, t1, ok
}
