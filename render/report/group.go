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

// groupName is what the file calls the fasteners: the name they share, else
// what their names have in common at the start, else the first one's.
func (t *text) groupName(g []*access.Fastener) string {
	first := t.nameOf(g[0])
	common := first
	for _, f := range g[1:] {
		n := t.nameOf(f)
		for !strings.HasPrefix(n, common) {
			common = common[:len(common)-1]
		}
	}
	if len(common) < len(first) {
		common = strings.TrimRight(strings.ToValidUTF8(common, ""), " _-:.#(0123456789")
	}
	if len(common) < 3 {
		return clip(clean(first), maxName-1) + "…"
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
