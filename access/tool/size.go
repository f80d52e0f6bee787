package tool

import (
	"math"
	"strconv"
	"strings"

	"stepscan/access/fastener"
)

// usual is a thread's nominal diameter with the size of drive it usually has.
type usual struct {
	nominal float64 // mm
	size    string
}

// The usual drive of a thread where the model does not show it.
var (
	usualHexSocket = []usual{ // ISO 4762, table 1
		{1.6, "1.5"}, {2, "1.5"}, {2.5, "2"}, {3, "2.5"}, {4, "3"}, {5, "4"}, {6, "5"}, {8, "6"},
		{10, "8"}, {12, "10"}, {14, "12"}, {16, "14"}, {20, "17"},
	}
	usualSetScrew = []usual{ // ISO 4026
		{1.6, "0.7"}, {2, "0.9"}, {2.5, "1.3"}, {3, "1.5"}, {4, "2"}, {5, "2.5"}, {6, "3"}, {8, "4"},
		{10, "5"}, {12, "6"}, {16, "8"}, {20, "10"},
	}
	usualHexalobular = []usual{ // ISO 14583, ISO 14579
		{2, "T6"}, {2.5, "T8"}, {3, "T10"}, {3.5, "T15"}, {4, "T20"}, {5, "T25"}, {6, "T30"},
		{8, "T45"}, {10, "T50"}, {12, "T55"}, {14, "T60"}, {16, "T70"}, {20, "T90"},
	}
	usualCross = []usual{ // ISO 7045
		{1.6, "PH0"}, {2, "PH0"}, {2.5, "PH1"}, {3, "PH1"}, {3.5, "PH2"}, {4, "PH2"}, {5, "PH2"},
		{6, "PH3"}, {8, "PH4"}, {10, "PH4"},
	}
	usualSlot = []usual{ // blades of ISO 2380-1 for the slots of ISO 1207
		{1.6, "0.4x2.5"}, {2, "0.5x3"}, {2.5, "0.6x3.5"}, {3, "0.8x4"}, {4, "1x5.5"}, {5, "1.2x6.5"},
		{6, "1.6x10"}, {8, "2x12"},
	}
	usualOuterHex = []usual{ // ISO 4014, ISO 4032: widths of ISO 272
		{1.6, "3.2"}, {2, "4"}, {2.5, "5"}, {3, "5.5"}, {4, "7"}, {5, "8"}, {6, "10"}, {8, "13"},
		{10, "16"}, {12, "18"}, {14, "21"}, {16, "24"}, {20, "30"},
	}
)

// pick is the entry nearest to a nominal diameter.
func pick(table []usual, nominal float64) string {
	best := 0
	for i := range table {
		if math.Abs(table[i].nominal-nominal) < math.Abs(table[best].nominal-nominal) {
			best = i
		}
	}
	return table[best].size
}

// usualDrive is what a fastener without a modelled drive most likely has: a
// round head is not gripped from outside.
func usualDrive(f *fastener.Fastener) fastener.Drive {
	switch {
	case f.Kind == fastener.Nut || strings.HasPrefix(f.Head, "hex") || f.Kind == fastener.Bolt && f.Head == "":
		return fastener.OuterHex
	case f.Kind == fastener.SetScrew || f.Kind == fastener.Bolt ||
		strings.HasPrefix(f.Head, "cyl") || strings.HasPrefix(f.Head, "button"):
		return fastener.HexSocket
	default:
		return fastener.Cross
	}
}

// usualSize is the drive size that the thread usually goes with.
func usualSize(f *fastener.Fastener, d fastener.Drive) string {
	switch {
	case d == fastener.HexSocket && f.Kind == fastener.SetScrew:
		return pick(usualSetScrew, f.Nominal)
	case d == fastener.HexSocket:
		return pick(usualHexSocket, f.Nominal)
	case d == fastener.Hexalobular || d == fastener.PinHexalobular:
		return pick(usualHexalobular, f.Nominal)
	case d == fastener.Slot:
		return pick(usualSlot, f.Nominal)
	case d == fastener.OuterHex || d == fastener.Square:
		return pick(usualOuterHex, f.Nominal)
	default:
		return pick(usualCross, f.Nominal)
	}
}

// width reads a size in mm across flats; false where it is none.
func width(size string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(size, "mm")), 64)
	return v, err == nil && v > 0 && v < 1000
}

// crossNumber reads "PH2", "PZ2" or "2".
func crossNumber(size string) (string, bool) {
	n := strings.TrimLeft(strings.ToUpper(size), "PHZ ")
	switch {
	case n == "00" || n == "000":
		return n, true
	case len(n) == 1 && n >= "0" && n <= "4":
		return n, true
	}
	return "", false
}

// slotBlade reads "0.8x4": thickness and width of the blade, mm.
func slotBlade(size string) (thick, wide float64, ok bool) {
	a, b, found := strings.Cut(strings.ReplaceAll(size, "×", "x"), "x")
	thick, ok1 := width(a)
	wide, ok2 := width(b)
	return thick, wide, found && ok1 && ok2
}

// known reports whether a drive's size can be read.
func known(d fastener.Drive, size string) bool {
	ok := false
	switch d {
	case fastener.HexSocket, fastener.OuterHex, fastener.Square:
		_, ok = width(size)
	case fastener.Hexalobular, fastener.PinHexalobular:
		_, ok = lobeTip(size)
	case fastener.Cross:
		_, ok = crossNumber(size)
	case fastener.Slot:
		_, _, ok = slotBlade(size)
	}
	return ok
}

func lobeTip(number string) (float64, bool) {
	for _, l := range lobes {
		if l.number == number {
			return l.tip, true
		}
	}
	return 0, false
}
