package fastener

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/name"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/mesh"
)

// most is how many solids one fastener is taken to be modelled as: head, shank,
// thread, plug of the recess, washer and a ring more.
const most = 6

// family is the solids of one product, or of a sub-assembly that is bought as
// one piece by its name.
type family struct {
	parent int // occurrence
	solids []product.SolidIndex
	// whole: the parent has nothing but these.
	whole  bool
	bought bool
}

// families lists what may be one fastener in several solids.
func (c *court) families() []family {
	p := c.scene.P
	kids, at := make([]int, len(p.Occs)), map[int]int{}
	var out []family
	for i := range p.Occs {
		if o := p.Occs[i].Parent; o >= 0 && o < len(kids) {
			kids[o]++
		}
	}
	for i := range p.Solids {
		s := product.SolidIndex(i)
		parent := p.Occ(s).Parent
		if parent < 0 || parent >= len(kids) || kids[parent] < 2 || kids[p.Solids[s].Occ] > 0 || c.struck(s) {
			continue
		}
		k, ok := at[parent]
		if !ok {
			k = len(out)
			at[parent] = k
			out = append(out, family{parent: parent, bought: !p.Occ(s).Body})
		}
		out[k].solids = append(out[k].solids, s)
		out[k].bought = out[k].bought && !p.Occ(s).Body
	}
	kept := out[:0]
	for _, f := range out {
		if c.close(&f, kids[f.parent]) {
			kept = append(kept, f)
		}
	}
	return kept
}

// close settles whether the solids belong together: bodies of one product do, a
// sub-assembly's parts do where its name is that of one purchased part.
func (c *court) close(f *family, kids int) bool {
	o := &c.scene.P.Occs[f.parent]
	f.whole = len(f.solids) == kids && !c.scene.P.Parts[o.Part].HasShape()
	if !f.bought {
		return len(f.solids) >= 2
	}
	w := c.nameOf(f)
	return f.whole && kids <= most && w.Says() && !w.Weak
}

// unite makes one case of solids that are one fastener.
func (c *court) unite() {
	u := union{
		court: c, read: map[string]reading{}, gone: make([]bool, len(c.cases)), lined: make([]bool, len(c.parts)), turned: make([][]geom.Axis, len(c.parts)),
	}
	c.groups = c.families()
	for i := range c.groups {
		f := &c.groups[i]
		if f.whole && len(f.solids) <= most && u.settle(f) {
			continue
		}
		for _, part := range u.clusters(f) {
			u.settleAmong(f, part)
		}
	}
	u.close()
}

// union works on the cases of a court.
type union struct {
	*court
	read map[string]reading // by the solids' parts and how they stand to each other
	gone []bool             // cases that are part of another
	more []instance
	// turned are the axes of parts that were asked for, in their coordinates.
	turned [][]geom.Axis
	lined  []bool
}

// reading is what several solids look like together, in the first one's part's
// coordinates.
type reading struct {
	specimen
	ok bool
}

// close takes the cases that are part of others out.
func (u *union) close() {
	if len(u.more) == 0 && !slices.Contains(u.gone, true) {
		return
	}
	var kept []instance
	for i := range u.cases {
		if !u.gone[i] {
			kept = append(kept, u.cases[i])
		}
	}
	u.cases = append(kept, u.more...)
	slices.SortStableFunc(u.cases, func(a, b instance) int { return int(a.Solids[0]) - int(b.Solids[0]) })
	for i := range u.of {
		u.of[i] = -1
	}
	for i := range u.cases {
		for _, s := range u.cases[i].Solids {
			if !u.cases[i].shell {
				u.of[s] = i
			}
		}
	}
}

// members are the cases among solids: those that stand for themselves, and rings
// that only need a head over them.
func (u *union) members(solids []product.SolidIndex) (standing, rings []int) {
	for _, s := range solids {
		j := u.of[s]
		if j < 0 {
			continue
		}
		switch k := &u.cases[j]; {
		case k.Kind == Washer:
			rings = append(rings, j)
		case k.needs == none:
			standing = append(standing, j)
		}
	}
	return standing, rings
}

// settle decides on a family that is nothing but its solids; false where they
// are not one fastener.
func (u *union) settle(f *family) bool {
	standing, rings := u.members(f.solids)
	r := u.together(f.solids)
	alone := len(standing) == 0 && len(rings) == 0
	headed := slices.ContainsFunc(standing, func(j int) bool { return u.cases[j].HeadH > 0 })
	if r.screw() && !headed || r.ok && alone && (r.HeadH > 0 || r.Kind == SetScrew || f.bought && r.Kind != Pin) {
		u.replace(f, f.solids, r)
		return true
	}
	if !headed {
		if r, ok := u.plugged(f.solids); ok {
			u.replace(f, f.solids, r)
			return true
		}
	}
	switch {
	case len(standing) == 1 && u.fitsAbout(standing[0], f.solids):
		k := &u.cases[standing[0]]
		if r.ok && r.fits && !k.fits && r.needs == none && r.Kind.like(k.Kind) && len(rings) == 0 {
			u.replace(f, f.solids, r)
		} else {
			u.add(f, standing[0], f.solids, rings)
		}
		return true
	case len(standing) == 0 && len(rings) == len(f.solids) && u.bonded(rings):
		u.add(f, slices.MaxFunc(rings, func(a, b int) int { return cmp.Compare(u.cases[a].outer, u.cases[b].outer) }), f.solids, nil)
		return true
	}
	return false
}

