package report

import (
	"encoding/csv"
	"io"
	"iter"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"stepscan/access"
	"stepscan/step"
)

// Tables are UTF-8 with commas, quotes doubled and CR LF at the line ends (RFC
// 4180), a heading row first. A cell is empty where nothing is known; numbers
// have a point and no unit, which stands in the heading; several values in one
// cell are parted by "; ".

// CSV says how a table is written.
type CSV struct {
	// Mark puts the byte order mark first. Spreadsheets that open a file by a
	// double click take it for their old national encoding without one; programs
	// that read a stream mostly do not expect it.
	Mark bool
	// File puts the name of the STEP file into a first column.
	File bool
	// Headless leaves out the heading row: the table goes on from another file.
	Headless bool
}

// FastenersCSV writes one row a fastener, in the report's order.
func FastenersCSV(w io.Writer, r *access.Report, c CSV) error {
	x := newIndex(r)
	return writeTable(w, x, c, fastenerColumns, each(r.Fasteners))
}

// PartsCSV writes one row a part, nodes of the structure included.
func PartsCSV(w io.Writer, r *access.Report, c CSV) error {
	x := newIndex(r)
	for i := range r.Occurrences {
		x.uses[r.Occurrences[i].Part]++
	}
	uses := column[*access.Part]{"occurrences", func(x *index, p *access.Part) cell { return count(x.uses[p.ID]) }}
	return writeTable(w, x, c, slices.Insert(slices.Clone(partColumns), 2, uses), each(r.Parts))
}

// TreeCSV writes one row an occurrence with what is known of its part.
func TreeCSV(w io.Writer, r *access.Report, occs iter.Seq[*access.Occurrence], c CSV) error {
	columns := slices.Clone(occurrenceColumns)
	for _, p := range partColumns {
		if p.head == "id" || p.head == "name" {
			p.head = "part_" + p.head
		}
		columns = append(columns, column[*access.Occurrence]{p.head, func(x *index, o *access.Occurrence) cell {
			if part := x.parts[o.Part]; part != nil {
				return p.cell(x, part)
			}
			return ""
		}})
	}
	return writeTable(w, newIndex(r), c, columns, occs)
}

// column is one column of a table of Ts.
type column[T any] struct {
	head string
	cell func(*index, T) cell
}

