// Package mesh owns triangle meshes: their invariants, volume, area, centroid
// and box by the divergence theorem, feature edges, silhouettes for a direction,
// and cuts by a plane. It knows neither files nor surfaces.
package mesh
