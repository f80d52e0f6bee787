package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// Damaged copies of real files: whatever is done to them, they end in a report
// or in one clear error. Each kind of damage meets several files, the same in
// every run; a finding is repeated by its name.
func TestDamagedCopies(t *testing.T) {
	const rounds = 4
	files := sound(t)
	for k, kind := range damages {
		for round := range rounds {
			i := (k*rounds + round) % len(files)
			name := filepath.Base(files[i])
			t.Run(fmt.Sprintf("%s/%d/%s", kind.name, round, name), func(t *testing.T) {
				d := &damage{Rand: rand.New(rand.NewPCG(uint64(k), uint64(rounds+round)))}
				d.split(read(t, files[i]))
				d.other = read(t, files[(i+1)%len(files)])
				kind.do(d)
				src := d.text()
				endsWell(t, src, "check", "--out", "-", "--format", "json")
				endsWell(t, src, "tree", "--format", "json")
			})
		}
	}
}

// A few lines that put a box into one place 4,096 times, as happens where
// placements are lost, are no more work than one box.
func TestUsesInOnePlace(t *testing.T) {
	const levels = 12
	text := string(read(t, "../../step/testdata/box.stp"))
	var b strings.Builder
	for i, below := 0, 3; i < levels; i++ {
		n := 1000 + 10*i
		fmt.Fprintf(&b, "#%d=PRODUCT('a%d','a%d','',());\n#%d=PRODUCT_DEFINITION_FORMATION('','',#%d);\n#%d=PRODUCT_DEFINITION('','',#%d,$);\n",
			n, i, i, n+1, n, n+2, n+1)
		for use := range 2 {
			fmt.Fprintf(&b, "#%d=NEXT_ASSEMBLY_USAGE_OCCURRENCE('%d','','',#%d,#%d,$);\n", n+3+use, use, n+2, below)
		}
		below = n + 2
	}
	path := write(t, "heap.step", []byte(strings.Replace(text, "ENDSEC;\nEND-ISO", b.String()+"ENDSEC;\nEND-ISO", 1)))
	code, out, errs := runTool("check", "--out", "-", "--format", "json", path)
	if code != exitOK || !strings.Contains(out, "4095 times too often") {
		t.Errorf("exit code %d, %s: want a report that tells of 4095 boxes too many", code, errs)
	}
}

