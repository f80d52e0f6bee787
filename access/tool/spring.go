package tool

import (
	"math"

	"stepscan/access/fastener"
)

// Tools for what holds by its spring: rings, clips and ties. Their shapes are
// common practice; the hand about them as with other pliers.

// noseLen is how far the jaws of such pliers reach before the hand, mm.
const noseLen = 50.0

// ringPliers open a ring on a shaft, close one in a bore, or pull an E ring off
// its groove. Those for bores go in through the bore, and so are narrower than
// it; an E ring is gripped at its rim, by jaws that need room beside it.
func ringPliers(f *fastener.Fastener) Tool {
	name, r := "ring pliers", math.Max(8, f.Nominal/2+3)
	switch f.Head {
	case "shaft":
		name = "ring pliers for shafts"
		r = math.Max(r, f.HeadD/2)
	case "bore":
		name, r = "ring pliers for bores", 0.45*f.Nominal
	case "E":
		name, r = "needle-nose pliers", 3
	}
	return pliers(name, 0, r)
}

// clipTools: a clip with a head is levered out from under it, any other is
// pulled off.
func clipTools(f *fastener.Fastener) []Tool {
	if f.HeadD == 0 {
		return []Tool{pliers("pliers", 0, math.Max(5, f.Nominal/2+2))}
	}
	const fork, forkLen = 5.0, 120.0 // beyond the head on either side; to the hand
	return []Tool{{
		Name: "trim lever", Source: "common practice",
		Sections: []Section{{-f.HeadH, forkLen, f.HeadD/2 + fork, "fork"}, {forkLen, forkLen + 80, fistR, "hand"}},
	}}
}

// cutters cut the strap of a tie beside its block, which destroys it.
func cutters(f *fastener.Fastener) Tool {
	return pliers("side cutters (destroys the tie)", 0, 8)
}

// pliers of any kind: jaws of radius r about the axis from a height up, then the
// hand.
func pliers(name string, from, r float64) Tool {
	return Tool{
		Name: name, Source: handSource,
		Sections: []Section{{from, noseLen, r, "jaws"}, {noseLen, 200, math.Max(r, pliersHandR), "hand"}},
	}
}
