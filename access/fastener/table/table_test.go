package table

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// reference reads a table of the shared folder as maps by column.
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
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, l := range lines[1:] {
		row := map[string]string{}
		for i, c := range l {
			row[lines[0][i]] = c
		}
		out = append(out, row)
	}
	return out
}

// same compares a number of ours with a cell; an empty cell is 0.
func same(t *testing.T, what string, got float64, cell string) {
	t.Helper()
	want, _ := strconv.ParseFloat(cell, 64)
	if math.Abs(got-want) > 1e-4*max(1, want) {
		t.Errorf("%s: %g, reference has %q", what, got, cell)
	}
}

func TestHeadsMatchReference(t *testing.T) {
	ours := map[[2]string]Head{}
	for _, h := range Heads() {
		ours[[2]string{h.Standard, h.Size}] = h
	}
	n, compared := 0, map[[2]string]bool{}
	for _, r := range reference(t, "fasteners.csv") {
		if strings.HasPrefix(r["kind"], "thread-forming") {
			continue // typical values only: no standard to name
		}
		what := r["standard"] + " " + r["size"]
		h, ok := ours[[2]string{r["standard"], r["size"]}]
		if !ok {
			t.Errorf("%s is missing", what)
			continue
		}
		n++
		compared[[2]string{r["standard"], r["size"]}] = true
		if cone, ok := strings.CutPrefix(r["head"], "countersunk "); ok {
			same(t, what+" cone", h.Cone(), strings.TrimSuffix(cone, " deg"))
		}
		dk := r["dk_max_mm"]
		if dk == "" {
			dk = r["dk_theoretical_mm"]
		}
		same(t, what+" d", h.D, r["d_mm"])
		same(t, what+" dk", h.DkMax, dk)
		same(t, what+" dk min", h.DkMin, r["dk_min_mm"])
		if strings.Contains(h.Head, "countersunk") {
			same(t, what+" dk to the sharp rim", h.DkSharp, r["dk_theoretical_mm"])
		}
		same(t, what+" k", h.KMax, r["k_max_mm"])
		same(t, what+" s", h.S, r["s_nom_mm"])
		if !strings.HasPrefix(r["drive"], h.Drive) {
			t.Errorf("%s: drive %q, reference has %q", what, h.Drive, r["drive"])
		}
	}
	for _, h := range Heads() {
		if strings.HasPrefix(h.Source, "from memory") && !compared[[2]string{h.Standard, h.Size}] {
			n++ // the reference has no such standard, and the row says so
		}
	}
	if n != len(Heads()) {
		t.Errorf("%d rows are compared or from memory, we hold %d", n, len(Heads()))
	}
}

func TestNutsAndWashersMatchReference(t *testing.T) {
	for i, r := range reference(t, "nuts.csv") {
		n := Nuts()[i]
		same(t, n.Standard+" "+n.Size+" s", n.S, r["s_mm"])
		same(t, n.Standard+" "+n.Size+" m", n.MMax, r["height_max_mm"])
		same(t, n.Standard+" "+n.Size+" d", n.D, r["d_mm"])
	}
	for i, r := range reference(t, "washers.csv") {
		w := Washers()[i]
		same(t, w.Standard+" "+w.Size+" d1", w.D1, r["d1_min_mm"])
		same(t, w.Standard+" "+w.Size+" d2", w.D2, r["d2_max_mm"])
		same(t, w.Standard+" "+w.Size+" h", w.H, r["h_nom_mm"])
	}
	for i, r := range reference(t, "hexalobular.csv") {
		if r["socket_A_mm"] != "" {
			same(t, r["number"]+" A", Lobes()[i].A, r["socket_A_mm"])
			same(t, r["number"]+" B", Lobes()[i].B, r["socket_B_mm"])
		}
	}
}

func TestThreadsMatchReference(t *testing.T) {
	n := 0
	for _, r := range reference(t, "threads.csv") {
		th, ok := ThreadOf(r["size"])
		if !ok {
			t.Errorf("%s is missing", r["size"])
			continue
		}
		n++
		for _, c := range []struct {
			column string
			got    float64
		}{
			{"major_d_mm", th.D}, {"pitch_mm", th.Pitch}, {"pitch_d2_mm", th.D2}, {"minor_external_d3_mm", th.D3}, {"minor_internal_D1_mm", th.D1},
			{"tap_drill_mm", th.Tap}, {"clearance_fine_mm", th.Fine}, {"clearance_medium_mm", th.Medium}, {"clearance_coarse_mm", th.Coarse},
		} {
			same(t, r["size"]+" "+c.column, c.got, r[c.column])
		}
	}
	for _, th := range Threads() {
		if strings.Contains(th.Source, "from memory") {
			n++ // and the reference may have it, from memory as well
		}
	}
	if n < len(Threads()) {
		t.Errorf("%d threads are compared or from memory, we hold %d", n, len(Threads()))
	}
}

func TestThreadOf(t *testing.T) {
	for size, want := range map[string]string{"M8": "M8", "M8×1": "M8×1", "#8": "#8-32", "#10": "#10-24", "#10-32": "#10-32", "1/4": "1/4-20", "3/8-24": "3/8-24", "ST4.2": "ST4.2", "M": "", "": "", "#1": "#1-64", "3 mm": ""} {
		if got, ok := ThreadOf(size); got.Size != want || ok != (want != "") {
			t.Errorf("%q is %q, want %q", size, got.Size, want)
		}
	}
}

