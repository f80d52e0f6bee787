package step

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"stepscan/step/p21"
)

// readExternal finds the files that products without a shape here name for it:
// APPLIED_DOCUMENT_REFERENCE ties a DOCUMENT_FILE to a product definition, and
// an APPLIED_EXTERNAL_IDENTIFICATION_ASSIGNMENT may say under which name the
// file lies (CAx-IF recommended practice for external references).
func (r *reader) readExternal() {
	name := map[p21.ID]string{} // by document
	for rec := range r.f.Of("DOCUMENT_FILE") {
		p := leafOr(rec, "DOCUMENT")
		name[rec.ID()] = firstName(p.String(0), p.String(1))
	}
	if len(name) == 0 {
		return
	}
	for rec := range r.f.Of("APPLIED_EXTERNAL_IDENTIFICATION_ASSIGNMENT") {
		p := rec.Params()
		for _, doc := range p.Refs(3, nil) {
			if _, ok := name[doc]; ok && !nameless(p.String(0)) {
				name[doc] = p.String(0)
			}
		}
	}
	give := func(pd, doc p21.ID) {
		i, ok := r.byPD[pd]
		if ok && name[doc] != "" && r.prods[i].external == "" && len(r.prods[i].shapes)+len(r.prods[i].uses) == 0 {
			r.prods[i].external = name[doc]
		}
	}
	for rec := range r.f.Of("APPLIED_DOCUMENT_REFERENCE") {
		p := rec.Params()
		for _, pd := range p.Refs(2, nil) {
			give(pd, p.OptRef(0))
		}
	}
	for rec := range r.f.Of("PRODUCT_DEFINITION_WITH_ASSOCIATED_DOCUMENTS") {
		p := leafOr(rec, "PRODUCT_DEFINITION_WITH_ASSOCIATED_DOCUMENTS")
		for _, doc := range p.Refs(p.Len()-1, nil) {
			give(rec.ID(), doc)
		}
	}
}

// maxLinked bounds how many files one file may draw in, and how deep.
const (
	maxLinked      = 500
	maxLinkedDepth = 8
)

// linker reads the files that lie beside one and puts their content in.
type linker struct {
	ctx   context.Context
	opt   Options
	root  *os.Root // no name leads out of it, not even by a link
	read  map[string]*Assembly
	stack []string // files that are being read
}

// link replaces the parts of a that stand in other files by their content.
// Only files in the folder of the first are read.
func link(ctx context.Context, a *Assembly, dir string, opt Options) (*Assembly, error) {
	if !a.linksOut() {
		return a, nil
	}
	a.store()
	opt.Walk = false // what is put together is a list
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	l := &linker{ctx: ctx, opt: opt, root: root, read: map[string]*Assembly{}, stack: []string{a.Source.File}}
	return l.resolve(a)
}

func (a *Assembly) linksOut() bool {
	for i := range a.Parts {
		if a.Parts[i].External != "" {
			return true
		}
	}
	return false
}

// resolve returns a with the content of its external parts in place.
func (l *linker) resolve(a *Assembly) (*Assembly, error) {
	g := &graft{out: &Assembly{Source: a.Source, Hidden: a.Hidden, Skips: a.Skips}, parts: map[partKey]PartIndex{}, opt: l.opt}
	subs := make([]*Assembly, len(a.Parts))
	for i := range a.Parts {
		file := a.Parts[i].External
		if file == "" {
			continue
		}
		sub, err := l.file(file)
		if l.ctx.Err() != nil {
			return nil, l.ctx.Err()
		}
		if err != nil {
			g.out.Skips = append(g.out.Skips, Skip{Tag: a.Parts[i].Tag, Entity: "DOCUMENT_FILE", Why: fmt.Sprintf("shape of product \"%s\": %v", a.Parts[i].Name, err)})
			continue
		}
		subs[i] = sub
	}
	if err := g.copy(a, subs); err != nil {
		return nil, err
	}
	return g.out, nil
}

