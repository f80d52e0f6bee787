package name

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"stepscan/access/fastener/table"
)

// sizes reads the size and the length: of metric threads, inch threads, tapping
// screws, and of kinds that have a diameter only. A name that states two sizes
// states none.
func (s *Statement) sizes(text string, n issued) {
	rest, after := alike.Replace(text), ""
	if n.end > 0 {
		// The number of the standard is no size, and what follows it begins anew.
		after = alike.Replace(afterYear(n, text[n.end:]))
		rest = alike.Replace(text[:n.at]) + " ; " + after
	}
	switch k := s.Kind(); {
	case k == "pin" || k == "rivet" || k == "ring": // the m6 of a pin is a tolerance
	case s.metric(rest), s.inch(rest), s.tapping(rest):
		return
	}
	if n.end > 0 {
		s.bare(after)
	} else {
		s.plain(rest)
	}
}

// alike are the Cyrillic letters that stand for those of a size.
var alike = strings.NewReplacer("М", "M", "м", "m", "х", "x", "Х", "X")

// afterYear takes the year of issue away, which those who write a dash before it
// give with two or four digits ("GB/T 70.1-2000", "ISO 4762:2004").
func afterYear(n issued, rest string) string {
	if len(rest) < 3 || rest[0] != ':' && rest[0] != '-' {
		return rest
	}
	v, k := digits(rest[1:])
	dashed := rest[0] == '-'
	switch {
	case k == 4 && v >= 1900 && v < 2100 && (!dashed || strings.HasPrefix(n.name, "GB") || strings.HasPrefix(n.name, "ГОСТ") || strings.HasPrefix(n.name, "ASME")):
	case k == 2 && v >= 50 && strings.HasPrefix(n.name, "ГОСТ"):
	default:
		return rest
	}
	return " " + rest[1+k:]
}

// digits reads a whole number: its value and how many digits it has.
func digits(s string) (v, n int) {
	for n < len(s) && n < 9 && s[n] >= '0' && s[n] <= '9' {
		v = 10*v + int(s[n]-'0')
		n++
	}
	return v, n
}

// number reads a decimal number, with a point or a comma: its value and how
// many bytes it has, 0 for none.
func number(s string) (v float64, n int) {
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	if n+1 < len(s) && (s[n] == '.' || s[n] == ',') && s[n+1] >= '0' && s[n+1] <= '9' {
		n++
		for n < len(s) && s[n] >= '0' && s[n] <= '9' {
			n++
		}
	}
	if n == 0 || n > 12 {
		return 0, 0
	}
	v, err := strconv.ParseFloat(strings.Replace(s[:n], ",", ".", 1), 64)
	if err != nil {
		return 0, 0
	}
	return v, n
}

// times skips a multiplication sign or an L for the length, with blanks about
// it; 0 without one.
func times(s string) int {
	n := blanks(s)
	if n == len(s) {
		return 0
	}
	switch {
	case s[n] == 'x' || s[n] == 'X' || s[n] == '*':
		n++
	case (s[n] == 'l' || s[n] == 'L') && n+1 < len(s) && (s[n+1] == '=' || s[n+1] >= '0' && s[n+1] <= '9'):
		n++
		if s[n] == '=' {
			n++
		}
	default:
		return 0
	}
	return n + blanks(s[n:])
}

func blanks(s string) int {
	n := 0
	for n < len(s) && (s[n] == ' ' || s[n] == '_') {
		n++
	}
	return n
}

// metricSizes are the threads of ISO 261, choice 1 and 2, and M2.6 (JIS), from
// memory.
var metricSizes = []float64{
	1, 1.1, 1.2, 1.4, 1.6, 1.7, 1.8, 2, 2.2, 2.3, 2.5, 2.6, 3, 3.5, 4, 4.5, 5, 6, 7, 8, 9, 10, 11, 12, 14, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 42, 45, 48,
}

// metric reads "M4", "M4x12", "M10x1.25x40".
func (s *Statement) metric(text string) bool {
	size, differ := "", false
	for i := range len(text) {
		if text[i] != 'M' && text[i] != 'm' || !sizeBorder(text, i) {
			continue
		}
		d, n := number(text[i+1:])
		if n > 0 && !slices.Contains(metricSizes, d) { // "M4,12"
			whole, k := digits(text[i+1:])
			d, n = float64(whole), k
		}
		if n == 0 || !slices.Contains(metricSizes, d) {
			continue
		}
		this := "M" + strconv.FormatFloat(d, 'g', -1, 64)
		differ = differ || size != "" && size != this
		size, s.Diameter = this, d
		if l := lengthAfter(text[i+1+n:], d); l > 0 {
			s.Length = l
		}
	}
	if differ {
		s.Diameter, s.Length = 0, 0
		return true
	}
	s.Size = size
	return size != ""
}

