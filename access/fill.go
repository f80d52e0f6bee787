package access

import (
	"fmt"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/geom"
)

// report turns the judgement into the plain value that is written.
func (j *Judgement) report(version string) *Report {
	r := Describe(j.Product, version)
	for i := range j.Fasteners {
		r.Fasteners = append(r.Fasteners, j.fastener(i))
	}
	for i := range j.Joints {
		r.Joints = append(r.Joints, j.joint(i))
	}
	r.Sides = j.sides()
	r.Findings = append(r.Findings, j.findings()...)
	r.Verdict = j.verdict(r)
	return r
}

// sides lists the candidate sides, the working side first.
func (j *Judgement) sides() []Side {
	out := []Side{}
	for _, s := range j.Reach.Sides {
		side := Side{
			Side: vector(s.Side), Clear: s.Clear, ClearAfter: s.After, Turn: s.Turn, TwoSided: s.Two, Blocked: s.Blocked,
		}
		if s.Side == j.Reach.Side {
			out = slices.Insert(out, 0, side)
		} else {
			out = append(out, side)
		}
	}
	return out
}

// Describe is the part of a report that needs no judgement: the source, what
// was read, the parts and their occurrences. Where the product was not meshed,
// what needs a mesh is null.
func Describe(p *product.Product, version string) *Report {
	r := &Report{
		Format: Format, Program: Program{Version: version}, Source: source(p), Read: read(p),
		Parts: []Part{}, Occurrences: []Occurrence{}, Fasteners: []Fastener{}, Joints: []Joint{},
		Targets: []Target{}, Materials: []Material{}, Findings: []Finding{}, Sides: []Side{},
	}
	for i := range p.Parts {
		r.Parts = append(r.Parts, part(&p.Parts[i]))
	}
	for i := range p.Occs {
		r.Occurrences = append(r.Occurrences, occurrence(p, &p.Occs[i]))
	}
	return r
}

func source(p *product.Product) Source {
	s := p.Source
	return Source{
		File: s.File, SHA256: s.SHA256, Bytes: s.Bytes, Schemas: list(s.Schemas), System: s.System,
		Preprocessor: s.Preprocessor, Written: s.Written, LengthUnit: s.LengthUnit,
	}
}

// read counts placed solids, and the faces of the unique parts: a face that is
// lost is lost once, however often its part is used.
func read(p *product.Product) Read {
	r := Read{Skipped: []Skip{}}
	for i := range p.Occs {
		part := &p.Parts[p.Occs[i].Part]
		r.Solids += len(part.Bodies)
		if part.HasShape() {
			r.SolidsMeshed += len(part.Bodies)
		}
	}
	for _, s := range p.Skips {
		if s.Aside {
			r.Aside++
		}
		r.Skipped = append(r.Skipped, Skip{ID: tag(uint64(s.Tag)), Line: s.Pos.Line, Entity: s.Entity, Why: s.Why})
	}
	for i := range p.Parts {
		part := &p.Parts[i]
		lost := 0
		for _, f := range part.Faults {
			if f.Repaired {
				r.FacesRepaired++
			} else {
				lost++
			}
			r.Skipped = append(r.Skipped, Skip{
				ID: tag(uint64(f.Tag)), Entity: "face", Why: fmt.Sprintf("part %q: %s", part.Name, f.Why),
			})
		}
		n := faces(part)
		r.Faces += n
		if part.HasShape() {
			r.FacesMeshed += n - lost
		}
	}
	return r
}

func tag(t uint64) string {
	if t == 0 {
		return ""
	}
	return fmt.Sprintf("#%d", t)
}

func faces(p *product.Part) int {
	n := 0
	for _, b := range p.Bodies {
		n += len(b.Faces)
	}
	return n
}

func part(p *product.Part) Part {
	out := Part{
		ID: p.ID, Name: p.Name, Solids: len(p.Bodies), Faces: faces(p),
		VolumeMM3: Unknown(), AreaMM2: Unknown(), ChordMM: Unknown(),
		Material: p.Material, MaterialFrom: "none", DensityKgM3: Unknown(), MassG: Unknown(), Color: p.Color,
	}
	if p.Material != "" {
		out.MaterialFrom = "file"
	}
	if !p.HasShape() {
		return out
	}
	n := len(p.Mesh.Triangles)
	c, b := vector(p.Centroid), box(p.Box)
	out.AreaMM2, out.CentroidMM, out.BoxMM = Number(p.Area), &c, &b
	out.Closed, out.Triangles, out.ChordMM = p.Closed, &n, Number(p.Mesh.Chord)
	if p.Closed { // an open surface encloses nothing
		out.VolumeMM3 = Number(p.Volume)
	}
	return out
}

func box(b geom.Box) [6]Number {
	return [6]Number{
		Number(b.Min[0]), Number(b.Min[1]), Number(b.Min[2]),
		Number(b.Max[0]), Number(b.Max[1]), Number(b.Max[2]),
	}
}

func occurrence(p *product.Product, o *product.Occ) Occurrence {
	out := Occurrence{ID: o.ID, Part: p.Parts[o.Part].ID, Name: o.Name, Path: o.Path, Depth: o.Depth}
	if o.Parent >= 0 {
		id := p.Occs[o.Parent].ID
		out.Parent = &id
	}
	for i, v := range o.Placement.Rows() {
		out.Placement[i] = Number(v)
	}
	return out
}

