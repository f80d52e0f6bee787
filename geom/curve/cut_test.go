package curve

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
)

func drawRange(t *rapid.T, c Curve) (a, b float64) {
	a, b = c.Domain()
	if math.IsInf(a, 0) {
		a, b = -3, 3
	}
	f := rapid.Float64Range(0, 1)
	lo, hi := f.Draw(t, "from"), f.Draw(t, "to")
	shift := 0.0
	if p := c.Period(); p > 0 {
		shift = p * rapid.Float64Range(-1, 1).Draw(t, "shift")
	}
	return a + (b-a)*lo + shift, a + (b-a)*hi + shift
}

// apart is the greatest distance between the curve and the chords, seen at
// many places of each piece.
func apart(c Curve, ts []float64) float64 {
	worst := 0.0
	for i := range len(ts) - 1 {
		p, q := c.Point(ts[i]), c.Point(ts[i+1])
		d := q.Sub(p)
		for j := range 41 {
			e := c.Point(ts[i] + (ts[i+1]-ts[i])*float64(j)/40).Sub(p)
			s := 0.0
			if l2 := d.Dot(d); l2 > 0 {
				s = min(max(e.Dot(d)/l2, 0), 1)
			}
			worst = max(worst, e.Sub(d.Mul(s)).Len())
		}
	}
	return worst
}

func TestCutKeepsTheChord(t *testing.T) {
	for name, c := range zoo() {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				a, b := drawRange(t, c)
				tol := geom.Tolerance{Chord: rapid.SampledFrom([]float64{1, 0.1, 0.01, 0.001}).Draw(t, "chord")}
				if rapid.Bool().Draw(t, "angled") {
					tol.Angle = rapid.Float64Range(0.1, 1).Draw(t, "angle")
				}
				ts := Cut(c, a, b, tol)
				if ts[0] != a || ts[len(ts)-1] != b || len(ts) < 2 {
					t.Fatalf("cut %g..%g gives %v", a, b, ts)
				}
				if d := apart(c, ts); d > tol.Chord*1.02 {
					t.Fatalf("cut of %g..%g at %+v leaves the curve by %g: %v", a, b, tol, d, ts)
				}
				back := Cut(c, b, a, tol)
				slices.Reverse(back)
				if !slices.Equal(ts, back) {
					t.Fatalf("backwards the cut is another: %v, %v", ts, back)
				}
				for i := range len(ts) - 1 {
					if a < b && !(ts[i] < ts[i+1]) {
						t.Fatalf("not rising: %v", ts)
					}
				}
			})
		})
	}
}

// The turn from chord to chord stays near the angle where the curve is smooth.
func TestCutKeepsTheAngle(t *testing.T) {
	for _, name := range []string{"circle", "ellipse", "tall", "hyperbola", "parabola", "floating", "ring", "rational"} {
		c := zoo()[name]
		t0, t1 := c.Domain()
		if math.IsInf(t0, 0) {
			t0, t1 = -3, 3
		}
		for _, angle := range []float64{0.1, 0.3, 0.8} {
			ts := Cut(c, t0, t1, geom.Tolerance{Angle: angle})
			for i := range len(ts) - 2 {
				d, e := c.Point(ts[i+1]).Sub(c.Point(ts[i])), c.Point(ts[i+2]).Sub(c.Point(ts[i+1]))
				if got := math.Atan2(d.Cross(e).Len(), d.Dot(e)); got > angle*1.25 {
					t.Errorf("%s: turn of %.3f at %g for a tolerance of %g", name, got, ts[i+1], angle)
				}
			}
		}
	}
}

// n = ceil(π / acos(1 - e/r)) for a full circle.
func TestCutOfCircles(t *testing.T) {
	for _, x := range []struct {
		r, e float64
		n    int
	}{{5, 0.05, 23}, {50, 0.05, 71}, {0.5, 0.05, 7}, {1, 10, 3}} {
		c := must(NewCircle(tilted(), x.r))
		for _, from := range []float64{0, 1, -4} {
			for _, way := range []float64{2 * math.Pi, -2 * math.Pi} {
				if got := len(Cut(c, from, from+way, geom.Tolerance{Chord: x.e})) - 1; got != x.n {
					t.Errorf("r %g, chord %g, from %g: %d chords, want %d", x.r, x.e, from, got, x.n)
				}
			}
		}
		// A circle written as a B-spline may cost a few more: its quarters are
		// cut one by one.
		b := ring(tilted(), x.r)
		if got := len(Cut(b, 0, 4, geom.Tolerance{Chord: x.e})) - 1; got < x.n || got > x.n+4+x.n/8 {
			t.Errorf("b-spline circle r %g, chord %g: %d chords, a circle needs %d", x.r, x.e, got, x.n)
		}
	}
}

// The reference table gives the chord height of n chords on a circle.
func TestArcStepMatchesTable(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	file, err := os.Open(filepath.Join(shared, "reference", "discretisation_checks.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil || len(rows) < 5 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for _, row := range rows[1:] {
		n, _ := strconv.ParseFloat(row[0], 64)
		h, err := strconv.ParseFloat(row[3], 64)
		if err != nil {
			t.Fatal(err)
		}
		const r = 80
		if got := arcStep(r, h*r, 10); math.Abs(got-2*math.Pi/n) > 1e-4*got {
			t.Errorf("height %g of the radius: step %g, want %g", h, got, 2*math.Pi/n)
		}
	}
}

func TestCutKeepsCorners(t *testing.T) {
	l := zoo()["polyline"]
	if got := Cut(l, 0.5, 2.5, geom.Tolerance{Chord: 100}); !slices.Equal(got, []float64{0.5, 1, 2, 2.5}) {
		t.Errorf("polyline cut at %v", got)
	}
	// a cubic with a corner at the threefold knot 1
	c := must(NewBSpline(3, []mgl64.Vec3{{0, 0, 0}, {1, 0, 0}, {2, 0, 0}, {3, 0, 0}, {3, 1, 0}, {3, 2, 0}, {3, 3, 0}},
		nil, []float64{0, 0, 0, 0, 1, 1, 1, 2, 2, 2, 2}, false))
	if got := Cut(c, 0, 2, geom.Tolerance{Chord: 100}); !slices.Equal(got, []float64{0, 1, 2}) {
		t.Errorf("cubic with a corner cut at %v", got)
	}
}

// Whatever the tolerance, a closed curve keeps an area.
func TestCutOfClosedCurves(t *testing.T) {
	for _, name := range []string{"circle", "ellipse", "ring", "floating"} {
		c := zoo()[name]
		t0, t1 := c.Domain()
		if got := len(Cut(c, t0, t1, geom.Tolerance{})) - 1; got < 3 {
			t.Errorf("%s: %d chords round a closed curve", name, got)
		}
	}
	closed := must(NewPolyline([]mgl64.Vec3{{0, 0, 0}, {1, 0, 0}, {1, 1, 0}, {0, 0, 0}}))
	if got := len(Cut(closed, 0, 3, geom.Tolerance{})) - 1; got != 3 {
		t.Errorf("triangle in %d chords", got)
	}
}

func TestCutIsBounded(t *testing.T) {
	c := must(NewEllipse(tilted(), 1e6, 1e5))
	if n := len(Cut(c, 0, 2*math.Pi, geom.Tolerance{Chord: 1e-12, Angle: 1e-9})); n > 100*maxPieces {
		t.Errorf("%d points", n)
	}
}
