package sheet

import (
	"math"
	"strconv"

	"stepscan/render/view"
)

// Round edges arrive as polylines whose corners lie on the true curve. Where
// enough corners lie on one circle the path gets arcs instead, so that a hole
// stays round at any scale of the sheet.
const (
	arcCorners = 5                     // so many corners have to lie on the circle
	arcTol     = 0.008                 // mm: how far from it they may be
	arcTurn    = 24 * math.Pi / 180    // the most that the line may turn at one of them
	arcSpan    = 150.0 * math.Pi / 180 // the most that one arc command covers
	arcMost    = 400.0                 // mm: flatter arcs are as good as straight
)

// arcFrom returns how many points from p[0] on lie on one arc, and its circle;
// 0 where too few do.
func arcFrom(p []view.Point) (n int, c view.Point, r, sense float64) {
	if len(p) < arcCorners {
		return 0, c, 0, 0
	}
	c, r, ok := circleThrough(p[0], p[1], p[2])
	if !ok || r > arcMost {
		return 0, c, 0, 0
	}
	sense = math.Copysign(1, turnAt(p[0], p[1], p[2]))
	n = 2
	for n < len(p) {
		t := turnAt(p[n-2], p[n-1], p[n]) * sense
		if !(t > 0 && t < arcTurn) || !(math.Abs(distance(p[n], c)-r) < arcTol) {
			break
		}
		n++
	}
	if n < arcCorners {
		return 0, c, 0, 0
	}
	return n, c, r, sense
}

// turnAt is the angle by which a line turns at b, positive to the right on the
// page.
func turnAt(a, b, c view.Point) float64 {
	ux, uy, vx, vy := b.X-a.X, b.Y-a.Y, c.X-b.X, c.Y-b.Y
	return math.Atan2(ux*vy-uy*vx, ux*vx+uy*vy)
}

func circleThrough(a, b, c view.Point) (view.Point, float64, bool) {
	bx, by, cx, cy := b.X-a.X, b.Y-a.Y, c.X-a.X, c.Y-a.Y
	d := 2 * (bx*cy - by*cx)
	if math.Abs(d) < 1e-9 {
		return view.Point{}, 0, false
	}
	b2, c2 := bx*bx+by*by, cx*cx+cy*cy
	x, y := (cy*b2-by*c2)/d, (bx*c2-cx*b2)/d
	return view.Point{X: a.X + x, Y: a.Y + y}, math.Hypot(x, y), true
}

// appendArc appends arc commands through the points, which lie on one arc from
// p[0], where the pen is. It ends at the last of them.
func appendArc(d []byte, p []view.Point, c view.Point, r, sense float64) []byte {
	flag := byte('0')
	if sense > 0 {
		flag = '1'
	}
	radius := strconv.FormatFloat(math.Round(r*1000)/1000, 'f', -1, 64)
	span := 0.0
	for i := 1; i < len(p); i++ {
		step := 2 * math.Asin(min(1, distance(p[i-1], p[i])/(2*r)))
		span += step
		if i < len(p)-1 && span+step < arcSpan {
			continue
		}
		d = append(d, 'A')
		d = append(d, radius...)
		d = append(d, ' ')
		d = append(d, radius...)
		d = append(d, " 0 0 "...)
		d = append(d, flag, ' ')
		d = appendPoint(d, p[i])
		span = 0
	}
	return d
}

func appendPoint(d []byte, p view.Point) []byte {
	d = append(d, mm(p.X)...)
	d = append(d, ' ')
	return append(d, mm(p.Y)...)
}
