package report

import (
	"fmt"
	"io"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"

	"stepscan/access"
)

// TreeText writes the product structure, one occurrence a line, with what is
// known of each shape. The occurrences are asked for twice, since the width of a
// column shows at the last one only.
func TreeText(w io.Writer, r *access.Report, occs iter.Seq[*access.Occurrence], st Style) error {
	t := newText(w, r, st)
	t.source()
	t.table(treeRows(r, occs))
	t.line("")
	t.notedLines()
	t.skipped(maxSkips)
	n := &r.Read
	if outlined(r) {
		t.line("The structure only: nothing was meshed.")
	} else {
		t.line("%d of %s and %d of %s were meshed.", n.SolidsMeshed, plural(n.Solids, "solid"), n.FacesMeshed, plural(n.Faces, "face"))
	}
	return t.w.Flush()
}

// treeRows are the lines of the tree's table. What they say of a part is made
// once for all its occurrences.
func treeRows(r *access.Report, occs iter.Seq[*access.Occurrence]) iter.Seq[[]string] {
	cells, columns := map[string][]string{}, treeColumns(r)
	for i := range r.Parts {
		p := &r.Parts[i]
		c := []string{clip(clean(p.Name), 28)}
		for _, col := range columns {
			if p.Solids > 0 {
				c = append(c, col.cell(p))
			}
		}
		cells[p.ID] = c
	}
	return func(yield func([]string) bool) {
		head := []string{"occurrence", "id", "part"}
		for _, col := range columns {
			head = append(head, col.head)
		}
		if !yield(head) {
			return
		}
		for o := range occs {
			row := []string{strings.Repeat("  ", o.Depth) + clip(clean(called(o)), 40), o.ID}
			if !yield(append(row, cells[o.Part]...)) {
				return
			}
		}
	}
}

// treeColumn is what a tree says of each part with a shape.
type treeColumn struct {
	head string
	cell func(*access.Part) string
}

// treeColumns leaves out what cannot be known without a mesh, where there is
// none, and materials where no part has one.
func treeColumns(r *access.Report) []treeColumn {
	var list []treeColumn
	if outlined(r) {
		list = append(list, treeColumn{"solids", func(p *access.Part) string { return fmt.Sprint(p.Solids) }})
	} else {
		list = append(list,
			treeColumn{"volume mm³", func(p *access.Part) string { return measure(p.VolumeMM3, p) }},
			treeColumn{"size mm", func(p *access.Part) string { return size(p.BoxMM) }},
			treeColumn{"faces", func(p *access.Part) string { return fmt.Sprint(p.Faces) }})
	}
	list = append(list, treeColumn{"colour", func(p *access.Part) string { return p.Color }})
	if slices.ContainsFunc(r.Parts, known) {
		list = append(list, treeColumn{"material", material})
	}
	if slices.ContainsFunc(r.Parts, func(p access.Part) bool { return !math.IsNaN(float64(p.MassG)) }) {
		list = append(list, treeColumn{"mass g", func(p *access.Part) string { return weight(p.MassG) }})
	}
	return list
}

// outlined reports a product whose structure alone was read: no face at all.
func outlined(r *access.Report) bool { return r.Read.Faces == 0 }

// called is an occurrence's name, with its reference designator where that says
// more.
func called(o *access.Occurrence) string {
	if o.ReferenceDesignator == "" || strings.Contains(o.Name, o.ReferenceDesignator) {
		return o.Name
	}
	return o.Name + " [" + o.ReferenceDesignator + "]"
}

// known reports a part whose file says something of what it is made of.
func known(p access.Part) bool { return p.MaterialFrom != "" && p.MaterialFrom != "none" }

// material is a part's material with a mark where the file's word is weak.
func material(p *access.Part) string {
	s := clip(clean(p.Material), 24)
	if s == "" {
		s = "–"
	}
	if len(p.MaterialEvidence) > 0 {
		s += " ?"
	}
	return s
}

func weight(g access.Number) string {
	if math.IsNaN(float64(g)) {
		return "–"
	}
	return fmt.Sprintf("%.4g", float64(g))
}

// notedLines say what else the file has of its parts, without listing it.
func (t *text) notedLines() {
	weak, attributes, transparent, layers := 0, 0, 0, map[string]bool{}
	for i := range t.r.Parts {
		p := &t.r.Parts[i]
		attributes += len(p.Attributes)
		weak += min(len(p.MaterialEvidence), 1)
		if p.Transparency > 0 {
			transparent++
		}
		for _, l := range p.Layers {
			layers[l] = true
		}
	}
	if weak > 0 {
		t.line("? material, density or mass only from what somebody wrote into an attribute (%s)", plural(weak, "part"))
	}
	var also []string
	add := func(n int, what string) {
		if n > 0 {
			also = append(also, plural(n, what))
		}
	}
	add(attributes, "attribute")
	add(len(layers), "layer")
	add(transparent, "transparent part")
	if len(also) > 0 {
		t.line("Not shown: %s; --format json lists them.", strings.Join(also, ", "))
	}
	if weak > 0 || len(also) > 0 {
		t.line("")
	}
}

// measure is a volume, or why there is none.
func measure(v access.Number, p *access.Part) string {
	switch {
	case !math.IsNaN(float64(v)):
		return figure(float64(v))
	case p.Triangles == nil:
		return "–"
	}
	return "open"
}

// size is the box's extent.
func size(b *[6]access.Number) string {
	if b == nil {
		return "–"
	}
	return figure(float64(b[3]-b[0])) + " × " + figure(float64(b[4]-b[1])) + " × " + figure(float64(b[5]-b[2]))
}

// figure has one decimal, and two digits below 1, where one decimal may leave
// noughts of a small thing.
func figure(v float64) string {
	if a := math.Abs(v); a > 1e-9 && a < 0.995 {
		return strconv.FormatFloat(v, 'g', 2, 64)
	}
	return fmt.Sprintf("%.1f", v)
}
