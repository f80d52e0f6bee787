package tool

import (
	"math"
	"strconv"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
)

// keys are the two ways to hold an angled key. The free arm's hand is not part
// of the solid: it holds the arm's end, wherever there is room.
func keys(size string, depth float64) []Tool {
	s, _ := width(size)
	k := nearestKey(s)
	name := "hex key " + strconv.FormatFloat(k.s, 'g', -1, 64)
	return []Tool{
		key(name+", long arm in the screw", Along, k, k.long, k.short, depth),
		key(name+", short arm in the screw", Across, k, k.short, k.long, depth),
	}
}

// lobeKeys are angled keys with a bore in their tip: common practice, their arms
// as long as those of the hexagon key with the same corners.
func lobeKeys(size string, tip, depth float64) []Tool {
	k := nearestKey(tip * sqrt3)
	k.corner = max(k.corner, 2*tip)
	name := "key " + label(fastener.PinHexalobular, size)
	out := []Tool{
		key(name+", long arm in the screw", Along, k, k.long, k.short, depth),
		key(name+", short arm in the screw", Across, k, k.short, k.long, depth),
	}
	for i := range out {
		out[i].Source = "common practice (arms of ISO 2936:2014)"
	}
	return out
}

func nearestKey(s float64) hexKey {
	best := hexKeys[0]
	for _, k := range hexKeys {
		if math.Abs(k.s-s) < math.Abs(best.s-s) {
			best = k
		}
	}
	return best
}

// key stands with one arm in the screw and swings the other. Arms are measured
// over all, so the swinging one lies within the standing one's length. A key
// in a well is lifted by its whole arm.
func key(name string, entry Entry, k hexKey, stands, swings, depth float64) Tool {
	top := math.Max(stands-depth, k.s)
	return Tool{
		Name: name, Source: keySource, Entry: entry, Lift: stands,
		Sections: []Section{{0, top, k.corner / 2, "arm in the screw"}},
		Swing: &Swing{
			From: top - k.s, To: top, R: swings, HalfW: k.corner / 2, Arc: mgl64.DegToRad(keySwing), Name: "free arm",
		},
	}
}
