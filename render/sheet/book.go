package sheet

import (
	"fmt"
	"slices"
	"sync"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/geom"
	"stepscan/geom/mesh"
	"stepscan/render/view"
)

// Meta is what the title block says beside the judgement.
type Meta struct {
	Program string // "stepscan"
	Version string
	Date    string // left out where ""
}

// Book draws the sheets of one product. It keeps what all of them need of the
// parts' edges, so a sheet costs only its own lines. It is safe for concurrent
// use.
type Book struct {
	p     *product.Product
	fs    []fastener.Fastener
	holds []joint.Hold // same order as fs, or empty
	res   *reach.Result
	meta  Meta
	once  []sync.Once // by part
	lines []*mesh.Lines
}

// New prepares a book. holds and res.Reaches stand at the same index as their
// fastener.
func New(p *product.Product, fs []fastener.Fastener, holds []joint.Hold, res *reach.Result, meta Meta) *Book {
	if meta.Program == "" {
		meta.Program = "stepscan"
	}
	if res == nil {
		res = &reach.Result{}
	}
	return &Book{
		p: p, fs: fs, holds: holds, res: res, meta: meta,
		once: make([]sync.Once, len(p.Parts)), lines: make([]*mesh.Lines, len(p.Parts)),
	}
}

func (b *Book) partLines(part int) *mesh.Lines {
	b.once[part].Do(func() { b.lines[part] = mesh.NewLines(b.p.Parts[part].Mesh) })
	return b.lines[part]
}

// role is what a solid is to a drawing; it is the group of its lines as well.
type role int

// The roles, in the order in which coinciding lines win.
const (
	obstacle role = iota // limits the tool
	also                 // in the way as well
	driven               // the fastener
	part                 // held by the fastener, or belongs to it
	light                // all others
	ghost                // shown through
	inside               // a fastener that is out of sight in an overview
)

var roleClass = [...]string{"obstacle", "also", "fastener", "part", "light", "ghost", "inside"}

// items puts all solids into a scene.
func (b *Book) items(roleOf func(product.SolidIndex) role) []view.Item {
	out := make([]view.Item, len(b.p.Solids))
	for i := range b.p.Solids {
		s := &b.p.Solids[i]
		pt := &b.p.Parts[s.Part]
		if !pt.HasShape() {
			continue // the zero item is left out
		}
		r := roleOf(product.SolidIndex(i))
		out[i] = view.Item{Lines: b.partLines(s.Part), Tree: pt.Tree, Place: s.Place, Style: view.Full, Group: int(r)}
		switch r {
		case light:
			out[i].Style = view.Light
		case ghost, inside:
			out[i].Style = view.Outline
		}
	}
	return out
}

// working is the working side, up on the page.
func (b *Book) working() mgl64.Vec3 {
	if w, ok := geom.Unit(b.res.Side); ok {
		return w
	}
	return mgl64.Vec3{0, 0, 1}
}

func (b *Book) valid(s product.SolidIndex) bool { return s >= 0 && int(s) < len(b.p.Solids) }

func (b *Book) name(s product.SolidIndex) string {
	if !b.valid(s) {
		return ""
	}
	if n := clean(b.p.Name(s)); n != "" {
		return n
	}
	return "unnamed " + b.p.Occ(s).ID
}

// names lists solids for people, the first few by name.
func (b *Book) names(list []product.SolidIndex, most int) string {
	var names []string
	for _, s := range list {
		if n := b.name(s); n != "" && !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	text := ""
	for i, n := range names {
		if i == most {
			return text + fmt.Sprintf(" and %d more", len(names)-most)
		}
		if i > 0 {
			text += ", "
		}
		text += n
	}
	return text
}

// call is how the drawings call a fastener: its id and what it is.
func call(f *fastener.Fastener) string { return clean(f.ID) + " · " + callWhat(f) }

func callWhat(f *fastener.Fastener) string {
	switch {
	case f.Designation != "":
		return clean(f.Designation)
	case f.Size != "":
		return clean(f.Size) + " " + string(f.Kind)
	}
	return string(f.Kind)
}

func (b *Book) hold(i int) joint.Hold {
	if i < len(b.holds) {
		return b.holds[i]
	}
	return joint.Hold{Mate: -1}
}

func (b *Book) reach(i int) reach.Reach {
	if i >= 0 && i < len(b.res.Reaches) {
		return b.res.Reaches[i]
	}
	return reach.Reach{As: reach.Trial{Limiter: product.NoSolid}}
}
