package p21

import (
	"bytes"
	"encoding/binary"
)

var utf8BOM = []byte{0xEF, 0xBB, 0xBF}

// magics are starts of files that turn up under the name of a STEP file.
var magics = []struct {
	head string
	what string
}{
	{"\x1F\x8B", "it is compressed (gzip)"},
	{"PK\x03\x04", "it is a zip archive"},
	{"PK\x05\x06", "it is an empty zip archive"},
	{"version https://git-lfs", "it is a Git LFS pointer, which stands for a file that was not fetched"},
	{"\xFF\xFE\x00\x00", "it is text in UTF-32; save it as UTF-8"},
	{"\x00\x00\xFE\xFF", "it is text in UTF-32; save it as UTF-8"},
	{"\xFF\xFE", "it is text in UTF-16; save it as UTF-8"},
	{"\xFE\xFF", "it is text in UTF-16; save it as UTF-8"},
	{"I\x00\x00\x00S\x00\x00\x00", "it is text in UTF-32; save it as UTF-8"},
	{"\x00\x00\x00I\x00\x00\x00S", "it is text in UTF-32; save it as UTF-8"},
	{"I\x00S\x00", "it is text in UTF-16; save it as UTF-8"},
	{"\x00I\x00S", "it is text in UTF-16; save it as UTF-8"},
	{"\xD0\xCF\x11\xE0", "it is a compound document, the native file of some other program"},
	{"%PDF", "it is a PDF document"},
	{"\x89PNG", "it is a PNG picture"},
	{"solid ", "it is an STL mesh"},
	{"7z\xBC\xAF\x27\x1C", "it is a 7z archive"},
	{"Rar!", "it is a RAR archive"},
	{"DBRep_DrawableShape", "it is a boundary file of another kind (BREP)"},
	{"CASCADE Topology", "it is a boundary file of another kind (BREP)"},
	{"{", "it is JSON"},
}

// Sniff says what bytes are that cannot be STEP: a *NotStepError, or nil where
// they may be.
func Sniff(src []byte) error {
	head := bytes.TrimLeft(bytes.TrimPrefix(src, utf8BOM), " \t\r\n")
	switch {
	case len(src) == 0:
		return &NotStepError{What: "it is empty"}
	case len(head) == 0:
		return &NotStepError{What: "it holds nothing but blanks"}
	case len(bytes.Trim(src[:min(len(src), 512)], "\x00")) == 0:
		return &NotStepError{What: "it is filled with zero bytes"}
	case head[0] == '<':
		return markup(head)
	case iges(src):
		return &NotStepError{What: "it is an IGES file"}
	case binarySTL(src):
		return &NotStepError{What: "it is an STL mesh"}
	}
	for _, m := range magics {
		if bytes.HasPrefix(src, []byte(m.head)) || bytes.HasPrefix(head, []byte(m.head)) {
			return &NotStepError{What: m.what}
		}
	}
	return nil
}

func markup(head []byte) error {
	low := bytes.ToLower(head[:min(len(head), 512)])
	if bytes.Contains(low, []byte("<html")) || bytes.Contains(low, []byte("<!doctype")) {
		return &NotStepError{What: "it is an HTML page"}
	}
	return &NotStepError{What: "it is XML; STEP in XML is not supported"}
}

// iges: the first line of an IGES file is 72 characters and "S      1".
func iges(head []byte) bool {
	return len(head) > 80 && head[72] == 'S' && bytes.Equal(bytes.TrimLeft(head[73:80], " 0"), []byte("1"))
}

// binarySTL: 80 bytes of anything, the number of triangles, and 50 bytes each.
func binarySTL(src []byte) bool {
	const head, each = 84, 50
	if len(src) <= head || bytes.HasPrefix(src, []byte("ISO-10303-21")) {
		return false
	}
	return uint64(len(src)-head) == each*uint64(binary.LittleEndian.Uint32(src[80:]))
}

// binaryHead reports control characters that no text has.
func binaryHead(src []byte) bool {
	for _, c := range src[:min(len(src), 512)] {
		if c < '\t' || c > '\r' && c < ' ' && c != 0x1A && c != 0x1B {
			return true
		}
	}
	return false
}
