package report

import (
	"strings"

	"stepscan/access"
	"stepscan/render/name"
)

// group gathers fasteners with the same key, in the order of each key's first.
func group(fs []access.Fastener, key func(*access.Fastener) string) [][]*access.Fastener {
	at := map[string]int{}
	var out [][]*access.Fastener
	for i := range fs {
		k := key(&fs[i])
		g, ok := at[k]
		if !ok {
			g = len(out)
			at[k] = g
			out = append(out, nil)
		}
		out[g] = append(out[g], &fs[i])
	}
	return out
}

// ids writes the fasteners' ids.
func ids(g []*access.Fastener) string {
	list := make([]string, len(g))
	for i, f := range g {
		list[i] = f.ID
	}
	return name.Runs(list)
}

// Common is what several names have in common at the start, without the number
// or sign that tells them apart; false where that is next to nothing, and then
// it is the first name.
func Common(names []string) (string, bool) {
	if len(names) == 0 {
		return "", true
	}
	first := names[0]
	common := first
	for _, n := range names[1:] {
		for !strings.HasPrefix(n, common) {
			common = common[:len(common)-1]
		}
	}
	if len(common) < len(first) {
		common = strings.TrimRight(strings.ToValidUTF8(common, ""), " _-:.#(0123456789")
	}
	if len(common) < 3 && len(common) < len(first) {
		return first, false
	}
	return common, true
}

// groupName is what the file calls the fasteners, as far as there is room.
func (t *text) groupName(g []*access.Fastener) string {
	names := make([]string, len(g))
	for i, f := range g {
		names[i] = t.nameOf(f)
	}
	common, ok := Common(names)
	if !ok {
		return clip(clean(common), maxName-1) + "…"
	}
	return clip(clean(common), maxName)
}

// maxName is how many columns of a name a summary shows.
const maxName = 24

func (t *text) nameOf(f *access.Fastener) string {
	if len(f.Occurrences) == 0 {
		return ""
	}
	return t.names[f.Occurrences[0]]
}
