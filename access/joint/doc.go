// Package joint says who holds whom: which parts a fastener's shank passes,
// which it bites, which nut and washers belong to it, and which parts are
// pressed into each other.
//
// About each shank it collects the round holes of the parts near it, exact
// where the faces are, and judges each by the size of the screw that stands in
// it:
//
//	  ┌──────┐
//	──┴─┐  ┌─┴──   seat
//	lid │  │       wider than d: passes, clamped (Grip)
//	────┤  ├────
//	base│  │       narrower than d, tap drill to d: bites (Engagement)
//	    └──┘       tip
//
// Where no round hole is (countersinks, blocks without a hole) the free radius of
// the mesh about the axis decides, and rays down the column of material under
// the head find slots, keyholes and holes far too wide. The same rays give the
// faces of the parts, which chamfers hide, and so the grip.
//
// A hexagon cannot turn where anything stands nearer to its axis than its
// corners: that tells the nuts and heads that nobody has to hold.
package joint
