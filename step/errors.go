package step

import (
	"errors"
	"fmt"

	"stepscan/step/p21"
)

var (
	errIsFolder = errors.New("is a folder, not a file")
	errIsDevice = errors.New("is a device, not a file")
)

// NoBodiesError says that a file was read and holds no body: no solid, no
// surface, no facets. Readers return the assembly all the same; whoever needs
// bodies makes this error.
type NoBodiesError struct {
	File string
	// Hidden is the number of bodies and occurrences left out because the file
	// hides them.
	Hidden int
	// Empty says that there was no record at all.
	Empty bool
}

func (e *NoBodiesError) Error() string {
	if e.Empty {
		return e.File + ": no entities: its DATA section is empty"
	}
	if e.Hidden > 0 {
		return fmt.Sprintf("%s: no solids but %d that the file hides", e.File, e.Hidden)
	}
	return e.File + ": no solids or surfaces"
}

// RequireBodies returns a *NoBodiesError where the assembly has no body.
func (a *Assembly) RequireBodies() error {
	for i := range a.Parts {
		if len(a.Parts[i].Bodies) > 0 {
			return nil
		}
	}
	e := &NoBodiesError{File: a.Source.File, Empty: a.Source.Empty}
	for _, h := range a.Hidden {
		if h.Left {
			e.Hidden++
		}
	}
	return e
}

// CutOffError says that a file's text stops among its records, so that an
// unknown share of it is missing.
type CutOffError struct {
	File string
	Pos  p21.Pos
}

func (e *CutOffError) Error() string {
	return fmt.Sprintf("%s: the file is cut off at %v, before the end of its DATA section", e.File, e.Pos)
}

// RequireWhole returns a *CutOffError where records are missing at the end.
// The product structure stands last in most files, so what is left of a cut
// file is parts without places.
func (a *Assembly) RequireWhole() error {
	if a.Source.CutOff == (p21.Pos{}) {
		return nil
	}
	return &CutOffError{File: a.Source.File, Pos: a.Source.CutOff}
}

// LimitError says that a file multiplies into more than the limits allow.
type LimitError struct {
	What string
	// Memory: a greater Options.MaxMemory would allow it.
	Memory bool
}

func (e *LimitError) Error() string { return e.What }

var errBudget = &LimitError{What: "the file's records refer to each other so often that reading them has no end"}

// danglingError is a reference to a record that is not in the file.
type danglingError struct{ id p21.ID }

func (e *danglingError) Error() string { return fmt.Sprintf("%v is not in the file", e.id) }

// typeError is a reference to a record of the wrong kind.
type typeError struct {
	id        p21.ID
	got, want string
}

func (e *typeError) Error() string {
	return fmt.Sprintf("%v is %s where %s is wanted", e.id, e.got, e.want)
}

// unsupportedError is a record that is in order but that this reader does not
// know to use.
type unsupportedError struct {
	id     p21.ID
	entity string
}

func (e *unsupportedError) Error() string {
	return fmt.Sprintf("%v %s is not supported", e.id, e.entity)
}

var errDeep = errors.New("records refer to each other in a circle or too deep")
