package fastener

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/access/product"
	"stepscan/geom"
)

// Ruling is what a person says of a solid. It stands above shape and name.
type Ruling struct {
	No bool // it is no fastener; the rest then says nothing
	// Kind is what it is; Size, Drive and DriveSize are "" where recognition is
	// to be believed.
	Kind      Kind
	Size      string
	Drive     Drive
	DriveSize string
	By        string // who says so, for the evidence: "the notes file"
}

// FindRuled is FindIn with rulings: rule gives that of a solid, nil for none. A
// solid that is ruled a fastener and has no axis is a Doubt.
func FindRuled(ctx context.Context, s *feature.Scene, rule func(product.SolidIndex) *Ruling) ([]Fastener, []Doubt) {
	c := &court{scene: s, read: reader{}, rule: rule}
	c.examine(ctx)
	c.lumps()
	c.place()
	c.unite()
	overruled := c.force()
	c.settle()
	c.overrule()
	var out []Fastener
	for i := range c.cases {
		if k := &c.cases[i]; k.needs == none {
			f := k.Fastener
			f.Thread = k.threadOf()
			f.ID = fmt.Sprintf("f%d", len(out)+1)
			f.Evidence = append([]string(nil), f.Evidence...)
			out = append(out, f)
		}
	}
	return out, slices.Concat(overruled, c.doubts())
}

// ruling is that of a solid, nil for none.
func (c *court) ruling(s product.SolidIndex) *Ruling {
	if c.rule == nil {
		return nil
	}
	return c.rule(s)
}

// struck reports a solid that is ruled to be no fastener.
func (c *court) struck(s product.SolidIndex) bool {
	r := c.ruling(s)
	return r != nil && r.No
}

// force makes fasteners of the solids that are ruled to be some. What has no
// axis to be turned about cannot be one: a doubt for each such part.
func (c *court) force() []Doubt {
	var out []Doubt
	at := map[int]int{} // of a part in out
	for i := range c.scene.P.Solids {
		s := product.SolidIndex(i)
		r := c.ruling(s)
		if r == nil || r.No || c.mixed[s] {
			continue
		}
		if k := c.of[s]; k >= 0 {
			c.cases[k].needs = none
			continue
		}
		part := c.scene.P.Solids[s].Part
		if x, ok := asRuled(&c.scene.P.Parts[part], c.scene.Parts[part], r); ok && feature.KeepsSize(c.scene.P.Solids[s].Place) {
			c.of[s] = len(c.cases)
			c.cases = append(c.cases, c.instance(x, s))
			continue
		}
		k, ok := at[part]
		if !ok {
			k = len(out)
			at[part] = k
			out = append(out, Doubt{Ruled: true, Text: fmt.Sprintf("%s says %s, but its shape has no axis that a fastener could be turned about", r.By, r.Kind)})
		}
		out[k].Solids = append(out[k].Solids, s)
	}
	return out
}

// overrule writes the rulings over what was found.
func (c *court) overrule() {
	for i := range c.cases {
		k := &c.cases[i]
		if r := c.ruling(k.solid); r != nil && !r.No {
			k.obey(r)
		}
	}
}

func (k *instance) obey(r *Ruling) {
	said := []string{string(r.Kind)}
	if r.Kind != k.Kind && !(r.Kind == Screw && k.Kind == Bolt) { // a nut made a bolt of it
		k.Kind, k.Designation = r.Kind, ""
	}
	if r.Size != "" {
		said = append(said, r.Size)
		if r.Size != k.Size {
			k.Designation = ""
		}
		k.Size = r.Size
		if d, ok := diameter(r.Size); ok {
			k.Nominal = d
		}
	}
	if r.Drive != "" {
		said = append(said, string(r.Drive))
		if r.Drive != k.Drive {
			k.Drive, k.DriveSize, k.Grips, k.Designation = r.Drive, "", nil, ""
		}
	}
	if r.DriveSize != "" {
		said = append(said, r.DriveSize)
		k.DriveSize = r.DriveSize
	}
	k.Confidence, k.Conflict = 1, ""
	k.say("%s says: %s", r.By, strings.Join(said, ", "))
}

// diameter reads a thread's designation or a diameter ("3 mm"), mm.
func diameter(size string) (float64, bool) {
	if t, ok := table.ThreadOf(size); ok {
		return t.D, true
	}
	d, err := strconv.ParseFloat(strings.TrimSuffix(size, " mm"), 64)
	return d, err == nil && d > 0 && d < 2*greatestR
}

// asRuled reads of a shape that recognition does not accept what any fastener
// has: axis, ends, head and shank. The wider end is taken for the head.
func asRuled(p *product.Part, feat *feature.Part, r *Ruling) (specimen, bool) {
	if !p.HasShape() {
		return specimen{}, false
	}
	for _, a := range slices.Concat(axes(p, feat), openAxes(feat)) {
		f, err := geom.NewFrame(a.O, a.D, geom.Perpendicular(a.D))
		if err != nil {
			continue
		}
		m := flatten(p.Mesh, f)
		if !(m.z1 > m.z0) {
			continue
		}
		if o := m.outline(); o.mean(0, profileN/2) > o.mean(profileN/2, profileN) {
			f = geom.Frame{O: f.O, X: f.X, Y: f.Y.Mul(-1), Z: f.Z.Mul(-1)}
			m = flatten(p.Mesh, f)
		}
		return m.roughly(f, r), true
	}
	return specimen{}, false
}

// mean is the mean radius of some steps.
func (p *profile) mean(from, to int) float64 {
	sum := 0.0
	for _, v := range p.r[from:to] {
		sum += v
	}
	return sum / float64(to-from)
}

// roughly fills in what the outline alone tells.
func (m *flat) roughly(f geom.Frame, r *Ruling) specimen {
	o := m.outline()
	radii := slices.Clone(o.r[:])
	slices.Sort(radii)
	s := specimen{shank: 2 * radii[profileN/4]} // the lower quarter: most of a shank, none of a head
	s.Kind, s.Drive = r.Kind, UnknownDrive
	s.Nominal = s.shank
	if d, ok := diameter(r.Size); ok {
		s.Nominal = d
	}
	s.place(f, m, m.z1)
	s.Length = m.z1 - m.z0
	switch r.Kind {
	case Nut, Washer, Ring, Insert:
		s.Bore, s.Symmetric, s.shank, s.HeadD = s.Nominal, true, 0, 2*o.max()
	case Screw, Bolt, Rivet:
		s.head(o)
	default:
		s.Symmetric = r.Kind == Pin
	}
	if r.Kind == Washer || r.Kind == Ring || r.Kind == Pin || r.Kind == Rivet || r.Kind == Clip {
		s.Drive = NoDrive
	}
	s.Evidence = []string{"its shape is in no form that is recognised: only axis, ends and diameters are taken from it"}
	return s
}

// head measures what is wider than the shank at the upper end.
func (s *specimen) head(o *profile) {
	n := 0
	for n < profileN && o.r[profileN-1-n] > 0.6*s.shank {
		n++
	}
	if n == 0 || n == profileN {
		return
	}
	s.HeadD, s.HeadH = 2*o.max(), float64(n)*o.dz
	s.seat, s.Length = -s.HeadH, s.Length-s.HeadH
}
