package notes

import (
	"fmt"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
)

// Format is the first line's value of a notes file that this package reads.
const Format = "stepscan.notes/1"

// maxBytes bounds a notes file: 10,000 parts with long names take a tenth.
const maxBytes = 4 << 20

// Notes are one file's.
type Notes struct {
	File   string  `yaml:"-"` // for errors
	Format Word    `yaml:"format"`
	Parts  []Part  `yaml:"parts"`
	Joints []Joint `yaml:"joints"`
}

// Part is what is said of a part, by the name that the file gives it or one of
// its uses.
type Part struct {
	Name     Word      `yaml:"name"`
	Fastener *Fastener `yaml:"fastener"`
}

// Fastener overrules what recognition says. What is left out stays as it was
// recognised.
type Fastener struct {
	Kind      Word `yaml:"kind"` // one of Kinds; None
	Size      Word `yaml:"size"` // "M4"
	Drive     Word `yaml:"drive"`
	DriveSize Word `yaml:"drive_size"`
}

// Joint is one that the geometry cannot show.
type Joint struct {
	Part    Word `yaml:"part"`
	On      Word `yaml:"on"`
	By      Word `yaml:"by"`      // one of Ways
	Release Word `yaml:"release"` // how it comes apart, in the user's words
}

// None is the kind of what is no fastener.
const None = "none"

// The words that may be used: kinds and drives of the report.
var (
	Kinds  = []string{None, "screw", "bolt", "nut", "washer", "stud", "set screw", "pin", "rivet", "ring", "insert", "clip"}
	Drives = []string{"hex socket", "hexalobular", "cross", "slot", "outer hex", "square", "none", "unknown"}
	// Ways are the joints that no geometry shows.
	Ways = []string{"glue", "snap", "weld", "solder", "press", "welded plastic", "tape", "plug"}
)

// Word is a text and the line on which it stands, 0 where it is left out.
type Word struct {
	Text string
	Line int
}

// UnmarshalYAML reads any scalar as the text that was written.
func (w *Word) UnmarshalYAML(n ast.Node) error {
	switch n.(type) {
	case *ast.MappingNode, *ast.SequenceNode, *ast.MappingValueNode:
		return fmt.Errorf("line %d: a single value is wanted here, not a list or a mapping", n.GetToken().Position.Line)
	}
	t := n.GetToken()
	w.Text, w.Line = strings.TrimSpace(t.Value), t.Position.Line
	return nil
}

// Error is what is wrong with a notes file.
type Error struct {
	File string
	Line int // 0: the file as a whole
	Text string
}

func (e *Error) Error() string {
	if e.Line == 0 {
		return fmt.Sprintf("%s: %s", e.File, e.Text)
	}
	return fmt.Sprintf("%s:%d: %s", e.File, e.Line, e.Text)
}

// Read reads a notes file; name is for errors, which are *Error.
func Read(name string, text []byte) (*Notes, error) {
	if len(text) > maxBytes {
		return nil, &Error{name, 0, fmt.Sprintf("%d bytes: a notes file has %d at most", len(text), maxBytes)}
	}
	n := &Notes{File: name}
	if err := yaml.UnmarshalWithOptions(text, n, yaml.Strict()); err != nil {
		return nil, badYAML(name, err)
	}
	return n, n.check()
}

// check holds the words against the lists.
func (n *Notes) check() error {
	if n.Format.Text != Format {
		return n.At(n.Format, "format %q: want %q", n.Format.Text, Format)
	}
	for i := range n.Parts {
		p := &n.Parts[i]
		if p.Name.Text == "" {
			return n.At(p.Name, "the part in place %d of the list has no name", i+1)
		}
		if p.Fastener == nil {
			continue
		}
		if err := n.checkFastener(p); err != nil {
			return err
		}
	}
	for i := range n.Joints {
		j := &n.Joints[i]
		if j.Part.Text == "" || j.On.Text == "" {
			return n.At(j.By, "the joint in place %d of the list has to say \"part\" and \"on\"", i+1)
		}
		if err := n.oneOf(j.By, "by", Ways); err != nil {
			return err
		}
	}
	return nil
}

func (n *Notes) checkFastener(p *Part) error {
	f := p.Fastener
	if err := n.oneOf(f.Kind, "kind", Kinds); err != nil {
		if f.Kind.Line == 0 {
			return n.At(p.Name, "the fastener %q has no kind", p.Name.Text)
		}
		return err
	}
	if f.Drive.Line == 0 {
		return nil
	}
	return n.oneOf(f.Drive, "drive", Drives)
}

// At is an error on the line of a word.
func (n *Notes) At(w Word, format string, args ...any) error {
	return &Error{n.File, w.Line, fmt.Sprintf(format, args...)}
}

func (n *Notes) oneOf(w Word, key string, words []string) error {
	for _, x := range words {
		if w.Text == x {
			return nil
		}
	}
	return n.At(w, "%s %q: want one of %s%s", key, w.Text, strings.Join(words, ", "), Meant(w.Text, words))
}
