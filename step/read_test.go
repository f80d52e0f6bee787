package step

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stepscan/step/p21"
)

func oneBox() []byte {
	var m maker
	m.shape(m.product("p"), m.context(unitMM), m.box(1, 2, 3))
	return m.text()
}

func TestReadFileErrors(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, content []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, content, 0o666); err != nil {
			t.Fatal(err)
		}
		return path
	}
	var zipped, several bytes.Buffer
	packZip(t, &zipped, map[string][]byte{"../../x.step": oneBox(), "readme.txt": nil})
	packZip(t, &several, map[string][]byte{"a.stp": oneBox(), "b.stp": oneBox()})
	notStep := func(err error) bool { var e *p21.NotStepError; return errors.As(err, &e) }
	syntax := func(err error) bool { var e *p21.SyntaxError; return errors.As(err, &e) }
	limit := func(err error) bool { var e *LimitError; return errors.As(err, &e) }
	cases := []struct {
		name, path, text string
		is               func(error) bool
	}{
		{"missing", filepath.Join(dir, "none.stp"), "none.stp", func(err error) bool { return errors.Is(err, fs.ErrNotExist) }},
		{"folder", dir, "is a folder", func(err error) bool { return errors.Is(err, errIsFolder) }},
		{"empty", write("empty.stp", nil), "empty.stp: not a STEP file: it is empty", notStep},
		{"page", write("page.stp", []byte("<html>")), "HTML", notStep},
		{"pointer", write("lfs.stp", []byte("version https://git-lfs.github.com/spec/v1\n")), "LFS", notStep},
		{"zeros", write("zero.stp", make([]byte, 4096)), "zero bytes", notStep},
		{"random", write("random.stp", []byte("\x01\x02\x03")), "does not start with", notStep},
		{"no data", write("head.stp", []byte("ISO-10303-21;HEADER;ENDSEC;")), "DATA section", syntax},
		{"gzip cut", write("cut.stpz", pack(t, oneBox())[:100]), "damaged", notStep},
		{"gzip bomb", write("bomb.stpz", pack(t, make([]byte, 3<<20))), "unpacks to more", limit},
		{"zip of several", write("several.zip", several.Bytes()), "several STEP files", notStep},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadFile(t.Context(), c.path, Options{MaxBytes: 2 << 20})
			if err == nil || !c.is(err) || !strings.Contains(err.Error(), c.text) {
				t.Errorf("error %v, want one about %q", err, c.text)
			}
		})
	}
	for _, path := range []string{write("good.stp", oneBox()), write("good.stpz", pack(t, oneBox())), write("zipped.stpZ", zipped.Bytes())} {
		a, err := ReadFile(t.Context(), path, Options{})
		if err != nil || a.SolidCount() != 1 {
			t.Errorf("%s: %v", path, err)
		}
	}
}

