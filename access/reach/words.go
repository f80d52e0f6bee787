package reach

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/product"
	"stepscan/access/tool"
)

// where says a direction in words, to follow "from": by place and axis where it
// is one of the root's, by its components otherwise. z is up, x to the right,
// y away.
func where(d mgl64.Vec3) string {
	names := [3][2]string{
		{"the left (-x)", "the right (+x)"}, {"the front (-y)", "the back (+y)"}, {"below (-z)", "above (+z)"},
	}
	for k := range 3 {
		if d[k] > 0.9999 {
			return names[k][1]
		}
		if d[k] < -0.9999 {
			return names[k][0]
		}
	}
	short := func(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64) }
	return fmt.Sprintf("(%s, %s, %s)", short(d[0]), short(d[1]), short(d[2]))
}

// names lists solids for people; a long list is cut.
func (m *matter) names(list []product.SolidIndex) string {
	const most = 4
	var out []string
	for i, k := range list {
		if i == most && len(list) > most+1 {
			out = append(out, fmt.Sprintf("%d more", len(list)-most))
			break
		}
		out = append(out, fmt.Sprintf(`"%s"`, m.s.p.Name(k)))
	}
	if n := len(out); n > 1 {
		return strings.Join(out[:n-1], ", ") + " and " + out[n-1]
	}
	return strings.Join(out, "")
}

// toolName is a tool in a sentence. What was assumed about it is the matter of
// a finding of its own.
func toolName(t *tool.Tool) string {
	name, _, assumed := strings.Cut(t.Name, " (assumed")
	if assumed {
		return "an assumed " + name
	}
	return "the " + name
}

// why says the verdict in a sentence.
func (m *matter) why(f int, r *Reach, t *taking) string {
	u := &m.units[m.ofUnit[f]]
	if f != u.main && f != u.nut {
		return m.whyFollows(f, u)
	}
	switch r.Verdict {
	case Clear:
		return m.whyClear(f, r)
	case ClearAfter:
		return fmt.Sprintf("Reached from %s with %s%s%s",
			where(r.Side), toolName(&r.Tool), m.once(r.After), m.lessCommon(f, r))
	case Turn:
		return m.whyTurn(f, r)
	case TwoSided:
		return m.whyTwoSided(f, r)
	}
	return m.whyBlocked(f, u, r, t)
}

func (m *matter) whyClear(f int, r *Reach) string {
	s := fmt.Sprintf("Reached as assembled from %s with %s", where(r.Side), toolName(&r.Tool))
	if less := m.lessCommon(f, r); less != "" {
		return s + less
	}
	if r.As.Limiter != product.NoSolid && r.As.Limit == ByTool {
		s += fmt.Sprintf(": %s to spare at \"%s\", %s", millimetres(r.As.Free-r.As.Needed), m.s.p.Name(r.As.Limiter), m.height(f, r.As.AtHeight))
		if r.As.Tight {
			s += ", less than the meshes can tell for sure"
		}
	}
	return s
}

func (m *matter) whyTurn(f int, r *Reach) string {
	return fmt.Sprintf("Reached only from %s, so after a turn, with %s%s%s",
		where(r.Side), toolName(&r.Tool), m.once(r.After), m.lessCommon(f, r))
}

// once says what has to come off before.
func (m *matter) once(after []product.SolidIndex) string {
	switch len(after) {
	case 0:
		return ""
	case 1:
		return " once " + m.names(after) + " is off"
	}
	return " once " + m.names(after) + " are off"
}

// lessCommon says why the commonest tool is not the one that reaches.
func (m *matter) lessCommon(f int, r *Reach) string {
	if len(r.Reached) == 0 || r.Reached[0].Fits || r.Reached[0].Tool.Name == r.Tool.Name {
		return ""
	}
	return ". " + m.hinders(f, &r.Reached[0])
}

func (m *matter) whyTwoSided(f int, r *Reach) string {
	if r.Held {
		return fmt.Sprintf("Held from %s with %s, which has no room to turn it, while its %s is turned%s%s",
			where(r.Side), toolName(&r.Tool), m.fs[m.partner(f)].Kind, m.once(r.After), m.lessCommon(f, r))
	}
	return fmt.Sprintf("Turned from %s with %s while a second tool holds its %s%s%s",
		where(r.Side), toolName(&r.Tool), m.fs[m.partner(f)].Kind, m.once(r.After), m.lessCommon(f, r))
}

// partner is the other half of a two-sided joint: the nut of a bolt, the bolt
// of a nut.
func (m *matter) partner(f int) int {
	u := &m.units[m.ofUnit[f]]
	if f == u.nut {
		return u.main
	}
	return u.nut
}