// ids are the occurrence ids of solids.
func (j *Judgement) ids(solids []product.SolidIndex) []string {
	out := make([]string, len(solids))
	for i, s := range solids {
		out[i] = j.Product.Occ(s).ID
	}
	return out
}

func (j *Judgement) id(s product.SolidIndex) *string {
	if s == product.NoSolid {
		return nil
	}
	id := j.Product.Occ(s).ID
	return &id
}

func (j *Judgement) fastener(i int) Fastener {
	f, h := &j.Fasteners[i], &j.Holds[i]
	out := Fastener{
		ID: f.ID, Occurrences: j.ids(f.Solids), Kind: string(f.Kind), Head: f.Head, Size: f.Size,
		Designation: f.Designation, Drive: string(f.Drive), DriveSize: f.DriveSize,
		Axis: vector(f.Axis.D), PointMM: vector(f.Point), LengthMM: Number(f.Length),
		Confidence: Number(f.Confidence), Evidence: append(list(f.Evidence), h.Evidence...),
		Passes: j.ids(h.Passes), Bites: j.ids(h.Bites), Reach: j.reach(i),
	}
	if h.Mate >= 0 {
		out.Mate = &j.Fasteners[h.Mate].ID
	}
	return out
}

func (j *Judgement) reach(i int) Reach {
	r := &j.Reach.Reaches[i]
	as := j.trial(&r.As)
	out := Reach{
		Verdict: string(r.Verdict), Hidden: r.Hidden, HiddenBy: j.ids(r.HiddenBy), Side: vector(r.Side),
		Tool: r.Tool.Name, Held: r.Held, FreeMM: as.FreeMM, NeededMM: as.NeededMM, FreeDeg: as.FreeDeg, NeededDeg: as.NeededDeg,
		HeightMM: Number(r.As.AtHeight), Tight: r.As.Tight, Limiter: as.Limiter,
		After: j.ids(r.After), Why: r.Why, Tried: []Trial{},
	}
	if as.Limiter == nil {
		out.HeightMM = Unknown()
	}
	for k := range r.Tried {
		out.Tried = append(out.Tried, j.trial(&r.Tried[k]))
	}
	return out
}

// trial writes the limit as a radius or as an angle, whichever it was. A free
// radius that nothing limits is null.
func (j *Judgement) trial(t *reach.Trial) Trial {
	out := Trial{
		Tool: t.Tool.Name, Fits: t.Fits, Tight: t.Tight, Limit: string(t.Limit),
		FreeMM: Unknown(), NeededMM: Unknown(), FreeDeg: Unknown(), NeededDeg: Unknown(), Limiter: j.id(t.Limiter),
	}
	if t.Limit == reach.BySwing {
		out.FreeDeg, out.NeededDeg = Number(mgl64.RadToDeg(t.Free)), Number(mgl64.RadToDeg(t.Needed))
		return out
	}
	out.FreeMM, out.NeededMM = Number(t.Free), Number(t.Needed)
	return out
}

func (j *Judgement) joint(i int) Joint {
	jt := &j.Joints[i]
	return Joint{
		ID: jt.ID, Kind: string(jt.Kind), Occurrences: j.ids(jt.Solids),
		Fasteners: j.fastenerIDs(jt.Fasteners), Text: jt.Text,
	}
}

func (j *Judgement) fastenerIDs(list []int) []string {
	out := make([]string, len(list))
	for i, f := range list {
		out[i] = j.Fasteners[f].ID
	}
	return out
}

// verdict counts. Fasteners that no tool ever touches (washers) are counted as
// fasteners and under the verdict of the screw that holds them.
func (j *Judgement) verdict(r *Report) Verdict {
	v := Verdict{Pass: true, Side: vector(j.Reach.Side), Fasteners: len(j.Fasteners)}
	for i := range j.Reach.Reaches {
		switch j.Reach.Reaches[i].Verdict {
		case reach.Clear:
			v.Clear++
		case reach.ClearAfter:
			v.ClearAfter++
		case reach.Turn:
			v.Turn++
		case reach.TwoSided:
			v.TwoSided++
		case reach.Blocked:
			v.Blocked++
		}
		if j.Reach.Reaches[i].Hidden {
			v.Hidden++
		}
	}
	for _, f := range r.Findings {
		v.Pass = v.Pass && f.Level != "fail"
	}
	v.Trust, v.TrustText = trust(&r.Read, r.Findings)
	return v
}

// trust says on how much of the model the verdict rests, and whether the file
// itself says otherwise of what was read.
func trust(r *Read, found []Finding) (level, text string) {
	text = fmt.Sprintf("rests on %d of %d solids and %d of %d faces", r.SolidsMeshed, r.Solids, r.FacesMeshed, r.Faces)
	if r.FacesRepaired > 0 {
		text += fmt.Sprintf(", %d of them repaired", r.FacesRepaired)
	}
	differ := 0
	for i := range found {
		if found[i].Rule == ruleFigures {
			differ++
		}
	}
	if differ > 0 {
		text += fmt.Sprintf("; the file states other figures of %d of its parts than were found", differ)
	}
	if differ > 0 || r.SolidsMeshed < r.Solids || r.FacesMeshed < r.Faces || len(r.Skipped)-r.Aside > r.FacesRepaired {
		return "partial", text
	}
	return "full", text
}

// list is l, or an empty list where l is nil.
func list(l []string) []string {
	if l == nil {
		return []string{}
	}
	return append([]string{}, l...)
}
