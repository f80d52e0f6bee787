// Package surface owns the surfaces that faces lie on: position, derivatives,
// normal, parameter range, periods, poles and inversion of each kind that ISO
// 10303-42 allows under a face. It knows no file and no boundary.
package surface
