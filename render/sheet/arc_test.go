package sheet

import (
	"math"
	"strings"
	"testing"

	"stepscan/render/view"
)

func round(n int, r, from, to float64) []view.Point {
	var p []view.Point
	for i := range n {
		s, c := math.Sincos(from + (to-from)*float64(i)/float64(n-1))
		p = append(p, view.Point{X: 50 + r*c, Y: 50 + r*s})
	}
	return p
}

func TestArcs(t *testing.T) {
	straight := []view.Point{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 20, Y: 0.001}}
	for name, c := range map[string]struct {
		p          []view.Point
		arcs, rest int
	}{
		"full circle in arcs of 150 degrees at most": {round(37, 10, 0, 2*math.Pi), 3, 0},
		"quarter":                     {round(8, 10, 0, math.Pi/2), 1, 0},
		"hexagon":                     {round(7, 10, 0, 2*math.Pi), 0, 6},
		"straight":                    {straight, 0, 2},
		"slot end: line, half, line":  {append(append([]view.Point{{X: 80, Y: 40}}, round(13, 10, -math.Pi/2, -3*math.Pi/2)...), view.Point{X: 80, Y: 60}), 2, 2},
		"too few corners on a circle": {round(4, 10, 0, 1), 0, 3},
	} {
		t.Run(name, func(t *testing.T) {
			d := string(appendPath(nil, c.p, false))
			checkPath(t, d)
			if a, l := strings.Count(d, "A"), strings.Count(d, "L"); a != c.arcs || l != c.rest {
				t.Errorf("%d arcs and %d lines, want %d and %d: %s", a, l, c.arcs, c.rest, d)
			}
		})
	}
	// Sweep: from 3 o'clock to 6 o'clock on a page with y down runs clockwise.
	if d := string(appendPath(nil, round(8, 10, 0, math.Pi/2), false)); d != "M60 50A10 10 0 0 1 50 60" {
		t.Errorf("quarter drawn as %s", d)
	}
}