var fastenerColumns = []column[*access.Fastener]{
	{"id", func(_ *index, f *access.Fastener) cell { return word(f.ID) }},
	{"path", func(x *index, f *access.Fastener) cell { return x.paths(f.Occurrences) }},
	{"kind", func(_ *index, f *access.Fastener) cell { return word(f.Kind) }},
	{"head", func(_ *index, f *access.Fastener) cell { return word(f.Head) }},
	{"size", func(_ *index, f *access.Fastener) cell { return word(f.Size) }},
	{"designation", func(_ *index, f *access.Fastener) cell { return word(f.Designation) }},
	{"drive", func(_ *index, f *access.Fastener) cell { return word(f.Drive) }},
	{"drive_size", func(_ *index, f *access.Fastener) cell { return word(f.DriveSize) }},
	{"length_mm", func(_ *index, f *access.Fastener) cell { return number(f.LengthMM) }},
	{"axis_x", func(_ *index, f *access.Fastener) cell { return number(f.Axis[0]) }},
	{"axis_y", func(_ *index, f *access.Fastener) cell { return number(f.Axis[1]) }},
	{"axis_z", func(_ *index, f *access.Fastener) cell { return number(f.Axis[2]) }},
	{"x_mm", func(_ *index, f *access.Fastener) cell { return number(f.PointMM[0]) }},
	{"y_mm", func(_ *index, f *access.Fastener) cell { return number(f.PointMM[1]) }},
	{"z_mm", func(_ *index, f *access.Fastener) cell { return number(f.PointMM[2]) }},
	{"confidence", func(_ *index, f *access.Fastener) cell { return number(f.Confidence) }},
	{"verdict", func(_ *index, f *access.Fastener) cell { return word(f.Reach.Verdict) }},
	{"hidden", func(_ *index, f *access.Fastener) cell { return truth(f.Reach.Hidden) }},
	{"side", func(_ *index, f *access.Fastener) cell { return word(From(f)) }},
	{"tool", func(_ *index, f *access.Fastener) cell { return word(f.Reach.Tool) }},
	{"free_mm", func(_ *index, f *access.Fastener) cell { return number(f.Reach.FreeMM) }},
	{"needed_mm", func(_ *index, f *access.Fastener) cell { return number(f.Reach.NeededMM) }},
	{"free_deg", func(_ *index, f *access.Fastener) cell { return number(f.Reach.FreeDeg) }},
	{"needed_deg", func(_ *index, f *access.Fastener) cell { return number(f.Reach.NeededDeg) }},
	{"limiter", func(x *index, f *access.Fastener) cell { return x.path(f.Reach.Limiter) }},
	{"after", func(x *index, f *access.Fastener) cell { return x.paths(f.Reach.After) }},
	{"holds", func(x *index, f *access.Fastener) cell { return x.paths(slices.Concat(f.Passes, f.Bites)) }},
	{"mate", func(_ *index, f *access.Fastener) cell { return optional(f.Mate) }},
	{"occurrences", func(_ *index, f *access.Fastener) cell { return words(f.Occurrences) }},
	{"washers", func(_ *index, f *access.Fastener) cell { return words(f.Washers) }},
	{"grip_mm", func(_ *index, f *access.Fastener) cell { return number(f.GripMM) }},
	{"engagement_mm", func(_ *index, f *access.Fastener) cell { return number(f.EngagementMM) }},
	{"captive", func(_ *index, f *access.Fastener) cell { return truth(f.Captive) }},
	{"why", func(_ *index, f *access.Fastener) cell { return word(f.Reach.Why) }},
}

var partColumns = []column[*access.Part]{
	{"id", func(_ *index, p *access.Part) cell { return word(p.ID) }},
	{"name", func(_ *index, p *access.Part) cell { return word(p.Name) }},
	{"solids", func(_ *index, p *access.Part) cell { return count(p.Solids) }},
	{"faces", func(_ *index, p *access.Part) cell { return count(p.Faces) }},
	{"volume_mm3", func(_ *index, p *access.Part) cell { return number(p.VolumeMM3) }},
	{"area_mm2", func(_ *index, p *access.Part) cell { return number(p.AreaMM2) }},
	{"box_x_mm", func(_ *index, p *access.Part) cell { return extent(p, 0) }},
	{"box_y_mm", func(_ *index, p *access.Part) cell { return extent(p, 1) }},
	{"box_z_mm", func(_ *index, p *access.Part) cell { return extent(p, 2) }},
	{"closed", closed},
	{"triangles", triangles},
	{"material", func(_ *index, p *access.Part) cell { return word(p.Material) }},
	{"material_from", func(_ *index, p *access.Part) cell { return word(p.MaterialFrom) }},
	{"density_kg_m3", func(_ *index, p *access.Part) cell { return number(p.DensityKgM3) }},
	{"mass_g", func(_ *index, p *access.Part) cell { return number(p.MassG) }},
	{"color", func(_ *index, p *access.Part) cell { return word(p.Color) }},
}

var occurrenceColumns = []column[*access.Occurrence]{
	{"id", func(_ *index, o *access.Occurrence) cell { return word(o.ID) }},
	{"parent", func(_ *index, o *access.Occurrence) cell { return optional(o.Parent) }},
	{"depth", func(_ *index, o *access.Occurrence) cell { return count(o.Depth) }},
	{"name", func(_ *index, o *access.Occurrence) cell { return word(o.Name) }},
	{"path", func(_ *index, o *access.Occurrence) cell { return word(o.Path) }},
	{"x_mm", func(_ *index, o *access.Occurrence) cell { return number(o.Placement[3]) }},
	{"y_mm", func(_ *index, o *access.Occurrence) cell { return number(o.Placement[7]) }},
	{"z_mm", func(_ *index, o *access.Occurrence) cell { return number(o.Placement[11]) }},
}

