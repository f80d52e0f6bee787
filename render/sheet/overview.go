package sheet

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/render/name"
	"stepscan/render/view"
)

// Where the parts of the overview stand, mm: two pictures side by side over
// the list and the legend, or one, with both beside it.
var (
	overHead   = view.Rect{X0: frameX0, Y0: frameY0, X1: frameX1, Y1: 26}
	overNear   = view.Rect{X0: frameX0, Y0: 26, X1: 157, Y1: 137}
	overFar    = view.Rect{X0: 157, Y0: 26, X1: frameX1, Y1: 137}
	overList   = view.Rect{X0: frameX0, Y0: 137, X1: 205, Y1: frameY1}
	overLegend = view.Rect{X0: 205, Y0: 137, X1: frameX1, Y1: 183}
	overOnly   = view.Rect{X0: frameX0, Y0: 26, X1: 205, Y1: frameY1}
	legendOnly = view.Rect{X0: 205, Y0: 26, X1: frameX1, Y1: 74}
	listOnly   = view.Rect{X0: 205, Y0: 74, X1: frameX1, Y1: 183}
	overSource = view.Rect{X0: 205, Y0: 183, X1: frameX1, Y1: frameY1}
)

// Overview draws the whole product from the working side with every fastener
// marked by its verdict, and the far side where something is to be reached
// there.
func (b *Book) Overview() []byte {
	near, far := b.bySide()
	main, list, legend := overNear, overList, overLegend
	if len(far) == 0 {
		main, list, legend = overOnly, listOnly, legendOnly
	}
	var g page
	file := clean(b.p.Source.File)
	g.open("Overview of "+file, fmt.Sprintf("%s from %s, the working side; its fasteners are marked by verdict. %s",
		file, name.Side(b.working()), b.countWords()))
	g.group("frame", "")
	for _, r := range []view.Rect{overHead, main, legend, list, overSource} {
		g.rect("rule", r)
	}
	g.rect("frame", view.Rect{X0: frameX0, Y0: frameY0, X1: frameX1, Y1: frameY1})
	g.end()
	g.text(view.Point{X: overHead.X0 + 4, Y: overHead.Y0 + 7}, "h", shorten(file, title*1.08, overHead.W()-8))
	g.text(view.Point{X: overHead.X0 + 4, Y: overHead.Y0 + 12.6}, "n", shorten(b.countWords(), normal, overHead.W()-8))
	w := b.working()
	b.marked(&g, "near", main, octants(w)[0], w, near, "From "+name.Side(w)+", the working side")
	if len(far) > 0 {
		back := w.Mul(-1)
		b.marked(&g, "far", overFar, octants(back)[0], back, far, "From "+name.Side(back)+", the other side")
	}
	b.legend(&g, legend)
	b.problems(&g, list)
	b.source(&g, overSource)
	return g.close()
}

// bySide sorts the fasteners that need a tool by the side they are driven
// from.
func (b *Book) bySide() (near, far []int) {
	w := b.working()
	for i := range b.fs {
		if i >= len(b.res.Reaches) || b.fs[i].Kind == fastener.Washer {
			continue
		}
		side := b.res.Reaches[i].Side
		if side.Len() < 0.5 {
			side = b.fs[i].Axis.D
		}
		if side.Dot(w) < -0.5 {
			far = append(far, i)
		} else {
			near = append(near, i)
		}
	}
	return near, far
}

func (b *Book) counts() (n map[reach.Verdict]int, hidden, total int) {
	n = map[reach.Verdict]int{}
	for i := range b.fs {
		if i < len(b.res.Reaches) && b.fs[i].Kind != fastener.Washer {
			n[b.res.Reaches[i].Verdict]++
			total++
			if b.res.Reaches[i].Hidden {
				hidden++
			}
		}
	}
	return n, hidden, total
}

func (b *Book) countWords() string {
	n, hidden, total := b.counts()
	words := []string{}
	for _, v := range verdictOrder {
		if n[v] > 0 {
			words = append(words, fmt.Sprintf("%d %s", n[v], v))
		}
	}
	if hidden > 0 {
		words = append(words, fmt.Sprintf("%d with the head hidden", hidden))
	}
	if total == 0 {
		return "No fasteners found."
	}
	return plural(total, "fastener") + ": " + strings.Join(words, ", ") + "."
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return strconv.Itoa(n) + " " + word + "s"
}

// marked draws one picture with the marks of some fasteners.
func (b *Book) marked(g *page, id string, frame view.Rect, dir, up mgl64.Vec3, list []int, words string) {
	window := view.Rect{X0: frame.X0 + 4, Y0: frame.Y0 + caption + 3, X1: frame.X1 - 4, Y1: frame.Y1 - 4}
	into := window.Inset(4)
	into.Y1 -= 5 // for the axes in the corner
	cam := b.fitted(dir, up, into)
	cam.Window = window
	roles, unseen := b.inView(list, dir)
	items := b.items(func(x product.SolidIndex) role {
		if r, ok := roles[x]; ok {
			return r
		}
		return light
	})
	d := view.Draw(view.Scene{Camera: cam, Items: items})
	g.group(id, "picture")
	g.rect("rule", frame)
	g.text(view.Point{X: frame.X0 + 3, Y: frame.Y0 + 5}, "n b", words)
	g.group("", "product")
	g.lines(id, d, items, maxPointsMost)
	g.end()
	b.marks(g, id, cam, window, list, unseen)
	g.triad(cam, view.Point{X: frame.X0 + 11, Y: frame.Y1 - 11})
	g.end()
}

// source is the overview's title block.
func (b *Book) source(g *page, r view.Rect) {
	g.group("title-block", "title")
	y := r.Y0 + 4.6
	for _, x := range []row{
		{"sha256", b.digest()},
		{"drawn by", strings.TrimSpace(clean(b.meta.Program) + " " + clean(b.meta.Version) + "  " + clean(b.meta.Date))},
		{"sheet", "overview, A4"},
	} {
		g.text(view.Point{X: r.X0 + 3, Y: y}, "s dim", x.key)
		g.text(view.Point{X: r.X0 + 18, Y: y}, "n", shorten(x.value, normal, r.W()-20))
		y += 4.6
	}
	g.end()
}
