package reach

import (
	"fmt"
	"math"
	"strings"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/product"
	"stepscan/access/tool"
)

// where says a direction in words: by axis and place where it is one of the
// root's, by its components otherwise. z is up, x to the right, y away.
func where(d mgl64.Vec3) string {
	names := [3][2]string{{"-x (left)", "+x (right)"}, {"-y (front)", "+y (back)"}, {"-z (below)", "+z (above)"}}
	for k := range 3 {
		if d[k] > 0.9999 {
			return names[k][1]
		}
		if d[k] < -0.9999 {
			return names[k][0]
		}
	}
	return fmt.Sprintf("(%.2f, %.2f, %.2f)", d[0]+0, d[1]+0, d[2]+0)
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
		out = append(out, fmt.Sprintf("%q", m.s.p.Name(k)))
	}
	if n := len(out); n > 1 {
		return strings.Join(out[:n-1], ", ") + " and " + out[n-1]
	}
	return strings.Join(out, "")
}

// toolName is a tool in a sentence.
func toolName(t *tool.Tool) string { return "the " + t.Name }

// why says the verdict in a sentence.
func (m *matter) why(f int, r *Reach, t *taking) string {
	u := &m.units[m.ofUnit[f]]
	if f != u.main && f != u.nut {
		return m.whyFollows(f, u)
	}
	switch r.Verdict {
	case Clear:
		return m.whyClear(r)
	case ClearAfter:
		return fmt.Sprintf("Reached from %s with %s once %s off%s",
			where(r.Side), toolName(&r.Tool), m.are(r.After), m.lessCommon(r))
	case Turn:
		return m.whyTurn(r)
	case TwoSided:
		return m.whyTwoSided(f, u, r)
	}
	return m.whyBlocked(f, u, r, t)
}

func (m *matter) whyClear(r *Reach) string {
	s := fmt.Sprintf("Reached from %s with %s as assembled", where(r.Side), toolName(&r.Tool))
	if less := m.lessCommon(r); less != "" {
		return s + less
	}
	if r.As.Limiter != product.NoSolid && r.As.Limit == ByTool {
		s += fmt.Sprintf(": %s to spare at %q, %s", millimetres(r.As.Free-r.As.Needed), m.s.p.Name(r.As.Limiter), height(r.As.AtHeight))
		if r.As.Tight {
			s += ", less than the meshes can tell for sure"
		}
	}
	return s
}

func (m *matter) whyTurn(r *Reach) string {
	s := fmt.Sprintf("Only reached after a turn, from %s, with %s", where(r.Side), toolName(&r.Tool))
	if len(r.After) > 0 {
		s += fmt.Sprintf(", once %s off", m.are(r.After))
	}
	return s + m.lessCommon(r)
}

// lessCommon says why the commonest tool is not the one that reaches.
func (m *matter) lessCommon(r *Reach) string {
	if len(r.Reached) == 0 || r.Reached[0].Fits || r.Reached[0].Tool.Name == r.Tool.Name {
		return ""
	}
	return "; " + lower(m.hinders(&r.Reached[0]))
}

func (m *matter) whyTwoSided(f int, u *unit, r *Reach) string {
	other := u.nut
	if f == u.nut {
		other = u.main
	}
	s := fmt.Sprintf("%s turns it from %s while a second tool holds the %s",
		upper(toolName(&r.Tool)), where(r.Side), m.fs[other].Kind)
	if len(m.fs[other].Solids) > 0 {
		s += fmt.Sprintf(" %q", m.s.p.Name(m.fs[other].Solids[0]))
	}
	if len(r.After) > 0 {
		s += fmt.Sprintf(", once %s off", m.are(r.After))
	}
	return s + m.lessCommon(r)
}

func (m *matter) whyBlocked(f int, u *unit, r *Reach, t *taking) string {
	if u.nut >= 0 {
		if m.fits(f, u, t) {
			other := fastener.Nut
			if f == u.nut {
				other = m.fs[u.main].Kind
			}
			return fmt.Sprintf("%s would fit, but no tool reaches its %s", upper(toolName(&r.Tool)), other)
		}
	}
	ways := u.ways
	if f == u.nut {
		ways = u.nutWays
	}
	way, k := m.closest(ways, t.in(m.ofUnit[f]))
	last := ways[way].trial(m.s, k, t.in(m.ofUnit[f]))
	return "No tool reaches it from any side. " + m.hinders(&last)
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

// hinders says what a trial that does not fit runs into.
func (m *matter) hinders(t *Trial) string {
	name := "its surroundings"
	if t.Limiter != product.NoSolid {
		name = fmt.Sprintf("%q", m.s.p.Name(t.Limiter))
	}
	switch t.Limit {
	case BySwing:
		return fmt.Sprintf("%s has %.0f° to swing where it needs %.0f°: %s is in its way",
			upper(toolName(&t.Tool)), mgl64.RadToDeg(t.Free), mgl64.RadToDeg(t.Needed), name)
	case ByWayOut:
		return fmt.Sprintf("The fastener's own way out needs a radius of %s and meets %s %s from the axis",
			millimetres(t.Needed), name, millimetres(t.Free))
	}
	return fmt.Sprintf("%s (%s Ø%s) meets %s %s from the axis, %s",
		upper(toolName(&t.Tool)), t.Section, millimetres(2*t.Needed), name, millimetres(t.Free), height(t.AtHeight))
}

// whyFollows is for what a screw takes along, or holds without a tool.
func (m *matter) whyFollows(f int, u *unit) string {
	name := "its screw"
	if s := m.fs[u.main].Solids; len(s) > 0 {
		name = fmt.Sprintf("%q", m.s.p.Name(s[0]))
	}
	if m.holds[f].CaptiveNut {
		return "Held by the part it is trapped in: needs no tool while " + name + " is turned"
	}
	return "Comes off with " + name
}

func (m *matter) whyPassive(f int) string {
	switch m.fs[f].Kind {
	case fastener.Insert:
		return "Stays in its part: nothing to undo"
	case fastener.Stud:
		return "Held by its nuts"
	}
	return "No fastener holds it: nothing to undo"
}

// are is "is" or "are" with names before it.
func (m *matter) are(list []product.SolidIndex) string {
	if len(list) == 1 {
		return m.names(list) + " is"
	}
	return m.names(list) + " are"
}

func millimetres(v float64) string { return fmt.Sprintf("%.1f mm", math.Abs(v)+0) }

func height(h float64) string {
	if h < 0 {
		return millimetres(h) + " below the top of the head"
	}
	return millimetres(h) + " above the head"
}

func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
func lower(s string) string { return strings.ToLower(s[:1]) + s[1:] }
