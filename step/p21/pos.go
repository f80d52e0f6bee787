package p21

import (
	"bytes"
	"fmt"
	"sync"
)

// Pos is a place in the text, both counted from 1; the zero value is unknown.
// Columns count bytes.
type Pos struct{ Line, Col int }

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
	once   sync.Once
	end    byte  // what ends a line: LF, or CR in files that have no LF
	before []int // line ends in front of each block
}

func (t *lineTable) fill(src []byte) {
	t.end = '\n'
	if bytes.IndexByte(src, '\n') < 0 {
		t.end = '\r'
	}
	n := 0
	for i := 0; i < len(src); i += lineBlock {
		t.before = append(t.before, n)
		n += bytes.Count(src[i:min(i+lineBlock, len(src))], []byte{t.end})
	}
}

// PosAt is the line and column of an offset into the text.
func (f *File) PosAt(off int) Pos {
	if off < 0 || off > len(f.src) {
		return Pos{}
	}
	f.lines.once.Do(func() { f.lines.fill(f.src) })
	b := off / lineBlock
	if b >= len(f.lines.before) {
		b = len(f.lines.before) - 1
	}
	if b < 0 {
		return Pos{Line: 1, Col: 1}
	}
	line := 1 + f.lines.before[b] + bytes.Count(f.src[b*lineBlock:off], []byte{f.lines.end})
	return Pos{Line: line, Col: off - bytes.LastIndexByte(f.src[:off], f.lines.end)}
}
