package access

import (
	"fmt"
	"iter"
	"slices"
	"strings"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/joint/contact"
	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/geom"
	"stepscan/geom/tess"
	"stepscan/step"
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
	r.Counts = j.counts()
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
	r, occs := Outline(p, version)
	for o := range occs {
		r.Occurrences = append(r.Occurrences, *o)
	}
	return r
}

// Outline is Describe with the occurrences beside the report, one by one, since
// many thousands of them may come from a small file. Each stands until the next
// one's turn.
func Outline(p *product.Product, version string) (*Report, iter.Seq[*Occurrence]) {
	r := &Report{
		Format: Format, Program: Program{Version: version}, Source: source(p), Read: read(p),
		Parts: []Part{}, Occurrences: []Occurrence{}, Fasteners: []Fastener{}, Joints: []Joint{},
		Targets: []Target{}, Materials: []Material{}, Findings: []Finding{}, Sides: []Side{},
	}
	for i := range p.Parts {
		r.Parts = append(r.Parts, part(&p.Parts[i]))
	}
	return r, func(yield func(*Occurrence) bool) {
		extras := newExtras()
		var out Occurrence
		for o := range p.All() {
			out = occurrence(p, o)
			if extras.take(o) {
				out.Layers, out.Attributes = o.Layers, extras.attributes(o)
			}
			if !yield(&out) {
				return
			}
		}
	}
}

func source(p *product.Product) Source {
	s := p.Source
	return Source{
		File: s.File, SHA256: s.SHA256, Bytes: s.Bytes, Schemas: list(s.Schemas), System: s.System,
		Preprocessor: s.Preprocessor, Written: s.Written, LengthUnit: s.LengthUnit,
		LengthUnitAssumed: s.UnitAssumed,
	}
}

// read counts placed solids, and the faces of the unique parts: a face that is
// lost is lost once, however often its part is used.
func read(p *product.Product) Read {
	r := Read{Skipped: []Skip{}}
	if len(p.Solids) > 0 {
		b := box(p.Exact())
		r.BoxMM = &b
	}
	extras, without := newExtras(), 0
	for o := range p.All() {
		if !extras.take(o) {
			without++
		}
		part := &p.Parts[o.Part]
		r.Solids += len(part.Bodies)
		if part.HasShape() {
			r.SolidsMeshed += len(part.Bodies)
		}
	}
	if without > 0 {
		r.Aside++
		r.Skipped = append(r.Skipped, Skip{Why: fmt.Sprintf("layers and attributes of occurrences (%d): too many to list, left out of the report", without)})
	}
	aside := r.Skipped
	r.Skipped = []Skip{}
	for _, s := range p.Skips {
		skip := Skip{ID: tag(uint64(s.Tag)), Line: s.Pos.Line, Entity: s.Entity, Why: s.Why}
		if s.Aside {
			r.Aside++
			aside = append(aside, skip)
		} else {
			r.Skipped = append(r.Skipped, skip)
		}
	}
	for i := range p.Parts {
		part := &p.Parts[i]
		lost := 0
		for _, f := range part.Faults {
			skip := Skip{ID: tag(uint64(f.Tag)), Why: fmt.Sprintf("part \"%s\": %s", part.Name, f.Why)}
			skip.Entity, skip.Line = part.Lines.Of(f.Tag)
			switch {
			case f.Repaired && f.Face == tess.NoFace: // a shell was turned, say
				r.Aside++
				aside = append(aside, skip)
				continue
			case f.Repaired:
				r.FacesRepaired++
			default:
				lost++
			}
			r.Skipped = append(r.Skipped, skip)
		}
		n := faces(part)
		r.Faces += n
		if part.HasShape() {
			r.FacesMeshed += n - lost
		}
	}
	r.Skipped = append(r.Skipped, aside...) // what a verdict hangs on stands first
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
		Material: p.Material, MaterialFrom: "none", MaterialEvidence: p.Weak,
		DensityKgM3: Unknown(), MassG: Unknown(), Color: p.Color,
		Attributes: attributes(p.Attributes), Layers: p.Layers, Transparency: Number(p.Transparency),
		RawName: rawName(p.RawName),
	}
	if p.Material != "" || p.Density > 0 || p.Mass > 0 {
		out.MaterialFrom = "file"
	}
	if p.Density > 0 {
		out.DensityKgM3 = Number(p.Density)
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
		out.InertiaMM5 = tensor(p.Inertia)
	}
	out.MassG = mass(p)
	return out
}

