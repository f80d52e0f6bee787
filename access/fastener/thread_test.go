package fastener

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/access/product"
	"stepscan/geom"
)

// shankRings is a shank below z = 0 of a thread, drawn as said, with a chamfer
// or a gimlet point at its tip.
func shankRings(d, core, pitch, l float64, drawn string, gimlet bool) []ft.Ring {
	if drawn == "minor" {
		d = core
	}
	c := max((d-core)/2, 0.06*d)
	rings := []ft.Ring{ft.Circle(-l, 0), ft.Circle(-l, d/2-c)}
	if gimlet {
		c = 1.2 * d // 45 degrees, ISO 1478 form C
		rings = []ft.Ring{ft.Circle(-l, 0), ft.Circle(-l, 0.02*d)}
	}
	switch drawn {
	case "rings":
		rings = append(rings, ft.Turns(d, core, pitch, c-l, -0.1*pitch, 0)...)
	case "helix":
		rings = append(rings, ft.Turns(d, core, pitch, c-l, -0.1*pitch, 1)...)
	default:
		rings = append(rings, ft.Circle(c-l, d/2))
	}
	if drawn == "rings" || drawn == "helix" {
		return append(rings, ft.Circle(-0.05*pitch, d/2), ft.Circle(0, d/2))
	}
	return append(rings, ft.Circle(0, d/2))
}

const corners = 72 // of a circle: 5 degrees, as a coarse tessellator makes it

// topped closes a turned part with a recess in its top, z mm high.
func topped(rings []ft.Ring, z float64, pocket func(float64) ft.Ring, depth float64) product.Part {
	if pocket == nil {
		return ft.Facetted("", corners, append(rings, ft.Circle(z, 0))...)
	}
	return ft.Facetted("", corners, append(rings, pocket(z), pocket(z-depth), ft.Circle(z-depth-0.1*depth, 0))...)
}

// Turns are read back as drawn: pitch, crests, roots, whether rings, a right or
// a left-handed helix, on any share of the shank. The facets of a helix cut
// across its valleys.
func TestThreadIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		th := rapid.SampledFrom(table.Threads()).Draw(t, "thread")
		if th.D > 12.5 {
			t.Skip("larger than needs be")
		}
		lead := rapid.SampledFrom([]float64{0, 1, -1}).Draw(t, "lead")
		n := rapid.IntRange(4, 12).Draw(t, "turns")
		plain := rapid.Float64Range(0.1, 3).Draw(t, "plain") * th.D
		core, l := minor(th), float64(n)*th.Pitch
		rings := append([]ft.Ring{ft.Circle(-1, 0), ft.Circle(-1, core/2), ft.Circle(0, core/2)}, ft.Turns(th.D, core, th.Pitch, 0, l+1e-6, lead)...)
		rings = append(rings, ft.Circle(l+0.01, th.D/2), ft.Circle(l+plain, th.D/2), ft.Circle(l+plain, 0))
		part := ft.Facetted("", corners, rings...)
		m := flatten(part.Mesh, upright())
		got := m.readThread(m.z0, m.z1, th.D)
		if !near(got.pitch, th.Pitch, 0.03, 0) || !near(got.crest, th.D, 0.01, 0) || !near(got.root, core, 0.02+0.02*math.Abs(lead), 0) || got.gimlet {
			t.Errorf("%s, lead %g, %d turns: got %+v", th.Size, lead, n, got)
		}
		if got.turns < n-2 || got.turns > n+1 {
			t.Errorf("%s, lead %g: %d turns, drawn %d", th.Size, lead, got.turns, n)
		}
		if f := got.family(); f != familyOf(th.Size) {
			t.Errorf("%s is read as %q", th.Size, f)
		}
	})
}

