package joint

import (
	"fmt"
	"slices"
	"strings"

	"stepscan/access/fastener"
	"stepscan/access/product"
)

// joints groups the holds: one joint for each set of solids that the same
// fasteners hold together, one for each thread or press fit on its own.
func (b *binder) joints() []Joint {
	var out []Joint
	at := map[string]int{} // looked up only, never ranged over
	for i := range b.fs {
		f, h := &b.fs[i], &b.holds[i]
		if f.Kind == fastener.Pin {
			out = append(out, b.presses(i)...)
			continue
		}
		if f.Kind == fastener.Nut && h.Mate >= 0 || f.Kind == fastener.Washer {
			continue // spoken for by the shank
		}
		solids := b.held(i)
		if len(solids) == 0 {
			continue
		}
		key := fmt.Sprint(solids)
		k, ok := at[key]
		if !ok {
			k = len(out)
			at[key] = k
			out = append(out, Joint{Kind: Fastened, Solids: solids})
		}
		out[k].Fasteners = append(out[k].Fasteners, i)
	}
	for k := range out {
		out[k].ID = fmt.Sprintf("j%d", k+1)
		if out[k].Kind == Fastened {
			b.finish(&out[k])
		}
	}
	return out
}

// held is the sorted set of solids that fastener i holds together.
func (b *binder) held(i int) []product.SolidIndex {
	solids := b.together(i)
	slices.Sort(solids)
	return solids
}

// presses are the press fits of pin i.
func (b *binder) presses(i int) []Joint {
	f := &b.fs[i]
	var out []Joint
	for _, s := range b.holds[i].Bites {
		l := b.pinLayer(f, s)
		solids := []product.SolidIndex{f.Solids[0], s}
		slices.Sort(solids)
		out = append(out, Joint{
			Kind: Press, Solids: solids, Fasteners: []int{i}, Overlap: round3(l.overlap),
			Text: fmt.Sprintf("%s pressed into %s", b.name(f.Solids[0]), b.name(s)),
		})
	}
	return out
}

// finish names the joint, and makes a single screw in a single part a thread.
func (b *binder) finish(j *Joint) {
	h := &b.holds[j.Fasteners[0]]
	by := b.count(j.Fasteners)
	if len(j.Solids) == 1 {
		j.Kind = Thread
		j.Text = fmt.Sprintf("%s in %s", by, b.name(j.Solids[0]))
		for _, i := range j.Fasteners {
			j.Solids = append(j.Solids, b.fs[i].Solids...)
		}
		slices.Sort(j.Solids)
		return
	}
	if len(h.Passes) == 0 || len(h.Bites) == 0 {
		j.Text = fmt.Sprintf("%s by %s", b.names(b.together(j.Fasteners[0])), by)
		return
	}
	j.Text = fmt.Sprintf("%s on %s by %s", b.names(h.Passes), b.names(b.anchors(h.Bites)), by)
}

func (b *binder) names(solids []product.SolidIndex) string {
	var n []string
	for _, s := range solids {
		n = append(n, b.name(s))
	}
	return list(n)
}

// list writes "a", "a and b" or "a, b and c".
func list(n []string) string {
	if len(n) < 2 {
		return strings.Join(n, "")
	}
	return strings.Join(n[:len(n)-1], ", ") + " and " + n[len(n)-1]
}

// count says "4 screws" or "2 bolts and 1 stud", in the order of their coming.
func (b *binder) count(fs []int) string {
	var kinds []fastener.Kind
	n := map[fastener.Kind]int{}
	for _, i := range fs {
		k := b.fs[i].Kind
		if n[k] == 0 {
			kinds = append(kinds, k)
		}
		n[k]++
	}
	var out []string
	for _, k := range kinds {
		s := fmt.Sprintf("%d %s", n[k], k)
		if n[k] > 1 {
			s += "s"
		}
		out = append(out, s)
	}
	return list(out)
}
