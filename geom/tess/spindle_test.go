package tess

import (
	"context"
	"math"
	"testing"

	"stepscan/geom"
)

// A torus that meets itself, as one face without loops, is its outside, the
// apple: by Pappus twice the volume that the circle's outer segment sweeps.
func TestWholeTorusThatMeetsItselfIsItsOutside(t *testing.T) {
	const major, minor = 5.0, 8.0
	m := newMaker(t)
	m.face(m.torus(major, minor), true)
	out, faults := meshOne(context.Background(), m.b, geom.Tolerance{Chord: 0.005, Angle: 0.1})
	if len(faults) != 0 || !out.IsClosed() {
		t.Fatalf("closed %v, faults %v", out.IsClosed(), faults)
	}
	half := math.Sqrt(minor*minor - major*major) // of its height on the axis
	// 2π ∫ ρ·2z dρ from 0 to R+r, with ρ = R + r cos v, z = r sin v
	angle := math.Acos(-major / minor)
	want := 2 * math.Pi * (major*(minor*minor*angle+major*half) + 2.0/3*half*half*half)
	if got := out.Volume(); math.Abs(got-want) > 0.002*want {
		t.Errorf("volume %.6g mm³, want %.6g", got, want)
	}
}
