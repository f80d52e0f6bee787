package sheet

import (
	"maps"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/access/tool"
	"stepscan/geom"
	"stepscan/render/view"
)

// Where the parts of a joint sheet stand, mm.
var (
	headRect  = view.Rect{X0: frameX0, Y0: frameY0, X1: frameX1, Y1: 30}
	mainRect  = view.Rect{X0: frameX0, Y0: 30, X1: 204, Y1: 168}
	placeRect = view.Rect{X0: 204, Y0: 30, X1: frameX1, Y1: 101}
	alongRect = view.Rect{X0: 204, Y0: 101, X1: frameX1, Y1: 168}
	titleRect = view.Rect{X0: frameX0, Y0: 168, X1: frameX1, Y1: frameY1}
)

const (
	gutter  = 36.0 // mm: margin for labels beside the main picture
	caption = 7.0  // mm: strip above a picture for its name and scale
)

// subject is what one sheet is about.
type subject struct {
	b     *Book
	i     int
	f     *fastener.Fastener
	hold  joint.Hold
	reach reach.Reach
	trial reach.Trial // the one that is drawn
	axis  geom.Axis   // from the meeting point towards the hand
	// low and high are the heights, mm along the axis, between which the
	// fastener lies; r its greatest radius.
	low, high, r float64
	// aside points from the axis to what limits the tool: with the axis it
	// spans the cut.
	aside  mgl64.Vec3
	limit  bool // something limits the tool: trial.At and its radii mean something
	roles  map[product.SolidIndex]role
	second *subject // the tool that holds from the far side, nil without
	// judged is whose tool decides the verdict: the sheet's own fastener, or
	// the other half of its joint where only that cannot be reached.
	judged *subject
	other  bool // this is the other half, shown for the sake of the first
}

// Joint draws the sheet of the fastener at index i.
func (b *Book) Joint(i int) []byte {
	s := b.subject(i)
	var g page
	g.open(s.heading(), s.description())
	g.group("frame", "")
	for _, r := range []view.Rect{headRect, mainRect, placeRect, alongRect, titleRect} {
		g.rect("rule", r)
	}
	g.rect("frame", view.Rect{X0: frameX0, Y0: frameY0, X1: frameX1, Y1: frameY1})
	g.end()
	s.head(&g)
	cam := s.across(&g)
	s.judged.along(&g, cam)
	s.overview(&g)
	s.title(&g, cam)
	return g.close()
}

func (b *Book) subject(i int) *subject {
	s := b.driven(i)
	both := s.reach.Verdict == reach.TwoSided || s.reach.Verdict == reach.Blocked && s.trial.Fits
	if m := s.hold.Mate; both && m >= 0 && m < len(b.fs) && m != i {
		s.second = b.driven(m)
	}
	s.judged = s
	if o := s.second; o != nil && o.limit && !s.limit {
		s.judged = o
	}
	s.roles = s.assign()
	s.aside = s.chooseAside()
	if j := s.judged; j != s { // it gets a picture of its own
		j.other, j.aside, j.roles = true, s.aside, maps.Clone(s.roles)
		for _, x := range s.f.Solids {
			j.roles[x] = part
		}
		for _, x := range j.f.Solids {
			j.roles[x] = driven
		}
	}
	return s
}

// driven measures a fastener and its tool along the way of the hand.
func (b *Book) driven(i int) *subject {
	s := &subject{b: b, i: i, f: &b.fs[i], hold: b.hold(i), reach: b.reach(i)}
	s.axis = s.toolAxis()
	s.trial = s.shown()
	back, front := s.axis.Height(s.f.Axis.At(s.f.Back)), s.axis.Height(s.f.Axis.At(s.f.Front))
	s.low, s.high = min(back, front), max(back, front)
	s.r = max(s.f.HeadD, s.f.Nominal) / 2
	if s.f.Kind == fastener.Nut {
		s.r = max(s.r, s.f.Nominal*0.9)
	}
	if !(s.r > 0) || math.IsInf(s.r, 0) {
		s.r = 1
	}
	if l := s.high - s.low; !(l > 0) || math.IsInf(l, 0) {
		s.low, s.high = -2*s.r, 0
	}
	t := &s.trial
	s.limit = b.valid(t.Limiter) && !t.Fits && geom.Finite(t.At)
	return s
}

// toolAxis is where the tool stands: the judgement's axis, or the fastener's
// own, turned towards the hand, where nothing has been judged.
func (s *subject) toolAxis() geom.Axis {
	a := s.reach.Axis
	if d, ok := geom.Unit(a.D); ok && geom.Finite(a.O) {
		return geom.Axis{O: a.O, D: d}
	}
	d, ok := geom.Unit(s.f.Axis.D)
	if !ok {
		d = s.b.working()
	}
	if side, ok := geom.Unit(s.reach.Side); ok && side.Dot(d) < -0.5 {
		d = d.Mul(-1)
	}
	return geom.Axis{O: s.f.Point, D: d}
}

// shown is the trial to draw: where only a less common tool gets there, the
// common one that does not.
func (s *subject) shown() reach.Trial {
	r := &s.reach
	if s.lessCommon() {
		return r.Reached[0]
	}
	if r.Verdict == reach.Clear && !r.Hidden && len(r.Tried) > 0 && !r.Tried[0].Fits {
		return r.Tried[0]
	}
	t := r.As
	if len(t.Tool.Sections) == 0 {
		t.Tool = r.Tool
	}
	return t
}

