package joint

import (
	"context"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// Find says what each fastener holds and which solids are joined by what.
// holds has the order of fs. Find also settles what recognition had to leave
// open and writes it into fs: the sense of symmetric fasteners (a nut leaves
// away from its bolt's head, a washer with its screw, a pin to its free end)
// and Bolt against Screw where a nut decides. A cancelled context gives what
// was found so far.
func Find(ctx context.Context, p *product.Product, fs []fastener.Fastener) ([]Hold, []Joint) {
	return FindIn(ctx, feature.NewScene(ctx, p), fs)
}

// FindIn is Find in a product whose features have been read.
func FindIn(ctx context.Context, s *feature.Scene, fs []fastener.Fastener) ([]Hold, []Joint) {
	b := &binder{scene: s, fs: fs, holds: make([]Hold, len(fs)), of: ownersOf(s.P, fs)}
	b.index()
	b.mates()
	b.washers()
	b.seatInserts()
	stacks := make([]reading, len(fs))
	feature.Parallel(ctx, len(fs), func(i int) { stacks[i] = b.read(i) })
	for i := range stacks {
		b.take(i, &stacks[i])
	}
	b.rings()
	b.tips()
	b.ties()
	b.nutsAlone()
	b.washersOnRods()
	b.heads()
	return b.holds, b.joints()
}

// binder collects the holds.
type binder struct {
	scene *feature.Scene
	fs    []fastener.Fastener
	holds []Hold
	of    []int // fastener of each solid, -1 without
	// inserts are the fasteners of that kind; their holds say what holds them.
	inserts []int
}

func (b *binder) index() {
	for i := range b.fs {
		b.holds[i] = Hold{Fastener: i, Mate: -1}
	}
}

// name is what a person calls a solid.
func (b *binder) name(s product.SolidIndex) string { return b.scene.P.Name(s) }

// near lists the solids about fastener i, itself left out.
func (b *binder) near(i int, grow float64) []product.SolidIndex {
	box := geom.EmptyBox()
	for _, s := range b.fs[i].Solids {
		box = box.Union(b.scene.P.Solids[s].Box)
	}
	var out []product.SolidIndex
	for _, s := range b.scene.Near(box.Grow(grow)) {
		if !slices.Contains(b.fs[i].Solids, s) { // one solid may be several fasteners
			out = append(out, s)
		}
	}
	return out
}

// hasShank reports fasteners that go through or into other parts; of the
// stand-offs those with a stud, whose body counts as a head, of the clips those
// that are pushed into a hole up to their head.
func hasShank(f *fastener.Fastener) bool {
	switch f.Kind {
	case fastener.Screw, fastener.Bolt, fastener.SetScrew, fastener.Stud, fastener.Pin, fastener.Rivet:
		return true
	case fastener.StandOff, fastener.Clip:
		return f.HeadH > 0
	}
	return false
}

// span is the shank as heights along the axis: tip and seat (the plane under
// the head; the upper end of headless kinds).
func span(f *fastener.Fastener) (tip, seat float64) {
	if f.HeadH > 0 && hasShank(f) {
		return f.Back, -f.HeadH
	}
	return f.Back, f.Front
}

// ends are the heights, along axis a, between which fastener g lies.
func ends(a geom.Axis, g *fastener.Fastener) (lo, hi float64) {
	x, y := a.Height(g.Axis.At(g.Back)), a.Height(g.Axis.At(g.Front))
	return min(x, y), max(x, y)
}

// mates pairs shanks with the nuts on them, and settles the sense of the nuts
// and the kind of a screw that has one. A shank takes the first nut from its
// head; a lock nut behind it names the same shank.
func (b *binder) mates() {
	for i := range b.fs {
		f := &b.fs[i]
		if !hasShank(f) || f.Kind == fastener.Pin {
			continue
		}
		best := 0.0
		for _, s := range b.near(i, 0.1) {
			j := b.of[s]
			if j < 0 || b.fs[j].Kind != fastener.Nut || !carries(f, &b.fs[j]) {
				continue
			}
			if b.holds[j].Mate < 0 {
				b.holds[j].Mate = i
				face(&b.fs[j], b.offShank(i, j))
			}
			if _, hi := ends(f.Axis, &b.fs[j]); b.holds[i].Mate < 0 || hi > best {
				b.holds[i].Mate, best = j, hi
			}
		}
		if j := b.holds[i].Mate; j >= 0 && f.Kind == fastener.Screw {
			f.Kind = fastener.Bolt
			f.Evidence = append(f.Evidence, "a nut ("+b.name(b.fs[j].Solids[0])+") sits on the shank")
		}
	}
}

// carries reports whether nut n sits on the shank of f: coaxial, on it, with a
// bore between the thread's minor diameter and a little above its nominal.
func carries(f, n *fastener.Fastener) bool {
	d := f.Nominal
	if !feature.Coaxial(f.Axis, n.Axis, max(0.1, 0.03*d), 0.02) || n.Bore < 0.75*d || n.Bore > 1.05*d {
		return false
	}
	tip, seat := span(f)
	lo, hi := ends(f.Axis, n)
	return min(hi, seat)-max(lo, tip) >= 0.3*(hi-lo)
}

// face turns a symmetric fastener so that it leaves along d. Its meeting point
// moves to the other end.
func face(f *fastener.Fastener, d mgl64.Vec3) {
	if f.Symmetric && f.Axis.D.Dot(d) < 0 {
		f.Point = f.Axis.At(f.Back)
		f.Back, f.Front = f.Back-f.Front, 0
		f.Axis = geom.Axis{O: f.Point, D: mgl64.Vec3{}.Sub(f.Axis.D)} // not Mul(-1): no -0
	}
	f.Symmetric = false
}
