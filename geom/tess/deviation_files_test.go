package tess_test

import (
	"path/filepath"
	"testing"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/tess"
)

// What the chord error is held to, as measured: all faces and edges of all real
// files keep within it at either tolerance, repaired ones too.
const (
	chordRoom = 1.001 // rounding
	turnRoom  = 1.15  // an edge's pieces may turn by a tenth more than the angle
	// Shares of the curved area that may stand by more than the angle off the
	// surface, within the chord like all else. Mostly these are slivers along
	// borders; in the worst file, a spring of wire with a face that is repaired, they
	// lie within that face.
	turnedShare, turnedOfAll = 0.02, 1e-4
	// borderTold is from where on a face's own edges are said to lie beside its
	// surface, mm, and mostBorder the worst such of the files.
	borderTold, mostBorder = 1e-3, 0.08
)

// Facets and cut edges keep to the exact surfaces and curves in all real files,
// measured at places between those that the tessellator looks at: as coarsely as
// the program meshes, and as finely as the reference does. Where a file's own
// edges lie beside its surfaces, by 0.08 mm at most, the facets between must lie
// beside them too.
func TestChordHoldsInRealFiles(t *testing.T) {
	dir := shared(t)
	files := stepFiles(t, filepath.Join(dir, "data"))
	if testing.Short() {
		files = []string{"as1-oc-214.stp", "products/recycler/02_01_01-screw.step"}
	}
	for _, tol := range []geom.Tolerance{{Chord: 0.02, Angle: 0.2}, tess.Default} {
		var all tallied
		for _, file := range files {
			one := tallyChord(t, dir, file, tol)
			if !(one.turned <= turnedShare*one.curved) {
				t.Errorf("%s: %.3g of %.3g mm² stand by more than %.2g rad off their surface", file, one.turned, one.curved, tol.Angle)
			}
			all.add(one)
		}
		t.Logf("chord %g mm, angle %.3g rad: %d faces, %d edges, %d places looked at; worst face %.4f and edge %.4f chords, worst turn of an edge %.3f angles; %.3g of %.3g mm² turned; %d faces with edges beside them",
			tol.Chord, tol.Angle, all.faces, all.edges, all.samples, all.face, all.edge, all.turn, all.turned, all.curved, all.beside)
		if !(all.turned <= turnedOfAll*all.curved) && !testing.Short() {
			t.Errorf("%.3g of %.3g mm² stand by more than %.2g rad off their surface", all.turned, all.curved, tol.Angle)
		}
		if !testing.Short() && (all.faces < 11000 || all.samples < 1_000_000) {
			t.Errorf("only %d faces and %d places: is the folder whole?", all.faces, all.samples)
		}
	}
}

// tallied is what was measured.
type tallied struct {
	faces, edges, samples, beside int
	face, edge, turn              float64 // worst, in chords and angles
	turned, curved                float64 // mm²
}

func (a *tallied) add(b tallied) {
	a.faces, a.edges, a.samples, a.beside = a.faces+b.faces, a.edges+b.edges, a.samples+b.samples, a.beside+b.beside
	a.face, a.edge, a.turn = max(a.face, b.face), max(a.edge, b.edge), max(a.turn, b.turn)
	a.turned, a.curved = a.turned+b.turned, a.curved+b.curved
}

func tallyChord(t *testing.T, dir, file string, tol geom.Tolerance) (sum tallied) {
	t.Helper()
	a := readShared(t, dir, file)
	if a == nil {
		return sum
	}
	var bodies []*brep.Body
	for _, p := range a.Parts {
		bodies = append(bodies, p.Bodies...)
	}
	meshes, _ := tess.Bodies(t.Context(), bodies, tol, 2)
	for i, b := range bodies {
		if b.Facets != nil {
			continue
		}
		d := measure(b, meshes[i], tol)
		sum.faces, sum.samples, sum.turned, sum.curved = sum.faces+len(b.Faces), sum.samples+d.samples, sum.turned+d.turned, sum.curved+d.curved
		for f := range b.Faces {
			over := (d.off[f] - d.border[f]) / tol.Chord
			if sum.face = max(sum.face, over); !(over <= chordRoom) || !(d.border[f] <= mostBorder) {
				t.Errorf("%s: face #%d (%T) is left by %.4g mm, its edges lie %.4g mm beside it", file, b.Faces[f].Tag, b.Faces[f].Surface, d.off[f], d.border[f])
			}
			if d.border[f] > borderTold {
				sum.beside++
			}
		}
		for e := range b.Edges {
			off, ends, turn := chainOff(b, meshes[i], e)
			sum.edges++
			sum.edge, sum.turn = max(sum.edge, (off-ends)/tol.Chord), max(sum.turn, turn/tol.Angle)
			if !(off-ends <= chordRoom*tol.Chord) || !(turn <= turnRoom*tol.Angle) {
				t.Errorf("%s: edge #%d (%T) is left by %.4g mm, ends %.4g mm beside, turns by %.3g rad", file, b.Edges[e].Tag, b.Edges[e].Curve, off, ends, turn)
			}
		}
	}
	return sum
}