// Turns tell threads of like diameter by their pitch, and only what agrees in
// both is named.
func TestTurned(t *testing.T) {
	for _, tt := range []struct {
		d, pitch float64
		want     string // "" for none
	}{
		{8, 1.25, "M8"}, {8, 1, "M8×1"}, {7.92, 1.411, "5/16-18"}, {7.93, 1.06, "5/16-24"}, {4.83, 0.794, "#10-32"}, {4.83, 1.058, "#10-24"}, {4.98, 0.8, "M5"}, {2.51, 0.453, "#3-56"}, {2.49, 0.45, "M2.5"},
		{2.9, 1.1, "ST2.9"}, {4.8, 1.6, "ST4.8"}, {3, 1.34, ""}, {10, 2, ""}, {6, 0.5, ""},
	} {
		got := Turned(tt.d, tt.pitch)
		if size := append(got, Thread{})[0].Size; size != tt.want {
			t.Errorf("%g × %g is %q, want %q", tt.d, tt.pitch, size, tt.want)
		}
	}
}

// The metric rows follow from diameter and pitch: ISO 68-1 profile.
func TestThreadsFollowTheProfile(t *testing.T) {
	for _, th := range Threads() {
		if !th.Metric() && !th.FinePitch() {
			continue
		}
		for _, c := range []struct {
			what        string
			got, factor float64
		}{{"d2", th.D2, 0.649519}, {"d3", th.D3, 1.226869}, {"D1", th.D1, 1.082532}} {
			if want := th.D - c.factor*th.Pitch; math.Abs(c.got-want) > 0.0015 {
				t.Errorf("%s %s: %g, profile gives %.4f", th.Size, c.what, c.got, want)
			}
		}
	}
}

// No hole is tapped and clearance for one thread at once, and the values that
// standards print are judged right.
func TestHolesOfOneSizeAreToldApart(t *testing.T) {
	for _, th := range Threads() {
		if !th.Metric() {
			continue
		}
		for d := 0.5 * th.D; d < 1.4*th.D; d += 0.001 {
			if th.IsTapped(d) && th.IsClearance(d) {
				t.Fatalf("%s: a hole of %.3f mm is both", th.Size, d)
			}
		}
		if !th.IsTapped(th.D1) || !th.IsTapped(th.Tap) || !th.IsClearance(th.Fine) || !th.IsClearance(th.Coarse) {
			t.Errorf("%s: its own holes are misjudged", th.Size)
		}
	}
}

func TestShankAndBore(t *testing.T) {
	for _, tt := range []struct {
		name string
		got  []Thread
		want string
	}{
		{"4.0 is M4", Shank(4), "M4"},
		{"3.141 is M4 drawn at d3", Shank(3.141), "M4"},
		{"10 is M10", Shank(10), "M10"},
		{"5.97 is M6 in its tolerance", Shank(5.97), "M6"},
		{"bore 4.134 is M5", Bore(4.134), "M5"},
		{"bore 10 is M10", Bore(10), "M10"},
		{"6.35 is 1/4 inch", Shank(6.35), "1/4-20"},
	} {
		if len(tt.got) == 0 || tt.got[0].Size != tt.want {
			t.Errorf("%s: got %+v", tt.name, tt.got)
		}
	}
	if got := Shank(7.6); len(got) > 0 && got[0].Metric() {
		t.Errorf("7.6 mm is no metric shank: %+v", got)
	}
}

// A ring on a shaft is narrower than its groove when free, that narrower than
// the shaft; in a bore all is the other way round; an E ring's mouth is narrower
// than its groove. Sizes and what grows with them come in order.
func TestRingsAreInOrder(t *testing.T) {
	var last Ring
	for _, r := range Rings() {
		ok := r.Source != "" && r.S > 0 && r.S <= 0.27*r.D1 // 1.5 mm of DIN 6799: 0.4
		switch r.Standard {
		case "DIN 471":
			ok = ok && r.Free < r.Groove && r.Groove < r.D1
		case "DIN 472":
			ok = ok && r.Free > r.Groove && r.Groove > r.D1
		case "DIN 6799":
			ok = ok && r.Opening < r.D1 && r.D1 == r.Groove && r.Opening > 0.7*r.D1 && r.Free > 1.7*r.D1
		default:
			ok = false
		}
		if last.Standard == r.Standard {
			ok = ok && r.D1 > last.D1 && r.S >= last.S && r.Free > last.Free && r.Groove > last.Groove
		}
		if !ok {
			t.Errorf("%+v after %+v", r, last)
		}
		last = r
	}
}

// Rows as DIN 471 and DIN 472 print them (from memory of the most used sizes).
func TestRingsOfKnownSizes(t *testing.T) {
	for _, want := range []Ring{
		{Standard: "DIN 471", D1: 10, S: 1, Free: 9.3, Groove: 9.6}, {Standard: "DIN 471", D1: 25, S: 1.2, Free: 23.2, Groove: 23.9},
		{Standard: "DIN 472", D1: 22, S: 1, Free: 23.5, Groove: 23}, {Standard: "DIN 472", D1: 28, S: 1.2, Free: 30.1, Groove: 29.4},
		{Standard: "DIN 6799", D1: 4, S: 0.7, Free: 9, Groove: 4, Opening: 3.34},
	} {
		found := false
		for _, r := range Rings() {
			r.Source = ""
			found = found || r == want
		}
		if !found {
			t.Errorf("%+v is missing", want)
		}
	}
}
