package step

import (
	"math"
	"strings"
	"testing"
)

// Parts of a sphere, by Archimedes: the band between two heights.
func TestSpheresWithLoops(t *testing.T) {
	const r = 10.0
	ringAt := func(m *maker, z, zero float64) string { return m.ring(math.Sqrt(r*r-z*z), z, zero) }
	segment := func(a, b float64) float64 { // volume of the ball between two heights
		f := func(z float64) float64 { return math.Pi * (r*r*z - z*z*z/3) }
		return f(b) - f(a)
	}
	lid := func(z float64) float64 { return math.Pi * (r*r - z*z) }
	band := func(a, b float64) float64 { return 2 * math.Pi * r * (b - a) }
	t.Run("cap, belt and loops across the equator", func(t *testing.T) {
		for _, z := range []float64{6, 0, -6} {
			var m maker
			e := ringAt(&m, z, 1)
			o := m.through(t, m.solid(m.face(m.plane(vec{0, 0, z}, vec{0, 0, -1}), true, m.loop("-"+e)), m.face(m.sphere(r), true, m.loop(e))))
			o.sound(t, segment(z, r), lid(z)+band(z, r))
			var k maker
			e = ringAt(&k, z, 2)
			o = k.through(t, k.solid(k.face(k.plane(vec{0, 0, z}, ez), true, k.loop(e)), k.face(k.sphere(r), true, k.loop("-"+e))))
			o.sound(t, segment(-r, z), lid(z)+band(-r, z))
		}
		for _, z := range [][2]float64{{-6, 6}, {1, 8}, {-8, 0}} {
			var m maker
			lo, hi := ringAt(&m, z[0], 0), ringAt(&m, z[1], 3)
			o := m.through(t, m.solid(
				m.face(m.plane(vec{0, 0, z[0]}, vec{0, 0, -1}), true, m.loop("-"+lo)),
				m.face(m.plane(vec{0, 0, z[1]}, ez), true, m.loop(hi)),
				m.face(m.sphere(r), true, m.loop(lo), m.loop("-"+hi))))
			o.sound(t, segment(z[0], z[1]), lid(z[0])+lid(z[1])+band(z[0], z[1]))
		}
	})
	t.Run("two domes of one sphere", func(t *testing.T) {
		var m maker
		e := ringAt(&m, 0, 1)
		o := m.through(t, m.solid(m.face(m.sphere(r), true, m.loop(e)), m.face(m.sphere(r), true, m.loop("-"+e))))
		o.sound(t, 4./3*math.Pi*r*r*r, 4*math.Pi*r*r)
	})
	t.Run("two domes through the poles", func(t *testing.T) {
		var m maker
		v := m.vertex(vec{r, 0, 0})
		e := m.edge(m.circle(vec{}, vec{0, 1, 0}, ex, r), v, v, true)
		o := m.through(t, m.solid(m.face(m.sphere(r), true, m.loop(e)), m.face(m.sphere(r), true, m.loop("-"+e))))
		o.sound(t, 4./3*math.Pi*r*r*r, 4*math.Pi*r*r)
	})
	t.Run("wedge between meridians across the seam", func(t *testing.T) {
		var m maker
		a, b := m.vertex(vec{0, 0, -r}), m.vertex(vec{0, 0, r})
		meridian := func(u float64) string {
			s, c := math.Sincos(u)
			return m.edge(m.circle(vec{}, vec{s, -c, 0}, vec{0, 0, -1}, r), a, b, true)
		}
		lo, hi := meridian(-0.5), meridian(0.7)
		chord := m.edge(m.line(vec{0, 0, -r}, vec{0, 0, r}), a, b, true)
		flat := func(u, sign float64) string {
			s, c := math.Sincos(u)
			return m.plane(vec{}, vec{s, -c, 0}.Mul(sign))
		}
		o := m.through(t, m.solid(
			m.face(m.sphere(r), true, m.loop(hi, "-"+lo)),
			m.face(flat(-0.5, 1), true, m.loop(lo, "-"+chord)),
			m.face(flat(0.7, -1), true, m.loop(chord, "-"+hi))))
		o.sound(t, 1.2/(2*math.Pi)*4./3*math.Pi*r*r*r, 1.2/(2*math.Pi)*4*math.Pi*r*r+math.Pi*r*r)
	})
}

