package p21

import "fmt"

// Pos is a place in the text, both counted from 1; the zero value is unknown.
type Pos struct{ Line, Col int }

func (p Pos) String() string {
	if p.Line == 0 {
		return "unknown place"
	}
	return fmt.Sprintf("line %d, column %d", p.Line, p.Col)
}
