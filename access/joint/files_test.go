package joint

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/step"
)

// build reads and meshes a file as the program does by default; blank removes
// every name.
func build(t testing.TB, path string, blank bool) *product.Product {
	t.Helper()
	asm, err := step.ReadFile(context.Background(), path, step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if blank {
		for i := range asm.Parts {
			asm.Parts[i].Name = ""
		}
		for i := range asm.Occurrences {
			asm.Occurrences[i].Name = ""
		}
	}
	tol := geom.Tolerance{Chord: 0.05, Angle: 20 * math.Pi / 180}
	p, err := product.Build(context.Background(), asm, product.Options{Tol: tol})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// examine is build, then both stages.
func examine(t testing.TB, path string, blank bool) (*product.Product, []fastener.Fastener, []Hold, []Joint) {
	p := build(t, path, blank)
	fs := fastener.Find(context.Background(), p)
	hs, js := Find(context.Background(), p, fs)
	return p, fs, hs, js
}

// shared is a file of the shared folder.
func shared(t testing.TB, name string) string {
	t.Helper()
	dir := os.Getenv("STEPSCAN_SHARED")
	if dir == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	return filepath.Join(dir, name)
}

// listing says what was found, for people who read the test's log.
func listing(p *product.Product, fs []fastener.Fastener, hs []Hold, js []Joint) string {
	var b strings.Builder
	for i, f := range fs {
		h := hs[i]
		fmt.Fprintf(&b, "%-4s %-20s %-9s %-11s %-7s %-19s %s %s, L %g, at %.2f along %.2f, %.2f | passes %s, bites %s, mate %d, washers %v, captive %v, grip %g, engagement %g\n",
			f.ID, p.Name(f.Solids[0]), f.Kind, f.Head, f.Size, f.Designation, f.Drive, f.DriveSize, f.Length, f.Point, f.Axis.D, f.Confidence,
			names(p, h.Passes), names(p, h.Bites), h.Mate, h.Washers, h.CaptiveNut, h.Grip, h.Engagement)
		fmt.Fprintf(&b, "     %s | %s\n", strings.Join(f.Evidence, "; "), strings.Join(h.Evidence, "; "))
	}
	for _, j := range js {
		fmt.Fprintf(&b, "%s %s: %s %v\n", j.ID, j.Kind, j.Text, j.Fasteners)
	}
	return b.String()
}

func names(p *product.Product, solids []product.SolidIndex) []string {
	out := []string{}
	for _, s := range solids {
		out = append(out, p.Name(s))
	}
	return out
}

// The nut-and-bolt assembly from two systems: golden placements give points
// and axes, names (where there are any) give the kinds.
func TestNutsAndBoltsFromTwoSystems(t *testing.T) {
	for _, file := range []string{"as1-oc-214.stp", "as1-tu-203.stp"} {
		for _, blank := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s blank %v", file, blank), func(t *testing.T) {
				named := build(t, shared(t, "data/"+file), false)
				p, fs, hs, js := examine(t, shared(t, "data/"+file), blank)
				t.Log("\n" + listing(p, fs, hs, js))
				if len(p.Solids) != 18 {
					t.Fatalf("%d solids, want 18", len(p.Solids))
				}
				checkNutsAndBolts(t, named, fs, hs)
			})
		}
	}
}

