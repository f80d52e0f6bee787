package joint

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"stepscan/access/fastener"
	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/access/joint/contact"
	"stepscan/access/product"
)

// Touching is what solids have to do with each other beside their fasteners.
type Touching struct {
	// Pairs are all that touch, Left is how many near ones were too many to look
	// at.
	Pairs []contact.Pair
	Left  int
	// Untried is how many of the loose parts were too many, or too much work, to
	// try all their ways out.
	Untried int
	// Joints are those that were given, then press fits and threads without a
	// fastener, then contacts of parts that nothing else holds.
	Joints []Joint
	// Overlaps are the pairs that share volume.
	Overlaps []Overlap
	// Loose are the parts that no fastener, thread or press fit holds.
	Loose []Loose
}

// Touch looks at where solids touch, fit and overlap, and at what is held by
// nothing else. holds and joints are those of Find. A cancelled context gives
// what was found so far.
func Touch(ctx context.Context, p *product.Product, fs []fastener.Fastener, holds []Hold, joints []Joint) *Touching {
	return TouchIn(ctx, feature.NewScene(ctx, p), fs, holds, joints)
}

// TouchIn is Touch in a product whose features have been read.
func TouchIn(ctx context.Context, s *feature.Scene, fs []fastener.Fastener, holds []Hold, joints []Joint) *Touching {
	found := contact.PairsIn(ctx, s)
	t := &toucher{
		scene: s, p: s.P, fs: fs, holds: holds, of: ownersOf(s.P, fs), pairs: found.Pairs,
		out: Touching{Pairs: found.Pairs, Left: found.Left, Joints: slices.Clip(joints)},
	}
	t.presses()
	t.overlaps()
	t.loose(ctx)
	for k := len(joints); k < len(t.out.Joints); k++ {
		t.out.Joints[k].ID = fmt.Sprintf("j%d", k+1)
	}
	return &t.out
}

// toucher collects what Touch finds.
type toucher struct {
	scene *feature.Scene
	p     *product.Product
	fs    []fastener.Fastener
	holds []Hold
	of    []int // fastener of each solid, -1 without
	pairs []contact.Pair
	out   Touching
}

// ownersOf gives the fastener of each solid, -1 without.
func ownersOf(p *product.Product, fs []fastener.Fastener) []int {
	of := make([]int, len(p.Solids))
	for i := range of {
		of[i] = -1
	}
	for i := range fs {
		for _, s := range fs[i].Solids {
			if s >= 0 && int(s) < len(of) {
				of[s] = i
			}
		}
	}
	return of
}

// presses makes joints of press fits, and of threads drawn plain, between solids
// that are no fasteners.
func (t *toucher) presses() {
	for i := range t.pairs {
		q := &t.pairs[i]
		if t.of[q.A] >= 0 || t.of[q.B] >= 0 {
			continue
		}
		if f, ok := tightest(q.Fits); ok {
			t.out.Joints = append(t.out.Joints, t.press(q, f))
			continue
		}
		if f, th, ok := threadedFit(q.Fits); ok {
			t.out.Joints = append(t.out.Joints, Joint{
				Kind: Thread, Solids: []product.SolidIndex{q.A, q.B}, Area: q.Area(), Overlap: round3(f.Overlap),
				Text: fmt.Sprintf("%s screwed into %s: Ø%s in a hole Ø%s, as %s is tapped", t.p.Name(f.Shaft), t.p.Name(f.Hole), mm(f.D), mm(f.Bore), th.Size),
			})
		}
	}
}

// press is the joint of an interference fit.
func (t *toucher) press(q *contact.Pair, f *contact.Fit) Joint {
	return Joint{
		Kind: Press, Solids: []product.SolidIndex{q.A, q.B}, Overlap: round3(f.Overlap), Fit: f.Class,
		Area: q.Area(), Contact: contact.Cylindrical,
		Text: fmt.Sprintf("%s pressed into %s: Ø%s in Ø%s over %s mm", t.p.Name(f.Shaft), t.p.Name(f.Hole), mm(f.D), mm(f.Bore), mm(f.Length)),
	}
}

// tightest is the interference fit with the greatest overlap.
func tightest(fits []contact.Fit) (*contact.Fit, bool) {
	var best *contact.Fit
	for i := range fits {
		if f := &fits[i]; f.Class == contact.Interference && (best == nil || f.Overlap > best.Overlap) {
			best = f
		}
	}
	return best, best != nil
}

// threadedFit is a shaft drawn at a thread's major diameter in a hole drawn as
// that thread is tapped.
func threadedFit(fits []contact.Fit) (*contact.Fit, table.Thread, bool) {
	for i := range fits {
		f := &fits[i]
		if f.Class != contact.Bite {
			continue
		}
		for _, th := range table.Shank(f.D) {
			if math.Abs(th.D-f.D) <= 0.02*f.D && th.IsTapped(f.Bore) {
				return f, th, true
			}
		}
	}
	return nil, table.Thread{}, false
}

// An Overlap is a pair of solids that share volume.
type Overlap struct {
	A, B   product.SolidIndex
	Volume float64 // mm³, NaN where one of them is open and has no inside
	// Why says by what design they overlap: a thread, a press fit, a part drawn
	// as it is before it is fitted; "" is a fault of the model.
	Why string
	// Screwed is set where a fault is a screw without a hole for it.
	Screwed bool
	// Case is equal for the same two parts in the same relative place.
	Case int
}