// screw reports a headed reading that a table has.
func (r *reading) screw() bool { return r.ok && r.fits && r.needs == none && r.HeadH > 0 }

// plugged leaves each of the solids out by turns: one may fill the recess that
// the others have together.
func (u *union) plugged(solids []product.SolidIndex) (reading, bool) {
	if len(solids) < 3 {
		return reading{}, false
	}
	for i := len(solids) - 1; i > 0; i-- { // the first gives the frame
		rest := slices.Delete(slices.Clone(solids), i, i+1)
		box := geom.EmptyBox()
		for _, s := range rest {
			box = box.Union(u.scene.P.Solids[s].Box)
		}
		box = box.Grow(touch)
		if r := u.together(rest); r.screw() && box.Union(u.scene.P.Solids[solids[i]].Box) == box {
			return r, true
		}
	}
	return reading{}, false
}

// settleAmong decides on touching solids about one axis among others of a
// product: only what a table has, and none of which stands for itself.
func (u *union) settleAmong(f *family, solids []product.SolidIndex) {
	if standing, _ := u.members(solids); slices.ContainsFunc(standing, func(j int) bool { return u.cases[j].HeadH > 0 }) {
		return
	}
	if r := u.together(solids); r.screw() {
		u.replace(f, solids, r)
	}
}

// fitsAbout reports that all solids lie at the fastener j: a thread about its
// shank, a plug in its recess, the cage of a nut, a washer under its head.
func (u *union) fitsAbout(j int, solids []product.SolidIndex) bool {
	k := &u.cases[j]
	room := u.scene.P.Solids[k.solid].Box.Grow(max(1, k.Nominal))
	for _, s := range solids {
		b := u.scene.P.Solids[s].Box
		if room.Union(b) != room {
			return false
		}
		if i := u.of[s]; i >= 0 && u.cases[i].Kind == Washer && !k.carriesRing(&u.cases[i]) {
			return false
		}
	}
	return true
}

// carriesRing reports a ring on the axis of a screw, between its tip and its
// head; of a nut, any.
func (k *instance) carriesRing(ring *instance) bool {
	tip, seat, ok := k.shankSpan()
	if !ok {
		return true
	}
	a, b := k.Axis.Height(ring.Axis.At(ring.Back)), k.Axis.Height(ring.Axis.At(ring.Front))
	return feature.Coaxial(k.Axis, ring.Axis, max(0.3, 0.08*ring.Bore), 0.02) && min(a, b) >= tip && max(a, b) <= seat+touch
}

// bonded reports rings about one axis that lie in or on each other.
func (u *union) bonded(rings []int) bool {
	a := &u.cases[rings[0]]
	for _, j := range rings[1:] {
		b := &u.cases[j]
		if !feature.Coaxial(a.Axis, b.Axis, 0.1, 0.02) || !u.box(a, touch).Overlaps(u.box(b, 0)) {
			return false
		}
	}
	return true
}

// add gives the case j all solids.
func (u *union) add(f *family, j int, solids []product.SolidIndex, rings []int) {
	k := &u.cases[j]
	for _, s := range solids {
		if i := u.of[s]; i >= 0 && i != j {
			u.gone[i] = true
		}
	}
	k.Solids = slices.Clone(solids)
	slices.Sort(k.Solids)
	k.word = u.wordOf(f, k)
	if len(rings) > 0 && (k.Kind == Screw || k.Kind == Bolt) {
		k.say("with a captive washer: %s", u.list(k, solids))
		return
	}
	k.say("one fastener in %d solids, with %s", len(solids), u.list(k, solids))
}

// replace makes one case of the solids by what they look like together.
func (u *union) replace(f *family, solids []product.SolidIndex, r reading) {
	for _, s := range solids {
		if i := u.of[s]; i >= 0 {
			u.gone[i] = true
		}
	}
	k := u.instance(r.specimen, solids[0])
	k.Solids = slices.Clone(solids)
	slices.Sort(k.Solids)
	k.word = u.wordOf(f, &k)
	k.say("one fastener in %d solids: %s", len(solids), u.list(nil, solids))
	u.more = append(u.more, k)
}

