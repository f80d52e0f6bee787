package joint_test

import (
	"context"
	"fmt"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/fastener/fastenertest"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/geom"
)

// A lid with a clearance hole on a base with a tapped one.
func ExampleFind() {
	down := func(z float64) geom.Transform {
		t := geom.Identity()
		t.T = mgl64.Vec3{0, 0, -z}
		return t
	}
	parts := []product.Part{
		fastenertest.Screw(4, 12, fastenertest.Barrel(7, 4), fastenertest.HexPocket(3), 2),
		fastenertest.Tube(30, 3, 4.5),
		fastenertest.Tube(30, 12, 3.3),
	}
	p := fastenertest.Assemble(parts,
		fastenertest.Placed{Part: 0, At: geom.Identity(), Name: "screw"},
		fastenertest.Placed{Part: 1, At: down(3), Name: "lid"},
		fastenertest.Placed{Part: 2, At: down(15), Name: "base"})
	fs := fastener.Find(context.Background(), p)
	holds, joints := joint.Find(context.Background(), p, fs)
	for _, e := range holds[0].Evidence {
		fmt.Println(e)
	}
	fmt.Printf("clamps %g mm, engages %g mm\n", holds[0].Grip, holds[0].Engagement)
	fmt.Println(joints[0].Text)
	// Output:
	// passes lid: hole Ø4.5
	// bites base: hole Ø3.3 over 9 mm
	// clamps 3 mm, engages 9 mm
	// lid on base by 1 screw
}