// A torus cut in halves, both ways and into quarters: none of the pieces is
// lost, and together they have the area of the whole.
func TestTorusInPieces(t *testing.T) {
	const R, r = 20.0, 5.0
	volume, area := 2*math.Pi*math.Pi*R*r*r, 4*math.Pi*math.Pi*R*r
	torus := func(m *maker) string { return m.add("TOROIDAL_SURFACE('',%s,20.,5.)", m.at(0, 0, 0)) }
	tube := func(m *maker, u float64) string { // round the tube at u, upward outside
		s, c := math.Sincos(u)
		v := m.vertex(vec{(R + r) * c, (R + r) * s, 0})
		return m.edge(m.circle(vec{R * c, R * s, 0}, vec{s, -c, 0}, vec{c, s, 0}, r), v, v, true)
	}
	t.Run("by two circles round the tube", func(t *testing.T) {
		for _, u := range [][2]float64{{0, math.Pi}, {1, 4.5}, {-0.3, 0.4}} {
			var m maker
			a, b := tube(&m, u[0]), tube(&m, u[1])
			o := m.through(t, m.solid(
				m.face(torus(&m), true, m.loop("-"+a), m.loop(b)), m.face(torus(&m), true, m.loop(a), m.loop("-"+b))))
			o.sound(t, volume, area)
		}
	})
	t.Run("by two circles round the axis", func(t *testing.T) {
		for _, v := range [][2]float64{{0, math.Pi}, {math.Pi / 2, -math.Pi / 2}, {0.3, 1}} {
			var m maker
			ring := func(v float64) string { return m.ring(R+r*math.Cos(v), r*math.Sin(v), 1) }
			a, b := ring(v[0]), ring(v[1])
			o := m.through(t, m.solid(
				m.face(torus(&m), true, m.loop(a), m.loop("-"+b)), m.face(torus(&m), true, m.loop("-"+a), m.loop(b))))
			o.sound(t, volume, area)
		}
	})
	t.Run("halves with seams", func(t *testing.T) {
		var m maker
		a, b := tube(&m, 0), tube(&m, math.Pi)
		va, vb := "", ""
		for _, l := range strings.Split(m.b.String(), "\n") { // the vertices of both circles
			if i := strings.Index(l, "=VERTEX_POINT"); i > 0 && va == "" {
				va = l[:i]
			} else if i > 0 {
				vb = l[:i]
			}
		}
		outer := func(back bool) string { // the outer equator from one vertex to the other
			if back {
				return m.edge(m.circle(vec{}, ez, ex, R+r), vb, va, true)
			}
			return m.edge(m.circle(vec{}, ez, ex, R+r), va, vb, true)
		}
		s1, s2 := outer(false), outer(true)
		o := m.through(t, m.solid(
			m.face(torus(&m), true, m.loop(s1, b, "-"+s1, "-"+a)),
			m.face(torus(&m), true, m.loop(s2, a, "-"+s2, "-"+b))))
		o.sound(t, volume, area)
	})
}

// spindleVolumes are the sizes of the inner and the outer part of a
// torus with r > R, by rings of radius ρ.
func spindleVolumes(R, r float64) (lemon, apple, lemonArea, appleArea float64) {
	half := math.Sqrt(r*r - R*R)
	angle := math.Acos(R / r) // of the lemon's arc, half
	// lemon: 2 ∫ π (sqrt(r²-z²) - R)² dz from 0 to half
	seg := (half*R + r*r*math.Asin(half/r)) / 2 // ∫ sqrt(r²-z²) dz
	lemon = 2 * math.Pi * (r*r*half - half*half*half/3 + R*R*half - 2*R*seg)
	// apple: ∫ 2π ρ 2z dρ from 0 to R + r, z² = r² - (ρ-R)²
	a := math.Acos(-R / r)
	apple = 2 * math.Pi * (R*(r*r*a+R*half) + 2./3*half*half*half)
	lemonArea = 4 * math.Pi * r * (half - R*angle)
	appleArea = 4 * math.Pi * r * (half + R*a)
	return lemon, apple, lemonArea, appleArea
}

// A torus that meets itself: the apple, the lemon, and the lemon as a negative
// major radius. Ring tori in odd words come out as ring tori.
func TestDegenerateTori(t *testing.T) {
	const R, r = 5.0, 8.0
	lemon, apple, lemonArea, appleArea := spindleVolumes(R, r)
	ring, ringArea := 2*math.Pi*math.Pi*20*25, 4*math.Pi*math.Pi*100
	for _, c := range []struct {
		name         string
		form         string
		volume, area float64
		said         string
	}{
		{"apple", "DEGENERATE_TOROIDAL_SURFACE('',%s,5.,8.,.T.)", apple, appleArea, ""},
		{"lemon", "DEGENERATE_TOROIDAL_SURFACE('',%s,5.,8.,.F.)", lemon, lemonArea, ""},
		{"minor over major", "TOROIDAL_SURFACE('',%s,5.,8.)", apple, appleArea, ""},
		{"negative major", "TOROIDAL_SURFACE('',%s,-5.,8.)", lemon, lemonArea, "negative major"},
		{"negative major of a ring", "TOROIDAL_SURFACE('',%s,-20.,5.)", ring, ringArea, "negative major"},
		{"degenerate that is a ring", "DEGENERATE_TOROIDAL_SURFACE('',%s,20.,5.,.T.)", ring, ringArea, ""},
		{"degenerate, part unset", "DEGENERATE_TOROIDAL_SURFACE('',%s,5.,8.,$)", apple, appleArea, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			o := m.through(t, m.solid(m.face(m.add(c.form, m.at(0, 0, 0)), true)))
			if c.said == "" {
				o.sound(t, c.volume, c.area)
			} else {
				o.mended(t, c.volume, c.area, c.said)
			}
		})
	}
	t.Run("lemon with a seam", func(t *testing.T) {
		var m maker
		h := math.Sqrt(r*r - R*R)
		a, b := m.vertex(vec{0, 0, -h}), m.vertex(vec{0, 0, h})
		e := m.edge(m.circle(vec{-R, 0, 0}, vec{0, -1, 0}, ex, r), a, b, true)
		o := m.through(t, m.solid(m.face(m.add("DEGENERATE_TOROIDAL_SURFACE('',%s,5.,8.,.F.)", m.at(0, 0, 0)), true, m.loop(e, "-"+e))))
		o.sound(t, lemon, lemonArea)
	})
	t.Run("lemon cut in half", func(t *testing.T) {
		var m maker
		e := m.ring(r-R, 0, 1)
		s := m.add("DEGENERATE_TOROIDAL_SURFACE('',%s,5.,8.,.F.)", m.at(0, 0, 0))
		o := m.through(t, m.solid(m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop("-"+e)), m.face(s, true, m.loop(e))))
		o.sound(t, lemon/2, lemonArea/2+math.Pi*(r-R)*(r-R))
	})
}