// maxRaw bounds a raw name in a report, in bytes: every use of a usage repeats it.
const maxRaw = 500

// rawName is s with the end of a very long one cut off.
func rawName(s string) string {
	if len(s) <= maxRaw {
		return s
	}
	return strings.ToValidUTF8(s[:maxRaw], "") + "…"
}

// mass is density times volume, g; where one of these is not known, what an
// attribute says.
func mass(p *product.Part) Number {
	const gPerKg, mm3PerM3 = 1e3, 1e9
	switch {
	case p.Closed && p.Density > 0 && p.Volume > 0:
		return Number(p.Density * gPerKg * p.Volume / mm3PerM3)
	case p.Mass > 0:
		return Number(p.Mass)
	}
	return Unknown()
}

// attributes are the file's; nil where there are none.
func attributes(from []step.Attribute) []Attribute {
	if len(from) == 0 {
		return nil
	}
	out := make([]Attribute, len(from))
	for i, a := range from {
		out[i] = Attribute{Name: a.Name, Value: a.Value, Unit: a.Unit}
	}
	return out
}

// tensor lists a symmetric matrix as xx, yy, zz, xy, yz, zx.
func tensor(m mgl64.Mat3) *[6]Number {
	return &[6]Number{
		Number(m.At(0, 0)), Number(m.At(1, 1)), Number(m.At(2, 2)),
		Number(m.At(0, 1)), Number(m.At(1, 2)), Number(m.At(2, 0)),
	}
}

func box(b geom.Box) [6]Number {
	return [6]Number{
		Number(b.Min[0]), Number(b.Min[1]), Number(b.Min[2]),
		Number(b.Max[0]), Number(b.Max[1]), Number(b.Max[2]),
	}
}

