package access

import (
	"context"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/fastener/feature"
	"stepscan/access/joint"
	"stepscan/access/notes"
	"stepscan/access/product"
	"stepscan/access/reach"
)

// Options say what the judgement is asked.
type Options struct {
	// Side is the side the person works from, towards the person; nil lets
	// the judgement choose the best.
	Side *mgl64.Vec3
	// Version of the program, for the report.
	Version string
	Workers int // cores to use; 0 for all
	// Notes are what the user says over what the geometry shows; nil for none.
	Notes *notes.Notes
}

// Judgement is what the stages found, in their own types: what a drawing
// needs. Holds and Reach.Reaches stand at the same index as their fastener.
type Judgement struct {
	Product   *product.Product
	Fasteners []fastener.Fastener
	// Doubts are names of fasteners on shapes of none.
	Doubts []fastener.Doubt
	Holds  []joint.Hold
	Joints []joint.Joint
	// Touching is contacts, overlaps, and what they leave unexplained.
	Touching *joint.Touching
	Reach    *reach.Result
	Report   *Report

	ofSolid map[product.SolidIndex]int // what fastener a solid is; see fastenerOf
}

// Judge runs recognition, joints and reach over a meshed product. Its errors are
// the context's, and *notes.Error for notes on parts that the product has not.
func Judge(ctx context.Context, p *product.Product, opt Options) (*Judgement, error) {
	j := &Judgement{Product: p}
	scene := feature.NewScene(ctx, p) // read once for all three stages
	over, err := overrule(p, opt.Notes)
	if err != nil {
		return nil, err
	}
	j.Fasteners, j.Doubts = fastener.FindRuled(ctx, scene, over.rulings())
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	j.Holds, j.Joints = joint.FindIn(ctx, scene, j.Fasteners)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	j.Joints = append(j.Joints, over.declared(len(j.Joints))...)
	j.Touching = joint.TouchIn(ctx, scene, j.Fasteners, j.Holds, j.Joints)
	j.Joints = j.Touching.Joints
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	j.Reach = reach.Judge(ctx, p, j.Fasteners, j.Holds, j.Joints, reach.Options{Side: opt.Side, Workers: opt.Workers})
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	j.Report = j.report(opt.Version)
	j.Report.Notes = noted(opt.Notes)
	return j, nil
}

// Problem reports whether the fastener at index i deserves a drawing: it is
// not simply clear and in sight, or only a less common tool gets there.
func (j *Judgement) Problem(i int) bool {
	r := &j.Reach.Reaches[i]
	if !tested(&j.Fasteners[i]) {
		return false
	}
	return r.Verdict != reach.Clear || r.Hidden || j.lessCommon(i)
}

// lessCommon: when it is undone, the commonest tool of the catalogue does not
// fit, another does.
func (j *Judgement) lessCommon(i int) bool {
	r := &j.Reach.Reaches[i]
	return r.Verdict != reach.Blocked && len(r.Reached) > 0 && !r.Reached[0].Fits &&
		r.Reached[0].Tool.Name != r.Tool.Name // a pin's punch from its other end
}

// Drawing is the name under the output folder of fastener i's drawing.
func (j *Judgement) Drawing(i int) string { return "joints/" + j.Fasteners[i].ID + ".svg" }

// tested reports whether a tool has to reach the fastener at all: a washer
// just comes along.
func tested(f *fastener.Fastener) bool { return f.Kind != fastener.Washer }