// sound lists the files to damage: all kinds of writers and content, each small.
func sound(t *testing.T) []string {
	files, err := filepath.Glob("../../step/testdata/*.stp")
	if err != nil || len(files) == 0 {
		t.Fatal("no files", err)
	}
	if shared := os.Getenv("STEPSCAN_SHARED"); shared != "" {
		for _, name := range []string{
			"as1-tu-203.stp", "caxif/dm1-id-214.stp", "caxif/io1-cm-214.stp", "caxif/cube-in.step", "nist/nist_ftc_11_asme1_rb.stp",
			"kernels/cube_hole.step", "kernels/nested.step", "kernels/step_boundary_colors.stp", "kernels/screw.step",
			"electronics/BatteryHolder_Keystone_2468_2xAAA.step", "products/recycler/02_07_00-washer_M10-ISO7089.step",
			"products/recycler/02_05_00-cylinder_screw_M10x30-DIN912.step", "products/trackball/Bearing Washer 0.7mm.step",
		} {
			files = append(files, filepath.Join(shared, "data", name))
		}
	}
	return append(files, "../../fixtures/logger-b.step")
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// damage is a text in pieces that end at its semicolons; records are those that
// begin with an id.
type damage struct {
	*rand.Rand
	pieces  [][]byte
	records []int
	other   []byte
}

var (
	isRecord  = regexp.MustCompile(`^\s*#\d+\s*=\s*`)
	reference = regexp.MustCompile(`#\d+`)
	keyword   = regexp.MustCompile(`[A-Z][A-Z0-9_]{3,}\s*\(`)
	decimal   = regexp.MustCompile(`[-+]?\d+\.\d*(E[-+]?\d+)?`)
	whole     = regexp.MustCompile(`\b\d+\b`)
	innermost = regexp.MustCompile(`\([^()']*\)`)
	word      = regexp.MustCompile(`\.[A-Z_]+\.`)
)

func (d *damage) split(src []byte) {
	d.pieces, d.records = bytes.SplitAfter(src, []byte(";")), nil
	for i, p := range d.pieces {
		if isRecord.Match(p) {
			d.records = append(d.records, i)
		}
	}
}

func (d *damage) text() []byte { return bytes.Join(d.pieces, nil) }

// whatever is one of some.
func whatever[T any](d *damage, some []T) T { return some[d.IntN(len(some))] }

// id is that of a record, with its #.
func (d *damage) id(record int) []byte { return reference.Find(d.pieces[record]) }

// some are a few records, or a tenth of them.
func (d *damage) some() []int {
	n := whatever(d, []int{1, 3, 10, 1 + len(d.records)/10})
	out := slices.Clone(d.records)
	d.Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out[:min(n, len(out))]
}

// replace puts something else for one match of what in a record's values.
func (d *damage) replace(record int, what *regexp.Regexp, with func(old []byte) []byte) {
	p := d.pieces[record]
	from := len(isRecord.Find(p))
	all := what.FindAllIndex(p[from:], -1)
	if len(all) == 0 {
		return
	}
	at := whatever(d, all)
	d.pieces[record] = slices.Concat(p[:from+at[0]], with(p[from+at[0]:from+at[1]]), p[from+at[1]:])
}

// somewhere replaces in a few records.
func (d *damage) somewhere(what *regexp.Regexp, with func(old []byte) []byte) {
	for _, r := range d.some() {
		d.replace(r, what, with)
	}
}

// users are the records that refer to each id.
func (d *damage) users() map[string][]int {
	out := map[string][]int{}
	for _, r := range d.records {
		for _, id := range reference.FindAll(d.pieces[r][len(isRecord.Find(d.pieces[r])):], -1) {
			out[string(id)] = append(out[string(id)], r)
		}
	}
	return out
}

// wild are numbers that no model has.
var wild = []string{"1.E6", "1.E12", "1.E100", "1.E160", "1.E308", "1.E999", "-1.E10", "0.", "-1.", "NAN", "1.E-30", "1.E-320", "99999999999999999999."}

var damages = []struct {
	name string
	do   func(d *damage)
}{
	{"cut", func(d *damage) {
		src := d.text()
		d.split(src[:d.IntN(len(src))])
	}},
	{"a stretch lost", func(d *damage) {
		src := d.text()
		from := d.IntN(len(src))
		d.split(slices.Delete(src, from, min(len(src), from+whatever(d, []int{1, 100, 5000}))))
	}},
	{"bits flipped", func(d *damage) {
		src := d.text()
		for range whatever(d, []int{1, 5, 50, 200}) {
			src[d.IntN(len(src))] ^= 1 << d.IntN(8)
		}
		d.split(src)
	}},
	{"records dropped", func(d *damage) {
		share := whatever(d, []float64{0.01, 0.05, 0.3})
		for _, r := range d.records {
			if d.Float64() < share {
				d.pieces[r] = nil
			}
		}
	}},
	{"references swapped", func(d *damage) {
		d.somewhere(reference, func([]byte) []byte { return d.id(whatever(d, d.records)) })
	}},
	{"references dangling", func(d *damage) {
		d.somewhere(reference, func([]byte) []byte {
			return []byte(whatever(d, []string{"#0", "#999999999", "#18446744073709551621"}))
		})
	}},
	{"references in circles", func(d *damage) {
		users := d.users()
		for _, r := range d.some() {
			up := r
			for range 1 + d.IntN(4) {
				if u := users[string(d.id(up))]; len(u) > 0 {
					up = whatever(d, u)
				}
			}
			d.replace(r, reference, func([]byte) []byte { return d.id(up) })
		}
	}},
	{"references multiplied", func(d *damage) {
		times := whatever(d, []int{2, 50, 2000})
		d.somewhere(reference, func(old []byte) []byte {
			return append(bytes.Repeat(append(slices.Clone(old), ','), times), old...)
		})
	}},
	{"sections repeated", func(d *damage) {
		from := d.IntN(len(d.pieces))
		to := min(len(d.pieces), from+whatever(d, []int{1, 20, 1000}))
		d.split(bytes.Join(slices.Insert(slices.Clone(d.pieces), d.IntN(len(d.pieces)), d.pieces[from:to]...), nil))
	}},
	{"entities renamed", func(d *damage) {
		d.somewhere(keyword, func(old []byte) []byte {
			if k := keyword.Find(d.pieces[whatever(d, d.records)]); k != nil {
				return k
			}
			return old
		})
	}},
	{"numbers wild", func(d *damage) {
		d.somewhere(decimal, func([]byte) []byte { return []byte(whatever(d, wild)) })
	}},
	{"counts and words wild", func(d *damage) {
		d.somewhere(whole, func([]byte) []byte {
			return []byte(whatever(d, []string{"0", "-1", "17", "1000", "2147483648", "99999999999999999999", "$"}))
		})
		d.somewhere(word, func([]byte) []byte { return []byte(whatever(d, []string{".EXA.", ".F.", ".UNSPECIFIED.", "$", "*"})) })
	}},
	{"lists emptied and nested", func(d *damage) {
		d.somewhere(innermost, func([]byte) []byte { return []byte("()") })
		deep := whatever(d, []int{1, 10, 5000})
		d.somewhere(innermost, func(old []byte) []byte {
			return slices.Concat(bytes.Repeat([]byte("("), deep), old, bytes.Repeat([]byte(")"), deep))
		})
	}},
	{"ids doubled", func(d *damage) {
		for _, r := range d.some() {
			p := d.pieces[r]
			d.pieces[r] = slices.Concat([]byte("\n"), d.id(whatever(d, d.records)), []byte("="), p[len(isRecord.Find(p)):])
		}
	}},
	{"spliced with another file", func(d *damage) {
		other := bytes.SplitAfter(d.other, []byte(";"))
		d.pieces = append(d.pieces[:d.IntN(len(d.pieces))], other[d.IntN(len(other)):]...)
	}},
}
