package view

import (
	"math"
	"testing"

	"github.com/fogleman/ln/ln"
	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/mesh/shape"
)

// block is a box that knows by itself, without mesh or tree, whether it hides
// a point.
type block struct{ lo, hi mgl64.Vec3 }

// hides reports whether the ray from p along d passes through the inside of
// the box, more than eps deep.
func (b block) hides(p, d mgl64.Vec3, eps float64) bool {
	t0, t1 := eps, math.Inf(1)
	for k := range 3 {
		lo, hi := b.lo[k]+eps, b.hi[k]-eps
		if d[k] == 0 {
			if p[k] <= lo || p[k] >= hi {
				return false
			}
			continue
		}
		a, c := (lo-p[k])/d[k], (hi-p[k])/d[k]
		t0, t1 = max(t0, min(a, c)), min(t1, max(a, c))
	}
	return t1 > t0+eps
}

// Every piece of every box's edges is drawn where closed formulas say that no
// box hides it, and nothing else is drawn.
func TestBoxesMatchClosedFormulas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var boxes []block
		var items []Item
		for range rapid.IntRange(1, 4).Draw(t, "boxes") {
			lo := mgl64.Vec3{}
			size := mgl64.Vec3{}
			for k := range 3 {
				lo[k] = rapid.Float64Range(0, 30).Draw(t, "lo")
				size[k] = rapid.Float64Range(5, 20).Draw(t, "size")
			}
			boxes = append(boxes, block{lo, lo.Add(size)})
			items = append(items, item(shape.Box(lo, lo.Add(size))))
		}
		dir := mgl64.Vec3{
			rapid.Float64Range(0.3, 1).Draw(t, "x"), rapid.Float64Range(-1, -0.3).Draw(t, "y"), rapid.Float64Range(0.3, 1).Draw(t, "z"),
		}.Normalize()
		d := Draw(scene(dir, up, items...))
		checkNothingMissing(t, d, boxes)
		checkNothingExtra(t, d, boxes)
	})
}

// boxEdge is one edge of a box.
type boxEdge struct{ p, q mgl64.Vec3 }

func edgesOf(boxes []block) []boxEdge {
	var out []boxEdge
	for _, b := range boxes {
		c := geom.Box{Min: b.lo, Max: b.hi}.Corners()
		for i := range c {
			for k := range 3 {
				if i>>k&1 == 0 {
					out = append(out, boxEdge{c[i], c[i|1<<k]})
				}
			}
		}
	}
	return out
}

func (e boxEdge) at(t float64) mgl64.Vec3 { return e.p.Add(e.q.Sub(e.p).Mul(t)) }

func hidden(p, d mgl64.Vec3, boxes []block, eps float64) bool {
	for _, b := range boxes {
		if b.hides(p, d, eps) {
			return true
		}
	}
	return false
}

// checkNothingMissing asks at many places of the edges. A place is sure to be
// seen when its neighbours a walker's step to either side are seen as well.
func checkNothingMissing(t *rapid.T, d *Drawing, boxes []block) {
	const n = 100
	for _, e := range edgesOf(boxes) {
		a, _ := d.Camera.Page(e.p)
		b, _ := d.Camera.Page(e.q)
		step := sampleStep / math.Hypot(b.X-a.X, b.Y-a.Y)
		for i := range n {
			s := (float64(i) + 0.5) / n
			sure := true
			for _, o := range []float64{-1, -0.5, 0, 0.5, 1} {
				sure = sure && !hidden(e.at(max(0, min(1, s+o*step))), d.Camera.Dir, boxes, 1e-9)
			}
			if p, _ := d.Camera.Page(e.at(s)); sure && inkDistance(d, p) > 0.05 {
				t.Fatalf("no line at %v, %.3f mm from the nearest, though nothing hides the edge %v there", p, inkDistance(d, p), e)
			}
		}
	}
}

func inkDistance(d *Drawing, p Point) float64 {
	best := math.Inf(1)
	for _, l := range d.Layers {
		for _, path := range l.Paths {
			for i := 1; i < len(path); i++ {
				best = min(best, SegmentDistance(p, path[i-1], path[i]))
			}
		}
	}
	return best
}

// checkNothingExtra demands under each drawn place an edge that is not hidden
// by more than a hundredth of a millimetre.
func checkNothingExtra(t *rapid.T, d *Drawing, boxes []block) {
	edges := edgesOf(boxes)
	justified := func(p Point) bool {
		for _, e := range edges {
			a, _ := d.Camera.Page(e.p)
			b, _ := d.Camera.Page(e.q)
			l := (b.X-a.X)*(b.X-a.X) + (b.Y-a.Y)*(b.Y-a.Y)
			s := max(0, min(1, ((p.X-a.X)*(b.X-a.X)+(p.Y-a.Y)*(b.Y-a.Y))/l))
			if SegmentDistance(p, a, b) < 0.05 && !hidden(e.at(s), d.Camera.Dir, boxes, 1e-2) {
				return true
			}
		}
		return false
	}
	for _, l := range d.Layers {
		for _, path := range l.Paths {
			for i := 1; i < len(path); i++ {
				length := math.Hypot(path[i].X-path[i-1].X, path[i].Y-path[i-1].Y)
				if length < 2*sampleStep {
					continue // a gap of one step may stay unseen
				}
				for k := 1; k < 10; k++ {
					if p := (Segment{path[i-1], path[i]}).at(float64(k) / 10); !justified(p) {
						t.Fatalf("a line at %v where every edge is hidden", p)
					}
				}
			}
		}
	}
}

// The walker finds changes of visibility to its tolerance, wherever they are.
func TestWalkFindsEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.Float64Range(1, 40).Draw(t, "from")
		to := from + rapid.Float64Range(1, 50).Draw(t, "length")
		path := flat([]Point{{0, 0}, {60, 0}, {100, 0}}, 0)
		runs := walk(path, window{from, to})
		if len(runs) != 1 {
			t.Fatalf("%d runs, want 1", len(runs))
		}
		r := runs[0]
		if math.Abs(r[0].X-from) > edgeTol || math.Abs(r[len(r)-1].X-min(to, 100)) > edgeTol {
			t.Fatalf("run from %g to %g, want %g to %g", r[0].X, r[len(r)-1].X, from, to)
		}
	})
}

// window is a filter that lets a stretch of x be seen.
type window struct{ from, to float64 }

func (w window) Filter(p ln.Vector) (ln.Vector, bool) { return p, p.X > w.from && p.X < w.to }