// sizeBorder reports that an M at byte i begins a size: not inside a word, but
// after one in small letters ("screwM4").
func sizeBorder(text string, i int) bool {
	if i == 0 {
		return true
	}
	b := text[i-1]
	switch {
	case b >= 'a' && b <= 'z':
		return text[i] == 'M'
	case b >= 'A' && b <= 'Z', b >= '0' && b <= '9', b == '.':
		return false
	}
	return true
}

// lengthAfter reads "x12" or "x0.7x12" (pitch and length): a number below three
// tenths of the diameter is a pitch.
func lengthAfter(s string, d float64) float64 {
	n := times(s)
	if n == 0 {
		return 0
	}
	v, k := number(s[n:])
	if k == 0 {
		return 0
	}
	if v >= 0.3*d {
		return v
	}
	s = s[n+k:]
	if n = times(s); n == 0 && strings.HasPrefix(s, "-") {
		n = 1
	}
	if n == 0 {
		return 0
	}
	v, _ = number(s[n:])
	return v
}

// inch reads "1/4-20 x 0.75", "#8-32 x 1/2", "No. 8-32", and "8-32" where a
// table has that thread.
func (s *Statement) inch(text string) bool {
	for i := range len(text) {
		if i > 0 && (text[i-1] >= '0' && text[i-1] <= '9' || strings.IndexByte("./-#", text[i-1]) >= 0 && i > 1 && text[i-2] >= '0' && text[i-2] <= '9') {
			continue
		}
		if i > 0 && text[i-1] >= 'A' && text[i-1] <= 'Z' {
			continue // "G1/4" is a pipe thread
		}
		size, n := inchThread(text[i:])
		t, ok := threadOf(size)
		if !ok {
			continue
		}
		s.Size, s.Diameter = size, t.D
		rest := text[i+n:]
		rest = rest[unified(rest):]
		if k := times(rest); k > 0 {
			s.Length = inches(rest[k:])
		}
		return true
	}
	return false
}

// threadOf is the thread of a size, or the commonest of those that begin with it
// where the number of threads is left out ("#8", "1/4").
func threadOf(size string) (table.Thread, bool) {
	if t, ok := table.ThreadOf(size); ok {
		return t, true
	}
	for _, t := range table.Threads() {
		if size != "" && strings.HasPrefix(t.Size, size+"-") {
			return t, true
		}
	}
	return table.Thread{}, false
}

// inchThread reads a thread's designation and how many bytes it has.
func inchThread(s string) (string, int) {
	sign := 0
	if strings.HasPrefix(s, "#") {
		sign = 1
	}
	a, n := digits(s[sign:])
	if n == 0 || n > 2 {
		return "", 0
	}
	n += sign
	size := "#" + strconv.Itoa(a)
	if n < len(s) && s[n] == '/' {
		b, k := digits(s[n+1:])
		if k == 0 || k > 2 {
			return "", 0
		}
		size = strconv.Itoa(a) + "/" + strconv.Itoa(b)
		n += 1 + k
		if n < len(s) && s[n] == '"' {
			n++
		}
	}
	p, k := 0, 0
	if n < len(s) && s[n] == '-' {
		p, k = digits(s[n+1:])
	}
	switch {
	case k == 2:
	case sign > 0 || size[0] != '#': // without the number of threads
		return size, n
	default:
		return "", 0
	}
	return size + "-" + strconv.Itoa(p), n + 1 + k
}

// unified skips " UNC", "-UNF", " UN-2A".
func unified(s string) int {
	n := 0
	for n < len(s) && strings.IndexByte(" -_", s[n]) >= 0 {
		n++
	}
	up := strings.ToUpper(s[n:])
	for _, w := range []string{"UNC", "UNF", "UN"} {
		if strings.HasPrefix(up, w) {
			n += len(w)
			for _, class := range []string{"-2A", "-3A", "-2B", "-3B"} {
				if strings.HasPrefix(up[len(w):], class) {
					n += len(class)
				}
			}
			return n
		}
	}
	return 0
}

// inches reads "0.75", ".75", "3/4", "1-1/4", "1 1/4" in inches, or a number in
// mm where it says so, as mm.
func inches(s string) float64 {
	if strings.HasPrefix(s, ".") {
		s = "0" + s
	}
	v, n := number(s)
	if n == 0 {
		return 0
	}
	rest := s[n:]
	if den, k := afterSlash(rest); k > 0 {
		return v / den * 25.4
	}
	if len(rest) > 1 && (rest[0] == '-' || rest[0] == ' ') && v == math.Trunc(v) {
		if num, k := digits(rest[1:]); k > 0 {
			if den, j := afterSlash(rest[1+k:]); j > 0 {
				return (v + float64(num)/den) * 25.4
			}
		}
	}
	if strings.HasPrefix(strings.ToLower(rest[blanks(rest):]), "mm") {
		return v
	}
	return v * 25.4
}

// afterSlash reads the lower part of a fraction.
func afterSlash(s string) (float64, int) {
	if !strings.HasPrefix(s, "/") {
		return 0, 0
	}
	v, n := digits(s[1:])
	if v == 0 {
		return 0, 0
	}
	return float64(v), n + 1
}

