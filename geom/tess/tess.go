package tess

import (
	"context"
	"math"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mesh"
)

// Fault is a face that could not be meshed as it stands, or not at all.
type Fault struct {
	Face     brep.FaceIndex // NoFace where the fault is the whole body's
	Tag      brep.Tag
	Repaired bool   // a mesh stands in its place
	Why      string // what was wrong and, if repaired, by which step
}

// NoFace marks a fault of a body as a whole.
const NoFace brep.FaceIndex = -1

// Default is the tolerance that stands in where a caller's is not positive:
// 0.05 mm and 20 degrees.
var Default = geom.Tolerance{Chord: 0.05, Angle: 20 * math.Pi / 180}

// Bodies meshes bodies on n workers; the result does not depend on n. Facets
// leave the exact surface by at most tol.Chord mm wherever a face has no fault,
// neighbouring facets of a smooth face turn by about tol.Angle rad at most.
// Faces are numbered as in the body. Of a body of facets these are the mesh: how
// far they leave the surface that they came from is estimated. When ctx ends, the faces not yet meshed
// are faults.
func Bodies(ctx context.Context, bodies []*brep.Body, tol geom.Tolerance, n int) ([]*mesh.Mesh, [][]Fault) {
	tol = sane(tol)
	works := make([]*work, len(bodies))
	parallel(n, len(bodies), func(i int) { works[i] = newWork(bodies[i], tol) })
	jobs := allFaces(works)
	for finer := tol; len(jobs) > 0; jobs = crossedFaces(works, finer) {
		parallel(n, len(jobs), func(i int) { jobs[i].run(ctx) })
		if finer = (geom.Tolerance{Chord: finer.Chord / 5, Angle: finer.Angle / 2}); finer.Chord < tol.Chord/200 {
			break
		}
	}
	meshes, faults := make([]*mesh.Mesh, len(bodies)), make([][]Fault, len(bodies))
	parallel(n, len(bodies), func(i int) { meshes[i], faults[i] = works[i].finish() })
	return meshes, faults
}

// sane replaces what is not a positive number by the default.
func sane(t geom.Tolerance) geom.Tolerance {
	if !(t.Chord > 0) || math.IsInf(t.Chord, 1) {
		t.Chord = Default.Chord
	}
	if !(t.Angle > 0) || t.Angle > math.Pi/2 {
		t.Angle = Default.Angle
	}
	return t
}

// work is a body on its way to a mesh.
type work struct {
	body *brep.Body
	tol  geom.Tolerance
	net  net          // the edges, cut
	out  []faceResult // one a face
}

func newWork(b *brep.Body, tol geom.Tolerance) *work {
	return &work{body: b, tol: tol, net: cutEdges(b, tol), out: make([]faceResult, len(b.Faces))}
}

// faceJob is one face of one body.
type faceJob struct {
	w *work
	i int
}

func allFaces(works []*work) []faceJob {
	var jobs []faceJob
	for _, w := range works {
		if w.body.Facets != nil {
			continue // they are the mesh
		}
		for i := range w.body.Faces {
			jobs = append(jobs, faceJob{w, i})
		}
	}
	return jobs
}

func (j faceJob) run(ctx context.Context) {
	if err := ctx.Err(); err != nil {
		j.w.out[j.i] = faceResult{why: err.Error()}
		return
	}
	j.w.out[j.i] = meshFace(j.w, brep.FaceIndex(j.i))
}

// crossedFaces cuts the edges of faces whose loops crossed themselves anew,
// finer, and lists all faces that use one of them: thin faces come out right
// when both sides follow their curves closely enough.
func crossedFaces(works []*work, tol geom.Tolerance) []faceJob {
	var jobs []faceJob
	for _, w := range works {
		again := map[brep.EdgeIndex]bool{}
		for i := range w.out {
			if w.out[i].crossed {
				w.recut(i, tol, again)
			}
		}
		for i := range w.body.Faces {
			if len(again) > 0 && w.uses(i, again) {
				jobs = append(jobs, faceJob{w, i})
			}
		}
	}
	return jobs
}

// recut cuts the edges of face i again and notes those whose points changed.
func (w *work) recut(i int, tol geom.Tolerance, changed map[brep.EdgeIndex]bool) {
	for _, l := range w.body.Faces[i].Loops {
		for _, c := range l.Coedges {
			if !w.body.HasEdge(c.Edge) || changed[c.Edge] {
				continue
			}
			before := len(w.net.chain[c.Edge])
			w.net.cut(w.body, int(c.Edge), tol)
			if len(w.net.chain[c.Edge]) != before {
				changed[c.Edge] = true
			}
		}
	}
}

// uses reports whether face i uses one of the edges.
func (w *work) uses(i int, edges map[brep.EdgeIndex]bool) bool {
	for _, l := range w.body.Faces[i].Loops {
		for _, c := range l.Coedges {
			if edges[c.Edge] {
				return true
			}
		}
	}
	return false
}
