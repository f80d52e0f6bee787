package report

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"reflect"
	"slices"

	"stepscan/access"
)

// JSON writes the whole report, indented, with a newline at the end, list by
// list and element by element.
func JSON(w io.Writer, r *access.Report) error {
	o := openObject(w)
	report := reflect.ValueOf(r).Elem()
	for i := range report.NumField() {
		name, v := report.Type().Field(i).Tag.Get("json"), report.Field(i)
		if v.Kind() != reflect.Slice || v.IsNil() {
			o.field(name, v.Interface())
			continue
		}
		list(o, name, func(yield func(any) bool) {
			for j := range v.Len() {
				if !yield(v.Index(j).Addr().Interface()) {
					return
				}
			}
		})
	}
	return o.close()
}

// TreeJSON writes the structure only: the report's first keys, and the
// occurrences as they come. The bytes are those of one value with these keys.
func TreeJSON(w io.Writer, r *access.Report, occs iter.Seq[*access.Occurrence]) error {
	o := openObject(w)
	o.field("format", r.Format)
	o.field("program", r.Program)
	o.field("source", r.Source)
	o.field("read", r.Read)
	list(o, "parts", slices.Values(r.Parts))
	list(o, "occurrences", occs)
	return o.close()
}

// object writes a JSON object field by field, and lists element by element: a
// value as a whole would be held twice, as it is and as text.
type object struct {
	w     *bufio.Writer
	value bytes.Buffer // the one at hand
	comma string
	err   error
}

func openObject(w io.Writer) *object {
	o := &object{w: bufio.NewWriter(w)}
	o.w.WriteByte('{')
	return o
}

func (o *object) key(name string) {
	fmt.Fprintf(o.w, "%s\n  %q: ", o.comma, name)
	o.comma = ","
}

func (o *object) field(name string, v any) {
	o.key(name)
	o.put("  ", v)
}

// put writes a value whose further lines start with indent.
func (o *object) put(indent string, v any) {
	o.value.Reset()
	if err := encoder(&o.value, indent).Encode(v); err != nil && o.err == nil {
		o.err = err
	}
	o.w.Write(bytes.TrimSuffix(o.value.Bytes(), []byte("\n")))
}

func list[T any](o *object, name string, items iter.Seq[T]) {
	o.key(name)
	comma, end := "[", "[]"
	for v := range items {
		o.w.WriteString(comma + "\n    ")
		o.put("    ", v)
		comma, end = ",", "\n  ]"
	}
	o.w.WriteString(end)
}

// close ends the object and returns the first error.
func (o *object) close() error {
	o.w.WriteString("\n}\n")
	if err := o.w.Flush(); o.err == nil {
		o.err = err
	}
	return o.err
}

func encoder(w io.Writer, indent string) *json.Encoder {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent(indent, "  ")
	return e
}
