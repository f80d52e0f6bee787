package name

import (
	"math"
	"testing"
)

func TestDirections(t *testing.T) {
	for _, c := range []struct {
		d          [3]float64
		axis, side string
	}{
		{[3]float64{0, 0, -1}, "-z", "below (-z)"},
		{[3]float64{1, 1e-9, 0}, "+x", "the right (+x)"},
		{[3]float64{0, -1, 0}, "-y", "the front (-y)"},
		{[3]float64{0, -0.6, 0.8}, "(0, -0.6, 0.8)", "(0, -0.6, 0.8)"},
		{[3]float64{-1e-9, 0.2588, -0.9659}, "(0, 0.26, -0.97)", "(0, 0.26, -0.97)"},
		{[3]float64{math.NaN(), 0, 0}, "", ""},
	} {
		if got := Axis(c.d); got != c.axis {
			t.Errorf("Axis(%v) = %q, want %q", c.d, got, c.axis)
		}
		if got := Side(c.d); got != c.side {
			t.Errorf("Side(%v) = %q, want %q", c.d, got, c.side)
		}
	}
}

func TestRuns(t *testing.T) {
	for want, ids := range map[string][]string{
		"":              nil,
		"f1":            {"f1"},
		"f1, f2":        {"f1", "f2"},
		"f1–f4, f7":     {"f1", "f2", "f3", "f4", "f7"},
		"f9–f11, f1000": {"f9", "f10", "f11", "f1000"},
		"odd, f2":       {"odd", "f2"},
	} {
		if got := Runs(ids); got != want {
			t.Errorf("Runs(%v) = %q, want %q", ids, got, want)
		}
	}
}
