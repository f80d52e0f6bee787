package report

import (
	"fmt"
	"slices"
	"strings"

	"stepscan/access"
	"stepscan/render/name"
)

// Tallied is one line of the counts: what is counted, and the numbers.
type Tallied struct{ Word, Text string }

// maxTally is how many different things one line names, maxSets how many sets.
const (
	maxTally = 12
	maxSets  = 5
)

// Counted writes the counts as lines; none without fasteners.
func Counted(r *access.Report) []Tallied {
	c := r.Counts
	if c == nil || len(r.Fasteners) == 0 {
		return nil
	}
	out := []Tallied{{"kinds", numbers(c.Kinds, func(c access.Count) string { return plural(c.N, c.What) })}}
	add := func(word, first string, list []access.Count) {
		if len(list) > 0 {
			out = append(out, Tallied{word, first + numbers(list, func(c access.Count) string { return fmt.Sprintf("%d × %s", c.N, diameter(c.What)) })})
		}
	}
	first := ""
	if slices.ContainsFunc(c.Kinds, func(c access.Count) bool { return c.What == "nut" }) {
		first = "nuts included: "
	}
	add("sizes", first, c.Sizes)
	add("lengths", "", c.Lengths)
	first = ""
	if c.Tools > 1 {
		first = fmt.Sprintf("%d to fit a tool to: ", c.Tools)
	}
	add("drives", first, c.Drives)
	if len(c.Sets) > 0 {
		out = append(out, Tallied{"sets", sets(c.Sets)})
	}
	return append(out, several(r, c.Sets)...)
}

// diameter marks a size that is no thread.
func diameter(size string) string {
	if strings.HasSuffix(size, " mm") {
		return "Ø" + size
	}
	return size
}

func numbers(list []access.Count, words func(access.Count) string) string {
	var out []string
	for i, c := range list {
		if i == maxTally && len(list) > maxTally+1 {
			out = append(out, fmt.Sprintf("%d more", len(list)-i))
			break
		}
		out = append(out, words(c))
	}
	return clean(strings.Join(out, ", "))
}

// sets says how many sets there are and how many parts each holds: "7 sets
// of fasteners, one for each joint: 6 through 2 parts, 1 through 3 parts".
func sets(list []access.Set) string {
	n := map[int]int{}
	var layers []int
	for _, s := range list {
		if n[s.Layers] == 0 {
			layers = append(layers, s.Layers)
		}
		n[s.Layers]++
	}
	slices.Sort(layers)
	word := plural(len(list), "set") + " of fasteners, one for each joint"
	var out []string
	for _, l := range layers {
		what := "in 1 part"
		if l > 1 {
			what = "through " + plural(l, "part")
		}
		switch {
		case len(list) == 1:
			return "1 set of fasteners, " + what
		case len(layers) == 1:
			return word + ", each " + what
		}
		out = append(out, fmt.Sprintf("%d %s", n[l], what))
	}
	return word + ": " + strings.Join(out, ", ")
}

// several tells of the sets that hold three parts or more in one stack, which is
// good: undone once, all of them are free.
func several(r *access.Report, list []access.Set) []Tallied {
	names := map[string]string{}
	for i := range r.Occurrences {
		names[r.Occurrences[i].ID] = r.Occurrences[i].Name
	}
	var out []Tallied
	for _, s := range list {
		if s.Layers < 3 {
			continue
		}
		if len(out) == maxSets {
			out = append(out, Tallied{"", "and more such sets: report.json has all"})
			break
		}
		var parts []string
		for _, o := range s.Occurrences {
			parts = append(parts, `"`+clean(names[o])+`"`)
		}
		word := ""
		if len(out) == 0 {
			word = "good"
		}
		verb := "hold"
		if len(s.Fasteners) == 1 {
			verb = "holds"
		}
		out = append(out, Tallied{word, fmt.Sprintf("%s %s %d parts at once: %s", name.Runs(s.Fasteners), verb, s.Layers, strings.Join(parts, ", "))})
	}
	return out
}

// counts writes the counts below the table of fasteners.
func (t *text) counts() {
	list := Counted(t.r)
	if len(list) == 0 {
		return
	}
	t.line("%s", t.bold("Counts"))
	for _, c := range list {
		t.wrapped(fmt.Sprintf("  %-8s ", c.Word), c.Text, 11)
	}
	t.line("")
}
