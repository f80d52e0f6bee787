package reach

import (
	"fmt"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
)

// field is n by n screws on a base, all under a lid that four of its own hold.
func field(n int) *kit {
	k := newKit()
	half := 10*float64(n) + 20
	base := k.part("base", box(-half, -half, -30, half, half, -3))
	lid := k.part("lid", box(-half, -half, 10, half, half, 14))
	for i := range n {
		for j := range n {
			k.screw(mgl64.Vec3{20*float64(i) - half + 30, 20*float64(j) - half + 30, 0}, up, 10, nil, solids{base})
		}
	}
	for _, x := range []float64{-half + 5, half - 5} {
		for _, y := range []float64{-half + 5, half - 5} {
			k.screw(mgl64.Vec3{x, y, 17}, up, 30, solids{lid}, solids{base})
		}
	}
	return k
}

func BenchmarkJudge(b *testing.B) {
	for _, n := range []int{4, 8, 16, 32} {
		k := field(n)
		tri := 0
		for i := range k.p.Solids {
			tri += len(k.p.Parts[i].Mesh.Triangles)
		}
		b.Run(fmt.Sprintf("screws=%d,triangles=%d", len(k.fs), tri), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if r := k.judge(nil); r.Sides[0].Clear != 4 || r.Sides[0].After != n*n {
					b.Fatalf("%+v", r.Sides[0])
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(k.fs)), "ns/screw")
		})
	}
}

// loose is a board with n by n parts that nothing holds, in a box whose lid
// four screws hold.
func loose(n int) *kit {
	half := 10*float64(n) + 20
	k := newKit()
	base := k.part("base", box(-half, -half, -30, half, half, -3))
	lid := k.part("lid", box(-half, -half, 10, half, half, 14))
	for i := range n {
		for j := range n {
			x, y := 20*float64(i)-half+30, 20*float64(j)-half+30
			k.part("part", box(x-5, y-5, -3, x+5, y+5, 5))
		}
	}
	k.screw(mgl64.Vec3{-half + 5, 0, 17}, up, 30, solids{lid}, solids{base})
	k.screw(mgl64.Vec3{half - 5, 0, -33}, down, 10, nil, solids{base})
	return k
}

func BenchmarkLift(b *testing.B) {
	for _, n := range []int{8, 16, 32, 45} {
		k := loose(n)
		b.Run(fmt.Sprintf("parts=%d", len(k.p.Solids)), func(b *testing.B) {
			for b.Loop() {
				if r := k.judge(nil); r.Sides[0].Clear != 1 {
					b.Fatalf("%+v", r.Sides[0])
				}
			}
		})
	}
}
