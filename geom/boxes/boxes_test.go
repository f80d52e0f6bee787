package boxes_test

import (
	"slices"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/boxes"
)

// drawBoxes are boxes on a coarse grid, so that many share a face, an edge or a
// place; some are empty.
func drawBoxes(t *rapid.T, label string) []geom.Box {
	num := rapid.IntRange(-6, 6)
	all := make([]geom.Box, rapid.IntRange(0, 60).Draw(t, label))
	for i := range all {
		all[i] = geom.EmptyBox()
		for range rapid.IntRange(0, 2).Draw(t, "corners") {
			all[i] = all[i].Add(mgl64.Vec3{float64(num.Draw(t, "x")), float64(num.Draw(t, "y")), float64(num.Draw(t, "z"))})
		}
	}
	return all
}

// meets is the slow version of one question.
func meets(a, b geom.Box) bool { return !a.IsEmpty() && !b.IsEmpty() && a.Overlaps(b) }

func TestWithinMatchesBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := drawBoxes(t, "boxes")
		for _, q := range drawBoxes(t, "questions") {
			var got, want []int32
			boxes.New(all).Within(q, func(i int32) bool {
				got = append(got, i)
				return true
			})
			for i := range all {
				if meets(all[i], q) {
					want = append(want, int32(i))
				}
			}
			if slices.Sort(got); !slices.Equal(got, want) {
				t.Fatalf("%v meets %v, brute force says %v", q, got, want)
			}
		}
	})
}

func TestPairsMatchBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawBoxes(t, "a"), drawBoxes(t, "b")
		var got, want [][2]int32
		boxes.New(a).Pairs(boxes.New(b), func(i, j int32) bool {
			got = append(got, [2]int32{i, j})
			return true
		})
		for i := range a {
			for j := range b {
				if meets(a[i], b[j]) {
					want = append(want, [2]int32{int32(i), int32(j)})
				}
			}
		}
		slices.SortFunc(got, func(x, y [2]int32) int { return slices.Compare(x[:], y[:]) })
		if !slices.Equal(got, want) {
			t.Fatalf("pairs %v, brute force says %v", got, want)
		}
	})
}

// A search ends where its caller has enough.
func TestVisitEnds(t *testing.T) {
	all := slices.Repeat([]geom.Box{{}}, 100)
	tree, n := boxes.New(all), 0
	visit := func() bool { n++; return n < 7 }
	tree.Within(geom.Box{}, func(int32) bool { return visit() })
	if n != 7 {
		t.Errorf("%d visited, want 7", n)
	}
	n = 0
	tree.Pairs(tree, func(int32, int32) bool { return visit() })
	if n != 7 {
		t.Errorf("%d pairs visited, want 7", n)
	}
}
