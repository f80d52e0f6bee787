package reach

import (
	"testing"

	"stepscan/access/product"
)

// Loose boxes in a stack leave one after the other while there is room for the
// pairs. Without work left what was not tried is in the way: also what lies
// below a box that goes up. Both are told.
func TestHeapsAreBounded(t *testing.T) {
	k := newKit()
	var groups []group
	for i := range 6 {
		z := float64(20 * i)
		solid := k.part("box", box(0, 0, z, 10, 10, z+10))
		groups = append(groups, group{solids: []product.SolidIndex{solid}, volume: 1000, free: true})
	}
	s := newScene(k.p)
	for _, c := range []struct {
		name            string
		pairs, work     int
		passable, below bool // below: the lowest box counts as in the way of the next
		heaped          bool
	}{
		{"room and work", maxPairs, maxWork, true, false, false},
		{"no work", maxPairs, 0, true, true, true},
		{"room for four pairs of fifteen", 4, maxWork, false, false, true},
	} {
		b := newBlocking(s, up, c.pairs, c.work)
		if got := b.passable(); got != c.passable {
			t.Errorf("%s: passable is %v", c.name, got)
		}
		if c.passable && len(loadsAlong(groups, b)) != len(groups) {
			t.Errorf("%s: not all boxes leave", c.name)
		}
		if got := b.blocks(groups[1].solids[0], groups[0].solids[0]); got != c.below {
			t.Errorf("%s: the box below blocks: %v", c.name, got)
		}
		if b.heaped != c.heaped {
			t.Errorf("%s: heaped is %v", c.name, b.heaped)
		}
	}
}
