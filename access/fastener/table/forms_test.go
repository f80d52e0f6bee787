package table

import "testing"

// What is held from memory agrees with rows that have a source, where standards
// share a value: widths across flats of old DIN nuts are those of DIN 934, bores
// of toothed washers those of ISO 7089; a coupling nut is 3 d long (DIN 6334).
func TestRowsFromMemoryAgreeWithTheirKin(t *testing.T) {
	width, bore := map[string]float64{}, map[string]float64{}
	for _, n := range Nuts() {
		if n.Standard == "DIN 934" {
			width[n.Size] = n.S
		}
	}
	for _, w := range Washers() {
		if w.Standard == "ISO 7089" {
			bore[w.Size] = w.D1
		}
	}
	rows := 0
	for _, n := range Nuts() {
		th, ok := ThreadOf(n.Size)
		if n.Head == "" || !ok {
			continue
		}
		rows++
		if n.D != th.D || n.Pitch != th.Pitch {
			t.Errorf("%s %s: %g × %g, the thread is %g × %g", n.Standard, n.Size, n.D, n.Pitch, th.D, th.Pitch)
		}
		if want := width[n.Size]; want > 0 && n.S != want && (n.Head == "square" || n.Head == "cap" || n.Head == "coupling") {
			t.Errorf("%s %s is %g wide, DIN 934 %g", n.Standard, n.Size, n.S, want)
		}
		if n.Head == "coupling" && n.MMax != 3*n.D {
			t.Errorf("%s %s is %g long", n.Standard, n.Size, n.MMax)
		}
	}
	for _, w := range Washers() {
		if want := bore[w.Size]; w.Head == "toothed" && want > 0 && w.D1 != want {
			t.Errorf("%s %s has a bore of %g, ISO 7089 %g", w.Standard, w.Size, w.D1, want)
		}
	}
	if rows < 50 {
		t.Errorf("only %d rows of nuts with a form", rows)
	}
}
