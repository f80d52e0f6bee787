package reach_test

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"stepscan/access"
	"stepscan/access/product"
)

// knowledge is what the report says of fasteners, joints, contacts and broken
// rules, by paths in place of ids and order; each with a number that may differ
// by rounding.
func knowledge(t *testing.T, x judged) map[string]float64 {
	t.Helper()
	side := x.r.Side
	j, err := access.Judge(context.Background(), x.p, access.Options{Side: &side})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]float64{}
	add := func(v float64, what ...any) { out[strings.TrimSuffix(fmt.Sprintln(what...), "\n")] += v }
	for i := range j.Fasteners {
		f, h := &j.Fasteners[i], &j.Holds[i]
		path := paths(x.p, f.Solids)
		add(f.Length, "fastener", path, f.Kind, f.Head, f.Size, f.Designation, f.Drive, f.DriveSize, f.Evidence, f.Conflict)
		add(h.Engagement, "hold", path, paths(x.p, h.Passes), paths(x.p, h.Bites), h.CaptiveNut, h.CaptiveHead, len(h.Washers), h.Grip)
	}
	for i := range j.Joints {
		t := &j.Joints[i]
		add(t.Area, "joint", t.Kind, paths(x.p, t.Solids), len(t.Fasteners), t.Contact, t.Fit)
	}
	for i := range j.Touching.Pairs {
		q := &j.Touching.Pairs[i]
		add(q.Area(), "pair", paths(x.p, []product.SolidIndex{q.A, q.B}), len(q.Contacts), len(q.Fits), q.Deep)
	}
	for i := range j.Touching.Overlaps {
		o := &j.Touching.Overlaps[i]
		add(o.Volume, "overlap", paths(x.p, []product.SolidIndex{o.A, o.B}), o.Why)
	}
	for i := range j.Touching.Loose {
		l := &j.Touching.Loose[i]
		add(l.Area, "loose", l.How, paths(x.p, l.Solids), paths(x.p, l.By), l.Fit)
	}
	for _, f := range j.Report.Findings {
		add(float64(f.Value), "finding", f.Rule, f.Level, len(f.Occurrences), len(f.Fasteners))
	}
	return out
}

func paths(p *product.Product, solids []product.SolidIndex) []string {
	var out []string
	for _, s := range solids {
		out = append(out, p.Occ(s).Path)
	}
	slices.Sort(out)
	return out
}

// sameKnowledge compares what is known of one product drawn in two ways.
func sameKnowledge(t *testing.T, want, got judged) {
	t.Helper()
	a, b := knowledge(t, want), knowledge(t, got)
	for _, k := range slices.Sorted(maps.Keys(a)) {
		v, ok := b[k]
		if !ok {
			t.Errorf("gone: %s", k)
		} else if w := a[k]; math.Abs(v-w) > 1e-3*(1+math.Abs(w)) {
			t.Errorf("%g, want %g: %s", v, w, k)
		}
	}
	for _, k := range slices.Sorted(maps.Keys(b)) {
		if _, ok := a[k]; !ok {
			t.Errorf("new: %s", k)
		}
	}
	if len(a) < 50 {
		t.Errorf("only %d things known", len(a))
	}
}