// A cone to its apex, with and without an edge of no length there.
func TestConeApex(t *testing.T) {
	side := func(m *maker) string {
		return m.add("CONICAL_SURFACE('',%s,5.,%s)", m.place(vec{}, vec{0, 0, -1}, ex), num(math.Atan2(5, 12)))
	}
	for _, way := range []string{"bare", "vertex loop", "seam", "seam and an edge of no length"} {
		t.Run(way, func(t *testing.T) {
			var m maker
			v := m.vertex(vec{5, 0, 0})
			lo := m.edge(m.circle(vec{}, ez, ex, 5), v, v, true)
			bottom := m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop("-"+lo))
			var loops []string
			switch way {
			case "bare":
				loops = []string{m.loop(lo)}
			case "vertex loop":
				loops = []string{m.loop(lo), m.add("VERTEX_LOOP('',%s)", m.vertex(vec{0, 0, 12}))}
			case "seam":
				e := m.edge(m.line(vec{5, 0, 0}, vec{0, 0, 12}), v, m.vertex(vec{0, 0, 12}), true)
				loops = []string{m.loop(lo, e, "-"+e)}
			default:
				tip := m.vertex(vec{0, 0, 12})
				e := m.edge(m.line(vec{5, 0, 0}, vec{0, 0, 12}), v, tip, true)
				dot := m.edge(m.line(vec{0, 0, 12}, vec{1, 0, 12}), tip, tip, true)
				loops = []string{m.loop(lo, e, dot, "-"+e)}
			}
			o := m.through(t, m.solid(bottom, m.face(side(&m), true, loops...)))
			o.sound(t, 100*math.Pi, 90*math.Pi)
		})
	}
}

// A face over the seam: the segment of a rod between a chord and arcs that begin
// before u = 0 and end after it.
func TestFacesAcrossTheSeam(t *testing.T) {
	for _, zero := range []float64{0, 0.3, math.Pi} { // where the cylinder's own zero lies
		var m maker
		s, c := math.Sincos(zero)
		cyl := m.add("CYLINDRICAL_SURFACE('',%s,5.)", m.place(vec{}, ez, vec{c, s, 0}))
		const a = 0.6
		at := func(u, z float64) vec { return vec{5 * math.Cos(u), 5 * math.Sin(u), z} }
		var from, to, arc, chord [2]string
		for i, z := range []float64{0, 8} {
			from[i], to[i] = m.vertex(at(-a, z)), m.vertex(at(a, z))
			arc[i] = m.edge(m.circle(vec{0, 0, z}, ez, ey, 5), from[i], to[i], true)
			chord[i] = m.edge(m.line(at(-a, z), at(a, z)), from[i], to[i], true)
		}
		left := m.edge(m.line(at(-a, 0), at(-a, 8)), from[0], from[1], true)
		right := m.edge(m.line(at(a, 0), at(a, 8)), to[0], to[1], true)
		o := m.through(t, m.solid(
			m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop(chord[0], "-"+arc[0])),
			m.face(m.plane(vec{0, 0, 8}, ez), true, m.loop(arc[1], "-"+chord[1])),
			m.face(m.plane(vec{5 * math.Cos(a), 0, 0}, vec{-1, 0, 0}), true, m.loop(left, chord[1], "-"+right, "-"+chord[0])),
			m.face(cyl, true, m.loop(arc[0], right, "-"+arc[1], "-"+left))))
		o.sound(t, 8*25*(a-math.Sin(2*a)/2), 0)
	}
}
