package reach

import (
	"context"
	"math"
	"slices"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/bvh"
	"stepscan/geom/mesh"
)

// mirrored gives a solid a mirrored part and a mirrored placement: the placed
// solid is the same.
func (k *kit) mirrored(i int) {
	p := &k.p.Parts[i]
	m := &mesh.Mesh{Vertices: make([]mgl64.Vec3, len(p.Mesh.Vertices)), Chord: p.Mesh.Chord}
	for v, q := range p.Mesh.Vertices {
		m.Vertices[v] = mgl64.Vec3{-q[0], q[1], q[2]}
	}
	for _, t := range p.Mesh.Triangles {
		m.Triangles = append(m.Triangles, [3]int32{t[0], t[2], t[1]})
	}
	p.Mesh, p.Tree, p.Box = m, bvh.Build(m), m.Box()
	flip := geom.Transform{M: mgl64.Diag3(mgl64.Vec3{-1, 1, 1})}
	s := &k.p.Solids[i]
	s.Place, s.Back = s.Place.Mul(flip), flip.Mul(s.Back)
}

func drawMove(t *rapid.T) geom.Transform {
	angle := rapid.Float64Range(-3, 3)
	q := mgl64.AnglesToQuat(angle.Draw(t, "a"), angle.Draw(t, "b"), angle.Draw(t, "c"), mgl64.XYZ)
	d := rapid.Float64Range(-500, 500)
	return geom.Transform{M: q.Normalize().Mat4().Mat3(), T: mgl64.Vec3{d.Draw(t, "x"), d.Draw(t, "y"), d.Draw(t, "z")}}
}

// The same product turned, moved and modelled in mirrored parts gives the same
// answers, seen from the turned side.
func TestTurnedProductGivesTheSameNumbers(t *testing.T) {
	cases := map[string]func() *kit{
		"lids": func() *kit { return lids(2) }, "bolted": bolted, "shut in": shutIn, "pin": func() *kit { return pinned(true) },
		"slot": func() *kit { return oneScrew(func(k *kit) product.SolidIndex { return slotted(k, 1.1) }) },
		"two walls": func() *kit {
			return oneScrew(func(k *kit) product.SolidIndex {
				k.part("wall", wedge(0.3, 2.4))
				return k.part("other wall", wedge(2.5, 5.6)) // the widest gap is from 5.6 to 0.3: 56°
			})
		},
	}
	want := map[string]*Result{}
	for name, c := range cases {
		want[name] = c().judge(&up)
	}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"lids", "bolted", "shut in", "pin", "slot", "two walls"}).Draw(t, "case")
		k := cases[name]()
		move := drawMove(t)
		k.move(move)
		for i := range k.p.Parts {
			if rapid.Bool().Draw(t, "mirror") {
				k.mirrored(i)
			}
		}
		side := move.Dir(up)
		got := k.judge(&side)
		for i := range got.Reaches {
			sameReach(t, move, &got.Reaches[i], &want[name].Reaches[i])
		}
	})
}

func sameReach(t *rapid.T, move geom.Transform, got, want *Reach) {
	if got.Verdict != want.Verdict || got.Hidden != want.Hidden || got.Step != want.Step || got.Tool.Name != want.Tool.Name {
		t.Fatalf("%s hidden %v step %d %s, want %s %v %d %s", got.Verdict, got.Hidden, got.Step, got.Tool.Name,
			want.Verdict, want.Hidden, want.Step, want.Tool.Name)
	}
	if d := got.Side.Sub(move.Dir(want.Side)).Len(); !(d < 1e-9) {
		t.Fatalf("side %v is off by %g", got.Side, d)
	}
	for i := range want.Tried {
		g, w := &got.Tried[i], &want.Tried[i]
		if g.Fits != w.Fits || g.Limit != w.Limit || !close(g.Free, w.Free) || !close(g.Needed, w.Needed) {
			t.Fatalf("%s: fits %v, %g of %g by %s; want %v, %g of %g by %s",
				g.Tool.Name, g.Fits, g.Free, g.Needed, g.Limit, w.Fits, w.Free, w.Needed, w.Limit)
		}
	}
}

// close allows for rounding at coordinates of some metres.
func close(a, b float64) bool { return a == b || math.Abs(a-b) <= 1e-7 }