// lessCommon reports that the common tool does not fit even when all that
// comes off first is off. A pin's tools may stand at its other end, where this
// drawing does not show them: their heights do not go with the axis.
func (s *subject) lessCommon() bool {
	if len(s.reach.Reached) == 0 || s.reach.Reached[0].Fits {
		return false
	}
	t := &s.reach.Reached[0]
	return math.Abs(s.axis.Height(t.At)-t.AtHeight) < 0.5
}

func (s *subject) assign() map[product.SolidIndex]role {
	m := map[product.SolidIndex]role{}
	set := func(list []product.SolidIndex, r role) {
		for _, x := range list {
			if old, ok := m[x]; !ok || r < old {
				m[x] = r
			}
		}
	}
	set(s.hold.Passes, part)
	set(s.hold.Bites, part)
	for _, w := range append(slices.Clone(s.hold.Washers), s.hold.Mate) {
		if w >= 0 && w < len(s.b.fs) {
			set(s.b.fs[w].Solids, part)
		}
	}
	if s.reach.Hidden {
		set(s.reach.HiddenBy, also)
	}
	if !s.trial.Fits {
		set(s.trial.Blockers, also)
	}
	if s.lessCommon() && !s.reach.As.Fits {
		set(s.reach.As.Blockers, also)
	}
	j := s.judged
	if j.limit {
		set([]product.SolidIndex{j.trial.Limiter}, obstacle)
	}
	if o := s.second; o != nil && o.limit {
		set([]product.SolidIndex{o.trial.Limiter}, also)
	}
	if j != s {
		set(j.f.Solids, part)
		set(j.trial.Blockers, also)
	}
	for _, x := range s.f.Solids { // whatever else it is
		m[x] = driven
	}
	return m
}

func (s *subject) role(x product.SolidIndex) role {
	if r, ok := s.roles[x]; ok {
		return r
	}
	return light
}

// chooseAside finds the direction, perpendicular to the axis, that the cut
// shows: to the limiting point, else to what covers the head, else to the
// largest part held, else to the middle of the product.
func (s *subject) chooseAside() mgl64.Vec3 {
	j := s.judged
	if j.limit {
		if d, ok := j.perpendicular(j.trial.At, 0.02); ok {
			return d
		}
	}
	var around []product.SolidIndex
	if s.reach.Hidden {
		around = append(around, s.reach.HiddenBy...)
	}
	if j.limit {
		around = append(around, j.trial.Limiter)
	}
	around = append(around, s.bySize(s.hold.Passes, s.hold.Bites)...)
	for _, x := range around {
		if s.b.valid(x) {
			if d, ok := s.perpendicular(s.b.p.Solids[x].Box.Centre(), 0.1*s.r); ok {
				return s.squared(d)
			}
		}
	}
	if d, ok := s.perpendicular(s.b.p.Box().Centre(), 0.1*s.r); ok {
		return s.squared(d)
	}
	return geom.Perpendicular(s.axis.D)
}

func (s *subject) perpendicular(p mgl64.Vec3, least float64) (mgl64.Vec3, bool) {
	v := p.Sub(s.axis.O)
	v = v.Sub(s.axis.D.Mul(v.Dot(s.axis.D)))
	if !geom.Finite(v) || !(v.Len() > least) {
		return v, false
	}
	return geom.Unit(v)
}

// squared turns a direction to the nearest axis of the product where one is
// perpendicular to the tool's axis: a cut that follows the product's own
// directions is easier to read.
func (s *subject) squared(d mgl64.Vec3) mgl64.Vec3 {
	best, most := d, 0.0
	for k := range 3 {
		var a mgl64.Vec3
		a[k] = 1
		if math.Abs(a.Dot(s.axis.D)) > 1e-6 {
			continue
		}
		if c := a.Dot(d); math.Abs(c) > most {
			best, most = a.Mul(math.Copysign(1, c)), math.Abs(c)
		}
	}
	return best
}

// bySize lists solids, those with the larger box first.
func (s *subject) bySize(lists ...[]product.SolidIndex) []product.SolidIndex {
	var out []product.SolidIndex
	for _, x := range slices.Concat(lists...) {
		if s.b.valid(x) {
			out = append(out, x)
		}
	}
	slices.SortStableFunc(out, func(a, b product.SolidIndex) int {
		da, db := s.b.p.Solids[a].Box.Diagonal(), s.b.p.Solids[b].Box.Diagonal()
		switch {
		case da > db:
			return -1
		case da < db:
			return 1
		}
		return 0
	})
	return out
}

// toolTop is the height to which the tool is known, mm, and its greatest
// radius below a height.
func toolTop(t *tool.Tool) float64 {
	top := 0.0
	for _, c := range t.Sections {
		if to := c.To; !math.IsInf(to, 0) && !math.IsNaN(to) {
			top = max(top, to)
		} else if !math.IsNaN(c.From) && !math.IsInf(c.From, 0) {
			top = max(top, c.From+4*c.R)
		}
	}
	return top
}

func toolRadius(t *tool.Tool, below float64) float64 {
	r := 0.0
	for _, c := range t.Sections {
		if c.From < below && !math.IsInf(c.R, 0) {
			r = max(r, c.R)
		}
	}
	return r
}
