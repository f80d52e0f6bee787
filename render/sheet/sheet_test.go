package sheet

import (
	"bytes"
	"encoding/xml"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/access/tool"
	"stepscan/geom"
	"stepscan/geom/bvh"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
	"stepscan/step"
)

// build makes a product of placed meshes, one part each.
func build(names []string, meshes []*mesh.Mesh) *product.Product {
	p := &product.Product{Source: step.Source{File: "case.step", SHA256: strings.Repeat("0123456789abcdef", 4)}}
	for i, m := range meshes {
		p.Parts = append(p.Parts, product.Part{ID: "p" + strconv.Itoa(i+1), Name: names[i], Mesh: m, Tree: bvh.Build(m), Box: m.Box()})
		p.Occs = append(p.Occs, product.Occ{ID: "o" + strconv.Itoa(i+1), Part: i, Name: names[i], Placement: geom.Identity(), Solid: product.SolidIndex(i)})
		p.Solids = append(p.Solids, product.Solid{Occ: i, Part: i, Place: geom.Identity(), Back: geom.Identity(), Box: m.Box()})
	}
	return p
}

var upwards = geom.Axis{D: mgl64.Vec3{0, 0, 1}}

// screw is an M4 cylinder head screw with a round recess, its head's top at o.
func screw(o mgl64.Vec3) *mesh.Mesh {
	return shape.Revolve(geom.Axis{O: o, D: mgl64.Vec3{0, 0, 1}}, []mgl64.Vec2{
		{0, -16}, {1.6, -16}, {2, -15.6}, {2, -4}, {3.5, -4}, {3.5, -0.3}, {3.2, 0}, {1.7, 0}, {1.7, -2}, {0, -2},
	}, 40)
}

// bench is a base with a lid, held by two screws, and a bracket that stands
// in the way of one of them.
func bench() (*product.Product, []fastener.Fastener, []joint.Hold, *reach.Result) {
	base := shape.Plate(mgl64.Vec3{0, 0, -14}, mgl64.Vec3{60, 40, 0},
		shape.Circle(12, 20, 2, 40), shape.Circle(48, 20, 2, 40))
	lid := shape.Plate(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{60, 40, 4},
		shape.Circle(12, 20, 2.25, 40), shape.Circle(48, 20, 2.25, 40), shape.Circle(30, 20, 6, 48))
	bracket := shape.Extrude(geom.Frame{O: mgl64.Vec3{0, 34, 0}, X: mgl64.Vec3{1, 0, 0}, Y: mgl64.Vec3{0, 0, 1}, Z: mgl64.Vec3{0, -1, 0}}, 28,
		shape.Contour{Points: []mgl64.Vec2{{16, 4}, {24, 4}, {24, 50}, {14.5, 50}, {14.5, 44}, {18, 44}, {18, 10}, {16, 8}}})
	p := build([]string{"base", "lid", "bracket", "screw left", "screw right"},
		[]*mesh.Mesh{base, lid, bracket, screw(mgl64.Vec3{12, 20, 8}), screw(mgl64.Vec3{48, 20, 8})})
	f := func(id string, x float64, s product.SolidIndex) fastener.Fastener {
		o := mgl64.Vec3{x, 20, 8}
		return fastener.Fastener{
			ID: id, Solids: []product.SolidIndex{s}, Kind: fastener.Screw, Head: "cylindrical", Size: "M4",
			Designation: "ISO 4762 M4×12", Drive: fastener.HexSocket, DriveSize: "3",
			Axis: geom.Axis{O: o, D: upwards.D}, Point: o, Nominal: 4, Length: 12, HeadD: 7, HeadH: 4, RecessDepth: 2, Back: -16,
		}
	}
	driver := tool.Tool{Name: "bit hex 3 in 1/4 in holder", Sections: []tool.Section{
		{From: -2, To: 0, R: 1.7, Name: "bit"}, {From: 0, To: 25, R: 3.7, Name: "bit"},
		{From: 25, To: 85, R: 5.5, Name: "holder"}, {From: 85, To: math.Inf(1), R: 17, Name: "hand"},
	}}
	blocked := reach.Trial{
		Tool: driver, Free: 2.5, Needed: 5.5, AtHeight: 36, Limit: reach.ByTool, Section: "holder",
		Limiter: 2, At: mgl64.Vec3{14.5, 20, 44}, Blockers: []product.SolidIndex{2},
	}
	clear := reach.Trial{Tool: driver, Fits: true, Limiter: product.NoSolid}
	res := &reach.Result{Side: upwards.D, Reaches: []reach.Reach{
		{Verdict: reach.ClearAfter, Side: upwards.D, Tool: driver, As: blocked, Tried: []reach.Trial{blocked}, After: []product.SolidIndex{2}, Step: 1,
			Why: "The holder of bit hex 3 meets the bracket 36 mm above the head: 2.50 mm are free and 5.50 mm are needed."},
		{Verdict: reach.Clear, Side: upwards.D, Tool: driver, As: clear, Tried: []reach.Trial{clear}, Why: "Reached as assembled."},
	}}
	hold := joint.Hold{Passes: []product.SolidIndex{1}, Bites: []product.SolidIndex{0}, Mate: -1, Grip: 4}
	h1 := hold
	h1.Fastener = 1
	return p, []fastener.Fastener{f("f1", 12, 3), f("f2", 48, 4)}, []joint.Hold{hold, h1}, res
}