// Taking a part away never makes a fastener harder to reach from a side.
func TestFewerPartsNeverReachLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 4).Draw(t, "boxes")
		var lo, hi []mgl64.Vec3
		var fixed []bool
		c := rapid.Float64Range(-30, 30)
		for range n {
			p := mgl64.Vec3{c.Draw(t, "x"), c.Draw(t, "y"), rapid.Float64Range(-40, 120).Draw(t, "z")}
			d := rapid.Float64Range(1, 40)
			lo, hi = append(lo, p), append(hi, p.Add(mgl64.Vec3{d.Draw(t, "dx"), d.Draw(t, "dy"), d.Draw(t, "dz")}))
			fixed = append(fixed, rapid.Bool().Draw(t, "fixed"))
		}
		bolted := rapid.Bool().Draw(t, "bolted")
		judge := func(skip int) *Reach {
			k := newKit()
			base := k.part("base", plate(40, -23, -3, hole(0, 0, 3.3)))
			for i := range n {
				if i == skip {
					continue
				}
				s := k.part("box", box(lo[i][0], lo[i][1], lo[i][2], hi[i][0], hi[i][1], hi[i][2]))
				if fixed[i] {
					k.joints = append(k.joints, joint.Joint{Kind: joint.Press, Solids: solids{base, s}})
				}
			}
			if bolted {
				k.nut(mgl64.Vec3{0, 0, -28}, down, k.hexBolt(mgl64.Vec3{0, 0, 1}, up, 30, solids{base}))
			} else {
				k.screw(mgl64.Vec3{}, up, 10, nil, solids{base})
			}
			return &k.judge(&up).Reaches[0]
		}
		all := judge(-1)
		for i := range n {
			if less := judge(i); rankOf(less.Verdict) > rankOf(all.Verdict) {
				t.Fatalf("without box %d: %s, with it %s", i, less.Verdict, all.Verdict)
			}
		}
	})
}

// Loads leave in an order in which nothing is in the way of the next, and none
// of them could be split: checked by trying every pair.
func TestLoadsLeaveOneAfterTheOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := newKit()
		n := rapid.IntRange(2, 16).Draw(t, "boxes")
		for range n {
			p := mgl64.Vec3{cell(t), cell(t), cell(t)}
			k.part("box", box(p[0], p[1], p[2], p[0]+8, p[1]+8, p[2]+8))
		}
		groups := drawGroups(t, n)
		d, _ := geom.Unit(mgl64.Vec3{cell(t), cell(t), cell(t) + 5})
		b := newBlocking(newScene(k.p), d, maxPairs, maxWork)
		loads := loadsAlong(groups, b)
		checkLoads(t, groups, b, loads)
	})
}

func cell(t *rapid.T) float64 { return float64(10 * rapid.IntRange(0, 2).Draw(t, "cell")) }

func drawGroups(t *rapid.T, n int) []group {
	var out []group
	for i := range n {
		if len(out) > 3 && rapid.IntRange(0, 3).Draw(t, "join") > 0 {
			g := rapid.IntRange(0, len(out)-1).Draw(t, "to")
			out[g].solids = append(out[g].solids, product.SolidIndex(i))
			continue
		}
		out = append(out, group{solids: solids{product.SolidIndex(i)}, free: rapid.IntRange(0, 9).Draw(t, "free") > 0})
	}
	return out
}

// checkLoads works out who cannot leave before whom by closing the relation
// "meets" over all pairs.
func checkLoads(t *rapid.T, groups []group, b *blocking, loads [][]product.SolidIndex) {
	n := len(groups)
	reach := make([][]bool, n)
	for i := range n {
		reach[i] = make([]bool, n)
		for j := range n {
			reach[i][j] = i == j || b.slowly(groups[i].solids, groups[j].solids)
		}
	}
	for k := range n {
		for i := range n {
			for j := range n {
				reach[i][j] = reach[i][j] || reach[i][k] && reach[k][j]
			}
		}
	}
	when := leaving(groups, loads)
	for i := range n {
		stuck := true
		for j := range n { // stuck: needs a component that has no free group
			if !reach[i][j] {
				continue
			}
			free := false
			for m := range n {
				free = free || reach[j][m] && reach[m][j] && groups[m].free
			}
			stuck = stuck && free
			if when[i] >= 0 && (when[j] < 0 || when[j] > when[i]) {
				t.Fatalf("group %d leaves in load %d but needs group %d of load %d to go", i, when[i], j, when[j])
			}
			if when[i] >= 0 && when[i] == when[j] && !reach[j][i] {
				t.Fatalf("groups %d and %d need not leave together", i, j)
			}
		}
		if stuck != (when[i] >= 0) {
			t.Fatalf("group %d: leaves %v, want %v", i, when[i] >= 0, stuck)
		}
	}
}

func (b *blocking) slowly(g, h []product.SolidIndex) bool {
	for _, i := range g {
		for _, j := range h {
			if b.contact(i, j) {
				return true
			}
		}
	}
	return false
}

