package access

import (
	"slices"
	"testing"

	"stepscan/access/fastener"
)

// TestKindsOfTheContract: whatever is recognised is reported as one of the kinds
// that the published contract lists.
func TestKindsOfTheContract(t *testing.T) {
	contract := []string{"screw", "bolt", "nut", "washer", "stud", "set screw", "pin", "rivet", "ring", "insert", "clip"}
	for _, k := range []fastener.Kind{
		fastener.Screw, fastener.Bolt, fastener.Nut, fastener.Washer, fastener.Stud, fastener.SetScrew,
		fastener.Pin, fastener.Rivet, fastener.Ring, fastener.Insert, fastener.Clip, fastener.StandOff, fastener.CableTie,
	} {
		kind, head := kindAndHead(&fastener.Fastener{Kind: k, Head: "pan"})
		if !slices.Contains(contract, kind) {
			t.Errorf("%s is reported as %q, which is no kind of the contract", k, kind)
		}
		want := "pan"
		if k == fastener.StandOff || k == fastener.CableTie {
			want = string(k)
		}
		if head != want {
			t.Errorf("%s: head %q, want %q", k, head, want)
		}
	}
}