func occurrence(p *product.Product, o *product.Occ) Occurrence {
	out := Occurrence{ID: o.ID, Part: p.Parts[o.Part].ID, Name: o.Name, Path: o.Path, Depth: o.Depth}
	out.ReferenceDesignator, out.RawName = o.RefDes, rawName(o.RawName)
	if o.Parent >= 0 {
		id := product.OccID(o.Parent)
		out.Parent = &id
	}
	for i, v := range o.Placement.Rows() {
		out.Placement[i] = Number(v)
	}
	if o.Solid != product.NoSolid && int(o.Solid) < len(p.Solids) {
		b := box(p.Solids[o.Solid].Exact)
		out.BoxMM = &b
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

// kindAndHead are a fastener's in the words of the contract, which has no kind
// for a stand-off or a cable tie: it is a stud or a clip whose head is called one.
func kindAndHead(f *fastener.Fastener) (kind, head string) {
	switch f.Kind {
	case fastener.StandOff:
		return string(fastener.Stud), string(fastener.StandOff)
	case fastener.CableTie:
		return string(fastener.Clip), string(fastener.CableTie)
	}
	return string(f.Kind), f.Head
}

// driveOf is a fastener's drive in the words of the contract, which has none for
// a combination or a recess with a pin: the best grip stands for all, the others
// follow.
func driveOf(f *fastener.Fastener) (best Grip, also []Grip) {
	best = contractGrip(f.Best())
	for i, w := range f.Ways() {
		if i > 0 {
			also = append(also, contractGrip(w))
		}
	}
	return best, also
}

func contractGrip(g fastener.Grip) Grip {
	switch g.Drive {
	case fastener.PinHexalobular:
		g.Drive = fastener.Hexalobular
	case fastener.Combination: // one whose grips are not known
		g.Drive = fastener.UnknownDrive
	}
	return Grip{Drive: string(g.Drive), DriveSize: g.Size}
}

func (j *Judgement) fastener(i int) Fastener {
	f, h := &j.Fasteners[i], &j.Holds[i]
	kind, head := kindAndHead(f)
	drive, also := driveOf(f)
	out := Fastener{
		ID: f.ID, Occurrences: j.ids(f.Solids), Kind: kind, Head: head, Size: f.Size, Thread: string(f.Thread),
		Designation: f.Designation, Drive: drive.Drive, DriveSize: drive.DriveSize,
		DriveAlso: also, DriveBore: f.Drive == fastener.PinHexalobular,
		Axis: vector(f.Axis.D), PointMM: vector(f.Point), LengthMM: Number(f.Length),
		Confidence: Number(f.Confidence), Evidence: append(list(f.Evidence), h.Evidence...),
		Passes: j.ids(h.Passes), Bites: j.ids(h.Bites), Washers: j.fastenerIDs(h.Washers),
		GripMM: Unknown(), EngagementMM: Unknown(), Captive: h.CaptiveNut || h.CaptiveHead, Reach: j.reach(i),
	}
	if h.Grip > 0 {
		out.GripMM = Number(h.Grip)
	}
	if h.Engagement > 0 {
		out.EngagementMM = Number(h.Engagement)
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
	out := Joint{
		ID: jt.ID, Kind: string(jt.Kind), Occurrences: j.ids(jt.Solids),
		Fasteners: j.fastenerIDs(jt.Fasteners), Text: jt.Text,
		Contact: string(jt.Contact), Fit: string(jt.Fit),
	}
	if jt.Contact != "" {
		area := Number(jt.Area)
		out.AreaMM2 = &area
	}
	if jt.Contact == contact.Planar {
		n := vector(jt.Normal)
		out.Normal = &n
	}
	if jt.Fit != "" || jt.Kind == joint.Press {
		over := Number(jt.Overlap)
		out.OverlapMM = &over
	}
	return out
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
	text = fmt.Sprintf("rests on %s and %s", share(r.SolidsMeshed, r.Solids, "solid"), share(r.FacesMeshed, r.Faces, "face"))
	if r.FacesRepaired > 0 {
		text += fmt.Sprintf(", %d of them repaired", r.FacesRepaired)
	}
	differ, elsewhere, heap := 0, 0, false
	for i := range found {
		switch found[i].Rule {
		case ruleHeap:
			heap = true
		case ruleFigures:
			differ++
		case rulePlaces:
			elsewhere += len(found[i].Occurrences)
		}
	}
	if differ > 0 {
		text += fmt.Sprintf("; the file states other figures of %d of its parts than were found", differ)
	}
	if elsewhere > 0 {
		text += fmt.Sprintf("; the file puts %d of its occurrences elsewhere than they were found", elsewhere)
	}
	more := len(r.Skipped) - r.Aside - r.FacesRepaired - (r.Faces - r.FacesMeshed)
	switch {
	case more == 1:
		text += "; 1 thing in the file was left out or is doubtful"
	case more > 1:
		text += fmt.Sprintf("; %d things in the file were left out or are doubtful", more)
	}
	if heap {
		text += "; so many parts lie in each other that not all were held against each other"
	}
	if heap || differ+elsewhere > 0 || r.SolidsMeshed < r.Solids || r.FacesMeshed < r.Faces || len(r.Skipped)-r.Aside > r.FacesRepaired {
		return "partial", text
	}
	return "full", text
}

// share is "3 of 8 solids", or "all 8 solids".
func share(used, of int, word string) string {
	switch {
	case of == 1:
		return fmt.Sprintf("%d of 1 %s", used, word)
	case used == of:
		return fmt.Sprintf("all %d %ss", of, word)
	}
	return fmt.Sprintf("%d of %d %ss", used, of, word)
}

// list is l, or an empty list where l is nil.
func list(l []string) []string {
	if l == nil {
		return []string{}
	}
	return append([]string{}, l...)
}
