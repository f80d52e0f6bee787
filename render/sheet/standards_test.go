package sheet

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"stepscan/access/reach"

	"github.com/go-gl/mathgl/mgl64"
)

// Line widths are those of ISO 128-2:2020, 5.1; letters of those heights of
// ISO 3098-1:2015 that fit, with capitals 0.72 of the font's size (measured on
// common sans-serif fonts).
func TestWidthsAndHeights(t *testing.T) {
	widths := []string{".13", ".18", ".25", ".35", ".5", ".7"}
	for _, m := range regexp.MustCompile(`stroke-width:([0-9.]+)`).FindAllStringSubmatch(style, -1) {
		if !slices.Contains(widths, m[1]) {
			t.Errorf("line width %s mm is not one of %v", m[1], widths)
		}
	}
	for class, size := range map[string]float64{"s": small, "n": normal, "h": title} {
		if !strings.Contains(style, fmt.Sprintf(".%s{font-size:%gpx", class, size)) {
			t.Errorf("class %s is not written at %g mm", class, size)
		}
		ok := false
		for _, h := range []float64{1.8, 2.5, 3.5} {
			ok = ok || math.Abs(0.72*size-h) < 0.05
		}
		if !ok {
			t.Errorf("capitals of %.2f mm", 0.72*size)
		}
	}
}

// Where the axis itself is covered there is no free radius to measure.
func TestCoveredAxis(t *testing.T) {
	p, fs, holds, res := bench()
	as := &res.Reaches[0].As
	as.Free, as.At = 0, mgl64.Vec3{12, 20, 44}
	texts := parse(t, New(p, fs, holds, res, Meta{}).Joint(0))
	checkTexts(t, texts)
	for _, want := range []string{"covered", "needed R 5.50", "the axis is covered", "needed 5.50 mm, none free"} {
		if !hasText(texts, want) {
			t.Errorf("the sheet does not say %q", want)
		}
	}
	if hasText(texts, "free R") {
		t.Error("a free radius of nothing is dimensioned")
	}
}

// A bolt whose own tool fits but whose nut is blocked: what keeps the nut's
// tool away is the obstacle, and its radii are the dimensions.
func TestNutThatCannotBeReached(t *testing.T) {
	p, fs, holds, res := bench()
	holds[1].Mate = 0
	res.Reaches[0].Verdict, res.Reaches[1].Verdict = reach.Blocked, reach.Blocked
	fs[0].Kind = "nut"
	s := New(p, fs, holds, res, Meta{}).subject(1)
	if s.judged.i != 0 || s.role(2) != obstacle || s.role(4) != driven {
		t.Errorf("judged %d, roles %d and %d: want 0, %d and %d", s.judged.i, s.role(2), s.role(4), obstacle, driven)
	}
	texts := parse(t, New(p, fs, holds, res, Meta{}).Joint(1))
	checkTexts(t, texts)
	for _, want := range []string{"its nut cannot be reached", "free R 2.50", "needed R 5.50", "From the hand at the nut", "in the way"} {
		if !hasText(texts, want) {
			t.Errorf("the sheet does not say %q", want)
		}
	}
}

// A long name is wrapped into its label, not cut after a few letters.
func TestLongNamesAreWrapped(t *testing.T) {
	for s, want := range map[string][]string{
		"lid":                     {"lid"},
		"02_06_00-nut_M10-DIN934": {"02_06_00-nut_", "M10-DIN934"},
		"Schraube":                {"Schraube"},
	} {
		if got := wrapName(s, bold("n b"), gutter-4, 3); !slices.Equal(got, want) {
			t.Errorf("wrapName(%q) = %q, want %q", s, got, want)
		}
	}
	for _, s := range []string{strings.Repeat("x", 200), strings.Repeat("螺钉", 60), strings.Repeat("a_", 100)} {
		lines := wrapName(s, normal, 30, 3)
		if len(lines) != 3 || !strings.HasSuffix(lines[2], "…") || !strings.HasPrefix(s, lines[0]+lines[1]) {
			t.Errorf("%q", lines)
		}
		for _, l := range lines {
			if w := textWidth(l, normal); w > 30 {
				t.Errorf("line %q is %g mm wide", l, w)
			}
		}
	}
}

func TestNamesOfTheWorld(t *testing.T) {
	p, fs, holds, res := bench()
	for i, n := range []string{"盖子 上部件 长名称 长名称", "غطاء علوي", "🔩 bolt 🛠️", "крышка верхняя", "a&b<c>\"d\""} {
		p.Occs[i].Name = n
	}
	b := New(p, fs, holds, res, Meta{})
	texts := parse(t, b.Joint(0))
	checkTexts(t, texts)
	for _, want := range []string{"盖子", "غطاء", "🔩 bolt"} {
		if !hasText(texts, want) {
			t.Errorf("%q is not on the sheet", want)
		}
	}
	checkTexts(t, parse(t, b.Overview()))
}

// A tool longer than the picture is broken off with a zigzag inside the window.
func TestLongToolIsBrokenOff(t *testing.T) {
	p, fs, holds, res := bench()
	svg := string(New(p, fs, holds, res, Meta{}).Joint(0))
	if n := strings.Count(svg, `<path class="break"`); n < 5 {
		t.Errorf("%d strokes of a break line, want a zigzag", n)
	}
}

// Many alike fasteners take one line of the overview's list.
func TestListGathersAlike(t *testing.T) {
	p, fs, holds, res := bench()
	for i := range 20 {
		f, h, r := fs[0], holds[0], res.Reaches[0]
		f.ID = fmt.Sprintf("f%d", 3+i)
		fs, holds, res.Reaches = append(fs, f), append(holds, h), append(res.Reaches, r)
	}
	texts := parse(t, New(p, fs, holds, res, Meta{}).Overview())
	if !hasText(texts, "f1, f3–f22 · ISO 4762 M4×12:") {
		t.Error("alike fasteners are not in one line")
	}
	if hasText(texts, "more") {
		t.Error("the list is cut")
	}
}

// A head down in its hole is not out of sight in the overview; one under a
// plate is.
func TestSpot(t *testing.T) {
	p, fs, holds, res := bench()
	b := New(p, fs, holds, res, Meta{})
	if _, ok := b.spot(1, octants(upwards.D)[0]); !ok {
		t.Error("a free head counts as out of sight")
	}
	if _, ok := b.spot(1, mgl64.Vec3{0, 0, -1}); ok {
		t.Error("a head counts as in sight from behind")
	}
	cover := p.Solids[1] // the lid once more, above the head
	cover.Place.T = mgl64.Vec3{4, 0, 10}
	cover.Back, _ = cover.Place.Inverse()
	p.Solids = append(p.Solids, cover)
	res.Reaches[1].Hidden = true
	if _, ok := b.spot(1, upwards.D); ok {
		t.Error("a head under a plate counts as in sight")
	}
}
