package report

import (
	"strings"

	"stepscan/access"
)

// DriveWords names what a tool grips: the best grip, the others after it, and
// whether the tool needs a bore.
func DriveWords(f *access.Fastener) string {
	words := []string{strings.TrimSpace(f.Drive + " " + f.DriveSize)}
	for _, g := range f.DriveAlso {
		words = append(words, strings.TrimSpace(g.Drive+" "+g.DriveSize))
	}
	s := strings.Join(words, " or ")
	if f.DriveBore {
		s += " with pin"
	}
	return s
}
