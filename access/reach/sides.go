package reach

import (
	"context"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// maxOwnSides bounds how many directions besides the six of the root's frame
// are tried as working sides.
const maxOwnSides = 12

// candidates are the sides worth trying: the asked one first, the root's six,
// then the fasteners' own directions, those within 5° of each other once.
func (m *matter) candidates(asked *mgl64.Vec3) []mgl64.Vec3 {
	out := []mgl64.Vec3{{0, 0, 1}, {0, 0, -1}, {1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}}
	if asked != nil {
		if d, ok := geom.Unit(*asked); ok && d.Dot(out[nearest(out, d)]) < 1-1e-12 {
			out = append(out, d)
		}
	}
	limit := len(out) + maxOwnSides
	for u := range m.units {
		for _, ways := range [][]approach{m.units[u].ways, m.units[u].nutWays} {
			for i := range ways {
				d := ways[i].axis.D
				if len(out) < limit && !within5(d, out[nearest(out, d)]) {
					out = append(out, d)
				}
			}
		}
	}
	return out
}

func nearest(sides []mgl64.Vec3, d mgl64.Vec3) int {
	best := 0
	for i := range sides {
		if sides[i].Dot(d) > sides[best].Dot(d) {
			best = i
		}
	}
	return best
}

// scoreAll counts verdicts from every candidate side.
func (m *matter) scoreAll(ctx context.Context, sides []*blocking, last *taking, workers int) []SideScore {
	out := make([]SideScore, len(sides))
	parallel(ctx, len(sides), workers, func(i int) {
		t := m.from(ctx, sides[i], false)
		out[i].TwoHere = m.twoSided(t)
		for u, ok := range last.undone {
			if ok && !t.undone[u] { // as run would find it after a turn
				t.undone[u], t.how[u] = true, undo{round: t.round, turned: true}
			}
		}
		out[i].Side = sides[i].d
		for f := range m.fs {
			out[i].count(m.verdict(f, t))
		}
	})
	return out
}

func (s *SideScore) count(v Verdict) {
	switch v {
	case Clear:
		s.Clear++
	case ClearAfter:
		s.After++
	case Turn:
		s.Turn++
	case TwoSided:
		s.Two++
	default:
		s.Blocked++
	}
}

// twoSided counts the fasteners of undone two-sided joints.
func (m *matter) twoSided(t *taking) int {
	n := 0
	for f, u := range m.ofUnit {
		if u >= 0 && t.undone[u] && m.verdict(f, t) == TwoSided {
			n++
		}
	}
	return n
}

// choose is the side from which most come out without a turn, then most
// without a second tool, then most as assembled, then the first.
func choose(scores []SideScore) int {
	best := 0
	for i := range scores {
		if scores[i].better(&scores[best]) {
			best = i
		}
	}
	return best
}

func (s *SideScore) better(t *SideScore) bool {
	if a, b := s.Clear+s.After+s.TwoHere, t.Clear+t.After+t.TwoHere; a != b {
		return a > b
	}
	if a, b := s.Clear+s.After, t.Clear+t.After; a != b {
		return a > b
	}
	return s.Clear > t.Clear
}
