package view

import (
	"github.com/fogleman/ln/ln"
)

// hatches are told apart by angle, degrees, and spacing, mm of paper; faces
// side by side take different ones, the plainest first (ISO 128-3: 45 degrees
// to the outline, direction or spacing changed for neighbours).
var hatches = [...]struct{ angle, spacing float64 }{
	{45, 2.0}, {135, 2.0}, {45, 1.3}, {135, 1.3}, {45, 3.0}, {135, 3.0}, {22.5, 2.0}, {157.5, 2.0}, {67.5, 1.3}, {112.5, 1.3},
}

// faces fills in the cut faces with their hatches, and the masks.
func (d *Drawing) faces(s *Scene, v *sight, all []placed) {
	var cut []int
	for i := range all {
		p := &all[i]
		if p.face != nil && s.Items[p.item].Style != Outline {
			cut = append(cut, i)
		}
		if len(p.mask) > 0 {
			if a := newArea(p.mask); a != nil {
				d.Masks = append(d.Masks, Face{Item: p.item, Loops: a.clipped(s.Camera.Window)})
			}
		}
	}
	choice := chooseHatches(all, cut)
	d.Faces = make([]Face, len(cut))
	depth := s.depth()
	parallel(s.Workers, len(cut), func(k int) {
		p := &all[cut[k]]
		h := hatches[choice[k]]
		f := Face{Item: p.item, Loops: p.face.clipped(s.Camera.Window), Angle: h.angle, Spacing: h.spacing}
		for _, line := range p.face.hatch(h.angle, h.spacing, s.Camera.Window, depth) {
			for _, run := range walk(line, v) {
				f.Hatch = append(f.Hatch, points(run))
			}
		}
		d.Faces[k] = f
	})
}

func points(p ln.Path) []Point {
	out := make([]Point, len(p))
	for i, v := range p {
		out[i] = Point{v.X, v.Y}
	}
	return out
}

// chooseHatches gives each face the first hatch that no earlier neighbour has.
func chooseHatches(all []placed, cut []int) []int {
	out := make([]int, len(cut))
	for k := range cut {
		var taken [len(hatches)]bool
		for j := range k {
			if near(all[cut[k]].face.rect, all[cut[j]].face.rect) {
				taken[out[j]] = true
			}
		}
		for h := range hatches {
			if !taken[h] {
				out[k] = h
				break
			}
			out[k] = k % len(hatches) // all taken: some neighbour has the same
		}
	}
	return out
}

// near reports whether two faces may touch: closer than 1 mm of paper.
func near(a, b Rect) bool { return a.Inset(-1).Overlaps(b) }