// keepSheet writes a sheet where STEPSCAN_SHEETS names a folder, to be looked at.
func keepSheet(t *testing.T, name string, svg []byte) {
	if dir := os.Getenv("STEPSCAN_SHEETS"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name+".svg"), svg, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// words is a text on the sheet as a reader would measure it.
type words struct {
	text  string
	class string
	x, y  float64
}

// parse checks that a sheet is XML with unique ids and finite numbers inside
// the paper, and returns its texts.
func parse(t *testing.T, svg []byte) []words {
	t.Helper()
	dec := xml.NewDecoder(bytes.NewReader(svg))
	ids := map[string]bool{}
	var out []words
	inText := false
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			w := words{}
			for _, a := range e.Attr {
				switch a.Name.Local {
				case "id":
					if ids[a.Value] {
						t.Errorf("id %q twice", a.Value)
					}
					ids[a.Value] = true
				case "class":
					w.class = a.Value
				case "x":
					w.x = number(t, a.Value)
				case "y":
					w.y = number(t, a.Value)
				case "d":
					checkPath(t, a.Value)
				}
			}
			if inText = e.Name.Local == "text"; inText {
				out = append(out, w)
			}
		case xml.CharData:
			if inText {
				out[len(out)-1].text += string(e)
			}
		case xml.EndElement:
			inText = false
		}
	}
	if bytes.Contains(svg, []byte("NaN")) || bytes.Contains(svg, []byte("Inf")) {
		t.Error("NaN or Inf on the sheet")
	}
	if len(svg) > 400_000 {
		t.Errorf("%d bytes, want below 400 kB", len(svg))
	}
	return out
}

