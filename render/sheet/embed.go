package sheet

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"

	"stepscan/render/view"
)

// shown is what a page shows of a sheet: the frame, without the margins that
// only paper needs.
var shown = view.Rect{X0: frameX0 - 0.5, Y0: frameY0 - 0.5, X1: frameX1 + 0.5, Y1: frameY1 + 0.5}

var (
	headOf  = regexp.MustCompile(`(?s)\A.*?<desc id="desc">`)
	titleOf = regexp.MustCompile(`<title id="title">([^<]*)</title>`)
	styleOf = regexp.MustCompile(`(?s)<style type="text/css">.*?</style>\n`)
	idOf    = regexp.MustCompile(` id="([^"]*)"`)
)

// Fragment makes a sheet fit to stand inside a page of HTML beside other ones:
// without XML declaration and style, which stands once for all of them (see
// StyleWithin), cropped to its frame, each id led by the given prefix and a
// hyphen. The prefix has to be a word of letters and digits.
func Fragment(svg []byte, prefix string) ([]byte, error) {
	head, name := headOf.FindIndex(svg), titleOf.FindSubmatch(svg)
	if head == nil || name == nil || !styleOf.Match(svg) {
		return nil, fmt.Errorf("drawing %s is none of ours", prefix)
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" version="1.1" viewBox="%s %s %s %s" role="img" aria-labelledby="%s-title %s-desc">
<title id="title">%s</title>
<desc id="desc">`, mm(shown.X0), mm(shown.Y0), mm(shown.W()), mm(shown.H()), prefix, prefix, name[1])
	b.Write(svg[head[1]:])
	// A quote in a name is escaped, so what looks like an id is one.
	out := styleOf.ReplaceAll(b.Bytes(), nil)
	return idOf.ReplaceAll(out, []byte(` id="`+prefix+`-$1"`)), nil
}

// StyleWithin is the style of all sheets as it applies inside a page's elements
// that the selector chooses, and nowhere else.
func StyleWithin(selector string) string {
	var b strings.Builder
	for rule := range strings.SplitSeq(style, "}") {
		names, body, ok := strings.Cut(rule, "{")
		if !ok {
			continue
		}
		for i, n := range strings.Split(strings.TrimSpace(names), ",") {
			if i > 0 {
				b.WriteByte(',')
			}
			b.WriteString(selector + " " + withoutID(n))
		}
		b.WriteString("{" + body + "}\n")
	}
	return b.String()
}

// withoutID selects an id by its ending, since Fragment puts a prefix before.
func withoutID(selector string) string {
	name, rest, _ := strings.Cut(selector, " ")
	if id, ok := strings.CutPrefix(name, "#"); ok {
		return `[id$="-` + id + `"] ` + rest
	}
	return selector
}
