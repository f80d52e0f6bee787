package table

import (
	"embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"sync"
)

//go:embed *.csv
var files embed.FS

// Thread is a thread of a standard series; lengths in mm.
type Thread struct {
	Series, Size string
	D, Pitch     float64 // major diameter; pitch (0 unknown)
	D2, D3       float64 // pitch and minor diameter of the screw
	D1           float64 // minor diameter of the nut
	Tap          float64 // drill, 0 where not tabulated
	Fine, Coarse float64 // ISO 273 clearance holes, 0 where not tabulated
	Medium       float64
	Source       string
}

// Metric reports the metric coarse series.
func (t Thread) Metric() bool { return t.Series == "metric coarse" }

// FinePitch reports the metric fine series, whose designation has the pitch
// ("M8×1").
func (t Thread) FinePitch() bool { return t.Series == "metric fine" }

// Tapping reports the threads of ISO 1478.
func (t Thread) Tapping() bool { return t.Series == "tapping" }

// Head is one size of one headed or set screw; lengths in mm, 0 where the
// standard or our source gives none.
type Head struct {
	Standard, Size   string
	D, Pitch         float64
	Head             string // words of fastener.Fastener.Head; "none" for set screws
	DkMax, DkMin     float64
	DkSharp          float64 // theoretical diameter of a countersunk head, where its cone meets the top in an edge
	KMax, KMin       float64
	S                float64 // across flats of socket or hexagon
	Drive, DriveSize string  // words of fastener.Drive
	DepthMin, SlotN  float64
	Source           string
}

// Nut is one size of one nut; lengths in mm.
type Nut struct {
	Standard, Size string
	D, Pitch, S    float64 // S is the width across flats, of a tee nut that of its slot
	MMax, MMin     float64 // height; MMin 0 where not tabulated
	Head           string  // words of fastener.Fastener.Head; "" for the usual hexagon
	Source         string
}

// Washer is one size of one washer; lengths in mm.
type Washer struct {
	Standard, Size string
	D1, D2, H      float64
	Head           string // words of fastener.Fastener.Head; "" for a plain ring
	Source         string
}

// Ring is one row of rings.csv: a retaining ring of flat sheet for a groove.
type Ring struct {
	Standard string
	// D1 names the ring: the shaft (DIN 471), the bore (DIN 472), or the
	// groove's floor (DIN 6799), mm.
	D1, S float64 // S is its thickness
	// Free is the diameter that the ring has when nothing holds it, mm: the
	// inner one of DIN 471, the outer ones of DIN 472 and DIN 6799. Groove is
	// the diameter of the groove's floor, which the edge lies on when mounted.
	Free, Groove float64
	Opening      float64 // mm, of DIN 6799; 0 for the others
	Source       string
}

// Lobe is a hexalobular socket: A over the lobes, B between them, mm.
type Lobe struct {
	Number string
	A, B   float64 // B is 0 where not tabulated
	Source string
}

// Threads, Heads, Nuts, Washers and Lobes are the whole tables in their order;
// they are shared, so do not write to them.
var (
	Threads = sync.OnceValue(func() []Thread { return read("threads.csv", thread) })
	Heads   = sync.OnceValue(func() []Head { return read("heads.csv", head) })
	Nuts    = sync.OnceValue(func() []Nut { return read("nuts.csv", nut) })
	Washers = sync.OnceValue(func() []Washer { return read("washers.csv", washer) })
	Lobes   = sync.OnceValue(func() []Lobe { return read("hexalobular.csv", lobe) })
	Rings   = sync.OnceValue(func() []Ring { return read("rings.csv", ring) })
)

// row gives the cells of one line by turns; a missing number is 0.
type row struct {
	cells []string
	next  int
	err   error
}

func (r *row) text() string {
	r.next++
	return r.cells[r.next-1]
}

func (r *row) mm() float64 {
	s := r.text()
	if s == "" {
		return 0
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil && r.err == nil {
		r.err = err
	}
	return v
}

// read decodes one embedded file. The files are part of the program, so a
// fault in them is a fault of ours and the tests meet it first.
func read[T any](name string, decode func(*row) T) []T {
	f, err := files.Open(name)
	if err != nil {
		panic(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		panic(fmt.Errorf("%s: %w", name, err))
	}
	out := make([]T, 0, len(lines))
	for i, cells := range lines[1:] {
		r := row{cells: cells}
		out = append(out, decode(&r))
		if r.err != nil {
			panic(fmt.Errorf("%s line %d: %w", name, i+2, r.err))
		}
	}
	return out
}

func thread(r *row) Thread {
	return Thread{
		Series: r.text(), Size: r.text(), D: r.mm(), Pitch: r.mm(), D2: r.mm(), D3: r.mm(), D1: r.mm(),
		Tap: r.mm(), Fine: r.mm(), Medium: r.mm(), Coarse: r.mm(), Source: r.text(),
	}
}

func head(r *row) Head {
	return Head{
		Standard: r.text(), Size: r.text(), D: r.mm(), Pitch: r.mm(), Head: r.text(),
		DkMax: r.mm(), DkMin: r.mm(), DkSharp: r.mm(), KMax: r.mm(), KMin: r.mm(), S: r.mm(),
		Drive: r.text(), DriveSize: r.text(), DepthMin: r.mm(), SlotN: r.mm(), Source: r.text(),
	}
}

func nut(r *row) Nut {
	return Nut{
		Standard: r.text(), Size: r.text(), D: r.mm(), Pitch: r.mm(), S: r.mm(),
		MMax: r.mm(), MMin: r.mm(), Head: r.text(), Source: r.text(),
	}
}

func washer(r *row) Washer {
	return Washer{Standard: r.text(), Size: r.text(), D1: r.mm(), D2: r.mm(), H: r.mm(), Head: r.text(), Source: r.text()}
}

func lobe(r *row) Lobe {
	return Lobe{Number: r.text(), A: r.mm(), B: r.mm(), Source: r.text()}
}

func ring(r *row) Ring {
	return Ring{
		Standard: r.text(), D1: r.mm(), S: r.mm(), Free: r.mm(), Groove: r.mm(), Opening: r.mm(), Source: r.text(),
	}
}