func (m *matter) whyBlocked(f int, u *unit, r *Reach, t *taking) string {
	if u.nut >= 0 && m.fits(f, u, t) {
		other := m.partner(f)
		if m.fits(other, u, t) {
			return fmt.Sprintf("It can be held, and so can its %s, but there is no room to turn either", m.fs[other].Kind)
		}
		return fmt.Sprintf("%s reaches it, but no tool reaches its %s. %s",
			upper(toolName(&r.Tool)), m.fs[other].Kind, m.nearest(other, u, t))
	}
	return "No tool reaches it from any side. " + m.nearest(f, u, t)
}

// nearest says what keeps away the tool that comes nearest to fitting.
func (m *matter) nearest(f int, u *unit, t *taking) string {
	ways := u.ways
	if f == u.nut {
		ways = u.nutWays
	}
	way, k := m.closest(ways, t.in(m.ofUnit[f]))
	last := ways[way].trial(m.s, k, t.in(m.ofUnit[f]))
	return m.hinders(f, &last)
}

// fits reports whether one half of a two-sided joint is not the trouble.
func (m *matter) fits(f int, u *unit, t *taking) bool {
	ways := u.ways
	if f == u.nut {
		ways = u.nutWays
	}
	for i := range ways {
		if ways[i].fitting(m.s.skin(), t.in(m.ofUnit[f])) >= 0 {
			return true
		}
	}
	return false
}

// covered is the free radius, mm, below which something lies on the axis.
const covered = 0.05

// hinders says what a trial at fastener f that does not fit runs into. Lengths
// are radii about the axis.
func (m *matter) hinders(f int, t *Trial) string {
	name := "something"
	if t.Limiter != product.NoSolid {
		name = fmt.Sprintf(`"%s"`, m.s.p.Name(t.Limiter))
	}
	switch {
	case t.Limit == BySwing:
		return fmt.Sprintf("%s has %.0f° to swing and needs %.0f°: %s is in its way",
			upper(toolName(&t.Tool)), mgl64.RadToDeg(t.Free), mgl64.RadToDeg(t.Needed), name)
	case t.Limit == ByWayOut && t.Free < covered:
		return fmt.Sprintf("It cannot come out: %s lies across its way", name)
	case t.Limit == ByWayOut:
		return fmt.Sprintf("It cannot come out: it needs %s about its axis and %s leaves %s",
			millimetres(t.Needed), name, millimetres(t.Free))
	case t.Free < covered:
		return fmt.Sprintf("%s lies across the way of %s, %s", name, toolName(&t.Tool), m.height(f, t.AtHeight))
	}
	return fmt.Sprintf("%s (%s) needs %s about the axis and %s leaves %s, %s",
		upper(toolName(&t.Tool)), t.Section, millimetres(t.Needed), name, millimetres(t.Free), m.height(f, t.AtHeight))
}

// whyFollows is for what a screw takes along, or holds without a tool.
func (m *matter) whyFollows(f int, u *unit) string {
	name := "its screw"
	if s := m.fs[u.main].Solids; len(s) > 0 {
		name = fmt.Sprintf(`"%s"`, m.s.p.Name(s[0]))
	}
	switch h := &m.holds[f]; {
	case h.Falls:
		return "Kept from turning by the wall along its flat: no tool is needed while " + name + " is turned, and it comes off with it"
	case h.CaptiveNut:
		return "Held by the part it is trapped in: no tool is needed while " + name + " is turned"
	}
	return "Comes off with " + name
}

func (m *matter) whyPassive(f int) string {
	if m.holds[f].CaptiveHead {
		return "Its head cannot turn: only its nut is undone"
	}
	switch m.fs[f].Kind {
	case fastener.Insert, fastener.StandOff:
		return "Stays in its part: nothing to undo"
	case fastener.Stud:
		return "Held by its nuts"
	}
	return "No fastener holds it: nothing to undo"
}

func millimetres(v float64) string { return fmt.Sprintf("%.1f mm", math.Abs(v)+0) }

// height says how far above fastener f something is.
func (m *matter) height(f int, h float64) string {
	of := "the head"
	switch k := m.fs[f].Kind; k {
	case fastener.Screw, fastener.Bolt:
	default:
		of = "the " + string(k)
	}
	switch {
	case h < -0.05:
		return millimetres(h) + " below the top of " + of
	case h < 0.05:
		return "level with the top of " + of
	}
	return millimetres(h) + " above " + of
}

func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
