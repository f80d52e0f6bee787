// Package name is how everything that is written for people calls directions
// and lists of fasteners, so that the summary and the drawings say the same.
package name

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// aligned is the cosine above which a direction counts as one of the root's
// axes: 0.8 degrees.
const aligned = 0.9999

var places = [3][2]string{{"the left", "the right"}, {"the front", "the back"}, {"below", "above"}}

// Axis names a unit vector as the flag --side takes it: "-z" along an axis of
// the root, its coordinates otherwise, "" where it is none.
func Axis(d [3]float64) string {
	if k, minus := along(d); k >= 0 {
		if minus {
			return "-" + "xyz"[k:k+1]
		}
		return "+" + "xyz"[k:k+1]
	}
	if s := d[0] + d[1] + d[2]; math.IsNaN(s - s) {
		return ""
	}
	return fmt.Sprintf("(%s, %s, %s)", short(d[0]), short(d[1]), short(d[2]))
}

// Side names a unit vector in words that follow "from": "below (-z)". z is up,
// x to the right, y away.
func Side(d [3]float64) string {
	k, minus := along(d)
	if k < 0 {
		return Axis(d)
	}
	sign := 1
	if minus {
		sign = 0
	}
	return places[k][sign] + " (" + Axis(d) + ")"
}

// along is the axis that d follows, -1 for none.
func along(d [3]float64) (k int, minus bool) {
	for k, c := range d {
		if math.Abs(c) > aligned {
			return k, c < 0
		}
	}
	return -1, false
}

func short(v float64) string {
	return strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64)
}

// Runs writes ids in one line with runs drawn together: "f1–f4, f7".
func Runs(ids []string) string {
	var out []string
	for i := 0; i < len(ids); {
		n, ok := number(ids[i])
		j := i + 1
		for ok && j < len(ids) && ids[j] == "f"+strconv.Itoa(n+j-i) {
			j++
		}
		switch j - i {
		case 1:
			out = append(out, ids[i])
		case 2:
			out = append(out, ids[i], ids[i+1])
		default:
			out = append(out, ids[i]+"–"+ids[j-1])
		}
		i = j
	}
	return strings.Join(out, ", ")
}

func number(id string) (int, bool) {
	n, err := strconv.Atoi(strings.TrimPrefix(id, "f"))
	return n, err == nil
}
