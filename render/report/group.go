package report

import (
	"fmt"
	"strconv"
	"strings"

	"stepscan/access"
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

// ids writes the fasteners' ids with runs drawn together: "f1–f4, f7".
func ids(g []*access.Fastener) string {
	var out []string
	for i := 0; i < len(g); {
		n, ok := number(g[i].ID)
		j := i + 1
		for ok && j < len(g) && g[j].ID == fmt.Sprintf("f%d", n+j-i) {
			j++
		}
		switch j - i {
		case 1:
			out = append(out, g[i].ID)
		case 2:
			out = append(out, g[i].ID, g[i+1].ID)
		default:
			out = append(out, g[i].ID+"–"+g[j-1].ID)
		}
		i = j
	}
	return strings.Join(out, ", ")
}

func number(id string) (int, bool) {
	n, err := strconv.Atoi(strings.TrimPrefix(id, "f"))
	return n, err == nil
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
const maxName = 32

func (t *text) nameOf(f *access.Fastener) string {
	if len(f.Occurrences) == 0 {
		return ""
	}
	return t.names[f.Occurrences[0]]
}
