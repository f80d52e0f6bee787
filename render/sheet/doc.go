// Package sheet lays out drawings that a person can check: one sheet for each
// problem joint, with an overview, a cut across the tool's axis and a view
// along it, and one overview of the whole product. It writes plain SVG 1.1
// with real text, in mm of paper, and decides nothing: every number comes from
// the judgement.
package sheet
