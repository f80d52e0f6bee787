package tool

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
)

// outerTools are the tools that surround a hexagon or square: their sections
// begin below the head's top.
func outerTools(f *fastener.Fastener, d fastener.Drive, size string) []Tool {
	s, _ := width(size)
	h := f.HeadH
	if h <= 0 {
		h = f.Length // a nut's thickness
	}
	h = math.Max(h, 0.5) // a head that could not be measured still has a rim to grip
	open, ring := openHexSwing, ringHexSwing
	across := 1.0
	if d == fastener.Square {
		// A square's corners stand out further than a hexagon's: the tools of
		// a hexagon with the same corners are taken.
		open, ring, across = openSqrSwing, ringSqrSwing, math.Sqrt2*sqrt3/2
	}
	sp := spannerFor(s * across)
	if d == fastener.Square && f.Kind == fastener.Nut && f.HeadD > 1.05*math.Sqrt2*s {
		// An oblong plate nut: nothing goes round it but jaws on its long sides.
		return []Tool{openEnd(size, spannerFor(s), h, openTwoSwing)}
	}
	return []Tool{
		socket(size, s*across, h),
		openEnd(size, sp, h, float64(open)),
		ringSpanner(size, sp, h, float64(ring)),
	}
}

// spannerFor is the spanner of a width, between rows and beyond them by the
// straight line through the nearest two.
func spannerFor(s float64) spanner {
	i := 1
	for i < len(spanners)-1 && spanners[i].s < s {
		i++
	}
	a, b := &spanners[i-1], &spanners[i]
	t := (s - a.s) / (b.s - a.s)
	mix := func(x, y float64) float64 { return math.Max(x+t*(y-x), 0.5*x) }
	return spanner{
		s, mix(a.openW, b.openW), ringSlope*s + ringBase, mix(a.openT, b.openT),
		mix(a.ringT, b.ringT), mix(a.length, b.length),
	}
}

// socket goes down to the bearing plane, h below the head's top.
func socket(size string, s, h float64) Tool {
	sd := &socketDrives[len(socketDrives)-1]
	for i := range socketDrives {
		if s <= socketDrives[i].upTo {
			sd = &socketDrives[i]
			break
		}
	}
	t := Tool{
		Name: "socket " + size + " (" + sd.name + ") with extension and ratchet", Source: socketSource,
		Sections: []Section{{-h, sd.length - h, (sd.slope*s + sd.base) / 2, "socket"}},
	}
	return withRatchet(t, sd, sd.length-h)
}

// withRatchet stands extension and ratchet on a tool's upper end.
func withRatchet(t Tool, sd *socketDrive, from float64) Tool {
	head := from + extensionLen
	t.Sections = append(t.Sections,
		Section{from, head, sd.extensionR, "extension"},
		Section{head, head + sd.headH, sd.headR, "ratchet"})
	t.Swing = &Swing{
		From: head, To: head + sd.headH, R: sd.handle, HalfW: sd.handleHalfW,
		Arc: mgl64.DegToRad(ratchetSwing), Name: "ratchet handle",
	}
	return t
}

// tipAhead is how far the tips of an open head stand beyond the axis, in widths
// across flats: level with the far flats. It is common practice and on the safe
// side: the flats that they grip end 0.29 s beyond the axis.
const tipAhead = 0.5

// openEnd grips as high as it can: its upper side is level with the head's top
// unless the head is thinner than the jaws. Its head does not surround the
// fastener: all round the axis only the fastener's own corners need room.
func openEnd(size string, sp spanner, h, swing float64) Tool {
	from := -math.Min(h, sp.openT)
	return Tool{
		Name: "open-end spanner " + size, Source: spannerSource, Entry: Across,
		Sections: []Section{{from, from + sp.openT, sp.s / sqrt3, "jaws"}},
		Swing: &Swing{
			From: from, To: from + sp.openT, R: sp.length - sp.openW/2, HalfW: sp.ringD / 2,
			Arc: mgl64.DegToRad(swing), Name: "spanner",
			Head: openHead(sp.openW/2, tipAhead*sp.s), Offset: mgl64.DegToRad(openOffset),
		},
	}
}

// openHead is half a disc of radius r behind the axis, drawn round by three
// bars whose corners lie on or outside it every 30°, and a bar up to the tips.
func openHead(r, tip float64) []Bar {
	return []Bar{
		{0, tip, r}, {-r / 2, 0, r}, {-r * sqrt3 / 2, -r / 2, r * sqrt3 / 2}, {-r, -r * sqrt3 / 2, r / 2},
	}
}

// ringSpanner goes over the head: it is lifted by as much as it grips.
func ringSpanner(size string, sp spanner, h, swing float64) Tool {
	from := -math.Min(h, sp.ringT)
	return Tool{
		Name: "ring spanner " + size, Source: spannerSource, Entry: Across, Lift: -from,
		Sections: []Section{{from, from + sp.ringT, sp.ringD / 2, "ring"}},
		Swing: &Swing{
			From: from, To: from + sp.ringT, R: sp.length - sp.openW/2, HalfW: sp.ringD / 2,
			Arc: mgl64.DegToRad(swing), Name: "spanner",
		},
	}
}
