package step

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"stepscan/geom"
)

// A difference is one fact in which our tree and the reference's are not the
// same. ours or theirs is nil where one side has no such node.
type difference struct {
	what      string // name, product, path, depth, place, order, extra, missing, part, uses, roots
	ours      *Occurrence
	theirs    *goldenNode
	got, want string
	of        *comparison
}

func (d difference) String() string {
	where := "the file"
	switch {
	case d.ours != nil:
		where = d.ours.Path
	case d.theirs != nil:
		where = d.theirs.Path
	}
	return fmt.Sprintf("%s of %s: %s, the reference has %s", d.what, where, d.got, d.want)
}

// part is the part of our node.
func (d difference) part() *Part { return &d.of.a.Parts[d.ours.Part] }

// comparison pairs the occurrences of one file with the reference's nodes.
type comparison struct {
	a      *Assembly
	g      golden
	ours   map[OccIndex][]OccIndex // children; -1 has the root
	theirs map[int][]int
	mate   map[OccIndex]int
	moved  map[OccIndex]bool // a name on the way down differs
	diffs  []difference
}

func compare(a *Assembly, g golden) *comparison {
	c := &comparison{
		a: a, g: g, ours: map[OccIndex][]OccIndex{}, theirs: map[int][]int{},
		mate: map[OccIndex]int{}, moved: map[OccIndex]bool{},
	}
	for i, o := range a.Occurrences {
		c.ours[o.Parent] = append(c.ours[o.Parent], OccIndex(i))
	}
	for i, n := range g.Tree {
		up := -1
		if n.Parent != nil {
			up = *n.Parent
		}
		c.theirs[up] = append(c.theirs[up], i)
	}
	c.siblings(-1, -1)
	c.parts()
	if n := c.roots(); n != g.Roots {
		c.differ("roots", -1, -1, n, g.Roots)
	}
	return c
}

// roots counts ours without the artificial one, which stands for no record.
func (c *comparison) roots() int {
	top := c.ours[-1]
	if len(top) == 1 && c.a.Occurrences[top[0]].Tag == 0 {
		top = c.ours[top[0]]
	}
	return len(top)
}

func (c *comparison) differ(what string, o OccIndex, n int, got, want any) {
	d := difference{what: what, got: fmt.Sprint(got), want: fmt.Sprint(want), of: c}
	if o >= 0 {
		d.ours = &c.a.Occurrences[o]
	}
	if n >= 0 {
		d.theirs = &c.g.Tree[n]
	}
	c.diffs = append(c.diffs, d)
}

// alike are the facts by which siblings are paired, from the strictest down.
var alike = []func(name, product, place bool) bool{
	func(name, product, place bool) bool { return name && product && place },
	func(name, product, place bool) bool { return product && place },
	func(name, product, place bool) bool { return name && place },
	func(name, product, place bool) bool { return place },
	func(name, product, place bool) bool { return name && product },
}

// siblings pairs what hangs under one pair, and all below.
func (c *comparison) siblings(up OccIndex, refUp int) {
	ours, left := c.ours[up], slices.Clone(c.theirs[refUp])
	for _, same := range alike {
		for _, i := range ours {
			if _, done := c.mate[i]; done {
				continue
			}
			o := &c.a.Occurrences[i]
			k := slices.IndexFunc(left, func(k int) bool {
				n := &c.g.Tree[k]
				return same(o.Name == n.Name, c.a.Parts[o.Part].Name == n.Product, samePlace(o.Placement.Rows(), n.Placement))
			})
			if k >= 0 {
				c.mate[i] = left[k]
				left = slices.Delete(left, k, k+1)
			}
		}
	}
	last := -1
	for _, i := range ours {
		k, ok := c.mate[i]
		if !ok {
			c.extra(i)
			continue
		}
		if k < last {
			c.differ("order", i, k, "later", "earlier")
		}
		last = max(last, k)
		c.node(i, k, c.moved[up])
		c.siblings(i, k)
	}
	for _, k := range left {
		c.missing(k)
	}
}

func (c *comparison) extra(i OccIndex) {
	c.differ("extra", i, -1, "a node", "none")
	for _, below := range c.ours[i] {
		c.extra(below)
	}
}

func (c *comparison) missing(k int) {
	c.differ("missing", -1, k, "no node", "one")
	for _, below := range c.theirs[k] {
		c.missing(below)
	}
}

// node compares what one pair says of itself. A path follows from the names on
// the way: it is compared as long as these are the same.
func (c *comparison) node(i OccIndex, k int, moved bool) {
	o, n := &c.a.Occurrences[i], &c.g.Tree[k]
	if o.Name != n.Name {
		c.differ("name", i, k, o.Name, n.Name)
		moved = true
	}
	c.moved[i] = moved
	if !moved && o.Path != n.Path {
		c.differ("path", i, k, o.Path, n.Path)
	}
	if p := c.a.Parts[o.Part].Name; p != n.Product {
		c.differ("product", i, k, p, n.Product)
	}
	if o.Depth != n.Depth {
		c.differ("depth", i, k, o.Depth, n.Depth)
	}
	if got := o.Placement.Rows(); !samePlace(got, n.Placement) {
		c.differ("place", i, k, got, n.Placement)
	}
}