// leaving is by group the load in which it leaves, -1 for never.
func leaving(groups []group, loads [][]product.SolidIndex) []int {
	out := filled(len(groups), -1)
	for l, load := range loads {
		for i := range groups {
			for _, s := range load {
				if s == groups[i].solids[0] {
					out[i] = l
				}
			}
		}
	}
	return out
}

// Whatever recognition and joints say, the judgement ends and answers for
// every fastener.
func TestAnyHoldsAreJudged(t *testing.T) {
	kinds := []fastener.Kind{fastener.Screw, fastener.Bolt, fastener.Nut, fastener.Washer, fastener.Stud, fastener.SetScrew,
		fastener.Pin, fastener.Rivet, fastener.Ring, fastener.Insert, fastener.Clip, ""}
	rapid.Check(t, func(t *rapid.T) {
		k := lids(2)
		any := rapid.IntRange(-1, len(k.fs)-1)
		for i := range k.fs {
			k.fs[i].Kind = rapid.SampledFrom(kinds).Draw(t, "kind")
			k.fs[i].Symmetric = rapid.Bool().Draw(t, "symmetric")
			k.holds[i].Mate = any.Draw(t, "mate")
			k.holds[i].CaptiveNut = rapid.Bool().Draw(t, "captive")
			k.holds[i].Falls, k.holds[i].CaptiveHead = rapid.Bool().Draw(t, "falls"), rapid.Bool().Draw(t, "head")
			if w := any.Draw(t, "washer"); w >= 0 {
				k.holds[i].Washers = []int{w}
			}
			if rapid.IntRange(0, 5).Draw(t, "odd") == 0 {
				k.fs[i].Axis.D, k.fs[i].Nominal = mgl64.Vec3{0, 0, math.NaN()}, 0
			}
		}
		r := k.judge(nil)
		total := r.Sides[0].Clear + r.Sides[0].After + r.Sides[0].Turn + r.Sides[0].Two + r.Sides[0].Blocked
		if len(r.Reaches) != len(k.fs) || total != len(k.fs) {
			t.Fatalf("%d answers, %d counted, for %d fasteners", len(r.Reaches), total, len(k.fs))
		}
		once := slices.Sorted(slices.Values(r.Removed))
		if len(slices.Compact(once)) != len(r.Removed) {
			t.Fatalf("a solid came off twice: %v", r.Removed)
		}
		for i := range r.Reaches {
			if r.Reaches[i].Verdict == "" || r.Reaches[i].Why == "" {
				t.Fatalf("fastener %d (%s) has no answer", i, k.fs[i].Kind)
			}
		}
	})
}

// What two fasteners claim, a washer that is also a nut's own, comes off once.
func TestSharedSolidComesOffOnce(t *testing.T) {
	k := lids(2)
	for i, kind := range []fastener.Kind{fastener.Screw, fastener.Nut, fastener.Screw} {
		k.fs[i].Kind, k.fs[i].Symmetric, k.holds[i].CaptiveNut = kind, false, false
	}
	k.holds[0].Mate, k.holds[1].Mate, k.holds[2].Mate = 0, 2, 0
	k.holds[0].Washers, k.holds[1].Washers, k.holds[2].Washers = []int{1}, []int{0}, []int{0}
	k.fs[1].Axis.D, k.fs[1].Nominal = mgl64.Vec3{0, 0, math.NaN()}, 0
	once := map[product.SolidIndex]int{}
	for _, s := range k.judge(nil).Removed {
		if once[s]++; once[s] > 1 {
			t.Errorf("solid %d came off %d times", s, once[s])
		}
	}
}

// The answer does not depend on how many cores work on it.
func TestWorkersGiveTheSameAnswer(t *testing.T) {
	for _, c := range []*kit{lids(3), bolted(), shutIn()} {
		one := Judge(context.Background(), c.p, c.fs, c.holds, c.joints, Options{Workers: 1})
		four := Judge(context.Background(), c.p, c.fs, c.holds, c.joints, Options{Workers: 4})
		if d := diff(one, four); d != "" {
			t.Error(d)
		}
	}
}

func TestCancelledAndEmpty(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	k := lids(2)
	if r := Judge(ctx, k.p, k.fs, k.holds, k.joints, Options{}); len(r.Reaches) != 3 {
		t.Errorf("%d answers", len(r.Reaches))
	}
	e := newKit()
	if r := e.judge(nil); len(r.Reaches) != 0 || r.Side != up || len(r.Removed) != 0 {
		t.Errorf("%+v", r)
	}
}
