package view

import (
	"math"

	"github.com/fogleman/ln/ln"
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/bvh"
)

// sight answers whether a point in page space can be seen. It is an ln.Filter
// and safe for concurrent use.
type sight struct {
	blockers []blocker
	grid     grid
	lift     float64 // mm of paper: what is nearer to the point than this is the point's own surface
	cut      bool
	depth    float64 // of the cut plane, in page space
}

// blocker is an item that hides others.
type blocker struct {
	item       int
	rect       Rect
	zmin, zmax float64
	toPart     [12]float64 // page space to the part's coordinates, row by row
	dir        mgl64.Vec3  // towards the eye, a mm of paper long, in the part's coordinates
	tree       *bvh.Tree
	whole      bool
	ghost      bool  // hides nothing but its own far side
	face       *area // its cut face, nil without
}

// liftPart is how far, as a part of the scene's diagonal, a ray starts off its
// line. Any value from 1e-12 to 1e-4 gives the same picture as long as lines
// lie on the mesh that hides them.
const liftPart = 1e-6

func newSight(s *Scene, placed []placed) *sight {
	v := &sight{lift: 1e-9, cut: s.Cut != nil}
	if v.cut {
		_, v.depth = s.Camera.Page(*s.Cut)
	}
	box := geom.EmptyBox()
	for i := range placed {
		p := &placed[i]
		box = box.Union(p.box)
		if p.blocks {
			v.blockers = append(v.blockers, newBlocker(s, p))
		}
	}
	if d := box.Diagonal() * s.Camera.Scale * liftPart; d > v.lift && !math.IsInf(d, 0) {
		v.lift = d
	}
	v.grid = newGrid(s.Camera.Window, v.blockers)
	return v
}

func newBlocker(s *Scene, p *placed) blocker {
	c := s.Camera
	it := &s.Items[p.item]
	back, _ := it.Place.Inverse()
	k := 1 / c.Scale
	// Page space to root: Target + right (x-ax)/s - up (y-ay)/s + dir z/s.
	cols := [3]mgl64.Vec3{c.Right().Mul(k), c.Up.Mul(-k), c.Dir.Mul(k)}
	o := c.Target.Sub(cols[0].Mul(c.At.X)).Sub(cols[1].Mul(c.At.Y))
	b := blocker{
		item: p.item, rect: p.rect, zmin: p.zmin, zmax: p.zmax, tree: it.Tree,
		whole: it.Whole, ghost: it.Style == Outline, dir: back.Dir(cols[2]), face: p.face,
	}
	for j := range 3 {
		d := back.Dir(cols[j])
		for i := range 3 {
			b.toPart[4*i+j] = d[i]
		}
	}
	q := back.Point(o)
	for i := range 3 {
		b.toPart[4*i+3] = q[i]
	}
	return b
}

// Filter implements ln.Filter for points in page space.
func (v *sight) Filter(p ln.Vector) (ln.Vector, bool) { return p, !v.hidden(p, -1) }

// alone sees nothing but one item, and that only as far as it is cut.
type alone struct {
	*sight
	item int
}

// Filter implements ln.Filter.
func (a alone) Filter(p ln.Vector) (ln.Vector, bool) { return p, !a.hidden(p, a.item) }

// hidden reports whether something stands between p and the eye; with only
// >= 0, nothing but that item counts.
func (v *sight) hidden(p ln.Vector, only int) bool {
	for _, k := range v.grid.at(p.X, p.Y) {
		b := &v.blockers[k]
		counts := !b.ghost && only < 0 || b.item == only
		if counts && b.hides(p, v) {
			return true
		}
	}
	return false
}

func (b *blocker) hides(p ln.Vector, v *sight) bool {
	if b.zmax <= p.Z+v.lift || !b.rect.Has(Point{p.X, p.Y}) {
		return false
	}
	reach := b.zmax - p.Z + 1
	if v.cut && !b.whole {
		if p.Z >= v.depth-v.lift {
			return false
		}
		if b.face != nil && b.face.has(p.X, p.Y) {
			return true // behind the cut face
		}
		reach = min(reach, v.depth-p.Z)
	}
	m := &b.toPart
	o := mgl64.Vec3{
		m[0]*p.X + m[1]*p.Y + m[2]*p.Z + m[3],
		m[4]*p.X + m[5]*p.Y + m[6]*p.Z + m[7],
		m[8]*p.X + m[9]*p.Y + m[10]*p.Z + m[11],
	}
	return b.tree.AnyHit(o, b.dir, v.lift, reach)
}

// grid lists, for each cell of the window, the blockers that may stand there.
type grid struct {
	win    Rect
	nx, ny int
	cells  [][]int32
}

// gridCells is the number of cells along each side of the window.
const gridCells = 48

func newGrid(win Rect, bs []blocker) grid {
	g := grid{win: win, nx: gridCells, ny: gridCells, cells: make([][]int32, gridCells*gridCells)}
	for i := range bs {
		r := bs[i].rect
		x0, y0 := g.cell(r.X0, r.Y0)
		x1, y1 := g.cell(r.X1, r.Y1)
		for y := y0; y <= y1; y++ {
			for x := x0; x <= x1; x++ {
				g.cells[y*g.nx+x] = append(g.cells[y*g.nx+x], int32(i))
			}
		}
	}
	return g
}

// cell is the cell of a point; points outside belong to the nearest.
func (g *grid) cell(x, y float64) (int, int) {
	return cellOf(x-g.win.X0, g.win.W(), g.nx), cellOf(y-g.win.Y0, g.win.H(), g.ny)
}

func cellOf(d, size float64, n int) int {
	f := d / size * float64(n)
	if !(f > 0) {
		return 0
	}
	if f >= float64(n) {
		return n - 1
	}
	return int(f)
}

func (g *grid) at(x, y float64) []int32 {
	cx, cy := g.cell(x, y)
	return g.cells[cy*g.nx+cx]
}