func pack(t *testing.T, b []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	if _, err := z.Write(b); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func packZip(t *testing.T, out *bytes.Buffer, files map[string][]byte) {
	t.Helper()
	z := zip.NewWriter(out)
	for name, b := range files {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(b); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
}

func TestNoBodies(t *testing.T) {
	var m maker
	m.shape(m.product("p"), m.context(unitMM), m.at(0, 0, 0))
	a := m.read(t)
	var none *NoBodiesError
	if err := a.RequireBodies(); !errors.As(err, &none) || err.Error() != "test.stp: no solids or surfaces" {
		t.Errorf("error %v", err)
	}
	if len(a.Occurrences) != 1 || a.Occurrences[0].Name != "p" {
		t.Errorf("the structure is lost: %+v", a.Occurrences)
	}
}

func TestSource(t *testing.T) {
	src := oneBox()
	a, err := Read(t.Context(), "a.stp", src, Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := Source{
		File: "a.stp", SHA256: fmt.Sprintf("%x", sha256.Sum256(src)), Bytes: int64(len(src)), Schemas: []string{"AUTOMOTIVE_DESIGN"},
		System: "sys", Preprocessor: "pre", Written: "2020-01-01T00:00:00", LengthUnit: "mm",
	}
	if d := cmp.Diff(want, a.Source); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	if u := a.Parts[0].Bodies[0].Uncertainty; u != 1e-4 {
		t.Errorf("uncertainty %g, want 1e-4", u)
	}
}

func TestTruncatedFileGivesWhatWasWhole(t *testing.T) {
	src := oneBox()
	whole := bytes.Index(src, []byte("ENDSEC;\nEND-ISO"))
	a, err := Read(t.Context(), "cut.stp", src[:whole], Options{})
	if err != nil || a.SolidCount() != 1 {
		t.Fatalf("error %v", err)
	}
	wantSkip(t, a, "without END-ISO-10303-21")
	if !a.Source.Truncated {
		t.Error("not told as truncated")
	}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Read(ctx, "a.stp", oneBox(), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want context.Canceled", err)
	}
}

// The number of workers and the run change nothing.
func TestSameInputSameAssembly(t *testing.T) {
	src, err := os.ReadFile(filepath.Join(shared(t), "data", "as1-oc-214.stp"))
	if err != nil {
		t.Fatal(err)
	}
	text := func(jobs int) string {
		a, err := Read(t.Context(), "a.stp", src, Options{Jobs: jobs})
		if err != nil {
			t.Fatal(err)
		}
		s := outline(a) + fmt.Sprintf("%+v", a.Skips)
		for _, p := range a.Parts {
			for _, b := range p.Bodies {
				s += fmt.Sprintf("%s %v %v %v\n", b.Name, b.Vertices, len(b.Edges), b.Shells)
			}
		}
		return s
	}
	want := text(1)
	for range 3 {
		if d := cmp.Diff(want, text(2*runtime.NumCPU())); d != "" {
			t.Fatal(d)
		}
	}
}

// Other files are read from the folder and from nowhere else.
func TestExternalFiles(t *testing.T) {
	refer := func(file string) []byte {
		var m maker
		ctx := m.context(unitMM)
		asm, part := m.product("asm"), m.product("part")
		target, origin := m.at(5, 0, 0), m.at(0, 0, 0)
		ar := m.shape(asm, ctx, target)
		pr := m.shape(part, ctx, origin)
		m.tie(m.use("it", asm, part), pr, ar, origin, target)
		doc := m.add("DOCUMENT_FILE('%s','','',$,'',$)", file)
		m.add("APPLIED_DOCUMENT_REFERENCE(%s,'',(%s))", doc, part)
		return m.text()
	}
	top := t.TempDir()
	dir := filepath.Join(top, "in")
	if err := os.Mkdir(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	for name, b := range map[string][]byte{"box.stp": oneBox(), "mid.stp": refer("box.stp"), "../outside.stp": oneBox(), "self.stp": refer("self.stp"), "bad.stp": []byte("<html>")} {
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	link := filepath.Join(dir, "link.stp")
	if err := os.Symlink(filepath.Join(top, "outside.stp"), link); err != nil {
		t.Fatal(err)
	}
	const bare = "asm\n it of part\n"
	cases := []struct{ file, want, skip string }{
		{"box.stp", "asm\n it of part [5 0 0] [6 2 3]\n", ""},
		{"mid.stp", "asm\n it of part\n  it of part [10 0 0] [11 2 3]\n", ""},
		{"none.stp", bare, "is not beside this file"},
		{"../outside.stp", bare, "not in the folder"},
		{"..\\\\outside.stp", bare, "not in the folder"},
		{filepath.Join(top, "outside.stp"), bare, "not in the folder"},
		{"link.stp", bare, "shape of product"},
		{"bad.stp", bare, "HTML"},
		{"main.stp", bare, "would contain itself"},
		{"self.stp", "asm\n it of part\n  it of part\n", "would contain itself"},
	}
	for _, c := range cases {
		t.Run(c.file, func(t *testing.T) {
			path := filepath.Join(dir, "main.stp")
			if err := os.WriteFile(path, refer(c.file), 0o666); err != nil {
				t.Fatal(err)
			}
			a, err := ReadFile(t.Context(), path, Options{})
			if err != nil {
				t.Fatal(err)
			}
			wantOutline(t, a, c.want)
			checkTree(t, a)
			if c.skip == "" {
				noSkips(t, a)
			} else {
				wantSkip(t, a, c.skip)
			}
		})
	}
}

// Solids of plane faces and straight edges have the reference's volume, from
// their loops alone: positive, so that the loops turn the right way.
func TestFlatSolidsHaveTheReferenceVolume(t *testing.T) {
	n := 0
	for _, name := range realFiles(t) {
		a, g := readReal(t, name), readGolden(t, name)
		for _, p := range g.Parts {
			if !p.flat() || p.Solids != 1 {
				continue
			}
			for _, q := range a.Parts {
				if q.Name != clean(p.Name) || len(q.Bodies) != 1 {
					continue
				}
				n++
				if v := flatVolume(q.Bodies[0]); math.Abs(v-p.Volume) > 1e-6*p.Volume {
					t.Errorf("%s: part %q has volume %g, the reference says %g", name, q.Name, v, p.Volume)
				}
				if !normalsAgree(q.Bodies[0]) {
					t.Errorf("%s: part %q has a normal that points inward", name, q.Name)
				}
			}
		}
	}
	if n < 5 {
		t.Errorf("only %d parts to compare", n)
	}
}

// The seeds of the fuzzer are files that read.
func TestSeedsRead(t *testing.T) {
	for file, solids := range map[string]int{"box": 1, "beside-the-bodies": 1, "pair-in-two-units": 1, "mapped-in-a-circle": 1} {
		a, err := ReadFile(t.Context(), filepath.Join("testdata", file+".stp"), Options{})
		if err != nil || a.SolidCount() != solids {
			t.Errorf("%s: error %v", file, err)
			continue
		}
		checkTree(t, a)
	}
}

// No input panics, hangs, or leaves an assembly that breaks its promises.
func FuzzRead(f *testing.F) {
	files, err := filepath.Glob("testdata/*.stp")
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
		for _, x := range []string{"1.E300", "1.E-300", "1.E10", "NAN"} {
			f.Add(bytes.Replace(b, []byte("(0.,"), []byte("("+x+","), 1))
			f.Add(bytes.ReplaceAll(b, []byte("(1.,"), []byte("("+x+",")))
		}
		f.Add(bytes.ReplaceAll(b, []byte(".MILLI."), []byte(".EXA.")))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		a, err := Read(t.Context(), "fuzz.stp", src, Options{Jobs: 1, MaxOccurrences: 1000, MaxBytes: 1 << 20})
		if err != nil {
			if strings.Contains(err.Error(), "internal fault") {
				t.Fatal(err)
			}
			return
		}
		checkTree(t, a)
		for _, p := range a.Parts {
			for _, b := range p.Bodies {
				for _, v := range b.Vertices {
					if withinReach(v.P[:]...) != nil {
						t.Fatalf("vertex at %v", v.P)
					}
				}
				for i := range b.Faces {
					for _, l := range b.Faces[i].Loops {
						for _, c := range l.Coedges {
							ends(b, c) // in range
						}
					}
				}
			}
		}
	})
}

func BenchmarkReadFile(b *testing.B) {
	for _, name := range []string{"as1-oc-214.stp", "products/arm/leader_Lite6.step", "products/handheld/t-embed_normal-full-shell.stp"} {
		src, err := os.ReadFile(filepath.Join(shared(b), "data", name))
		if err != nil {
			b.Fatal(err)
		}
		for _, structure := range []bool{false, true} {
			b.Run(fmt.Sprintf("%s/structure=%v", filepath.Base(name), structure), func(b *testing.B) {
				b.SetBytes(int64(len(src)))
				b.ReportAllocs()
				for b.Loop() {
					if _, err := Read(b.Context(), "x.stp", src, Options{Structure: structure}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
