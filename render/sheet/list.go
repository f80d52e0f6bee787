package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"stepscan/access/fastener"
	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/render/name"
	"stepscan/render/view"
)

// legend is the table of verdicts with their marks and counts, and says what
// else a mark can show.
func (b *Book) legend(g *page, r view.Rect) {
	n, hidden, total := b.counts()
	g.group("legend", "legend")
	g.text(view.Point{X: r.X0 + 3, Y: r.Y0 + 5}, "n b", "Verdicts")
	y := r.Y0 + 10.5
	line := func(v *reach.Reach, words string, n int) {
		g.symbol(view.Point{X: r.X0 + 6, Y: y - 1}, markR, v, false)
		g.text(view.Point{X: r.X0 + 11, Y: y}, "n", words)
		g.text(view.Point{X: r.X1 - 4, Y: y}, "n e", strconv.Itoa(n))
		y += legendStep
	}
	for _, v := range verdictOrder {
		line(&reach.Reach{Verdict: v}, verdictWords(&reach.Reach{Verdict: v}), n[v])
	}
	if other := total - n[reach.Clear] - n[reach.ClearAfter] - n[reach.Turn] - n[reach.TwoSided] - n[reach.Blocked]; other > 0 {
		line(&reach.Reach{}, "not judged", other)
	}
	g.line("rule", view.Point{X: r.X0 + 11, Y: y - 3.4}, view.Point{X: r.X1 - 3, Y: y - 3.4})
	g.text(view.Point{X: r.X0 + 11, Y: y}, "n b", "all")
	g.text(view.Point{X: r.X1 - 4, Y: y}, "n b e", strconv.Itoa(total))
	y += legendStep
	line(&reach.Reach{Hidden: true}, "ring: head hidden from the hand", hidden)
	g.symbol(view.Point{X: r.X0 + 6, Y: y - 1}, markR, &reach.Reach{}, true)
	g.text(view.Point{X: r.X0 + 11, Y: y}, "n", "pale, dashed: inside or behind")
	g.end()
}

const legendStep = 4.6 // mm

// problems lists the fasteners that are not simply clear, worst first.
func (b *Book) problems(g *page, r view.Rect) {
	var list []int
	for i := range b.fs {
		if i < len(b.res.Reaches) && b.fs[i].Kind != fastener.Washer {
			if x := &b.res.Reaches[i]; x.Verdict != reach.Clear || x.Hidden {
				list = append(list, i)
			}
		}
	}
	slices.SortStableFunc(list, func(x, y int) int {
		return cmp.Compare(severity(&b.res.Reaches[y]), severity(&b.res.Reaches[x]))
	})
	g.group("problems", "problems")
	words := "Not simply clear"
	switch _, _, total := b.counts(); {
	case total == 0:
		words = "No fasteners found"
	case len(list) == 0:
		words = "All are clear and in sight"
	}
	g.text(view.Point{X: r.X0 + 3, Y: r.Y0 + 5}, "n b", words)
	groups := b.alike(list)
	if !b.flow(g, r, groups) {
		b.grid(g, r, groups)
	}
	g.end()
}

// flow writes the groups one below the other, each on up to three lines; false
// where there is no room for all.
func (b *Book) flow(g *page, r view.Rect, groups [][]int) bool {
	const step, gap = 4.3, 1.0 // mm: from line to line, and between groups
	var texts [][]string
	h := 9.0
	for _, group := range groups {
		l := wrap(b.line(group), normal, r.W()-13, 3)
		h += step*float64(len(l)) + gap
		texts = append(texts, l)
	}
	if h > r.H() {
		return false
	}
	c := view.Point{X: r.X0, Y: r.Y0 + 11}
	for k, lines := range texts {
		g.symbol(add(c, 6, -1), markR, &b.res.Reaches[groups[k][0]], false)
		for _, l := range lines {
			g.text(add(c, 11, 0), "n", l)
			c.Y += step
		}
		c.Y += gap
	}
	return true
}

// grid writes very many groups in small columns, the worst first, as far as
// there is room.
func (b *Book) grid(g *page, r view.Rect, groups [][]int) {
	rows, columns := int((r.H()-9)/listStep), max(1, int(r.W()/85))
	left := 0
	for _, group := range groups {
		left += len(group)
	}
	for k, group := range groups {
		c := view.Point{X: r.X0 + float64(k/rows)*r.W()/float64(columns), Y: r.Y0 + 11 + float64(k%rows)*listStep}
		if k == rows*columns-1 && k < len(groups)-1 {
			g.text(add(c, 11, 0), "s", fmt.Sprintf("and %d more: see the report", left))
			break
		}
		left -= len(group)
		g.symbol(add(c, 6, -1), markR, &b.res.Reaches[group[0]], false)
		g.text(add(c, 11, 0), "s", shorten(b.line(group), small, r.W()/float64(columns)-13))
	}
}

// alike gathers fasteners of which the list says the same.
func (b *Book) alike(list []int) [][]int {
	at := map[string]int{}
	var out [][]int
	for _, i := range list {
		r := &b.res.Reaches[i]
		key := fmt.Sprint(r.Verdict, r.Hidden, "\x00", callWhat(&b.fs[i]), "\x00", b.brief(i))
		k, ok := at[key]
		if !ok {
			k = len(out)
			at[key] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], i)
	}
	return out
}

// line is the list's line for a group.
func (b *Book) line(group []int) string {
	var ids []string
	for _, i := range group {
		ids = append(ids, clean(b.fs[i].ID))
	}
	return name.Runs(ids) + " · " + callWhat(&b.fs[group[0]]) + ": " + b.brief(group[0])
}

// listStep is the height of a line of the list, mm.
const listStep = 5.2

func severity(r *reach.Reach) int {
	s := 2 * slices.Index(verdictOrder, r.Verdict)
	if r.Hidden {
		s++
	}
	return s
}

// brief is a verdict with its culprit.
func (b *Book) brief(i int) string {
	r := &b.res.Reaches[i]
	switch r.Verdict {
	case reach.ClearAfter:
		return "after " + b.first(r.After)
	case reach.Turn:
		if len(r.After) > 0 {
			return "from " + name.Side(r.Side) + ", after " + b.first(r.After)
		}
		return "from " + name.Side(r.Side)
	case reach.TwoSided:
		return "second tool on the far side"
	case reach.Blocked:
		j := b.subject(i).judged
		if n := b.name(j.trial.Limiter); n != "" && j.i != i {
			return "its " + string(j.f.Kind) + " is blocked by " + n
		} else if n != "" {
			return "blocked by " + n
		}
		return "blocked"
	}
	return "hidden by " + b.first(r.HiddenBy)
}

// first names the first of a list of solids.
func (b *Book) first(list []product.SolidIndex) string {
	if len(list) > 1 {
		return b.name(list[0]) + " and others"
	}
	return b.names(list, 1)
}
