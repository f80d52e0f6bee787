package fastener

import (
	"fmt"
	"math"
)

// neck is a square under a head that a square hole keeps from turning.
type neck struct {
	from, to int     // steps of the outline
	across   float64 // mm across flats
}

// squareNeck finds a square as wide as the shank between it and the head (DIN
// 603, ISO 8677: v is d to 1.1 d, f is 0.5 to 0.9 d, from memory; with
// longer ones for sheet and wood).
func (m *flat) squareNeck(p *profile, wide int, shank float64) (n neck, ok bool) {
	const (
		least, most   = 1.15, 1.6 // corners of the square over the shank
		short, longer = 0.25, 1.5 // its height over the shank's diameter
	)
	for n.to = 0; n.to < wide && p.r[n.to] <= most*shank; n.to++ {
	}
	for n.from = n.to; n.from > 0 && p.r[n.from-1] > least*shank; n.from-- {
	}
	high := float64(n.to-n.from) * p.dz
	if high < short*2*shank || high > longer*2*shank {
		return n, false
	}
	for _, t := range []float64{0.3, 0.5, 0.7} {
		c := m.cut(p.height(n.from) + t*high).outer()
		if c.Open > 0 || c.Fold != 4 || c.Max < least*c.Min || c.Min < 0.93*shank || c.Min > 1.15*shank {
			return n, false
		}
		n.across = 2 * c.Min
	}
	return n, true
}

// carriage settles a round head without a drive on a square neck: the neck holds
// it, so it needs none. False where the shank is no thread's.
func (s *specimen) carriage(o silhouette) bool {
	seen := *s
	seen.Evidence = []string{fmt.Sprintf("a round head Ø%s on a square neck %s mm across, which a square hole keeps from turning, and a shank Ø%s",
		trim(s.HeadD), trim(math.Round(100*o.neck)/100), trim(s.shank))}
	seen.ownSize()
	if seen.Size == "" {
		return false
	}
	*s = seen
	s.Kind, s.Head, s.Drive, s.needs, s.smooth, s.Confidence = Bolt, "mushroom", NoDrive, none, false, 0.85
	return true
}