// tapping reads "ST4.2 x 13".
func (s *Statement) tapping(text string) bool {
	up := strings.ToUpper(text)
	if len(up) != len(text) {
		return false
	}
	i := strings.Index(up, "ST")
	if i < 0 || !borders(text, i) {
		return false
	}
	d, n := number(text[i+2:])
	size := "ST" + strconv.FormatFloat(d, 'g', -1, 64)
	t, ok := table.ThreadOf(size)
	if n == 0 || !ok {
		return false
	}
	s.Size, s.Diameter = size, t.D
	s.Length = lengthAfter(text[i+2+n:], d)
	return true
}

// bare reads the number after a standard that has no letter before it: the
// thread of a nut, of a washer (or its bore, as the old DIN 125 has it), the
// diameter of a pin or rivet, the number of a tapping screw. A letter of a form
// may stand before it ("DIN 125 - A 4.3"), a tolerance after it ("6 m6 x 30").
func (s *Statement) bare(rest string) {
	i := 0
	for i < len(rest) && strings.IndexByte(" -_;:", rest[i]) >= 0 {
		i++
	}
	if i+1 < len(rest) && rest[i] >= 'A' && rest[i] <= 'H' && !isLetter(rest[i+1]) {
		for i++; i < len(rest) && strings.IndexByte(" -_", rest[i]) >= 0; {
			i++
		}
	}
	i += diameterSign(rest[i:])
	d, n := number(rest[i:])
	if n == 0 || d == 0 || d > 100 || i == 0 {
		return
	}
	after := rest[i+n:]
	switch s.Kind() {
	case "washer", "nut":
		s.threadOrBore(d)
	case "screw", "bolt", "set screw", "stud":
		if s.Size == "" && strings.HasPrefix(s.Standard, "ASME") && strings.HasSuffix(s.Standard, "M") && slices.Contains(metricSizes, d) {
			s.Size, s.Diameter = "M"+strconv.FormatFloat(d, 'g', -1, 64), d
			s.Length = lengthAfter(after, d)
			return
		}
		s.tappingNumber(d, after)
	case "pin", "rivet", "ring":
		s.Diameter = d
		if s.Kind() != "ring" { // the second number is a ring's thickness
			s.Length = lengthAfter(after[tolerance(after):], 0)
		}
	}
}

// tappingNumber takes the number of a tapping screw ("DIN 7981 4,2x13").
func (s *Statement) tappingNumber(d float64, after string) {
	if t, ok := table.ThreadOf("ST" + strconv.FormatFloat(d, 'g', -1, 64)); ok && times(after) > 0 {
		s.Size, s.Diameter = t.Size, t.D
		s.Length = lengthAfter(after, d)
	}
}

func isLetter(b byte) bool { return b >= 'a' && b <= 'z' || b >= 'A' && b <= 'Z' || b >= 0x80 }

// threadOrBore takes a number for a thread's, else for the bore of a washer.
func (s *Statement) threadOrBore(d float64) {
	if slices.Contains(metricSizes, d) {
		s.Size, s.Diameter = "M"+strconv.FormatFloat(d, 'g', -1, 64), d
		return
	}
	for _, w := range table.Washers() {
		if s.Kind() == "washer" && w.D1 == d && strings.HasPrefix(w.Size, "M") {
			s.Size = w.Size
			if t, ok := table.ThreadOf(w.Size); ok {
				s.Diameter = t.D
			}
			return
		}
	}
}

// tolerance skips " m6" or "h8".
func tolerance(s string) int {
	n := blanks(s)
	if n+1 < len(s) && strings.IndexByte("mhMH", s[n]) >= 0 {
		if _, k := digits(s[n+1:]); k > 0 && k < 3 {
			return n + 1 + k
		}
	}
	return 0
}

// diameterSign skips "Ø".
func diameterSign(s string) int {
	if strings.HasPrefix(s, "Ø") {
		return len("Ø") + blanks(s[len("Ø"):])
	}
	return 0
}

// plain reads "4x20" or "Ø4x20" of a pin, rivet or screw that has no thread's
// designation: diameter and length, the length not the lesser.
func (s *Statement) plain(text string) {
	if !slices.Contains([]string{"pin", "rivet", "screw"}, s.Kind()) {
		return
	}
	for i := range len(text) {
		if i > 0 && (isLetter(text[i-1]) || strings.IndexByte("0123456789.,#/-", text[i-1]) >= 0) && !strings.HasSuffix(text[:i], "Ø") {
			continue
		}
		d, n := number(text[i:])
		if n == 0 || d < 0.8 || d > 30 {
			continue
		}
		after := text[i+n:]
		if k := times(after); k > 0 {
			if l, j := number(after[k:]); j > 0 && l >= d {
				s.Diameter, s.Length = d, l
				return
			}
		}
	}
}