func checkNutsAndBolts(t *testing.T, named *product.Product, fs []fastener.Fastener, hs []Hold) {
	count := map[fastener.Kind]int{}
	for i, f := range fs {
		count[f.Kind]++
		s := f.Solids[0]
		place := named.Solids[s].Place
		word := strings.ToLower(named.Part(s).Name)
		if word != string(f.Kind) {
			t.Errorf("%s: %s is found as %s", f.ID, named.Name(s), f.Kind)
			continue
		}
		if f.Size != "M10" {
			t.Errorf("%s: size %q, want M10", f.ID, f.Size)
		}
		h := hs[i]
		switch f.Kind {
		case fastener.Bolt: // drawn from the head's top at z = 0 down to z = 37
			near(t, f.ID+" point", f.Point, place.Point(mgl64.Vec3{}), 1e-3)
			near(t, f.ID+" axis", f.Axis.D, place.Dir(mgl64.Vec3{0, 0, -1}), 1e-4)
			if f.Drive != fastener.UnknownDrive || f.Length != 34 || len(h.Passes) != 2 || len(h.Bites) != 0 {
				t.Errorf("%s: drive %s, length %g, passes %d, bites %d", f.ID, f.Drive, f.Length, len(h.Passes), len(h.Bites))
			}
			if h.Mate < 0 || fs[h.Mate].Kind != fastener.Nut || hs[h.Mate].Mate != i {
				t.Errorf("%s has no nut", f.ID)
			} else if math.Abs(h.Grip-30) > 1e-3 {
				t.Errorf("%s: grip %g, want bracket 10 and plate 20", f.ID, h.Grip)
			}
		case fastener.Nut: // a plate 20 × 15 × 3 from the origin, bored in the middle
			mid := f.Axis.At((f.Back + f.Front) / 2)
			near(t, f.ID+" middle", mid, place.Point(mgl64.Vec3{10, 7.5, 1.5}), 1e-3)
			if f.Drive != fastener.Square || f.DriveSize != "15" || math.Abs(f.Bore-10) > 1e-3 || f.Symmetric {
				t.Errorf("%s: %s %s, bore %g, symmetric %v", f.ID, f.Drive, f.DriveSize, f.Bore, f.Symmetric)
			}
			if h.Mate >= 0 {
				near(t, f.ID+" axis", f.Axis.D, fs[h.Mate].Axis.D.Mul(-1), 1e-4)
			} else if len(h.Bites) != 1 || !strings.EqualFold(named.Part(h.Bites[0]).Name, "rod") || len(h.Passes) != 1 {
				t.Errorf("%s: sits on %v, bears on %v", f.ID, names(named, h.Bites), names(named, h.Passes))
			}
		}
	}
	if count[fastener.Bolt] != 6 || count[fastener.Nut] != 8 || len(fs) != 14 {
		t.Errorf("found %v, want 6 bolts and 8 nuts", count)
	}
}

func near(t *testing.T, what string, got, want mgl64.Vec3, tol float64) {
	t.Helper()
	if d := got.Sub(want).Len(); !(d <= tol) {
		t.Errorf("%s: %.4f, want %.4f", what, got, want)
	}
}

// truth is the ground truth beside a demo file.
type truth struct {
	Fasteners []struct {
		Path, Kind, Head, Size, Designation, Drive string
		DriveSize                                  string     `json:"drive_size"`
		Length                                     float64    `json:"length_mm"`
		Axis                                       mgl64.Vec3 `json:"axis"`
		Point                                      mgl64.Vec3 `json:"point_mm"`
		Passes, Bites                              []string
		Mate                                       string
	}
}

// Every fastener of the demo is found as its script made it, and nothing else
// is: capacitors, cell, window, gland and feet stand about for that.
func TestDemoMatchesItsScript(t *testing.T) {
	for _, rev := range []string{"logger-a", "logger-b"} {
		for _, blank := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s blank %v", rev, blank), func(t *testing.T) {
				file := "../../fixtures/" + rev + ".step"
				text, err := os.ReadFile("../../fixtures/" + rev + ".truth.json")
				if os.IsNotExist(err) {
					t.Skip("no " + rev + " in fixtures")
				}
				if err != nil {
					t.Fatal(err)
				}
				var want truth
				if err := json.Unmarshal(text, &want); err != nil {
					t.Fatal(err)
				}
				named := build(t, file, false)
				p, fs, hs, js := examine(t, file, blank)
				t.Log("\n" + listing(p, fs, hs, js))
				checkTruth(t, named, want, fs, hs)
			})
		}
	}
}