// What is grooved or stepped is no thread.
func TestGroovesAreNoThread(t *testing.T) {
	ring := func(z, w float64) []ft.Ring {
		return []ft.Ring{ft.Circle(z, 5), ft.Circle(z, 4), ft.Circle(z+w, 4), ft.Circle(z+w, 5)}
	}
	rod := func(rings ...[]ft.Ring) product.Part {
		all := []ft.Ring{ft.Circle(0, 0), ft.Circle(0, 5)}
		for _, r := range rings {
			all = append(all, r...)
		}
		return ft.Turn("", append(all, ft.Circle(40, 5), ft.Circle(40, 0))...)
	}
	for name, part := range map[string]product.Part{
		"plain":               rod(),
		"two grooves":         rod(ring(5, 1), ring(8, 1)),
		"grooves unevenly":    rod(ring(5, 1), ring(8, 1), ring(14, 1), ring(16, 1), ring(30, 1)),
		"grooves far between": rod(ring(5, 1), ring(13, 1), ring(21, 1), ring(29, 1)),
		"fine grooves":        rod(ft.Turns(10, 9.7, 1.5, 5, 35, 0)),
	} {
		m := flatten(part.Mesh, upright())
		if got := m.readThread(m.z0, m.z1, 10); got.pitch != 0 {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

// minor is the core of a thread that has none in the tables but D1.
func minor(t table.Thread) float64 {
	if t.D3 > 0 {
		return t.D3
	}
	return t.D - 1.226869*t.Pitch // ISO 68-1
}

// headRings is a head of a row on a shank that is d thick at the seat, from
// there up, its height, and how much of it belongs to the shank's length.
func headRings(h *table.Head, d float64) (rings []ft.Ring, top float64) {
	switch h.Head {
	case "cylindrical", "cheese":
		return ft.Barrel(h.DkMax, h.KMax), h.KMax
	case "pan":
		return ft.Dome(h.DkMax, h.KMax), h.KMax
	case "button":
		return round(h.DkMax, h.KMax), h.KMax
	case "hexagon":
		return ft.Hexagon(h.S, h.KMax), h.KMax
	case "countersunk", "raised countersunk":
		high := (h.DkMax - d) / 2 / math.Tan(h.Cone()/2*math.Pi/180)
		rings, top = []ft.Ring{ft.Circle(high, h.DkMax/2)}, high+0.01
		if h.Head == "countersunk" {
			return append(rings, ft.Circle(top, h.DkMax/2)), top
		}
		crown := 0.12 * h.DkMax
		for _, s := range []float64{0.5, 0.8, 1} {
			rings = append(rings, ft.Circle(high+s*crown, h.DkMax/2*(1-0.5*s*s)))
		}
		return rings, high + crown
	}
	return nil, 0
}

// round is a button head: no straight piece, narrow at its top.
func round(dk, k float64) []ft.Ring {
	rings := []ft.Ring{ft.Circle(0, dk/2)}
	for _, s := range []float64{0.1, 0.2, 0.35, 0.5, 0.7, 0.85, 1} {
		rings = append(rings, ft.Circle(s*k, dk/2*(1-0.42*s*s)))
	}
	return rings
}

// tool is the recess of a row, and its depth.
func tool(h *table.Head, d float64) (func(float64) ft.Ring, float64) {
	wide := h.DkMax
	if h.Head == "none" {
		wide = d
	}
	switch h.Drive {
	case "hex socket":
		return ft.HexPocket(h.S), 0.5 * max(h.KMax, 0.9*h.S)
	case "hexalobular":
		for _, l := range table.Lobes() {
			if l.Number == h.DriveSize {
				return ft.LobePocket(l.A, max(l.B, 0.7*l.A)), 0.4 * max(h.KMax, 0.5*l.A)
			}
		}
	case "slot":
		if strings.Contains(h.Head, "countersunk") {
			wide *= 0.6 // where the slot's floor is
		}
		return ft.SlotPocket(1.05*h.SlotN, 0.8*wide), max(0.4*h.KMax, 0.26*h.D)
	case "cross":
		m := []float64{1.9, 2.9, 4.6, 6.8, 9}[h.DriveSize[2]-'0'] // middle of each number's mouths in ISO 7045
		return ft.CrossPocket(m, 0.24*m), 0.5 * h.KMax
	}
	return nil, 0
}

// made is a screw of a row with its shank drawn in one way.
func made(h *table.Head, drawn string) product.Part {
	core := h.D - 1.226869*h.Pitch
	for _, t := range table.Threads() {
		if sameThread(t.Size, h.Size) && t.Pitch == h.Pitch {
			core = minor(t)
		}
	}
	d := h.D
	if drawn == "minor" {
		d = core
	}
	l := 2*h.D + 4*h.Pitch
	rings := shankRings(h.D, core, h.Pitch, l, drawn, familyOf(h.Size) == TappingThread)
	pocket, depth := tool(h, d)
	if h.Head == "none" {
		return topped(rings, 0, pocket, depth)
	}
	head, top := headRings(h, d)
	return topped(append(rings, head...), top, pocket, depth)
}

// drawing is a row of the tables with a way to draw its thread.
type drawing struct {
	row  table.Head
	way  string
	said string // what is wrong with the answer
}

// drawings lists every row that can be drawn with every way; a helix is drawn
// for some. Set screws that differ in their points alone are drawn once.
func drawings() (out []drawing) {
	seen := map[string]bool{}
	for i, h := range table.Heads() {
		once := h.Size + h.Drive
		if h.Head == "none" && seen[once] || h.Head != "none" && h.Head != "hexagon" && h.DkMax == 0 || h.Head == "button with collar" {
			continue // our source leaves the head open; a collar is not drawn here
		}
		seen[once] = seen[once] || h.Head == "none"
		for k, way := range []string{"nominal", "minor", "rings", "helix"} {
			if way == "helix" && i%24 > 0 || testing.Short() && (i+k)%4 > 0 {
				continue
			}
			out = append(out, drawing{row: h, way: way})
		}
	}
	return out
}

// check says what is wrong with what the drawing is found as.
func (d *drawing) check() {
	fs := Find(context.Background(), ft.Alone(made(&d.row, d.way)))
	switch {
	case len(fs) != 1:
		d.said = fmt.Sprintf("%d fasteners", len(fs))
	case !sameThread(fs[0].Size, d.row.Size) || fs[0].Thread != familyOf(d.row.Size):
		d.said = fmt.Sprintf("%s %s %q %q; %q", fs[0].Kind, fs[0].Size, fs[0].Thread, fs[0].Designation, fs[0].Evidence)
	}
}

// A screw of each row of the tables is of the row's size, however its thread
// is drawn: at d, at d3, as rings or as a helix.
func TestEachRowIsOfItsSize(t *testing.T) {
	all := drawings()
	feature.Parallel(context.Background(), len(all), func(i int) { all[i].check() })
	for _, d := range all {
		if d.said != "" {
			t.Errorf("%s %s, %s: %s", d.row.Standard, d.row.Size, d.way, d.said)
		}
	}
	if !testing.Short() && len(all) < 900 {
		t.Errorf("%d screws, 900 are meant", len(all))
	}
}

// upright is the frame of the turned parts themselves.
func upright() geom.Frame {
	f, _ := geom.NewFrame(mgl64.Vec3{}, mgl64.Vec3{0, 0, 1}, mgl64.Vec3{1, 0, 0})
	return f
}

// A tapping screw shows its point or its coarse turns; the same head on a plain
// blunt shank is a machine screw's, or nobody's.
func TestTappingNeedsASign(t *testing.T) {
	for _, h := range table.Heads() {
		if familyOf(h.Size) != TappingThread {
			continue
		}
		head, top := headRings(&h, h.D)
		pocket, depth := tool(&h, h.D)
		l := 4 * h.D
		for _, c := range []struct {
			name  string
			shank []ft.Ring
			taps  bool
		}{
			{"pointed", shankRings(h.D, 0.75*h.D, h.Pitch, l, "nominal", true), true},
			{"in turns, blunt", shankRings(h.D, 0.75*h.D, h.Pitch, l, "rings", false), true},
			{"plain and blunt", shankRings(h.D, 0.75*h.D, h.Pitch, l, "nominal", false), false},
			{"turns of a machine screw", shankRings(h.D, 0.83*h.D, 0.17*h.D, l, "rings", false), false},
		} {
			fs := Find(context.Background(), ft.Alone(topped(append(c.shank, head...), top, pocket, depth)))
			if len(fs) != 1 {
				t.Errorf("%s %s, %s: %d fasteners", h.Standard, h.Size, c.name, len(fs))
			}
			for _, f := range fs {
				if taps := f.Thread == TappingThread; taps != c.taps || taps && f.Size != h.Size {
					t.Errorf("%s %s, %s: %s %q; %q", h.Standard, h.Size, c.name, f.Size, f.Thread, f.Evidence)
				}
			}
		}
	}
}

// Threads for plastics are coarser than any standard's; their size is their
// outer diameter.
func TestPlasticsByTheirPitch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := float64(rapid.IntRange(15, 80).Draw(t, "d")) / 10
		pitch := rapid.Float64Range(0.42, 0.5).Draw(t, "pitch") * d // common practice: 0.42 d to 0.47 d
		core := rapid.Float64Range(0.58, 0.7).Draw(t, "core") * d
		rings := shankRings(d, core, pitch, 4*d, rapid.SampledFrom([]string{"rings", "helix"}).Draw(t, "way"), false)
		part := topped(append(rings, ft.Dome(1.8*d, 0.75*d)...), 0.75*d, ft.LobePocket(0.95*d, 0.67*d), 0.35*d)
		fs := Find(context.Background(), ft.Alone(part))
		if want := trim(d) + " mm"; len(fs) != 1 || fs[0].Kind != Screw || fs[0].Size != want || fs[0].Thread != PlasticsThread || fs[0].Designation != "" {
			t.Errorf("%s, pitch %g, core %g: %+v", want, pitch, core, fs)
		}
	})
}
