package p21

import "fmt"

// SyntaxError says that the text is not ISO 10303-21, and where.
type SyntaxError struct {
	Pos  Pos
	Want string
	Got  string
}

func (e *SyntaxError) Error() string {
	return fmt.Sprintf("%v: expected %s, found %s", e.Pos, e.Want, e.Got)
}

// NotStepError says that the bytes are something else altogether. What names
// it in words, with an article where it needs one: "an HTML page".
type NotStepError struct{ What string }

func (e *NotStepError) Error() string { return "not a STEP file: " + e.What }

// LimitError refuses a text whose index would be too large.
type LimitError struct{ What string }

func (e *LimitError) Error() string { return e.What }

// ParamError says that a record's parameter is not what its reader wanted, or
// that the record has none that can be told apart.
type ParamError struct {
	ID     ID
	Entity string
	Param  int // counted from 1; 0 where the record as a whole is at fault
	Want   string
	Got    string
	f      *File
	off    int
}

func (e *ParamError) Error() string {
	if e.Param == 0 {
		return fmt.Sprintf("%v %s (%v): expected %s, found %s", e.ID, e.Entity, e.Pos(), e.Want, e.Got)
	}
	return fmt.Sprintf("%v %s, parameter %d (%v): expected %s, found %s", e.ID, e.Entity, e.Param, e.Pos(), e.Want, e.Got)
}

// Pos is the place of the parameter; it is worked out when asked for.
func (e *ParamError) Pos() Pos { return e.f.PosAt(e.off) }

// Warning is something that was put up with while reading.
type Warning struct {
	ID   ID // of the record it is about, 0 where there is none
	Pos  Pos
	Text string
	// Whole says that nothing of the file was lost by it.
	Whole bool
}

func (w Warning) String() string {
	if w.ID == 0 {
		return fmt.Sprintf("%v: %s", w.Pos, w.Text)
	}
	return fmt.Sprintf("%v (%v): %s", w.ID, w.Pos, w.Text)
}
