package tool

import (
	"math"
	"strconv"

	"stepscan/access/fastener"
)

const handSource = "common practice; hand about pliers: radius 57 mm, half an opening of 114 mm, NASA-STD-3000 12.3.1.2 from memory"

// pliersHandR is half the narrower side of the opening for a hand that uses
// pliers, 132 mm by 114 mm (NASA-STD-3000 12.3.1.2, from memory).
const pliersHandR = 57.0

// pinTools push a pin out from its far end, or pull at what stands out of it. A
// split pin is pulled by its eye.
func pinTools(f *fastener.Fastener) []Tool {
	if f.Head == "split" {
		return []Tool{pull(f)}
	}
	return []Tool{punch(f), pull(f)}
}

// punch is a pin punch, a little thinner than the pin, long enough to push it
// right through, in a hand. Its shank and grip are common practice.
func punch(f *fastener.Fastener) Tool {
	const gripR, gripLen = 6.0, 80.0
	shank := math.Max(40, f.Length+10)
	return Tool{
		Name: "pin punch " + mm(f.Nominal), Source: "common practice", FarEnd: true,
		Sections: []Section{
			{0, shank, 0.45 * f.Nominal, "punch"},
			{shank, shank + gripLen/2, gripR, "grip"},
			{shank + gripLen/2, shank + gripLen, fistR, "hand"},
		},
	}
}

// pull is a pair of pliers closed about the last 3 mm of the pin (or a third
// of a shorter one), their jaws 4 mm thick about it: common practice.
func pull(f *fastener.Fastener) Tool {
	grip := math.Min(3, f.Length/3)
	r := f.Nominal/2 + 4
	return Tool{
		Name: "pliers", Source: handSource,
		Sections: []Section{{-grip, 50, r, "jaws"}, {50, 200, pliersHandR, "hand"}},
	}
}

// drill takes a rivet's head off: it destroys the rivet. Chuck and body are
// common practice.
func drill(f *fastener.Fastener) Tool {
	const chuckR, chuckLen, free = 20.0, 45.0, 40.0
	return Tool{
		Name: "drill " + mm(f.Nominal) + " (destroys the rivet)", Source: "common practice",
		Sections: []Section{
			{0, free, math.Max(f.Nominal/2, 0.5), "drill"},
			{free, free + chuckLen, chuckR, "chuck"},
			{free + chuckLen, free + chuckLen + bodyLen, bodyR, "driver body"},
		},
	}
}

func mm(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'g', -1, 64) + " mm" }
