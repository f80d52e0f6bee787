package p21

import (
	"bytes"
	"cmp"
	"fmt"
	"sync"
)

// Pos is a place in the text, both counted from 1; the zero value is unknown.
// Columns count bytes.
type Pos struct{ Line, Col int }

func (p Pos) compare(q Pos) int {
	return cmp.Or(cmp.Compare(p.Line, q.Line), cmp.Compare(p.Col, q.Col))
}

func (p Pos) String() string {
	if p.Line == 0 {
		return "unknown place"
	}
	return fmt.Sprintf("line %d, column %d", p.Line, p.Col)
}

// lineBlock is how many bytes lie between two entries of the line table: large
// enough to keep it tiny, small enough to count through in microseconds.
const lineBlock = 1 << 14

// lineTable finds lines by offset. It is filled at the first question, since
// most files are read without one.
type lineTable struct {
	once  sync.Once
	end   byte // what ends a line: LF, or CR in files that have no LF
	block []lineMark
}

// lineMark is what lies in front of a block: so many line ends, and where the
// line starts that reaches into it. Without that a file of one line would be
// searched from its start for each column.
type lineMark struct{ ends, start int }

func (t *lineTable) fill(src []byte) {
	t.end = '\n'
	if bytes.IndexByte(src, '\n') < 0 {
		t.end = '\r'
	}
	t.block = make([]lineMark, 0, len(src)/lineBlock+1)
	var m lineMark
	for i := 0; i < len(src); i += lineBlock {
		t.block = append(t.block, m)
		b := src[i:min(i+lineBlock, len(src))]
		m.ends += bytes.Count(b, []byte{t.end})
		if k := bytes.LastIndexByte(b, t.end); k >= 0 {
			m.start = i + k + 1
		}
	}
}

// PosAt is the line and column of an offset into the text.
func (f *File) PosAt(off int) Pos {
	if off < 0 || off > len(f.src) {
		return Pos{}
	}
	f.lines.once.Do(func() { f.lines.fill(f.src) })
	if len(f.lines.block) == 0 {
		return Pos{Line: 1, Col: 1}
	}
	b := min(off/lineBlock, len(f.lines.block)-1)
	m := f.lines.block[b]
	within := f.src[b*lineBlock : off]
	if k := bytes.LastIndexByte(within, f.lines.end); k >= 0 {
		m.start = b*lineBlock + k + 1
	}
	return Pos{Line: 1 + m.ends + bytes.Count(within, []byte{f.lines.end}), Col: 1 + off - m.start}
}