// wordOf takes the word of the whole, else that of its main solid.
func (u *union) wordOf(f *family, k *instance) name.Statement {
	if !f.whole {
		return k.word
	}
	if w := u.nameOf(f); w.Says() {
		return w
	}
	return k.word
}

// nameOf is what the name of the family's parent says.
func (c *court) nameOf(f *family) name.Statement {
	o := &c.scene.P.Occs[f.parent]
	return c.read.of(c.scene.P.Parts[o.Part].Name, o.Name)
}

// list names the solids but the one of k.
func (u *union) list(k *instance, solids []product.SolidIndex) string {
	var out []string
	for _, s := range solids {
		if k == nil || s != k.solid {
			out = append(out, u.scene.P.Name(s))
		}
	}
	return strings.Join(out, ", ")
}

// together reads several solids as one part. Groups of the same parts that stand
// alike to each other are read once.
func (u *union) together(solids []product.SolidIndex) reading {
	p := u.scene.P
	places := make([]geom.Transform, len(solids))
	key := ""
	for i, s := range solids {
		if !feature.KeepsSize(p.Solids[s].Place) || p.Part(s).Box.Diagonal() > 2*greatestR+greatestL {
			return reading{}
		}
		places[i] = p.Solids[solids[0]].Back.Mul(p.Solids[s].Place)
		key += fmt.Sprintf("%d %.5f %.4f;", p.Solids[s].Part, places[i].M, places[i].T)
	}
	if r, ok := u.read[key]; ok {
		return r
	}
	r := u.joined(solids, places)
	u.read[key] = r
	return r
}

func (u *union) joined(solids []product.SolidIndex, places []geom.Transform) (r reading) {
	p := u.scene.P
	var meshes []*mesh.Mesh
	var faces []int
	var feats []*feature.Part
	volume, whole := 0.0, product.Part{Closed: true}
	for i, s := range solids {
		part, feat := p.Part(s), u.scene.Parts[p.Solids[s].Part]
		meshes, faces, feats = append(meshes, part.Mesh.Transformed(places[i])), append(faces, len(feat.Faces)), append(feats, feat)
		v := math.Abs(part.Volume)
		whole.Centroid = whole.Centroid.Add(places[i].Point(part.Centroid).Mul(v))
		volume += v
		whole.Closed = whole.Closed && part.Closed
	}
	if !(volume > 0) {
		return r
	}
	whole.Centroid, whole.Volume = whole.Centroid.Mul(1/volume), volume
	whole.Mesh = mesh.Join(meshes, faces)
	whole.Box = whole.Mesh.Box()
	r.specimen, r.ok = examine(&whole, feature.Join(feats, places))
	return r
}

// clusters groups the solids of a larger product that touch about one axis.
func (u *union) clusters(f *family) [][]product.SolidIndex {
	mine := map[product.SolidIndex]bool{}
	for _, s := range f.solids {
		if j := u.of[s]; j >= 0 && u.cases[j].needs == none && u.cases[j].Kind != SetScrew && u.cases[j].Kind != Pin {
			continue // stands for itself; a head alone may look like a set screw
		}
		mine[s] = len(u.lines(s)) > 0
	}
	seen := map[product.SolidIndex]bool{}
	var out [][]product.SolidIndex
	for _, s := range f.solids {
		if !mine[s] || seen[s] {
			continue
		}
		seen[s] = true
		group := []product.SolidIndex{s}
		for i := 0; i < len(group) && len(group) <= most; i++ {
			for _, n := range u.scene.Near(u.scene.P.Solids[group[i]].Box.Grow(touch)) {
				if mine[n] && !seen[n] && u.inLine(group[i], n) {
					seen[n] = true
					group = append(group, n)
				}
			}
		}
		if len(group) > 1 && len(group) <= most {
			slices.Sort(group)
			out = append(out, group)
		}
	}
	return out
}

// lines are the axes about which a solid may have been turned, in the root's
// frame; none of what is too large.
func (u *union) lines(s product.SolidIndex) []geom.Axis {
	part := u.scene.P.Part(s)
	if !part.HasShape() || part.Box.Diagonal() > 2*greatestR+greatestL || !feature.KeepsSize(u.scene.P.Solids[s].Place) {
		return nil
	}
	i := u.scene.P.Solids[s].Part
	if !u.lined[i] {
		u.turned[i], u.lined[i] = axes(part, u.scene.Parts[i]), true
	}
	var out []geom.Axis
	for _, a := range u.turned[i] {
		out = append(out, a.Transformed(u.scene.P.Solids[s].Place))
	}
	return out
}

// inLine reports that two solids share an axis.
func (u *union) inLine(a, b product.SolidIndex) bool {
	for _, x := range u.lines(a) {
		for _, y := range u.lines(b) {
			if feature.Coaxial(x, y, 0.05, 5e-3) {
				return true
			}
		}
	}
	return false
}
