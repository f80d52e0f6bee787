package access

import (
	"slices"
	"testing"

	"stepscan/access/fastener"
)

// TestDrivesOfTheContract: every drive is reported in a word of the published
// contract, a combination by its best grip with the others beside it.
func TestDrivesOfTheContract(t *testing.T) {
	contract := []string{"hex socket", "hexalobular", "cross", "slot", "outer hex", "square", "none", "unknown"}
	for _, d := range []fastener.Drive{
		fastener.HexSocket, fastener.Hexalobular, fastener.Cross, fastener.Slot, fastener.OuterHex, fastener.Square,
		fastener.NoDrive, fastener.UnknownDrive, fastener.Combination, fastener.PinHexalobular,
	} {
		f := fastener.Fastener{Drive: d, DriveSize: "T20"}
		var want []Grip
		if d == fastener.Combination {
			f.DriveSize = "10 + T20 + 1x5.5"
			f.Grips = []fastener.Grip{{Drive: fastener.OuterHex, Size: "10"}, {Drive: fastener.PinHexalobular, Size: "T20"}, {Drive: fastener.Slot, Size: "1x5.5"}}
			want = []Grip{{"hexalobular", "T20"}, {"slot", "1x5.5"}}
		}
		best, also := driveOf(&f)
		if !slices.Contains(contract, best.Drive) {
			t.Errorf("%s is reported as %q, which is no drive of the contract", d, best.Drive)
		}
		if !slices.Equal(also, want) {
			t.Errorf("%s: also %v, want %v", d, also, want)
		}
		switch d {
		case fastener.Combination:
			if best != (Grip{"outer hex", "10"}) {
				t.Errorf("the best grip of %q is reported as %v", f.DriveSize, best)
			}
		case fastener.PinHexalobular:
			if best != (Grip{"hexalobular", "T20"}) {
				t.Errorf("with a pin: %v", best)
			}
		default:
			if best.Drive != string(d) {
				t.Errorf("%s is reported as %s", d, best.Drive)
			}
		}
	}
	if best, _ := driveOf(&fastener.Fastener{Drive: fastener.Combination, DriveSize: "?"}); !slices.Contains(contract, best.Drive) {
		t.Errorf("a combination without grips is reported as %q", best.Drive)
	}
}

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
