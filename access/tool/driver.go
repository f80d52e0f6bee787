package tool

import (
	"math"

	"stepscan/access/fastener"
)

// tipRadius is half the width of the tool's tip, mm, where it enters the
// recess.
func tipRadius(d fastener.Drive, size string) float64 {
	switch d {
	case fastener.HexSocket:
		s, _ := width(size)
		return s / sqrt3
	case fastener.Hexalobular, fastener.PinHexalobular:
		tip, _ := lobeTip(size)
		return tip / 2
	case fastener.Slot:
		_, wide, _ := slotBlade(size)
		return wide / 2
	}
	b, _ := bladeFor(d, size) // a cross tip grows to its blade
	return b.diameter / 2
}

// label is how people write a drive's size on a tool.
func label(d fastener.Drive, size string) string {
	switch d {
	case fastener.HexSocket:
		return "hex " + size
	case fastener.Slot:
		return "slot " + size
	case fastener.PinHexalobular:
		return size + " with bore"
	}
	return size
}

// Above these the 1/4 in hexagon is too weak and bits sit in a socket; at or
// below the small ones they are 4 mm bits of a pencil driver (common practice).
const (
	quarterInchTipR = 5.0 // mm: up to hex 8, T50
	microTipR       = 0.8 // mm: up to hex 1.3, T5
)

// bitDriver is a bit in whatever usually drives it.
func bitDriver(d fastener.Drive, size string, tip float64) Tool {
	l := label(d, size)
	switch {
	case tip > quarterInchTipR:
		return bitSocket(l, tip)
	case tip <= microTipR:
		return Tool{
			Name: "micro bit " + l + " in pencil driver", Source: microSource,
			Sections: []Section{
				{0, bitFrom, tip, "bit"},
				{bitFrom, microBitTo, max(tip, microBitR), "bit"},
				{microBitTo, microBitTo + pencilLen, pencilR, "driver body"},
			},
		}
	}
	return Tool{
		Name: "bit " + l + " in 1/4 in holder", Source: bitSource,
		Sections: []Section{
			{0, bitFrom, tip, "bit"},
			{bitFrom, bitTo, max(tip, bitR), "bit"},
			{bitTo, bitTo + holderLen, max(tip, holderR), "holder"},
			{bitTo + holderLen, bitTo + holderLen + bodyLen, bodyR, "driver body"},
		},
	}
}

// bitSocket is a large bit in a 1/2 in socket on extension and ratchet. 35 mm
// of bit stand free and the socket is 24 mm thick: common practice.
func bitSocket(l string, tip float64) Tool {
	const free, socketR = 35.0, 12.0
	sd := &socketDrives[2]
	t := Tool{
		Name: "bit " + l + " in 1/2 in socket with extension and ratchet", Source: socketSource,
		Sections: []Section{{0, free, tip, "bit"}, {free, free + sd.length, max(tip, socketR), "socket"}},
	}
	return withRatchet(t, sd, free+sd.length)
}

// bladeFor is the screwdriver of a size: the same size, or the next larger of
// its kind; false above the largest.
func bladeFor(d fastener.Drive, size string) (blade, bool) {
	if d == fastener.PinHexalobular { // bored ones are made in the same sizes: common practice
		d = fastener.Hexalobular
	}
	want := rank(d, size)
	for _, b := range blades {
		if b.tool == string(d) && rank(d, b.size) >= want {
			return b, true
		}
	}
	return blade{}, false
}

// rank orders the sizes of one drive.
func rank(d fastener.Drive, size string) float64 {
	switch d {
	case fastener.Cross:
		n, _ := crossNumber(size)
		if n == "00" || n == "000" {
			return -1
		}
		v, _ := width("1" + n) // "0" is a number of a size, no width
		return v
	case fastener.Hexalobular, fastener.PinHexalobular:
		v, _ := lobeTip(size)
		return v
	case fastener.Slot:
		_, wide, _ := slotBlade(size)
		return wide
	}
	v, _ := width(size)
	return v
}

// screwdriver is a fixed one: the fist holds the upper half of the handle,
// the palm behind it.
func screwdriver(d fastener.Drive, size string, tip, depth float64, b blade) Tool {
	r := math.Max(tip, b.diameter/2)
	blade := math.Max(1, b.length-depth) // what stands out of the recess
	grip := blade + b.handleL/2
	return Tool{
		Name: "screwdriver " + label(d, size), Source: bladeSource,
		Sections: []Section{
			{0, blade, r, "blade"},
			{blade, grip, b.handleD / 2, "handle"},
			{grip, blade + b.handleL, fistR, "hand"},
		},
	}
}