// checkPath reads path data of M, L, A and Z with absolute coordinates.
func checkPath(t *testing.T, d string) {
	t.Helper()
	for _, c := range regexp.MustCompile(`[MLAZ][^MLAZ]*`).FindAllString(d, -1) {
		f := strings.Fields(c[1:])
		want := map[byte]int{'M': 2, 'L': 2, 'A': 7, 'Z': 0}[c[0]]
		if len(f) != want {
			t.Fatalf("path command %q: want %d numbers", c, want)
		}
		if want > 1 {
			number(t, f[len(f)-2])
			number(t, f[len(f)-1])
		}
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !(v >= -1 && v <= pageW+1) {
		t.Fatalf("coordinate %q: want a number on the paper (%v)", s, err)
	}
	return v
}

// checkTexts demands that no text covers another or leaves the frame. The
// widths are common ones of a sans-serif font, not those of the layout.
func checkTexts(t *testing.T, texts []words) {
	t.Helper()
	boxOf := func(w words) [4]float64 {
		size := map[string]float64{"s": small, "n": normal, "h": title}[strings.Fields(w.class)[0]]
		width := 0.56 * size * float64(len([]rune(w.text)))
		x := w.x
		for _, c := range strings.Fields(w.class) {
			switch c {
			case "e":
				x -= width
			case "m":
				x -= width / 2
			}
		}
		return [4]float64{x, w.y - 0.7*size, x + width, w.y + 0.1*size}
	}
	for i, a := range texts {
		p := boxOf(a)
		if p[0] < frameX0-0.5 || p[2] > frameX1+3 || p[1] < frameY0 || p[3] > frameY1 {
			t.Errorf("%q leaves the frame: %.1f", a.text, p)
		}
		for _, b := range texts[:i] {
			q := boxOf(b)
			if p[0] < q[2] && q[0] < p[2] && p[1] < q[3] && q[1] < p[3] {
				t.Errorf("%q at %.1f covers %q at %.1f", a.text, p, b.text, q)
			}
		}
	}
}

func hasText(texts []words, part string) bool {
	for _, w := range texts {
		if strings.Contains(w.text, part) {
			return true
		}
	}
	return false
}

func TestJointSheet(t *testing.T) {
	p, fs, holds, res := bench()
	b := New(p, fs, holds, res, Meta{Version: "0.1"})
	for i, name := range []string{"bench-after", "bench-clear"} {
		svg := b.Joint(i)
		keepSheet(t, name, svg)
		checkTexts(t, parse(t, svg))
	}
	texts := parse(t, b.Joint(0))
	for _, want := range []string{"needed R 5.50", "free R 2.50", "bracket", "holder", "base", "lid", "2:1", "A–A", "0123456789abcdef…"} {
		if !hasText(texts, want) {
			t.Errorf("the sheet does not say %q", want)
		}
	}
	over := b.Overview()
	keepSheet(t, "bench-overview", over)
	checkTexts(t, parse(t, over))
}

// A product of very many visible parts still gives a sheet that can be mailed.
func TestBigProduct(t *testing.T) {
	p, fs, holds, res := bench()
	for i := range 2500 {
		s := p.Solids[3]
		at := mgl64.Vec3{float64(i%50) * 8, 60 + float64(i/50)*8, 0}
		s.Place = geom.Transform{M: mgl64.Ident3(), T: at}
		s.Back, _ = s.Place.Inverse()
		s.Box = p.Parts[3].Box.Transformed(s.Place)
		p.Solids = append(p.Solids, s)
	}
	b := New(p, fs, holds, res, Meta{})
	for k, svg := range [][]byte{b.Joint(0), b.Overview()} {
		keepSheet(t, "big-"+strconv.Itoa(k), svg)
		checkTexts(t, parse(t, svg))
		if len(svg) < 50_000 {
			t.Errorf("only %d bytes: is the product drawn at all?", len(svg))
		}
	}
}

func TestSheetsAreDeterministic(t *testing.T) {
	draw := func() []byte {
		p, fs, holds, res := bench()
		b := New(p, fs, holds, res, Meta{})
		return append(b.Joint(0), b.Overview()...)
	}
	old := runtime.GOMAXPROCS(1)
	one := draw()
	runtime.GOMAXPROCS(4)
	four := draw()
	runtime.GOMAXPROCS(old)
	if !bytes.Equal(one, four) {
		t.Error("one core and four give different bytes")
	}
}

func TestHostileNames(t *testing.T) {
	p, fs, holds, res := bench()
	for i := range p.Occs {
		p.Occs[i].Name = "</text><script>alert(1)</script>&\x00\x1b[31m\u202e\"'" + strings.Repeat("very long name ", 30)
	}
	p.Source.File = "<svg onload=x>\xff.step"
	fs[0].ID, fs[0].Designation = `f"1<`, "<!-- -->"
	res.Reaches[0].Why = strings.Repeat("]]> & ", 200)
	b := New(p, fs, holds, res, Meta{Version: "<b>", Date: "\u2028"})
	for _, svg := range [][]byte{b.Joint(0), b.Overview()} {
		checkTexts(t, parse(t, svg))
		if bytes.Contains(svg, []byte("<script")) || bytes.Contains(svg, []byte("\u202e")) {
			t.Error("a name got through unescaped")
		}
	}
}

func TestOddJoints(t *testing.T) {
	nan := math.NaN()
	for name, spoil := range map[string]func(*product.Product, []fastener.Fastener, []joint.Hold, *reach.Result){
		"everything not a number": func(p *product.Product, fs []fastener.Fastener, h []joint.Hold, r *reach.Result) {
			v := mgl64.Vec3{nan, nan, nan}
			fs[0].Point, fs[0].Axis = v, geom.Axis{O: v, D: v}
			fs[0].HeadD, fs[0].Nominal, fs[0].Back, fs[0].Front = nan, nan, nan, nan
			x := &r.Reaches[0]
			x.As.At, x.As.Free, x.As.Needed, x.As.AtHeight, x.Side = v, nan, nan, nan, v
		},
		"infinite tool": func(p *product.Product, fs []fastener.Fastener, h []joint.Hold, r *reach.Result) {
			r.Reaches[0].As.Tool.Sections = []tool.Section{{From: math.Inf(-1), To: math.Inf(1), R: math.Inf(1), Name: "x"}}
		},
		"no tool, no limiter": func(p *product.Product, fs []fastener.Fastener, h []joint.Hold, r *reach.Result) {
			r.Reaches[0].As = reach.Trial{Limiter: product.NoSolid}
			r.Reaches[0].Tool = tool.Tool{}
		},
		"indices out of range": func(p *product.Product, fs []fastener.Fastener, h []joint.Hold, r *reach.Result) {
			fs[0].Solids = nil
			r.Reaches[0].As.Limiter = 99
			r.Reaches[0].After, r.Reaches[0].HiddenBy = []product.SolidIndex{-7, 99}, []product.SolidIndex{99}
			h[0].Passes, h[0].Mate, h[0].Washers = []product.SolidIndex{99}, 99, []int{-1, 99}
		},
		"swing": func(p *product.Product, fs []fastener.Fastener, h []joint.Hold, r *reach.Result) {
			x := &r.Reaches[0]
			x.As.Limit, x.As.Free, x.As.Needed = reach.BySwing, 0.4, math.Pi/3
			x.As.Tool.Swing = &tool.Swing{From: 10, To: 14, R: 60, HalfW: 2, Arc: math.Pi / 3, Name: "arm"}
		},
		"two-sided": func(p *product.Product, fs []fastener.Fastener, h []joint.Hold, r *reach.Result) {
			h[0].Mate, r.Reaches[0].Verdict = 1, reach.TwoSided
			r.Reaches[1].Side = mgl64.Vec3{0, 0, -1}
		},
		"hidden": func(p *product.Product, fs []fastener.Fastener, h []joint.Hold, r *reach.Result) {
			r.Reaches[0] = reach.Reach{Verdict: reach.Clear, Hidden: true, HiddenBy: []product.SolidIndex{1}, Side: upwards.D,
				As: reach.Trial{Fits: true, Limiter: product.NoSolid}}
		},
		"from below": func(p *product.Product, fs []fastener.Fastener, h []joint.Hold, r *reach.Result) {
			r.Reaches[0].Verdict, r.Side = reach.Turn, mgl64.Vec3{0, 0, -1}
		},
		"huge": func(p *product.Product, fs []fastener.Fastener, h []joint.Hold, r *reach.Result) {
			for i := range p.Solids {
				p.Solids[i].Place.M = mgl64.Diag3(mgl64.Vec3{1e4, 1e4, 1e4})
				p.Solids[i].Back, _ = p.Solids[i].Place.Inverse()
				p.Solids[i].Box = p.Parts[i].Box.Transformed(p.Solids[i].Place)
			}
		},
		"nothing there": func(p *product.Product, fs []fastener.Fastener, h []joint.Hold, r *reach.Result) {
			p.Solids, p.Occs, p.Parts = nil, nil, nil
		},
	} {
		t.Run(name, func(t *testing.T) {
			p, fs, holds, res := bench()
			spoil(p, fs, holds, res)
			b := New(p, fs, holds, res, Meta{})
			for k, svg := range [][]byte{b.Joint(0), b.Overview()} {
				keepSheet(t, "odd-"+strings.ReplaceAll(name, " ", "-")+"-"+strconv.Itoa(k), svg)
				checkTexts(t, parse(t, svg))
			}
		})
	}
}