func (t *toucher) overlaps() {
	for i := range t.pairs {
		q := &t.pairs[i]
		if !q.Deep || t.of[q.A] >= 0 && t.of[q.A] == t.of[q.B] {
			continue
		}
		o := Overlap{A: q.A, B: q.B, Volume: q.Shared, Case: q.Case}
		o.Why, o.Screwed = t.design(q)
		t.out.Overlaps = append(t.out.Overlaps, o)
	}
}

// design says why two solids may well be drawn in each other.
func (t *toucher) design(q *contact.Pair) (why string, screwed bool) {
	i, k := t.of[q.A], t.of[q.B]
	switch {
	case i >= 0 && k >= 0:
		return t.fasteners(i, k, q), false
	case i >= 0:
		return t.fastenerIn(i, q.B, q)
	case k >= 0:
		return t.fastenerIn(k, q.A, q)
	}
	if f, ok := tightest(q.Fits); ok && !(q.Shared > spare*math.Pi/2*f.D*f.Overlap*f.Length) {
		return "press fit", false
	}
	if f, th, ok := threadedFit(q.Fits); ok && !(q.Shared > spare*annulus(f.D, f.Bore, f.Length)) {
		return "thread " + th.Size, false
	}
	return "", false
}

// spare is how much more volume a thread or a press fit may share than its
// cylinders do: chamfers, ends and the chords of the meshes.
const spare = 1.3

// annulus is the volume, mm³, between two diameters.
func annulus(outer, inner, length float64) float64 {
	return math.Pi / 4 * (outer*outer - inner*inner) * length
}

// fasteners: a screw and its nut share their thread, drawn plain or not.
func (t *toucher) fasteners(i, k int, q *contact.Pair) string {
	if t.holds[i].Mate == k || t.holds[k].Mate == i {
		return "thread"
	}
	a, b := &t.fs[i], &t.fs[k]
	if hasShank(a) != hasShank(b) || a.Kind == fastener.StandOff || b.Kind == fastener.StandOff {
		if _, _, ok := threadedFit(q.Fits); ok || bitesAny(&t.holds[i], b) || bitesAny(&t.holds[k], a) {
			return "thread"
		}
	}
	return t.unfitted(a, b)
}

// fastenerIn: fastener i and a solid that is none.
func (t *toucher) fastenerIn(i int, s product.SolidIndex, q *contact.Pair) (why string, screwed bool) {
	f, h := &t.fs[i], &t.holds[i]
	if why := t.unfitted(f, f); why != "" {
		return why, false
	}
	switch {
	case f.Kind == fastener.Nut && (h.CaptiveNut || slices.Contains(h.Bites, s)):
		return "nut pressed in or screwed on", false
	case f.Kind == fastener.Pin && slices.Contains(h.Bites, s):
		return "press fit", false
	case !slices.Contains(h.Bites, s):
		return "", false
	}
	// The core of a screw, some 0.7 of its nominal diameter and less for threads
	// that form their own groove, is in the hole and not in the part.
	inner, length := 0.65*f.Nominal, min(f.Length, h.Engagement+f.Nominal)
	for k := range q.Fits {
		if b := &q.Fits[k]; b.Class == contact.Bite {
			inner, length = b.Bore, max(length, b.Length)
		}
	}
	if q.Shared > spare*annulus(f.Nominal, inner, length) {
		return "", true
	}
	return "thread", false
}

// unfitted names what is drawn as it is before it is fitted, in which state it
// stands in its surroundings.
func (t *toucher) unfitted(fs ...*fastener.Fastener) string {
	for _, f := range fs {
		switch f.Kind {
		case fastener.Insert, fastener.Ring, fastener.Rivet, fastener.Clip, fastener.CableTie:
			return string(f.Kind) + " as it is before it is fitted"
		}
	}
	return ""
}

// largest is the contact that says most of a pair: the largest.
func largest(q *contact.Pair) *contact.Contact {
	if len(q.Contacts) == 0 {
		return nil
	}
	best := slices.MaxFunc(q.Contacts, func(a, b contact.Contact) int { return cmp.Compare(a.Area, b.Area) })
	return &best
}

// touchJoint is the joint of two solids that only touch.
func (t *toucher) touchJoint(q *contact.Pair, between string) Joint {
	j := Joint{Kind: Contact, Solids: []product.SolidIndex{q.A, q.B}, Area: q.Area()}
	names := fmt.Sprintf("%s and %s", t.p.Name(q.A), t.p.Name(q.B))
	j.Contact = contact.Other
	if len(q.Fits) > 0 {
		f := &q.Fits[0]
		j.Fit, j.Overlap, j.Contact = f.Class, round3(f.Overlap), contact.Cylindrical
	}
	if c := largest(q); c != nil {
		j.Contact, j.Normal = c.Kind, c.Normal
	}
	switch {
	case j.Area > 0:
		j.Text = fmt.Sprintf("%s touch: %s mm²%s", names, mm(j.Area), onKind(j.Contact))
	case j.Fit == contact.Clearance:
		j.Text = fmt.Sprintf("%s fit with %s mm of play", names, mm(-j.Overlap))
	case q.Deep:
		j.Text = names + " are drawn in each other"
	default:
		j.Text = names + " touch along a line or in a point"
	}
	j.Text += between
	return j
}

// onKind says what a contact lies on.
func onKind(k contact.Kind) string {
	switch k {
	case contact.Planar:
		return ", plane"
	case contact.Cylindrical:
		return ", on a cylinder"
	}
	return ""
}

// bitesAny reports whether a hold names a solid of a fastener as bitten.
func bitesAny(h *Hold, f *fastener.Fastener) bool {
	return slices.ContainsFunc(f.Solids, func(s product.SolidIndex) bool { return slices.Contains(h.Bites, s) })
}
