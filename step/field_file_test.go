package step

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/encoding/unicode/utf32"

	"stepscan/step/p21"
)

// What turns up behind .stp and is none: each says what it is.
func TestFieldNoStep(t *testing.T) {
	box := string(oneBox())
	utf16 := func(order unicode.Endianness, mark unicode.BOMPolicy) string {
		s, err := unicode.UTF16(order, mark).NewEncoder().String(box)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	wide := func(order utf32.Endianness, mark utf32.BOMPolicy) string {
		s, err := utf32.UTF32(order, mark).NewEncoder().String(box)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	mesh := make([]byte, 84+50*3)
	binary.LittleEndian.PutUint32(mesh[80:], 3)
	var other, two, folder, locked bytes.Buffer
	packZip(t, &other, map[string][]byte{"model.xml": []byte("<a/>"), "b.txt": nil})
	packZip(t, &two, map[string][]byte{"a.stp": oneBox(), "sub/b.STEP": oneBox()})
	packZip(t, &folder, map[string][]byte{"picture": []byte("\x89PNG\r\n")})
	packZip(t, &locked, map[string][]byte{"a.stp": oneBox()})
	lockZip(locked.Bytes())
	rows := []struct{ point, text, want string }{
		{"UTF-16 with its mark, low byte first", utf16(unicode.LittleEndian, unicode.UseBOM), "UTF-16; save it as UTF-8"},
		{"UTF-16 with its mark, high byte first", utf16(unicode.BigEndian, unicode.UseBOM), "UTF-16; save it as UTF-8"},
		{"UTF-16 without a mark, low byte first", utf16(unicode.LittleEndian, unicode.IgnoreBOM), "UTF-16; save it as UTF-8"},
		{"UTF-16 without a mark, high byte first", utf16(unicode.BigEndian, unicode.IgnoreBOM), "UTF-16; save it as UTF-8"},
		{"UTF-32 with its mark, low byte first", wide(utf32.LittleEndian, utf32.UseBOM), "UTF-32; save it as UTF-8"},
		{"UTF-32 with its mark, high byte first", wide(utf32.BigEndian, utf32.UseBOM), "UTF-32; save it as UTF-8"},
		{"UTF-32 without a mark", wide(utf32.LittleEndian, utf32.IgnoreBOM), "UTF-32; save it as UTF-8"},
		{"a page of the web", "\r\n<!DOCTYPE html>\n<html><body>Log in first</body></html>", "it is an HTML page"},
		{"a pointer to a file that was not fetched", "version https://git-lfs.github.com/spec/v1\noid sha256:0\nsize 1\n", "Git LFS pointer"},
		{"a compound document", "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1" + strings.Repeat("\x00", 600), "native file of some other program"},
		{"some native file", "\x02\x00\x07model\x00\x00\xFF\xD8" + strings.Repeat("\x11", 600), "no text, as the native files of CAD systems are"},
		{"mesh of triangles, text", "solid lid\nfacet normal 0 0 1\n", "STL mesh"},
		{"mesh of triangles, binary", string(mesh), "STL mesh"},
		{"drawing exchange of lines of 80 characters", strings.Repeat(" ", 72) + "S      1\r\n", "IGES"},
		{"STEP in XML", "<?xml version=\"1.0\"?>\n<n0:Uos xmlns:n0=\"x\"/>", "STEP in XML is not supported"},
		{"STEP in XML behind a byte order mark", "\xEF\xBB\xBF<?xml version=\"1.0\"?>", "STEP in XML is not supported"},
		{"STEP in XML, compressed", string(pack(t, []byte("<?xml version=\"1.0\"?><Uos/>"))), "STEP in XML is not supported"},
		{"empty", "", "it is empty"},
		{"blanks", " \r\n\t\n", "nothing but blanks"},
		{"filled with zeros", strings.Repeat("\x00", 5000), "filled with zero bytes"},
		{"a note", "Please find the model attached.\n", "does not start with ISO-10303-21"},
		{"empty, compressed", string(pack(t, nil)), "it is empty"},
		{"compressed twice", string(pack(t, pack(t, oneBox()))), "it is compressed (gzip)"},
		{"compressed and cut off", string(pack(t, oneBox())[:20]), "compressed (gzip) and damaged"},
		{"archive of something else", other.String(), "zip archive without a STEP file"},
		{"archive of one picture", folder.String(), "PNG picture"},
		{"archive of several STEP files", two.String(), "zip archive with several STEP files"},
		{"archive with a password", locked.String(), "zip archive with a password"},
		{"archive cut off", two.String()[:200], "damaged zip archive"},
		{"archive of nothing", "PK\x05\x06" + strings.Repeat("\x00", 18), "empty zip archive"},
	}
	for _, r := range rows {
		t.Run(r.point, func(t *testing.T) {
			_, err := Read(t.Context(), "it.stp", []byte(r.text), Options{})
			var no *p21.NotStepError
			if !errors.As(err, &no) || !strings.Contains(err.Error(), r.want) || !strings.HasPrefix(err.Error(), "it.stp: ") {
				t.Errorf("error %v, want one about %q", err, r.want)
			}
		})
	}
}

// lockZip marks the members of an archive as encrypted: bit 0 of the flags in
// each local header and each entry of the directory.
func lockZip(b []byte) {
	for sign, at := range map[string]int{"PK\x03\x04": 6, "PK\x01\x02": 8} {
		for i := bytes.Index(b, []byte(sign)); i >= 0; {
			b[i+at] |= 1
			next := bytes.Index(b[i+4:], []byte(sign))
			if next < 0 {
				break
			}
			i += 4 + next
		}
	}
}

// What stands round the records, or is missing there: the box is read, and the
// report says where something was odd.
func TestFieldFiles(t *testing.T) {
	box := string(oneBox())
	lines := strings.Count(box, "\n")
	swap := func(old, new string) string {
		s := strings.Replace(box, old, new, 1)
		if s == box {
			t.Fatalf("no %q to replace", old)
		}
		return s
	}
	zipped := func(files map[string][]byte) string {
		var b bytes.Buffer
		packZip(t, &b, files)
		return b.String()
	}
	head := box[strings.Index(box, "HEADER;"):strings.Index(box, "DATA;")]
	rows := []struct {
		point, text string
		told        string // line, column and words; "" for nothing
		aside       bool   // nothing was lost by it
	}{
		{"nothing odd", box, "", false},
		{"byte order mark", "\xEF\xBB\xBF" + box, "line 1, column 1: byte order mark", true},
		{"comment before the magic line", "/* don't; ISO-10303-21; */\n" + box, "", false},
		{"comments in the header, with a quote", swap("FILE_NAME(", "/* it's; */ FILE_NAME /*(*/ ("), "", false},
		{"text before the file", "From: the office\nSubject: it's here\n\n" + box, "line 1, column 1: text in front of ISO-10303-21", true},
		{"text behind the file", box + "-- \nRegards\n", fmt.Sprintf("line %d, column 1: text behind END-ISO-10303-21 is not read", lines+1), true},
		{"zeros behind the file", box + strings.Repeat("\x00", 512) + "\x1A", "", false},
		{"two files", box + box, fmt.Sprintf("line %d, column 1: a second exchange structure begins here", lines+1), false},
		{"two files, the first without its end", strings.TrimSuffix(box, "END-ISO-10303-21;\n") + box, fmt.Sprintf("line %d, column 1: a second exchange structure begins here", lines), false},
		{"two files, the first without its section's end", strings.TrimSuffix(box, "ENDSEC;\nEND-ISO-10303-21;\n") + box, fmt.Sprintf("line %d, column 1: ENDSEC is missing", lines-1), true},
		{"no end of the file", strings.TrimSuffix(box, "END-ISO-10303-21;\n"), fmt.Sprintf("line %d, column 1: the text ends without END-ISO-10303-21, at byte %d after record #", lines, len(box)-len("END-ISO-10303-21;\n")), false},
		{"no end of the section", strings.Replace(box, "ENDSEC;\nEND-ISO", "END-ISO", 1), fmt.Sprintf("line %d, column 1: ENDSEC is missing", lines-1), true},
		{"no end of the header", swap("ENDSEC;\nDATA;", "DATA;"), "line 6, column 1: ENDSEC is missing at the end of the header", true},
		{"no magic line", strings.TrimPrefix(box, "ISO-10303-21;\n"), "line 1, column 1: ISO-10303-21 is missing at the start", true},
		{"no header", strings.Replace(box, head, "", 1), "", false},
		{"header records in another order, some missing", strings.Replace(box, head, "HEADER;\nFILE_SCHEMA(('X'));\nFILE_DESCRIPTION((''),'2;1');\nENDSEC;\n", 1), "", false},
		{"schema of no known name", swap("'AUTOMOTIVE_DESIGN'", "'NO_SUCH_SCHEMA'"), "", false},
		{"schema of pipes and tanks", swap("'AUTOMOTIVE_DESIGN'", "'STRUCTURAL_ANALYSIS_DESIGN'"), "", false},
		{"several schemas, with object identifiers", swap("'AUTOMOTIVE_DESIGN'", "'CONFIG_CONTROL_DESIGN { 1 0 10303 203 1 1 1}','GEOMETRIC_VALIDATION_PROPERTIES_MIM'"), "", false},
		{"no schema", swap("FILE_SCHEMA(('AUTOMOTIVE_DESIGN'));\n", ""), "", false},
		{"CRLF", strings.ReplaceAll(box, "\n", "\r\n"), "", false},
		{"CR alone", strings.ReplaceAll(box, "\n", "\r"), "", false},
		{"one line", strings.ReplaceAll(box, "\n", ""), "", false},
		{"lower case", strings.ToLower(box), placeOf(strings.ToLower(box), ".t.") + ": a truth value is not written as .T. or .F.", true},
		{"anchors", swap("DATA;", "ANCHOR;\n<it's>=#1;\n<a>='ENDSEC;';/* ENDSEC; */\nENDSEC;\nDATA;"), "line 7, column 1: ANCHOR section skipped", false},
		{"references to other files", swap("DATA;", "REFERENCE;\n#9001=<part.stp#a>;\n@3=<x.stp#b>;\nENDSEC;\nDATA;"), "line 7, column 1: REFERENCE section skipped", false},
		{"signature", box + "SIGNATURE;\nMIIB'/*\nENDSEC;\n", fmt.Sprintf("line %d, column 1: SIGNATURE section skipped", lines+1), true},
		{"gzip", string(pack(t, []byte(box))), "read out of the compressed file", true},
		{"zip, with a path that means nothing", zipped(map[string][]byte{"../../etc/x.StP": []byte(box), "read me.txt": []byte("x")}), "read out of the compressed file", true},
		{"zip, with what a system keeps beside each file", zipped(map[string][]byte{"a.stp": []byte(box), "__MACOSX/._a.stp": []byte("\x00\x05\x16\x07")}), "read out of the compressed file", true},
		{"zip of one file of another ending", zipped(map[string][]byte{"part": []byte(box)}), "read out of the compressed file", true},
	}
	for _, r := range rows {
		t.Run(r.point, func(t *testing.T) {
			a, err := Read(t.Context(), "it.stp", []byte(r.text), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if a.SolidCount() != 1 || len(a.Parts[0].Bodies[0].Faces) != 6 {
				t.Errorf("%d solids, want the box", a.SolidCount())
			}
			if r.told == "" {
				noSkips(t, a)
				return
			}
			for _, s := range a.Skips {
				if strings.HasPrefix(fmt.Sprintf("%v: %s", s.Pos, s.Why), r.told) || s.Pos.Line == 0 && strings.Contains(s.Why, r.told) {
					if s.Aside != r.aside {
						t.Errorf("aside %v, want %v: %s", s.Aside, r.aside, s.Why)
					}
					return
				}
			}
			t.Errorf("skips %+v, want one that starts %q", a.Skips, r.told)
		})
	}
}

// placeOf is where a piece of a text stands first.
func placeOf(text, piece string) string {
	i := strings.Index(text, piece)
	return p21.Pos{Line: 1 + strings.Count(text[:i], "\n"), Col: i - strings.LastIndexByte(text[:i], '\n')}.String()
}

// What a compressed file unpacks to is bounded, whatever it says it is.
func TestFieldExpansionIsBounded(t *testing.T) {
	var z bytes.Buffer
	packZip(t, &z, map[string][]byte{"a.stp": bytes.Repeat([]byte(" "), 4<<20)})
	for name, b := range map[string][]byte{"gzip": pack(t, make([]byte, 4<<20)), "zip": z.Bytes()} {
		_, err := Read(t.Context(), "it.stp", b, Options{MaxBytes: 1 << 20})
		var limit *LimitError
		if !errors.As(err, &limit) || !strings.Contains(err.Error(), "it.stp: the "+name+" file unpacks to more than 1048576 bytes") {
			t.Errorf("%s: error %v, want a LimitError", name, err)
		}
	}
}

// A DATA section without records has its own words.
func TestFieldEmptyData(t *testing.T) {
	for _, data := range []string{"", "/* nothing */", "#1=;\n"} {
		a, err := Read(t.Context(), "it.stp", []byte("ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n"+data+"ENDSEC;\nEND-ISO-10303-21;\n"), Options{})
		if err != nil {
			t.Fatal(err)
		}
		wantSkip(t, a, "no entities")
		if err := a.RequireBodies(); err == nil || !strings.HasPrefix(err.Error(), "it.stp: no entities") {
			t.Errorf("error %v, want one about no entities", err)
		}
	}
	var m maker
	m.point(1, 2, 3)
	if err := m.read(t).RequireBodies(); err == nil || strings.Contains(err.Error(), "no entities") {
		t.Errorf("error %v, want one about bodies", err)
	}
}

// A download that was cut off: what is whole is read, wherever the cut is, and
// the place is told.
func TestFieldCutAnywhere(t *testing.T) {
	box := oneBox()
	data := bytes.Index(box, []byte("DATA;")) + len("DATA;")
	for n := data; n < len(box)-len("ENDSEC;\nEND-ISO-10303-21;\n"); n += 97 {
		a, err := Read(t.Context(), "it.stp", box[:n], Options{})
		if err != nil {
			t.Fatalf("cut at %d: %v", n, err)
		}
		if !a.Source.Truncated || a.RequireWhole() == nil {
			t.Errorf("cut at %d: not told as truncated", n)
		}
		told := false
		for _, s := range a.Skips {
			told = told || strings.Contains(s.Why, fmt.Sprintf("at byte %d", n)) && s.Pos.Line > 0
		}
		if !told {
			t.Errorf("cut at %d: the place is not told: %+v", n, a.Skips)
		}
	}
}

// A file is told by its content, whatever its ending says.
func TestFieldTextFilesOnDisk(t *testing.T) {
	dir := t.TempDir()
	for name, b := range map[string][]byte{"plain.step.gz": oneBox(), "zipped.stp": pack(t, oneBox()), "odd.txt": oneBox()} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, b, 0o666); err != nil {
			t.Fatal(err)
		}
		a, err := ReadFile(t.Context(), path, Options{})
		if err != nil || a.SolidCount() != 1 {
			t.Errorf("%s: %v: want it told by its content", name, err)
		}
	}
}
