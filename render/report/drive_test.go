package report

import (
	"testing"

	"stepscan/access"
)

func TestDriveWords(t *testing.T) {
	for _, c := range []struct {
		f    access.Fastener
		want string
	}{
		{access.Fastener{Drive: "cross", DriveSize: "PZ2"}, "cross PZ2"},
		{access.Fastener{Drive: "none"}, "none"},
		{access.Fastener{Drive: "hexalobular", DriveSize: "T20", DriveBore: true}, "hexalobular T20 with pin"},
		{access.Fastener{Drive: "outer hex", DriveSize: "10", DriveAlso: []access.Grip{{Drive: "slot", DriveSize: "1.6x10"}}}, "outer hex 10 or slot 1.6x10"},
	} {
		if got := DriveWords(&c.f); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
