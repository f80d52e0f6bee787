package access

import (
	"fmt"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mesh"
	"stepscan/step"
)

// lone is a part of one closed solid with its centre at the origin.
func lone(volume float64) product.Part {
	return product.Part{Name: "part", Mesh: &mesh.Mesh{Triangles: make([][3]int32, 1)}, Closed: true, Volume: volume, Area: 1}
}

func moved(x, y, z float64) geom.Transform {
	return geom.Transform{M: mgl64.Ident3(), T: mgl64.Vec3{x, y, z}}
}

// twoParts is an assembly at (100, 0, 0) that holds a part at (10, 20, 30) and
// the same turned by a half turn about x at (30, 0, 0).
func twoParts() *product.Product {
	turn := geom.Transform{M: mgl64.Mat3{1, 0, 0, 0, -1, 0, 0, 0, -1}, T: mgl64.Vec3{130, 0, 0}}
	return &product.Product{
		Parts: []product.Part{{Name: "node"}, lone(1)},
		Occs: []product.Occ{
			{ID: "o0", Parent: -1, Placement: moved(100, 0, 0), Solid: product.NoSolid},
			{ID: "o1", Part: 1, Placement: moved(110, 20, 30), Depth: 1, Solid: 0},
			{ID: "o2", Part: 1, Placement: turn, Depth: 1, Solid: 1},
		},
		Solids: []product.Solid{{Occ: 1, Part: 1, Place: moved(110, 20, 30)}, {Occ: 2, Part: 1, Place: turn}},
	}
}

// The number of children counts what stands directly below a node as a use of
// its own; bodies of the node's own product do not.
func TestNumberOfChildren(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(p *product.Product)
		want   string
	}{
		{"as it is", func(p *product.Product) {}, ""},
		{"one lost", func(p *product.Product) { p.Parts[0].Declared.Children = 3 }, "number of children 3, here 2"},
		{"one too many", func(p *product.Product) { p.Parts[0].Declared.Children = 0 }, "number of children 0, here 2"},
		{"one is a body", func(p *product.Product) { p.Occs[2].Body = true }, "number of children 2, here 1"},
		{"one is deeper", func(p *product.Product) { p.Occs[2].Parent, p.Occs[2].Depth = 1, 2 }, "number of children 2, here 1"},
		{"some are hidden", func(p *product.Product) { p.Parts[0].Hidden, p.Parts[0].Declared.Children = 1, 3 }, ""},
		{"not stated", func(p *product.Product) { p.Parts[0].Declared = step.Declared{} }, ""},
	} {
		p := twoParts()
		p.Parts[0].Declared = step.Declared{Children: 2, HasChildren: true}
		c.change(p)
		checkOne(t, c.name, ownFigures(p), c.want, "o0")
	}
}

// checkOne wants a finding that says want about the occurrences, or none.
func checkOne(t *testing.T, name string, got []Finding, want string, occurrences ...string) {
	t.Helper()
	if want == "" {
		if len(got) > 0 {
			t.Errorf("%s: finding %q, want none", name, got[0].Text)
		}
		return
	}
	if len(got) != 1 || !strings.Contains(got[0].Text, want) {
		t.Errorf("%s: findings %+v, want %q", name, got, want)
		return
	}
	if fmt.Sprint(got[0].Occurrences) != fmt.Sprint(occurrences) || got[0].Level != "warn" {
		t.Errorf("%s: %+v, want a warning about %v", name, got[0], occurrences)
	}
	if level, text := trust(&Read{}, got); level != "partial" || !strings.Contains(text, "the file") {
		t.Errorf("%s: trust is %s: %q", name, level, text)
	}
}

// By hand: (10, 20, 30) + (10, 10, 10) and (30, 0, 0) + (10, -10, -10) have the
// mean (30, 10, 15).
func TestNotionalSolids(t *testing.T) {
	for _, c := range []struct {
		at   mgl64.Vec3
		unit float64
		want string
	}{
		{mgl64.Vec3{30, 10, 15}, 1, ""},
		{mgl64.Vec3{30.5, 10, 15.5}, 1, ""},
		{mgl64.Vec3{32, 10, 15}, 1, "centre of notional solids (32, 10, 15) mm, here (30, 10, 15) mm"},
		{mgl64.Vec3{20, 10, 15}, 1, ""}, // the solid as a point
		{mgl64.Vec3{20 + 254, 10, 15}, 25.4, ""},
		{mgl64.Vec3{20 + 254, 10, 15}, 1, "centre of notional solids"},
		{mgl64.Vec3{30 * 25.4, 254, 15 * 25.4}, 25.4, "a factor of 25.4 to the power 1"},
	} {
		p := twoParts()
		p.Parts[0].Declared = step.Declared{Notional: c.at, HasNotional: true, NotionalUnit: c.unit}
		checkOne(t, fmt.Sprint(c.at), ownFigures(p), c.want, "o0")
	}
	p := twoParts()
	p.Occs = p.Occs[:1]
	p.Parts[0].Declared = step.Declared{HasNotional: true}
	checkOne(t, "no children", ownFigures(p), "")
}

