package notes

import (
	"errors"
	"fmt"
	"strings"

	"github.com/goccy/go-yaml"
)

// Meant is "; did you mean ...?" with the nearest of the words, "" where none is
// near.
func Meant(text string, words []string) string {
	best, least := "", 1+len([]rune(text))/3 // a third of the letters may be wrong
	for _, w := range words {
		if d := distance(strings.ToLower(text), strings.ToLower(w)); d <= least && (best == "" || d < least) {
			best, least = w, d
		}
	}
	if best == "" {
		return ""
	}
	return fmt.Sprintf("; did you mean %q?", best)
}

// distance is how many letters have to be put in, taken out or changed to make
// one text of the other (Levenshtein 1966). Texts of more than 200 letters are
// as far apart as they can be.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	if len(x) > 200 || len(y) > 200 {
		return max(len(x), len(y))
	}
	row := make([]int, len(y)+1)
	for k := range row {
		row[k] = k
	}
	for i, r := range x {
		last := row[0] // the row above, one to the left
		row[0] = i + 1
		for k, s := range y {
			d := last
			if r != s {
				d = 1 + min(last, row[k], row[k+1])
			}
			last, row[k+1] = row[k+1], d
		}
	}
	return row[len(y)]
}

// badYAML tells an error of the reader for people: its line and what it says,
// without the words of the program.
func badYAML(name string, err error) error {
	var y yaml.Error
	if !errors.As(err, &y) {
		return &Error{name, 0, err.Error()}
	}
	line := 0
	if t := y.GetToken(); t != nil {
		line = t.Position.Line
	}
	text := y.GetMessage()
	if key, ok := strings.CutPrefix(text, "unknown field "); ok {
		key = strings.Trim(key, `"`)
		text = fmt.Sprintf("the key %q is not known here%s", key, Meant(key, keys))
	}
	return &Error{name, line, text}
}

// keys are all that a notes file may have.
var keys = []string{"format", "parts", "joints", "name", "fastener", "kind", "size", "drive", "drive_size", "part", "on", "by", "release"}