// parts compares which leaves share a part, and how often each is used.
func (c *comparison) parts() {
	uses := make([]int, len(c.a.Parts))
	theirs := map[PartIndex]int{}
	ours := map[int]PartIndex{}
	for i, o := range c.a.Occurrences {
		uses[o.Part]++
		k, ok := c.mate[OccIndex(i)]
		if !ok || c.g.Tree[k].Part == nil {
			continue
		}
		p := *c.g.Tree[k].Part
		if was, ok := ours[p]; ok && was != o.Part {
			c.differ("part", OccIndex(i), k, "another part than its likes", "the same")
		}
		if was, ok := theirs[o.Part]; ok && was != p {
			c.differ("part", OccIndex(i), k, "the same part as another", "a different one")
		}
		ours[p], theirs[o.Part] = o.Part, p
	}
	for p := range c.g.Parts {
		if q, ok := ours[p]; ok && uses[q] != c.g.Parts[p].Occurrences {
			k := slices.IndexFunc(c.g.Tree, func(n goldenNode) bool { return n.Part != nil && *n.Part == p })
			c.differ("uses", -1, k, uses[q], c.g.Parts[p].Occurrences)
		}
	}
}

// Our tree is the reference's, node by node: names, products, paths, depths,
// placements, order, number of nodes and roots, which leaves share a part, and
// what the parts hold. Every difference is covered by a rule that says which of
// the two is right, and each rule covers as many as are known.
func TestTreeMatchesReference(t *testing.T) {
	files := realFiles(t)
	count := map[string]map[string]int{} // by rule and file
	for _, r := range treeRules {
		count[r.name] = map[string]int{}
	}
	nodes, same := 0, 0
	for _, name := range files {
		t.Run(name, func(t *testing.T) {
			c := compare(readReal(t, name), readGolden(t, name))
			nodes += len(c.g.Tree)
			if len(c.diffs) == 0 {
				same++
			}
			for _, d := range c.diffs {
				r := slices.IndexFunc(treeRules, func(r treeRule) bool { return r.covers(d) })
				if r < 0 {
					t.Errorf("no rule for this: %v", d)
					continue
				}
				count[treeRules[r].name][name]++
			}
			for i := range c.a.Occurrences {
				if k, ok := c.mate[OccIndex(i)]; ok && c.g.Tree[k].Part != nil {
					checkLeaf(t, c.a, OccIndex(i), c.g.Tree[k], c.g.Parts[*c.g.Tree[k].Part])
				}
			}
		})
	}
	for _, r := range treeRules {
		sum := 0
		for _, name := range files {
			got := count[r.name][name]
			if sum += got; got != r.files[name] {
				t.Errorf("rule %q covers %d differences in %s, %d are known", r.name, got, name, r.files[name])
			}
		}
		for name := range r.files {
			if !slices.Contains(files, name) {
				t.Errorf("rule %q names %s, which is not there", r.name, name)
			}
		}
		t.Logf("%3d  %s; right: %s. %s", sum, r.name, r.right, r.why)
	}
	t.Logf("%d files, %d without any difference; %d nodes", len(files), same, nodes)
}

// Each file has its golden answer, and each answer its file.
func TestEveryFileHasItsGoldenAnswer(t *testing.T) {
	want := map[string]bool{}
	for _, name := range realFiles(t) {
		want[strings.ReplaceAll(name, "/", "__")+".json"] = true
	}
	list, err := os.ReadDir(filepath.Join(shared(t), "oracle", "golden"))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		if !want[e.Name()] {
			t.Errorf("golden answer %s has no file", e.Name())
		}
		delete(want, e.Name())
	}
	for name := range want {
		t.Errorf("no golden answer %s", name)
	}
}

// boxApart are parts whose box the reference has smaller than their own
// corners: a spring of open surfaces.
var boxApart = map[string]bool{"Zugfeder Touch_Standard": true}

// checkLeaf compares the bodies under a node with the reference's part.
func checkLeaf(t *testing.T, a *Assembly, at OccIndex, n goldenNode, p goldenPart) {
	t.Helper()
	box := geom.EmptyBox()
	held := bodiesUnder(a, at)
	for i, o := range a.Occurrences {
		if OccIndex(i) != at && (o.Parent != at || !ownBody(a, &o)) {
			continue
		}
		for _, b := range a.Parts[o.Part].Bodies {
			checkBody(t, b)
			for _, v := range b.Vertices {
				box = box.Add(o.Placement.Point(v.P))
			}
		}
	}
	if want := (content{p.Solids, p.Shells, p.Faces}); held != want {
		t.Errorf("%s: %+v, the reference has %+v", n.Path, held, want)
	}
	if len(n.Bbox) != 6 || box.IsEmpty() || boxApart[p.Name] {
		return
	}
	for k := range 3 {
		lo, hi := n.Bbox[k], n.Bbox[k+3]
		tol := 1e-5 + 1e-6*(hi-lo)
		if box.Min[k] < lo-tol || box.Max[k] > hi+tol {
			t.Errorf("%s: vertices from %g to %g leave the reference's box %g to %g", n.Path, box.Min[k], box.Max[k], lo, hi)
		}
		if p.flat() && (box.Min[k] > lo+tol || box.Max[k] < hi-tol) {
			t.Errorf("%s: vertices from %g to %g do not fill the reference's box %g to %g", n.Path, box.Min[k], box.Max[k], lo, hi)
		}
	}
}

// content counts what a leaf holds.
type content struct{ solids, shells, faces int }

// bodiesUnder counts the bodies of a node: its part's and those that are placed
// under it as parts of their own.
func bodiesUnder(a *Assembly, at OccIndex) content {
	var c content
	for i, o := range a.Occurrences {
		if OccIndex(i) != at && (o.Parent != at || !ownBody(a, &o)) {
			continue
		}
		for _, b := range a.Parts[o.Part].Bodies {
			c.faces += len(b.Faces)
			c.shells += len(b.Shells)
			if b.Solid {
				c.solids++
			}
		}
	}
	return c
}

// ownBody reports a body that stands for itself under its product.
func ownBody(a *Assembly, o *Occurrence) bool {
	b := a.Parts[o.Part].Bodies
	return len(b) > 0 && b[0].Tag == o.Tag
}