// A stated centre of a use stands in its assembly's frame.
func TestOwnPlaces(t *testing.T) {
	for _, c := range []struct {
		name   string
		at     mgl64.Vec3
		change func(p *product.Product)
		want   string
	}{
		{"there", mgl64.Vec3{10, 20, 30}, nil, ""},
		{"within the tolerance", mgl64.Vec3{10.9, 20, 30}, nil, ""},
		{"elsewhere", mgl64.Vec3{12, 20, 30}, nil, `puts "it" elsewhere in its assembly than it was found: centre (12, 20, 30) mm, here (10, 20, 30) mm`},
		{"in the root's frame", mgl64.Vec3{110, 20, 30}, nil, "here (10, 20, 30) mm"},
		{"in inches", mgl64.Vec3{10 / 25.4, 20 / 25.4, 30 / 25.4}, nil, "a factor of 25.4 to the power -1"},
		{"as far off as the part's own", mgl64.Vec3{15, 20, 30}, func(p *product.Product) {
			p.Parts[1].Declared = step.Declared{Centre: mgl64.Vec3{5, 0, 0}, HasCentre: true}
		}, ""},
		{"open, nothing to compare", mgl64.Vec3{12, 20, 30}, func(p *product.Product) { p.Parts[1].Closed = false }, ""},
	} {
		p := twoParts()
		p.Occs[1].Name, p.Occs[1].Centre = "it", &c.at
		if c.change != nil {
			c.change(p)
		}
		checkOne(t, c.name, ownPlaces(p), c.want, "o1")
	}
}

// Uses of one statement are one finding, however many there are.
func TestOwnPlacesOnce(t *testing.T) {
	p := twoParts()
	wrong := mgl64.Vec3{1, 2, 3}
	p.Occs = append(p.Occs, p.Occs...)
	for i := range p.Occs {
		p.Occs[i].ID = fmt.Sprintf("o%d", i)
	}
	p.Occs[4].Parent, p.Occs[5].Parent = 3, 3
	p.Occs[1].Centre, p.Occs[4].Centre = &wrong, &wrong
	checkOne(t, "twice", ownPlaces(p), "elsewhere", "o1", "o4")
}

// The set of solids is compared with the solids, that of surfaces with the open
// surfaces; files older than that distinction state both areas together.
func TestSetsOfFigures(t *testing.T) {
	for _, c := range []struct {
		name string
		d    step.Declared
		want string
	}{
		{"apart", step.Declared{Volume: 1, Area: 1, SurfaceArea: 5}, ""},
		{"together", step.Declared{Volume: 1, Area: 6}, ""},
		{"solids wrong", step.Declared{Volume: 1, Area: 3}, "area 3 mm², here 1 mm²"},
		{"surfaces wrong", step.Declared{Volume: 1, Area: 1, SurfaceArea: 500}, "area of surfaces 500 mm², here 5 mm² (a factor of 10 to the power 2"},
		{"the solid's centre", step.Declared{Centre: mgl64.Vec3{10, 20, 30}, HasCentre: true}, ""},
	} {
		p := twoParts()
		sheet := lone(0)
		sheet.Closed, sheet.Area, sheet.Bodies = false, 5, []*brep.Body{{}}
		p.Parts = append(p.Parts, sheet)
		p.Occs[2].Part, p.Solids[1].Part = 2, 2
		p.Parts[0].Declared = c.d
		checkOne(t, c.name, ownFigures(p), c.want, "o0")
	}
	p := twoParts()
	p.Parts[1].Closed, p.Parts[1].Bodies = false, []*brep.Body{{Solid: true}}
	p.Parts[0].Declared = step.Declared{Volume: 99}
	checkOne(t, "a solid that is open has no figures", ownFigures(p), "")
}

// realPlaces moves each occurrence that the file states a centre of by 3 % of
// the product's size and wants to be told.
func realPlaces(t *testing.T, file string, p *product.Product) {
	t.Helper()
	stated, off := 0, 0.03*p.Box().Diagonal()+2*centreMM
	for i := range p.Occs {
		o := &p.Occs[i]
		if o.Centre == nil {
			continue
		}
		stated++
		was := *o.Centre
		o.Centre[1] += off
		if f, ok := comparePlace(p, i); !ok {
			got, whole := measure(p, i)
			if whole && got.several && !p.Parts[o.Part].Declared.HasCentre {
				continue // it may lie anywhere among the parts
			}
			t.Errorf("%s: %q moved by %g mm is not found (%+v)", file, o.Name, off, f)
		}
		*o.Centre = was
	}
	children := 0
	for i := range p.Parts {
		if d := &p.Parts[i].Declared; d.HasChildren {
			children++
			d.Children++
			if len(ownFigures(p)) != 1 {
				t.Errorf("%s: a child less of %q is not found", file, p.Parts[i].Name)
			}
			d.Children--
		}
	}
	t.Logf("%s: %d occurrences state a centre, %d parts a number of children", file, stated, children)
}