// file reads one file of the folder, once, with what it links to.
func (l *linker) file(name string) (*Assembly, error) {
	if strings.ContainsAny(name, `/\:`) || !filepath.IsLocal(name) {
		return nil, fmt.Errorf("%q is not in the folder of this file: not read", name)
	}
	for _, s := range l.stack {
		if s == name {
			return nil, fmt.Errorf("%q would contain itself", name)
		}
	}
	if sub, ok := l.read[name]; ok {
		if sub == nil {
			return nil, fmt.Errorf("%q was not readable before", name)
		}
		return sub, nil
	}
	if len(l.read) >= maxLinked || len(l.stack) > maxLinkedDepth {
		return nil, fmt.Errorf("%q: too many files linked to each other", name)
	}
	l.read[name] = nil
	l.stack = append(l.stack, name)
	sub, err := l.load(name)
	l.stack = l.stack[:len(l.stack)-1]
	if err != nil {
		return nil, err
	}
	l.read[name] = sub
	return sub, nil
}

func (l *linker) load(name string) (*Assembly, error) {
	info, err := l.root.Stat(name)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil, fmt.Errorf("%q is not beside this file", name)
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular(): // a pipe would be waited for
		return nil, fmt.Errorf("%q is not a file", name)
	}
	f, err := l.root.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	src, err := io.ReadAll(io.LimitReader(f, l.opt.MaxBytes))
	if err != nil {
		return nil, err
	}
	a, err := Read(l.ctx, name, src, l.opt)
	if err != nil || !a.linksOut() {
		return a, err
	}
	return l.resolve(a)
}

// partKey tells the parts of several assemblies apart.
type partKey struct {
	of    *Assembly
	index PartIndex
}

// graft builds an assembly out of several.
type graft struct {
	out   *Assembly
	parts map[partKey]PartIndex
	told  map[*Assembly]bool
	opt   Options
}

// copy writes a's occurrences, and under those of a part with a sub-assembly
// that one's.
func (g *graft) copy(a *Assembly, subs []*Assembly) error {
	g.told = map[*Assembly]bool{}
	at := make([]OccIndex, len(a.Occurrences))
	for i, o := range a.Occurrences {
		sub := subs[o.Part]
		n := 1
		if sub != nil {
			n = len(sub.Occurrences)
		}
		if len(g.out.Occurrences)+n > g.opt.MaxOccurrences {
			return g.opt.tooMany()
		}
		if o.Parent >= 0 {
			o.Parent = at[o.Parent]
		}
		o.Part = g.part(a, o.Part, sub)
		at[i] = g.out.addOccurrence(o)
		if sub != nil {
			g.under(at[i], sub)
		}
	}
	return nil
}

// part carries a part over once. One whose shape is in another file takes the
// bodies of that file's root.
func (g *graft) part(a *Assembly, i PartIndex, sub *Assembly) PartIndex {
	k := partKey{a, i}
	if p, ok := g.parts[k]; ok {
		return p
	}
	part := a.Parts[i]
	if sub != nil && len(sub.Occurrences) > 0 {
		top := sub.Parts[sub.Occurrences[0].Part]
		part.Bodies, part.Lines = top.Bodies, top.Lines
		part.Hidden += top.Hidden
		if part.Declared == (Declared{}) {
			part.Declared = top.Declared
		}
		part.Color = firstName(part.Color, top.Color)
		part.Made.orElse(top.Made)
	}
	g.out.Parts = append(g.out.Parts, part)
	p := PartIndex(len(g.out.Parts) - 1)
	g.parts[k] = p
	return p
}

// under writes a file's occurrences below its root under an occurrence.
func (g *graft) under(top OccIndex, sub *Assembly) {
	if !g.told[sub] {
		g.told[sub] = true
		g.out.Source.Linked = append(append(g.out.Source.Linked, sub.Source), sub.Source.Linked...)
		g.out.Source.UnitAssumed = g.out.Source.UnitAssumed || sub.Source.UnitAssumed
		g.out.Hidden = append(g.out.Hidden, sub.Hidden...)
		for _, s := range sub.Skips {
			s.Why = fmt.Sprintf("in %s: %s", sub.Source.File, s.Why)
			g.out.Skips = append(g.out.Skips, s)
		}
	}
	at := make([]OccIndex, len(sub.Occurrences))
	for i, o := range sub.Occurrences {
		if i == 0 {
			at[0] = top
			continue
		}
		o.Parent, o.Part = at[o.Parent], g.part(sub, o.Part, nil)
		at[i] = g.out.addOccurrence(o)
	}
}