// closed is empty where there is no mesh that could be open.
func closed(_ *index, p *access.Part) cell {
	if p.Triangles == nil {
		return ""
	}
	return truth(p.Closed)
}

func triangles(_ *index, p *access.Part) cell {
	if p.Triangles == nil {
		return ""
	}
	return count(*p.Triangles)
}

// extent is the size of the part's box along one of its axes.
func extent(p *access.Part, axis int) cell {
	if p.BoxMM == nil {
		return ""
	}
	return number(p.BoxMM[axis+3] - p.BoxMM[axis])
}

// index finds what rows refer to by id.
type index struct {
	file  string
	parts map[string]*access.Part
	where map[string]string // occurrence id to path
	uses  map[string]int    // part id to number of occurrences
}

func newIndex(r *access.Report) *index {
	x := &index{file: r.Source.File, parts: map[string]*access.Part{}, where: map[string]string{}, uses: map[string]int{}}
	for p := range each(r.Parts) {
		x.parts[p.ID] = p
	}
	for o := range each(r.Occurrences) {
		x.where[o.ID] = o.Path
	}
	return x
}

// words puts several ids into one cell.
func words(ids []string) cell { return word(strings.Join(ids, "; ")) }

func (x *index) paths(ids []string) cell {
	list := make([]string, len(ids))
	for i, id := range ids {
		list[i] = x.where[id]
	}
	return word(strings.Join(list, "; "))
}

func (x *index) path(id *string) cell {
	if id == nil {
		return ""
	}
	return word(x.where[*id])
}

func each[T any](list []T) iter.Seq[*T] {
	return func(yield func(*T) bool) {
		for i := range list {
			if !yield(&list[i]) {
				return
			}
		}
	}
}

// cell is a text that is safe in a table. Make one with the functions below.
type cell string

// formula are the characters that make a spreadsheet take a cell for a formula
// when it starts with one of them, those of full width in Japanese and Chinese
// settings included (common practice; there is no standard).
const formula = "=+-@＝＋－＠"

// word makes a text safe. One that a spreadsheet would take for a formula gets an
// apostrophe before it, and so does one that starts with an apostrophe, so that
// whoever reads the table drops one leading apostrophe and has the text. Control
// characters and what else spoofs become "·".
func word(s string) cell {
	s = strings.Map(func(r rune) rune {
		if step.Spoofs(r) {
			return '·'
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
	start := strings.TrimLeftFunc(s, func(r rune) bool { return unicode.IsSpace(r) || unicode.Is(unicode.Cf, r) })
	if first, _ := utf8.DecodeRuneInString(start); start != "" && strings.ContainsRune(formula+"'", first) {
		return cell("'" + s)
	}
	return cell(s)
}

func optional(s *string) cell {
	if s == nil {
		return ""
	}
	return word(*s)
}

func count(n int) cell { return cell(strconv.Itoa(n)) }

func truth(b bool) cell { return cell(strconv.FormatBool(b)) }

// number is written as in JSON, and not at all where it is not known.
func number(n access.Number) cell {
	b, err := n.MarshalJSON()
	if err != nil || string(b) == "null" {
		return ""
	}
	return cell(b)
}

// writeTable writes a table with a row for each of rows.
func writeTable[T any](w io.Writer, x *index, c CSV, columns []column[T], rows iter.Seq[T]) error {
	if c.File {
		columns = append([]column[T]{{"file", func(x *index, _ T) cell { return word(x.file) }}}, columns...)
	}
	if c.Mark {
		if _, err := io.WriteString(w, "\ufeff"); err != nil {
			return err
		}
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	line := make([]string, len(columns))
	if !c.Headless {
		for i, col := range columns {
			line[i] = col.head
		}
		out.Write(line) // its error sticks
	}
	for r := range rows {
		for i, col := range columns {
			line[i] = string(col.cell(x, r))
		}
		if err := out.Write(line); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
