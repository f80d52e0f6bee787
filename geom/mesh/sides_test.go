package mesh

import (
	"testing"

	"pgregory.net/rapid"
)

// The table must number sides as a map does.
func TestSidesMatchMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s Sides
		for range 2 { // the second time with the slots of the first
			s.Reset(rapid.IntRange(0, 40).Draw(t, "room"))
			want := map[[2]int32]int{}
			for range rapid.IntRange(0, 200).Draw(t, "sides") {
				a, b := rapid.Int32Range(-9, 9).Draw(t, "a"), rapid.Int32Range(-9, 9).Draw(t, "b")
				if _, ok := s.Find(a, b); ok != contains(want, a, b) {
					t.Fatalf("Find(%d, %d) = %v", a, b, ok)
				}
				n, known := want[[2]int32{a, b}]
				if !known {
					n = len(want)
					want[[2]int32{a, b}] = n
				}
				if got, fresh := s.Add(a, b); got != n || fresh == known {
					t.Fatalf("Add(%d, %d) = %d, %v, want %d, %v", a, b, got, fresh, n, !known)
				}
				if x, y := s.At(n); x != a || y != b {
					t.Fatalf("At(%d) = %d, %d, want %d, %d", n, x, y, a, b)
				}
			}
			if s.Len() != len(want) {
				t.Fatalf("%d sides, want %d", s.Len(), len(want))
			}
		}
	})
}

func contains(m map[[2]int32]int, a, b int32) bool {
	_, ok := m[[2]int32{a, b}]
	return ok
}

func BenchmarkSides(b *testing.B) {
	const n = 100_000
	for b.Loop() {
		var s Sides
		s.Reset(n)
		for i := range int32(n) {
			s.Add(i, i/3+7)
			s.Add(i, i/3+7)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*2*n), "ns/side")
}
