package step

import (
	"fmt"
	"math"
	"sync"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// Tessellated shapes of ISO 10303-42: bodies whose surfaces are given as
// triangles over lists of coordinates.
var (
	// facetBodies are items of representations that become bodies.
	facetBodies = []string{"TESSELLATED_SOLID", "TESSELLATED_SHELL"}
	// facetGroups list faces; a set may list points and curves too.
	facetGroups = []string{"TESSELLATED_SOLID", "TESSELLATED_SHELL", "TESSELLATED_GEOMETRIC_SET"}
	// facetFaces hold the triangles themselves.
	facetFaces = []string{
		"TRIANGULATED_FACE", "COMPLEX_TRIANGULATED_FACE", "TRIANGULATED_SURFACE_SET", "COMPLEX_TRIANGULATED_SURFACE_SET",
	}
	// facetEdges bound faces: nothing is lost without them.
	facetEdges = []string{
		"TESSELLATED_EDGE", "TESSELLATED_CONNECTING_EDGE", "CUBIC_BEZIER_TESSELLATED_EDGE", "TESSELLATED_VERTEX",
		"TESSELLATED_CURVE_SET", "TESSELLATED_POINT_SET", "TESSELLATED_WIRE",
	}
)

// facetReader gathers the triangles of one body.
type facetReader struct {
	*bodyReader
	out   *brep.Facets
	moves []geom.Transform     // of repositioned items, the first for all others
	point map[facetPoint]int32 // into out.Points
	seen  map[placedItem]bool
}

// placedItem is a group or face as one of the moves places it.
type placedItem struct {
	id   p21.ID
	move int // into moves
}

// facetPoint is a point of a placed list of coordinates.
type facetPoint struct {
	list placedItem
	at   int32 // from 1
}

// readFacets decodes the groups and faces into a body, nil where no triangle can
// be used.
func (b *bodyReader) readFacets(items []p21.ID) *brep.Body {
	f := &facetReader{
		bodyReader: b, out: &brep.Facets{}, moves: []geom.Transform{geom.Identity()},
		point: map[facetPoint]int32{}, seen: map[placedItem]bool{},
	}
	for _, id := range items {
		f.item(id, 0, 0)
	}
	if len(b.body.Faces) == 0 {
		b.fault(b.shape.id, "", "tessellated body without a usable face: left out")
		return nil
	}
	b.body.Facets = f.out
	return b.body
}

// item reads a face, or what lists faces, placed by the given move.
func (f *facetReader) item(id p21.ID, move, depth int) {
	rec, err := f.r.open(id)
	here := placedItem{id, move}
	switch {
	case err != nil:
		f.fault(f.shape.id, "", "face left out: "+err.Error())
		return
	case depth > maxChain:
		f.fault(id, "", errDeep.Error())
		return
	case f.seen[here], rec.Is(facetEdges...):
		return
	}
	f.seen[here] = true
	move = f.moved(rec, move)
	switch {
	case rec.Is(facetFaces...):
		f.face(rec, move)
	case rec.Is(facetGroups...):
		f.group(rec, move, depth)
	default:
		f.faceFault(id, &unsupportedError{id, rec.Name()})
	}
}

func (f *facetReader) group(rec p21.Record, move, depth int) {
	p := groupParams(rec)
	items := p.Refs(groupAt(rec), nil)
	if p.Err() != nil {
		f.fault(rec.ID(), "", p.Err().Error())
	}
	if len(items) == 0 {
		f.fault(rec.ID(), "", "tessellated shape without faces")
	}
	for _, id := range items {
		if f.r.budget.hopeless() {
			return
		}
		f.item(id, move, depth+1)
	}
}

// groupParams are the parameters of a solid, shell or set, without the name in
// a complex instance.
func groupParams(rec p21.Record) p21.Params {
	for _, entity := range facetGroups {
		if p, ok := rec.Leaf(entity); ok {
			return p
		}
	}
	return p21.Params{}
}

// groupAt is where a group's items stand: behind the name, which a leaf does not
// have.
func groupAt(rec p21.Record) int {
	if rec.IsComplex() {
		return 0
	}
	return 1
}

// moved adds the location of REPOSITIONED_TESSELLATED_ITEM(location), a leaf of
// a complex instance, to the moves.
func (f *facetReader) moved(rec p21.Record, move int) int {
	p, ok := rec.Leaf("REPOSITIONED_TESSELLATED_ITEM")
	if !ok || !rec.IsComplex() {
		return move
	}
	at, err := f.axis2(p.OptRef(0))
	if err != nil {
		f.fault(rec.ID(), "", "location taken for the origin: "+err.Error())
		return move
	}
	f.moves = append(f.moves, f.moves[move].Mul(at.Transform()))
	return len(f.moves) - 1
}

// faceSlots says where a face or set of faces keeps its lists.
type faceSlots struct {
	own    p21.Params // with the numbers of the points and the triangles
	coords p21.ID
	index  int // of the numbers of the points; triangles stand behind them
}

// slots finds the lists of
//
//	TRIANGULATED_FACE(name, coordinates, pnmax, normals, geometric_link, pnindex, triangles)
//	COMPLEX_TRIANGULATED_FACE(..., pnindex, triangle_strips, triangle_fans)
//	TRIANGULATED_SURFACE_SET(name, coordinates, pnmax, normals, pnindex, triangles)
//	COMPLEX_TRIANGULATED_SURFACE_SET(..., pnindex, triangle_strips, triangle_fans)
//
// as simple or complex instances. Normals are not needed: triangles are listed
// anticlockwise seen from outside.
func slots(rec p21.Record) faceSlots {
	var s faceSlots
	for _, entity := range facetFaces {
		if p, ok := rec.Leaf(entity); ok {
			s.own = p
		}
	}
	if rec.IsComplex() {
		above, ok := rec.Leaf("TESSELLATED_FACE")
		if !ok {
			above, _ = rec.Leaf("TESSELLATED_SURFACE_SET")
		}
		s.coords = above.OptRef(0)
		return s
	}
	s.coords, s.index = s.own.OptRef(1), 4
	if rec.Is("TRIANGULATED_FACE", "COMPLEX_TRIANGULATED_FACE") {
		s.index = 5 // behind the link to the exact face
	}
	return s
}

// facetCost is how much more a face's text counts against the budget than other
// text: a triangle of a few bytes takes many times as much memory, and a hostile
// file lists the same face again and again.
const facetCost = 3

// face reads one face. What is wrong with single triangles costs those.
func (f *facetReader) face(rec p21.Record, move int) {
	s := slots(rec)
	list, err := f.r.lists.read(f.r, s.coords)
	if err == nil && !f.r.budget.take(facetCost*rec.Bytes()) {
		err = errBudget
	}
	if err != nil {
		f.faceFault(rec.ID(), err)
		return
	}
	t := &faceTriangles{
		facetReader: f, list: list, from: placedItem{s.coords, move},
		face: brep.FaceIndex(len(f.body.Faces)), before: len(f.out.Triangles),
	}
	if s.own.Has(s.index) {
		t.index = s.own.Ints(s.index, nil)
	}
	if rec.Is("TRIANGULATED_FACE", "TRIANGULATED_SURFACE_SET") {
		t.rows(s.own.List(s.index+1), t.single)
	} else {
		t.rows(s.own.List(s.index+1), t.strip)
		t.rows(s.own.List(s.index+2), t.fan)
	}
	t.tell(rec.ID(), s.own.Err())
	if len(f.out.Triangles) > t.before {
		f.body.Faces = append(f.body.Faces, brep.Face{Tag: brep.Tag(rec.ID())})
	}
}

// faceTriangles reads the triangles of one face.
type faceTriangles struct {
	*facetReader
	list   []mgl64.Vec3
	from   placedItem // the list
	index  []int      // into list, from 1; empty where triangles name its points themselves
	face   brep.FaceIndex
	before int // triangles of the faces before this one
	row    []int
	all    int // triangles in the file, without those that have no area
	// triangles left out: of wrong length, of points that are not there, of
	// points that are no points
	malformed, astray, nowhere int
}

// rows hands over the lists of point numbers one by one.
func (t *faceTriangles) rows(it p21.Items, use func(row []int)) {
	for n := 0; it.Next(); n++ {
		if n%4096 == 0 && t.r.ctx.Err() != nil {
			return
		}
		t.row = t.row[:0]
		items, ok := it.Value().Items()
		for ok && items.Next() {
			var k int
			k, ok = items.Value().Int()
			t.row = append(t.row, k)
		}
		if !ok || len(t.row) < 3 {
			t.malformed++
			t.all++
			continue
		}
		use(t.row)
	}
}

func (t *faceTriangles) single(row []int) {
	if len(row) != 3 {
		t.malformed++
		t.all++
		return
	}
	t.add(row[0], row[1], row[2])
}

// strip: every second triangle of a strip is listed the other way round.
func (t *faceTriangles) strip(row []int) {
	for k := 2; k < len(row); k++ {
		if k%2 == 0 {
			t.add(row[k-2], row[k-1], row[k])
		} else {
			t.add(row[k-1], row[k-2], row[k])
		}
	}
}

// fan: all triangles have the first corner.
func (t *faceTriangles) fan(row []int) {
	for k := 2; k < len(row); k++ {
		t.add(row[0], row[k-1], row[k])
	}
}

// add takes a triangle. Those that name a point twice only turn a strip round.
func (t *faceTriangles) add(a, b, c int) {
	if a == b || b == c || c == a {
		return
	}
	t.all++
	var tri [3]int32
	for k, n := range [3]int{a, b, c} {
		at, ok := t.corner(n)
		if !ok {
			return
		}
		tri[k] = at
	}
	t.out.Triangles = append(t.out.Triangles, tri)
	t.out.FaceOf = append(t.out.FaceOf, t.face)
}

// corner is the point with number n of the face, in the body.
func (t *faceTriangles) corner(n int) (int32, bool) {
	if len(t.index) > 0 {
		if n < 1 || n > len(t.index) {
			t.astray++
			return 0, false
		}
		n = t.index[n-1]
	}
	if n < 1 || n > len(t.list) {
		t.astray++
		return 0, false
	}
	key := facetPoint{t.from, int32(n)}
	if at, ok := t.point[key]; ok {
		return at, true
	}
	p := t.moves[t.from.move].Point(t.list[n-1].Mul(t.u.mm))
	if withinReach(p[:]...) != nil {
		t.nowhere++
		return 0, false
	}
	at := int32(len(t.out.Points))
	t.out.Points = append(t.out.Points, p)
	t.point[key] = at
	return at, true
}

// tell says once for the face what was left out of it.
func (t *faceTriangles) tell(id p21.ID, err error) {
	got := len(t.out.Triangles) - t.before
	switch {
	case got == 0 && err != nil:
		t.faceFault(id, err)
	case got == 0 && t.all == 0:
		t.fault(id, "", "face left out: it has no triangle")
	case err != nil:
		t.fault(id, "", err.Error())
	}
	if lost := t.malformed + t.astray + t.nowhere; lost > 0 {
		t.fault(id, "", fmt.Sprintf("%d of %d triangles left out: %s", lost, t.all, t.why()))
	}
}

func (t *faceTriangles) why() string {
	switch {
	case t.astray > 0:
		return "they name points that are not there"
	case t.nowhere > 0:
		return "their points have no coordinates, or some out of all bounds"
	}
	return "three point numbers or more are wanted"
}

// coordinateLists are the lists of the file that were read, for all bodies:
// some writers put the points of the whole file into one.
type coordinateLists struct {
	mu sync.Mutex
	of map[p21.ID]*coordinateList
}

type coordinateList struct {
	once   sync.Once
	points []mgl64.Vec3 // in the file's units; NaN for what is no point
	err    error
}

// read decodes a list once. What that costs is charged to whoever comes first;
// the sum does not depend on who that is.
func (c *coordinateLists) read(r *reader, id p21.ID) ([]mgl64.Vec3, error) {
	c.mu.Lock()
	l, ok := c.of[id]
	if !ok {
		if c.of == nil {
			c.of = map[p21.ID]*coordinateList{}
		}
		l = &coordinateList{}
		c.of[id] = l
	}
	c.mu.Unlock()
	l.once.Do(func() { l.points, l.err = r.coordinates(id) })
	return l.points, l.err
}

// coordinates reads COORDINATES_LIST(name, npoints, position_coords). The number
// of points is what the list holds, whatever it says.
func (r *reader) coordinates(id p21.ID) ([]mgl64.Vec3, error) {
	rec, err := r.open(id, "COORDINATES_LIST")
	if err != nil {
		return nil, err
	}
	p, _ := rec.Leaf("COORDINATES_LIST")
	out := make([]mgl64.Vec3, 0, rec.Bytes()/24) // about what three short numbers take
	for it := p.List(p.Len() - 1); it.Next(); {
		if len(out)%4096 == 0 && r.ctx.Err() != nil {
			return nil, r.ctx.Err()
		}
		out = append(out, triple(it.Value()))
	}
	if len(out) == 0 && p.Err() == nil {
		return nil, fmt.Errorf("%v: list without coordinates", id)
	}
	return out, p.Err()
}

// triple is a list of three numbers, NaN where it is none.
func triple(v p21.Value) mgl64.Vec3 {
	none := mgl64.Vec3{math.NaN(), math.NaN(), math.NaN()}
	it, ok := v.Items()
	if !ok {
		return none
	}
	var x mgl64.Vec3
	n := 0
	for ; it.Next(); n++ {
		if n == 3 {
			return none
		}
		if x[n], ok = it.Value().Real(); !ok {
			return none
		}
	}
	if n != 3 {
		return none
	}
	return x
}
