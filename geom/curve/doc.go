// Package curve owns the curves that bound faces: position, derivatives,
// parameter range, period and inversion of each kind that ISO 10303-42 allows
// in a boundary. It knows no file and no topology.
package curve
