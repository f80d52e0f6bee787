package geom

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
)

func TestFrameValid(t *testing.T) {
	good, err := NewFrame(mgl64.Vec3{1, 2, 3}, mgl64.Vec3{1, 1, 1}, mgl64.Vec3{1, 0, 0})
	if err != nil || !good.Valid() || !World().Valid() {
		t.Errorf("made frames are not valid: %v, %v", good, err)
	}
	mirrored, long, nowhere := good, good, good
	mirrored.Y = mirrored.Y.Mul(-1)
	long.X = long.X.Mul(1.01)
	nowhere.O[1] = math.NaN()
	for name, f := range map[string]Frame{"zero": {}, "mirrored": mirrored, "stretched": long, "from NaN": nowhere} {
		if f.Valid() {
			t.Errorf("%s frame is valid", name)
		}
	}
}

// A hint for x that is nearly along z must not leave the frame askew.
func TestNewFrameFromPoorHint(t *testing.T) {
	z := mgl64.Vec3{0.3, -0.5, 0.8}
	for _, e := range []float64{1e-3, 1e-6, 1e-9, 1e-11, 0} {
		f, err := NewFrame(mgl64.Vec3{}, z, z.Add(mgl64.Vec3{e, 2 * e, 0}))
		if err != nil || !f.Transform().IsRigid() {
			t.Errorf("hint %g off z: %+v, %v", e, f, err)
		}
	}
}
