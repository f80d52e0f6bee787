package fastener

import (
	"cmp"
	"math"
	"slices"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// What is looked at as a fastener at all: larger things are structure. M20
// hexagons measure 33 mm over corners, washers for M20 60 mm.
const (
	greatestR = 35.0  // mm from the axis
	greatestL = 400.0 // mm along it
)

// proof is what a shape needs besides itself to be a fastener.
type proof uint8

const (
	none       proof = iota // nothing: the shape stands for itself
	needNut                 // a nut on its shank, or a thread that it bites
	needBoss                // a hole of its own diameter about it, and a screw that bites its bore
	needRod                 // a shank that goes through its bore
	needHead                // a fastener whose head or nut it lies under
	needHole                // holes of its own diameter about it
	needThread              // a threaded hole of its size about it
	needStack               // parts lying on each other whose holes it fills
	needGroove              // a groove about it or within it
)

// specimen is one reading of a part as a fastener, in the part's coordinates.
type specimen struct {
	Fastener
	needs proof
	shank float64 // mm: diameter of the shank as modelled
	// across is the drive's measured width, mm: across flats, or A.
	across float64
	// also are further grips beside Drive; depth is how deep the first one is, mm.
	also   []Grip
	depth  float64
	pinned bool    // a pin stands in the recess
	seat   float64 // mm: height along Axis of the plane under the head; for kinds without one, Front
	fits   bool    // a standard's table has it
	smooth bool    // the shank shows no thread
	thread thread  // what the shank shows of it
	// pointed: the tip is chamfered. foot is the height along Axis at which what
	// the shank clamps ends, mm: the tip, or the second head of a set rivet.
	pointed bool
	foot    float64
	// spindle is the height along Axis up to which a thinner piece stands out of
	// the shank, mm; Back without one.
	spindle float64
	taper   float64 // of a taper pin: its radius by height along Axis
	outer   float64 // mm: outer diameter of a washer
}

// examine reads one part. ok is false where it is no fastener.
func examine(p *product.Part, feat *feature.Part) (s specimen, ok bool) {
	if !p.HasShape() || p.Box.Diagonal() > 2*greatestR+greatestL {
		return s, false
	}
	for _, a := range axes(p, feat) {
		if s, ok := examineAbout(p, feat, a); ok {
			return s, true
		}
	}
	return examineOpen(p, feat)
}

// examineAbout reads the part about one axis.
func examineAbout(p *product.Part, feat *feature.Part, a geom.Axis) (specimen, bool) {
	f, err := geom.NewFrame(a.O, a.D, geom.Perpendicular(a.D))
	if err != nil {
		return specimen{}, false
	}
	m := flatten(p.Mesh, f)
	if m.r > greatestR || m.z1-m.z0 > greatestL || !(m.z1 > m.z0) {
		return specimen{}, false
	}
	if m.free = m.through(); m.free {
		return m.first(f, feat, hollowKinds)
	}
	t, turned := m.turned(), upsideDown(f)
	for _, k := range solidKinds {
		if s, ok := k.read(m, f, feat); ok {
			return s, true
		}
		if k.either {
			if s, ok := k.read(t, turned, feat); ok {
				return s, true
			}
		}
	}
	return specimen{}, false
}

// kindReader tries a part as one kind about one axis.
type kindReader func(*flat, geom.Frame, *feature.Part) (specimen, bool)

// hollowKinds are the kinds with a bore right through, in the order in which
// they are tried: what fewer other things look like comes first.
var hollowKinds = []kindReader{(*flat).ring, (*flat).pierced, (*flat).sleeve, (*flat).hollowRivet, (*flat).bush}

// solidKinds are the others; either: the part may stand on its head.
var solidKinds = []struct {
	read   kindReader
	either bool
}{
	{(*flat).capNut, true},
	{(*flat).pushed, true},
	{(*flat).stud, false}, // whose plain middle could be a head
	{(*flat).clevis, true},
	{(*flat).headed, true},
	{(*flat).byHand, true},
	{(*flat).studded, true},
	{(*flat).headless, true},
	{(*flat).sleeve, false},
	{(*flat).setRivet, false},
}

// first is the first of some kinds that the part can be.
func (m *flat) first(f geom.Frame, feat *feature.Part, kinds []kindReader) (specimen, bool) {
	for _, read := range kinds {
		if s, ok := read(m, f, feat); ok {
			return s, true
		}
	}
	return specimen{}, false
}

// upsideDown is the frame with its z axis the other way.
func upsideDown(f geom.Frame) geom.Frame {
	return geom.Frame{O: f.O, X: f.X, Y: f.Y.Mul(-1), Z: f.Z.Mul(-1)}
}

// turned is the part upside down, as upsideDown turns its frame.
func (m *flat) turned() *flat {
	t := &flat{x: m.x, tris: m.tris, z0: -m.z1, z1: -m.z0, r: m.r, free: m.free}
	t.y, t.z = make([]float64, len(m.y)), make([]float64, len(m.z))
	for i := range m.y {
		t.y[i], t.z[i] = -m.y[i], -m.z[i]
	}
	return t
}

// through reports a bore along the whole axis.
func (m *flat) through() bool {
	_, hit := m.floor()
	return !hit
}

// axes lists the lines about which the part may have been turned: those of its
// faces of revolution that pass its centre of volume, most area first. A
// fastener's drive has two or more sides alike, so its centre lies on its axis.
func axes(p *product.Part, feat *feature.Part) []geom.Axis {
	type line struct {
		a    geom.Axis
		area float64
	}
	near := 0.02*p.Box.Diagonal() + 0.02 // mm: run-out of threads, chord errors
	var lines []line
	for i := range feat.Faces {
		f := &feat.Faces[i]
		if f.Kind != feature.Cylinder && f.Kind != feature.Cone && f.Kind != feature.Torus || f.Axis.Distance(p.Centroid) > near {
			continue
		}
		k := slices.IndexFunc(lines, func(l line) bool { return feature.Coaxial(l.a, f.Axis, 0.02, 5e-3) })
		if k < 0 {
			lines = append(lines, line{a: f.Axis})
			k = len(lines) - 1
		}
		lines[k].area += f.Area
		if len(lines) > 64 { // a grille, a board: no turned part
			break
		}
	}
	slices.SortStableFunc(lines, func(a, b line) int { return cmp.Compare(b.area, a.area) })
	var out []geom.Axis
	for _, l := range lines[:min(3, len(lines))] {
		l.a.O = l.a.At(l.a.Height(p.Centroid))
		out = append(out, l.a)
	}
	return out
}

// axisAt is the specimen's axis in the part's coordinates with its origin at
// height z.
func axisAt(f geom.Frame, z float64) geom.Axis {
	return geom.Axis{O: f.Point([3]float64{0, 0, z}), D: f.Z}
}

// place puts the specimen's meeting point at height z of the frame and the
// extent about it.
func (s *specimen) place(f geom.Frame, m *flat, z float64) {
	s.Axis = axisAt(f, z)
	s.Point = s.Axis.O
	s.Back, s.Front = m.z0-z, m.z1-z
}

// near reports equality within rel of b or abs mm, whichever is more.
func near(a, b, rel, abs float64) bool { return math.Abs(a-b) <= max(rel*math.Abs(b), abs) }
