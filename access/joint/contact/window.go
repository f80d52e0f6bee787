package contact

import (
	"slices"
	"sync"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener/feature"
	"stepscan/geom"
	"stepscan/geom/boxes"
)

// What of a part comes near another one is found by search where it is much: a
// board lies under thousands of parts and has thousands of holes, and each of
// them would look through all of it.

// few triangles of a face, or walls of a part, are looked through one by one.
const few = 64

// cornersIn lists the triangles of a face that meet the box, placed.
func cornersIn(s *form, face int32, place geom.Transform, box geom.Box) [][3]mgl64.Vec3 {
	var out [][3]mgl64.Vec3
	for _, t := range s.trianglesIn(face, place, box) {
		c := s.corners(t)
		b := geom.EmptyBox()
		for k := range c {
			c[k] = place.Point(c[k])
			b = b.Add(c[k])
		}
		if b.Overlaps(box) {
			out = append(out, c)
		}
	}
	return out
}

// trianglesIn are those of a face, in order, whose boxes may meet the box when
// placed.
func (s *form) trianglesIn(face int32, place geom.Transform, box geom.Box) []int32 {
	all := s.of(int(face))
	tree, ok := s.large[face]
	if !ok {
		return all
	}
	back, ok := place.Inverse()
	if !ok {
		return nil
	}
	var near []int32
	tree().Within(box.Transformed(back).Grow(rounding), func(k int32) bool {
		near = append(near, all[k])
		return true
	})
	slices.Sort(near)
	return near
}

// searched makes ready the search in the faces of many triangles, which comes
// with the first question.
func (s *form) searched() {
	s.large = map[int32]func() *boxes.Tree{}
	for i := range s.boxes {
		if tris := s.of(i); len(tris) > few {
			s.large[int32(i)] = sync.OnceValue(func() *boxes.Tree {
				room := make([]geom.Box, len(tris))
				for k, t := range tris {
					c := s.corners(t)
					room[k] = geom.EmptyBox().Add(c[0]).Add(c[1]).Add(c[2])
				}
				return boxes.New(room)
			})
		}
	}
}

// rounding, mm, is what coordinates that were turned and turned back are off.
const rounding = 1e-6

// walls are the holes or the bosses of a part.
type walls struct {
	all  []feature.Hole
	tree *boxes.Tree // where they are many
}

func newWalls(all []feature.Hole) walls {
	w := walls{all: all}
	if len(all) <= few {
		return w
	}
	room := make([]geom.Box, len(all))
	for i := range all {
		room[i] = wallBox(&all[i]).Grow(rounding)
	}
	w.tree = boxes.New(room)
	return w
}

func wallBox(h *feature.Hole) geom.Box {
	return geom.EmptyBox().Add(h.Axis.At(h.Z0)).Add(h.Axis.At(h.Z1)).Grow(h.R)
}

// near are the numbers, in order, of those that may reach into a box of the
// part.
func (w *walls) near(box geom.Box) []int32 {
	var out []int32
	if w.tree != nil {
		w.tree.Within(box, func(i int32) bool {
			out = append(out, i)
			return true
		})
		slices.Sort(out)
		return out
	}
	for i := range w.all {
		out = append(out, int32(i))
	}
	return out
}

// within lists the walls that reach into the box, placed.
func (w *walls) within(box geom.Box, place, back geom.Transform) []feature.Hole {
	var out []feature.Hole
	for _, i := range w.near(box.Transformed(back)) {
		h := w.all[i]
		if h.Sweep < leastSweep || !(h.R > 0) {
			continue
		}
		h.Axis = h.Axis.Transformed(place)
		if wallBox(&h).Overlaps(box) {
			out = append(out, h)
		}
	}
	return out
}
