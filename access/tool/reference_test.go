package tool

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// reference reads a table of the shared reference folder as rows of named
// columns.
func reference(t *testing.T, name string) []map[string]string {
	t.Helper()
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	f, err := os.Open(filepath.Join(shared, "reference", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, v := range row {
			m[rows[0][i]] = v
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// same compares numbers that both tables write with the same digits.
func same(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-9) {
		t.Errorf("%s: %g, the reference says %g", what, got, want)
	}
}

func TestHexKeysAgreeWithReference(t *testing.T) {
	rows := reference(t, "hex_keys.csv")
	if len(rows) != len(hexKeys) {
		t.Fatalf("%d keys, the reference has %d", len(hexKeys), len(rows))
	}
	for i, r := range rows {
		k := hexKeys[i]
		same(t, "s", k.s, number(t, r["s_mm"]))
		same(t, r["s_mm"]+" long", k.long, number(t, r["long_arm_standard_max_mm"]))
		same(t, r["s_mm"]+" short", k.short, number(t, r["short_arm_max_mm"]))
		same(t, r["s_mm"]+" corner", k.corner, number(t, r["corner_width_mm"]))
	}
}

func TestLobesAgreeWithReference(t *testing.T) {
	rows := reference(t, "hexalobular.csv")
	if len(rows) != len(lobes) {
		t.Fatalf("%d numbers, the reference has %d", len(lobes), len(rows))
	}
	for i, r := range rows {
		if lobes[i].number != r["number"] {
			t.Errorf("row %d is %s, the reference has %s", i, lobes[i].number, r["number"])
		}
		same(t, r["number"], lobes[i].tip, number(t, r["tool_point_to_point_mm"]))
		if a := r["socket_A_mm"]; a != "" && lobes[i].tip >= number(t, a) {
			t.Errorf("%s: a tool of %g mm does not enter a socket of %s mm", r["number"], lobes[i].tip, a)
		}
	}
}

func TestBladesAgreeWithReference(t *testing.T) {
	seen := 0
	for _, r := range reference(t, "screwdriver_blades.csv") {
		for _, b := range blades {
			if b.tool != r["tool"] || b.size != r["size"] {
				continue
			}
			seen++
			what := b.tool + " " + b.size
			same(t, what+" diameter", b.diameter, number(t, r["blade_diameter_mm"]))
			same(t, what+" length", b.length, number(t, r["blade_length_mm"]))
			same(t, what+" handle", b.handleD, number(t, r["typical_handle_diameter_mm"]))
			same(t, what+" handle length", b.handleL, number(t, r["typical_handle_length_mm"]))
		}
	}
	own := 0 // hexagon blades are ours
	for _, b := range blades {
		if b.tool == "hex socket" {
			own++
			same(t, "corners of "+b.size, b.diameter, math.Round(200*number(t, b.size)/sqrt3)/100)
		}
	}
	if seen+own != len(blades) {
		t.Errorf("%d of %d blades are in the reference", seen, len(blades)-own)
	}
}

func TestSpannersAgreeWithReference(t *testing.T) {
	rows := reference(t, "spanners.csv")
	if len(rows) != len(spanners) {
		t.Fatalf("%d spanners, the reference has %d", len(spanners), len(rows))
	}
	for i, r := range rows {
		s := spanners[i]
		same(t, "s", s.s, number(t, r["s_mm"]))
		same(t, r["s_mm"]+" open", s.openW, number(t, r["open_head_width_max_mm"]))
		same(t, r["s_mm"]+" open thickness", s.openT, number(t, r["open_head_thickness_mm"]))
		same(t, r["s_mm"]+" ring thickness", s.ringT, number(t, r["ring_thickness_mm"]))
		same(t, r["s_mm"]+" length", s.length, number(t, r["overall_length_typical_mm"]))
		same(t, r["s_mm"]+" by size", spannerFor(s.s).openW, s.openW)
	}
}

// The ring's diameter is no less than any published one and hardly more; below
// and above those it stays under what memory gives as a bound, but for the
// smallest, whose wall it leaves thicker.
func TestRingsAgreeWithReference(t *testing.T) {
	for _, r := range reference(t, "box_wrench_heads.csv") {
		got := spannerFor(number(t, r["s_mm"])).ringD
		if over := got - number(t, r["head_outside_max_mm"]); !(over >= 0 && over <= 0.4) {
			t.Errorf("ring %s in: %.2f mm, %.2f over the published one", r["opening_in"], got, over)
		}
	}
	for _, r := range reference(t, "spanners.csv") {
		s := number(t, r["s_mm"])
		if got, bound := spannerFor(s).ringD, number(t, r["ring_outside_diameter_mm"]); !(got <= bound+0.3 && got > 1.4*s) {
			t.Errorf("ring %g: %.2f mm, bound %g", s, got, bound)
		}
	}
}

// The models take about the room that GOST 13682-80 asks at least: half of A1
// about a ring, half of A2 about a socket, and E from the axis to a wall for
// the tips of an open head (what the letters stand for was told from the
// numbers). Less than E in a whole swing would be too good to be true.
func TestSpannersTakeTheStandardsRoom(t *testing.T) {
	for _, r := range reference(t, "wrench_clearances.csv") {
		if r["E_mm"] == "" || number(t, r["S_mm"]) > 30 {
			continue
		}
		s, e := number(t, r["S_mm"]), number(t, r["E_mm"])
		sp := spannerFor(s)
		if a := number(t, r["A1_mm"]); !(sp.ringD > 0.8*a && sp.ringD < 1.03*a) {
			t.Errorf("ring %g: Ø%.1f in a room of %g", s, sp.ringD, a)
		}
		d := 2 * socket("", s, 1).Sections[0].R
		if a := number(t, r["A2_mm"]); !(d > 0.7*a && d < 1.03*a) {
			t.Errorf("socket %g: Ø%.1f in a room of %g", s, d, a)
		}
		// In a swing of 30° the mouth turns 30° to either side of a wall's
		// normal.
		sin, cos := math.Sincos(math.Pi / 6)
		if swung := tipAhead*s*cos + sp.openW/2*sin; tipAhead*s > e || swung < e {
			t.Errorf("open end %g: tips %.1f mm ahead, %.1f mm in a swing, the standard %g", s, tipAhead*s, swung, e)
		}
	}
}

// The linear fit must give the reference's sockets to the rounding of their
// last digit.
func TestSocketsAgreeWithReference(t *testing.T) {
	for _, r := range reference(t, "sockets.csv") {
		for _, sd := range socketDrives {
			if sd.name != r["drive_in"]+" in" {
				continue
			}
			d := sd.slope*number(t, r["s_mm"]) + sd.base
			if want := number(t, r["outside_diameter_max_mm"]); !(math.Abs(d-want) <= 0.06) {
				t.Errorf("%s socket %s: %.2f, the reference says %.2f", sd.name, r["s_mm"], d, want)
			}
			same(t, sd.name+" length", sd.length, number(t, r["length_typical_mm"]))
		}
	}
}

func TestSwingsAgreeWithReference(t *testing.T) {
	want := map[string]float64{
		"hex key|hex socket": keySwing,
		"open-end spanner, head offset 15 deg, turned over after each swing|hexagon": openHexSwing,
		"12-point ring or socket on a bar|hexagon":                                   ringHexSwing,
	}
	for _, r := range reference(t, "swing.csv") {
		key := r["tool"] + "|" + r["condition"]
		if w, ok := want[key]; ok {
			same(t, key, w, number(t, r["minimum_swing_deg"]))
			delete(want, key)
		}
	}
	for k := range want {
		t.Errorf("%s is not in the reference", k)
	}
}

func TestBitsAndHandsAgreeWithReference(t *testing.T) {
	d := map[string]float64{}
	l := map[string]float64{}
	for _, r := range reference(t, "bits_and_drivers.csv") {
		d[r["item"]] = number(t, r["outside_diameter_mm"])
		if r["length_mm"] != "" {
			l[r["item"]] = number(t, r["length_mm"])
		}
	}
	same(t, "bit", 2*bitR, d["insert bit, form C 6.3"])
	same(t, "holder", 2*holderR, d["bit holder, 1/4 in, magnetic"])
	same(t, "holder length", holderLen, l["bit holder, 1/4 in, magnetic"])
	same(t, "body", 2*bodyR, d["pistol-grip driver, body around the axis"])
	same(t, "body length", bodyLen, l["pistol-grip driver, body around the axis"])
	same(t, "pencil", 2*pencilR, d["pencil/precision electric driver body"])
	same(t, "pencil length", pencilLen, l["pencil/precision electric driver body"])
	same(t, "micro bit", 2*microBitR, d["micro bit"])
	same(t, "micro bit length", microBitTo, l["micro bit"])
	for i, name := range []string{"ratchet head 1/4 in drive", "ratchet head 3/8 in drive", "ratchet head 1/2 in drive"} {
		same(t, name, 2*socketDrives[i].headR, d[name])
	}
	for _, r := range reference(t, "human_access.csv") {
		switch {
		case strings.HasPrefix(r["task"], "use pliers"):
			same(t, "pliers", 2*pliersHandR, number(t, r["height_mm"]))
		case strings.HasPrefix(r["task"], "turn a common screwdriver"):
			if w := number(t, r["width_mm"]); fistR > w/2 || fistR < 0.9*w/2 {
				t.Errorf("a fist of radius %g mm does not go with an opening of %g mm", fistR, w)
			}
		}
	}
}

// The usual drive sizes must be those of the standards they name.
func TestUsualSizesAgreeWithReference(t *testing.T) {
	tables := map[string][]usual{
		"ISO 4762": usualHexSocket, "ISO 4026": usualSetScrew, "ISO 14583": usualHexalobular,
		"ISO 7045": usualCross, "ISO 4014": usualOuterHex,
	}
	seen := map[string]int{}
	for _, r := range reference(t, "fasteners.csv") {
		table, ok := tables[r["standard"]]
		if !ok {
			continue
		}
		seen[r["standard"]]++
		want := r["drive_size"]
		if r["standard"] == "ISO 7045" {
			n, _, _ := strings.Cut(want, " ")
			want = "PH" + n
		}
		if got := pick(table, number(t, r["d_mm"])); got != want {
			t.Errorf("%s %s: %s, the reference says %s", r["standard"], r["size"], got, want)
		}
	}
	for name := range tables {
		if seen[name] < 9 {
			t.Errorf("%d rows of %s in the reference", seen[name], name)
		}
	}
}
