package access

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/notes"
	"stepscan/access/product"
	"stepscan/geom"
)

// overruling applies a notes file to a product.
type overruling struct {
	p     *product.Product
	notes *notes.Notes
	by    map[string][]product.SolidIndex // solids by what people call them
	words []string                        // the names, in the order of the file
}

// overrule reads the names of the notes against those of the product. An error
// is a *notes.Error: a name that the product does not have.
func overrule(p *product.Product, n *notes.Notes) (*overruling, error) {
	o := &overruling{p: p, notes: n, by: map[string][]product.SolidIndex{}}
	if n == nil {
		return o, nil
	}
	for i := range p.Solids {
		for _, name := range namesOf(p, product.SolidIndex(i)) {
			if o.by[name] == nil {
				o.words = append(o.words, name)
			}
			o.by[name] = append(o.by[name], product.SolidIndex(i))
		}
	}
	return o, o.check()
}

// namesOf lists what the file calls a solid: its part, its use, and where it is
// one of a product's several bodies, that product and its use.
func namesOf(p *product.Product, s product.SolidIndex) []string {
	at := p.Occ(s)
	out := []string{p.Part(s).Name, at.Name}
	if at.Body && at.Parent >= 0 {
		up := &p.Occs[at.Parent]
		out = append(out, p.Parts[up.Part].Name, up.Name)
	}
	slices.Sort(out)
	return slices.DeleteFunc(slices.Compact(out), func(name string) bool { return name == "" })
}

func (o *overruling) check() error {
	for i := range o.notes.Parts {
		if err := o.known(o.notes.Parts[i].Name); err != nil {
			return err
		}
	}
	for i := range o.notes.Joints {
		j := &o.notes.Joints[i]
		for _, w := range []notes.Word{j.Part, j.On} {
			if err := o.known(w); err != nil {
				return err
			}
		}
	}
	return nil
}

func (o *overruling) known(w notes.Word) error {
	if len(o.by[w.Text]) > 0 {
		return nil
	}
	return o.notes.At(w, "no part of %s is called %q%s", o.p.Source.File, w.Text, notes.Meant(w.Text, o.words))
}

// rulings gives each solid what the notes say of it; nil without notes.
func (o *overruling) rulings() func(product.SolidIndex) *fastener.Ruling {
	if o.notes == nil {
		return nil
	}
	of := map[product.SolidIndex]*fastener.Ruling{}
	for i := range o.notes.Parts {
		p := &o.notes.Parts[i]
		if p.Fastener == nil {
			continue
		}
		r := &fastener.Ruling{
			No: p.Fastener.Kind.Text == notes.None, Kind: fastener.Kind(p.Fastener.Kind.Text), Size: p.Fastener.Size.Text,
			Drive: fastener.Drive(p.Fastener.Drive.Text), DriveSize: p.Fastener.DriveSize.Text, By: "the notes file",
		}
		for _, s := range o.by[p.Name.Text] {
			of[s] = r
		}
	}
	return func(s product.SolidIndex) *fastener.Ruling { return of[s] }
}

// declared are the joints that the notes state, numbered after the n that are
// known: one for each solid of the part, on the nearest solid of the other.
func (o *overruling) declared(n int) []joint.Joint {
	var out []joint.Joint
	if o.notes == nil {
		return out
	}
	for i := range o.notes.Joints {
		d := &o.notes.Joints[i]
		for _, a := range o.by[d.Part.Text] {
			b := o.nearest(a, o.by[d.On.Text])
			if b == product.NoSolid {
				continue // a part on itself
			}
			solids := []product.SolidIndex{min(a, b), max(a, b)}
			out = append(out, joint.Joint{
				ID: fmt.Sprintf("j%d", n+len(out)+1), Kind: joint.Declared, Solids: solids,
				Text: o.says(a, b, d), Releases: releases(d),
			})
		}
	}
	return out
}

// releases: snaps, plugs and tape come apart by hand; of the others the notes
// have to say how.
func releases(d *notes.Joint) bool {
	return d.Release.Text != "" || slices.Contains([]string{"snap", "plug", "tape"}, d.By.Text)
}

func (o *overruling) says(a, b product.SolidIndex, d *notes.Joint) string {
	text := fmt.Sprintf("%s on %s by %s, as the notes file says", o.p.Name(a), o.p.Name(b), d.By.Text)
	if d.Release.Text != "" {
		text += "; released by " + d.Release.Text
	}
	return text
}

// nearest is the solid whose box is nearest to that of a; the first of several.
func (o *overruling) nearest(a product.SolidIndex, among []product.SolidIndex) product.SolidIndex {
	best, least := product.NoSolid, math.Inf(1)
	for _, b := range among {
		if b == a {
			continue
		}
		if d := boxGap(o.p.Solids[a].Box, o.p.Solids[b].Box); d < least {
			best, least = b, d
		}
	}
	return best
}

// boxGap is the distance of two boxes, mm; below 0 how deep they are in each
// other.
func boxGap(a, b geom.Box) float64 {
	sum, deep := 0.0, math.Inf(-1)
	for k := range 3 {
		gap := max(a.Min[k]-b.Max[k], b.Min[k]-a.Max[k])
		deep = max(deep, gap)
		sum += max(0, gap) * max(0, gap)
	}
	if deep <= 0 {
		return deep
	}
	return math.Sqrt(sum)
}

// noted is what the report says of the notes.
func noted(n *notes.Notes) *Notes {
	if n == nil {
		return nil
	}
	return &Notes{File: filepath.Base(n.File), Parts: len(n.Parts), Joints: len(n.Joints)}
}
