package sheet

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stepscan/render/view"
)

// ISO 5455:1979, the recommended scales, between and at its steps.
func TestStandardScale(t *testing.T) {
	for _, c := range []struct{ fits, want float64 }{
		{1, 1}, {1.99, 1}, {2, 2}, {4.9, 2}, {5, 5}, {9.99, 5}, {10, 10}, {23, 20}, {70, 50},
		{0.99, 0.5}, {0.5, 0.5}, {0.49, 0.2}, {0.2, 0.2}, {0.19, 0.1}, {0.1, 0.1}, {0.07, 0.05}, {0.011, 0.01},
		{0, 1}, {math.NaN(), 1}, {math.Inf(1), 1},
	} {
		if got := standardScale(c.fits); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("standardScale(%g) = %g, want %g", c.fits, got, c.want)
		}
	}
	for s, want := range map[float64]string{2: "2:1", 1: "1:1", 0.2: "1:5", 0.5: "1:2", 50: "50:1", math.NaN(): ""} {
		if got := scaleText(s); got != want {
			t.Errorf("scaleText(%g) = %q, want %q", s, got, want)
		}
	}
}

func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"plain":                   "plain",
		"  two \t\n words ":       "two words",
		"bell\x07 and esc\x1b[0m": "bell and esc[0m",
		"\u202egnp.exe\u202c":     "gnp.exe",
		"zero\u200bwidth\u200f":   "zero\u200bwidth\u200f", // nothing is seen of it, and it turns nothing round
		"nul\x00":                 "nul",
		"broken\xff":              "broken\ufffd",
		"非 Ελληνικά עברית é e\u0301": "非 Ελληνικά עברית é e\u0301",
		"\ufffe\uffff": "",
	} {
		if got := clean(in); got != want {
			t.Errorf("clean(%q) = %q, want %q", in, got, want)
		}
	}
}

// Whatever is wrapped or shortened fits, and what already fits is not touched.
func TestTextFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := clean(rapid.String().Draw(t, "text"))
		w := rapid.Float64Range(12, 120).Draw(t, "width")
		if got := shorten(s, normal, w); textWidth(got, normal) > w+1e-9 && got != "…" {
			t.Fatalf("%q is %g mm wide, want at most %g", got, textWidth(got, normal), w)
		} else if textWidth(s, normal) <= w && got != s {
			t.Fatalf("%q was cut to %q though it fits", s, got)
		}
		n := rapid.IntRange(1, 3).Draw(t, "lines")
		lines := wrap(s, normal, w, n)
		if len(lines) > n {
			t.Fatalf("%d lines, want at most %d", len(lines), n)
		}
		for _, l := range lines {
			if textWidth(l, normal) > w+1e-9 && l != "…" {
				t.Fatalf("line %q is %g mm wide, want at most %g", l, textWidth(l, normal), w)
			}
		}
	})
}

// Labels of one margin keep their distance and stay inside.
func TestLabelsKeepApart(t *testing.T) {
	margin := view.Rect{X0: 0, Y0: 20, X1: 30, Y1: 120}
	rapid.Check(t, func(t *rapid.T) {
		var list []label
		for range rapid.IntRange(0, 9).Draw(t, "labels") {
			list = append(list, label{
				at:    view.Point{X: rapid.Float64Range(40, 90).Draw(t, "x"), Y: rapid.Float64Range(0, 140).Draw(t, "y")},
				lines: make([]string, rapid.IntRange(1, 2).Draw(t, "lines")),
			})
		}
		tops := uncross(list, margin, 32)
		y := margin.Y0
		for i, top := range tops {
			if top < y-1e-9 {
				t.Fatalf("label %d starts at %g, above %g", i, top, y)
			}
			y = top + list[i].height()
		}
		if y > margin.Y1+1e-9 {
			t.Fatalf("the last label ends at %g, want at most %g", y, margin.Y1)
		}
	})
}

func TestLeadersDoNotCross(t *testing.T) {
	// In the order of height the two leaders would cross.
	list := []label{{at: view.Point{X: 90, Y: 50}, lines: []string{"far"}}, {at: view.Point{X: 40, Y: 51}, lines: []string{"near"}}}
	margin := view.Rect{X0: 0, Y0: 60, X1: 30, Y1: 120}
	tops := uncross(list, margin, 32)
	a := view.Segment{A: view.Point{X: 32, Y: tops[0] + lineStep/2}, B: list[0].at}
	b := view.Segment{A: view.Point{X: 32, Y: tops[1] + lineStep/2}, B: list[1].at}
	if crosses(a, b) {
		t.Errorf("leaders cross: %v and %v", a, b)
	}
}

// The symbols of many fasteners at one place all stay visible.
func TestMarksSpread(t *testing.T) {
	window := view.Rect{X0: 0, Y0: 0, X1: 100, Y1: 100}
	ms := make([]mark, 7)
	for i := range ms {
		ms[i].at = view.Point{X: 50, Y: 50}
	}
	spread(ms, window)
	for i := range ms {
		for j := range i {
			if d := distance(ms[i].mark, ms[j].mark); d < 2*ringR {
				t.Errorf("symbols %d and %d are %g mm apart, want %g", j, i, d, 2*ringR)
			}
		}
	}
}

// The drawn limiting point, the circles and the dimensions agree with the
// numbers of the judgement at the scale that the sheet states.
func TestDrawnToScale(t *testing.T) {
	p, fs, holds, res := bench()
	svg := string(New(p, fs, holds, res, Meta{}).Joint(0))
	across := svg[strings.Index(svg, `<g id="across"`):strings.Index(svg, `<g id="along"`)]
	along := svg[strings.Index(svg, `<g id="along"`):strings.Index(svg, `<g id="place"`)]
	if !strings.Contains(across, ">1:1 ") || !strings.Contains(along, ">2:1<") {
		t.Fatal("other scales than 1:1 and 2:1")
	}
	find := func(in, pattern string) []float64 {
		t.Helper()
		m := regexp.MustCompile(pattern).FindStringSubmatch(in)
		if m == nil {
			t.Fatalf("no %s", pattern)
		}
		var out []float64
		for _, s := range m[1:] {
			out = append(out, number(t, s))
		}
		return out
	}
	axis := find(across, `class="axis" d="M([\d.]+) `)
	hit := find(across, `class="hit" cx="([\d.]+)"`)
	if d := hit[0] - axis[0]; math.Abs(d-2.5) > 0.011 {
		t.Errorf("the limiting point is drawn %.2f mm from the axis, want 2.50 at 1:1", d)
	}
	if r := find(along, `<circle class="free" [^>]* r="([\d.]+)"`); r[0] != 5 {
		t.Errorf("free circle of %g mm, want 5 at 2:1", r[0])
	}
	if r := find(along, `<circle class="needed" [^>]* r="([\d.]+)"`); r[0] != 11 {
		t.Errorf("needed circle of %g mm, want 11 at 2:1", r[0])
	}
}

func BenchmarkJoint(b *testing.B) {
	p, fs, holds, res := bench()
	book := New(p, fs, holds, res, Meta{})
	b.ReportAllocs()
	for b.Loop() {
		book.Joint(0)
	}
}
