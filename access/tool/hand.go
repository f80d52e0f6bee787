package tool

import (
	"math"
	"strings"

	"stepscan/access/fastener"
)

// handHead reports a head that is made for fingers.
func handHead(head string) bool {
	switch head {
	case "knurled", "wing", "eye":
		return true
	}
	return false
}

// byHand reports what is turned without a tool: a head or nut made for fingers
// that offers no other grip.
func byHand(f *fastener.Fastener) bool {
	return handHead(strings.TrimSpace(f.Head)) && len(f.Ways()) == 0
}

// How far fingers stand about what they turn, mm: common practice.
const (
	fingerT  = 15.0 // a finger's thickness beside the head
	handFrom = 40.0 // above the head's top the hand begins
	handTo   = 110.0
)

const fingersSource = "common practice (fingers); hand: radius 50 mm, NASA-STD-3000 12.3.1.2 from memory"

// fingers grip a knurled head, wings or an eye from the front: about the whole
// head, with the hand behind them. They turn it a bit at a time, so no arm needs
// to swing round.
func fingers(f *fastener.Fastener) Tool {
	r := math.Max(f.HeadD, f.Nominal)/2 + fingerT
	down := math.Max(f.HeadH, 0.5)
	return Tool{
		Name: "fingers", Source: fingersSource,
		Sections: []Section{
			{-down / 2, handFrom, r, "fingers"}, {handFrom, handTo, math.Max(r, fistR), "hand"},
		},
	}
}
