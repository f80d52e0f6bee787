package p21

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/ianaindex"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/simplifiedchinese"
)

// encodingNames are the names to suggest; their many aliases are understood as
// well.
var encodingNames = []string{
	"utf-8", "windows-1250", "windows-1251", "windows-1252", "windows-1253", "windows-1254", "windows-1255",
	"windows-1256", "windows-1257", "windows-1258", "windows-874", "iso-8859-1", "iso-8859-2", "iso-8859-3",
	"iso-8859-4", "iso-8859-5", "iso-8859-6", "iso-8859-7", "iso-8859-8", "iso-8859-10", "iso-8859-13",
	"iso-8859-14", "iso-8859-15", "iso-8859-16", "koi8-r", "koi8-u", "macintosh", "ibm866", "ibm850", "ibm437",
	"gbk", "gb18030", "big5", "shift_jis", "euc-jp", "euc-kr",
}

// EncodingError refuses the name of an encoding.
type EncodingError struct {
	Name string
	Why  string
	Near []string // names like it
}

func (e *EncodingError) Error() string {
	return fmt.Sprintf("%q %s; near names: %s", e.Name, e.Why, strings.Join(e.Near, ", "))
}

// EncodingNamed finds an encoding by a name that the web or the IANA register
// has for it. Only those will do in which the bytes below 80 are ASCII, and a
// quote is never a part of another character: the records are told apart
// before the strings in them are decoded. Else it gives an *EncodingError.
func EncodingNamed(name string) (encoding.Encoding, error) {
	enc, err := htmlindex.Get(name)
	if err != nil {
		enc, err = ianaindex.IANA.Encoding(name)
	}
	switch {
	case err != nil || enc == nil:
		return nil, &EncodingError{name, "is no encoding that is known here", nearNames(name)}
	case !keepsASCII(enc):
		return nil, &EncodingError{name, "is an encoding in which no STEP file can be written", nearNames(name)}
	}
	return enc, nil
}

func keepsASCII(enc encoding.Encoding) bool {
	switch enc {
	case encoding.Replacement, japanese.ISO2022JP, simplifiedchinese.HZGB2312: // the last two shift between alphabets
		return false
	}
	var all []byte
	for c := byte(' '); c < 0x7F; c++ {
		all = append(all, c)
	}
	out, err := enc.NewDecoder().Bytes(all)
	return err == nil && string(out) == string(all)
}

// nearNames are the three known names that take the fewest changes to come to,
// and come first in the list.
func nearNames(name string) []string {
	name = strings.ToLower(name)
	name = name[:min(len(name), 40)]
	by := slices.Clone(encodingNames)
	slices.SortStableFunc(by, func(a, b string) int { return cmp.Compare(changes(name, a), changes(name, b)) })
	return by[:3]
}

// changes is the least number of bytes to put in, take out or replace to make
// one text of another (Levenshtein's distance, row by row).
func changes(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			next := min(row[j], row[j+1]) + 1
			if a[i] == b[j] {
				next = min(next, diagonal)
			} else {
				next = min(next, diagonal+1)
			}
			diagonal, row[j+1] = row[j+1], next
		}
	}
	return row[len(b)]
}