func checkTruth(t *testing.T, named *product.Product, want truth, fs []fastener.Fastener, hs []Hold) {
	at := map[string]int{}
	for i, f := range fs {
		at[named.Occ(f.Solids[0]).Path] = i
	}
	for _, w := range want.Fasteners {
		i, ok := at[w.Path]
		if !ok {
			t.Errorf("%s is not found", w.Path)
			continue
		}
		delete(at, w.Path)
		f, h := fs[i], hs[i]
		got := []any{string(f.Kind), f.Head, f.Size, f.Designation, string(f.Drive), f.DriveSize, f.Length}
		need := []any{w.Kind, w.Head, w.Size, w.Designation, w.Drive, w.DriveSize, w.Length}
		if !slices.Equal(got, need) {
			t.Errorf("%s: got %v, want %v", w.Path, got, need)
		}
		near(t, w.Path+" axis", f.Axis.D, w.Axis, 1e-6)
		near(t, w.Path+" point", f.Point, w.Point, 0.15) // the recess cuts the crown's top away
		if !slices.Equal(names(named, h.Passes), w.Passes) || !slices.Equal(names(named, h.Bites), w.Bites) {
			t.Errorf("%s: passes %v, want %v; bites %v, want %v", w.Path, names(named, h.Passes), w.Passes, names(named, h.Bites), w.Bites)
		}
		mate := ""
		if h.Mate >= 0 {
			mate = named.Name(fs[h.Mate].Solids[0])
		}
		if mate != w.Mate {
			t.Errorf("%s: mate %q, want %q", w.Path, mate, w.Mate)
		}
	}
	for path, i := range at {
		t.Errorf("%s is no fastener, found as %s: %q", path, fs[i].Kind, fs[i].Evidence)
	}
}

// Single purchased parts and products of other systems, with all names blanked.
// What they are was read off their names and shapes by hand; "" is no fastener.
func TestRealFilesWithoutNames(t *testing.T) {
	bolts := strings.Repeat("bolt M10 hex socket 8 L30,", 4) + strings.Repeat("nut M10 outer hex 17 L8,", 4) + strings.Repeat("washer M10 none  L2,", 4)
	tests := []struct{ file, want string }{
		{"products/recycler/02_05_00-cylinder_screw_M10x30-DIN912.step", "screw M10 hex socket 8 L30,"},
		{"products/recycler/02_06_00-nut_M10-DIN934.step", "nut M10 outer hex 17 L8,"},
		{"products/recycler/02_07_00-washer_M10-ISO7089.step", "washer M10 none  L2,"},
		{"products/recycler/02_00_00-extruder_unit.STEP", bolts},
		{"products/recycler/Extrudergruppe.step", bolts},
		{"products/recycler/02_01_01-screw.step", ""}, // an auger
		{"products/recycler/Klemmmechanismus Touch kpl..step", "pin 1.1 mm none  L4.1,screw M2 cross PH0 L5,"},
		{"products/ventilator/SCREW_M3_30 _box filter25032020.STEP", "screw M3 cross PH1 L30,"},
		{"products/ventilator/Pressure Valve V6.step", "washer M3 none  L0.8,screw M3 hex socket 2.5 L50,"},
		{"products/ventilator/Pressure Valve V3.step", ""}, // bearings, servo, a spacer ring
		{"products/trackball/Bearing Washer 0.7mm.step", ""},
		{"products/portable/reform2-oled-rev2.step", ""},   // a board with parts
		{"kernels/bolt.step", "bolt M8 outer hex 13 L30,"}, // helical thread below a shank of its own
		{"kernels/AeroAssembly.step", ""},
		{"kernels/linkrods.step", ""},
		{"caxif/dm1-id-214.stp", strings.Repeat("bolt M10 unknown  L37,", 3) + strings.Repeat("nut M10 square 15 L3,", 3)},
		{"electronics/BatteryHolder_Keystone_2468_2xAAA.step", ""},
		{"electronics/Heatsink_125x35x50mm_3xFixationM3.step", ""},
		{"electronics/Mounting_Wuerth_WA-SMSE-ExternalM3_H10mm_9771100360.step", "stand-off M3 none  L10,"},
		{"nist/nist_ftc_11_asme1_rb.stp", ""},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			p, fs, hs, js := examine(t, shared(t, "data/"+tt.file), true)
			got := ""
			for _, f := range fs {
				got += fmt.Sprintf("%s %s %s %s L%g,", f.Kind, f.Size, f.Drive, f.DriveSize, f.Length)
			}
			if got != tt.want {
				t.Errorf("got %q, want %q\n%s", got, tt.want, listing(p, fs, hs, js))
			}
		})
	}
}
