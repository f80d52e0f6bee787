package fastenertest

import (
	"stepscan/access/product"
	"stepscan/geom/mesh"
)

// Solid makes the part of closed meshes that touch or overlap, as of one lump.
func Solid(name string, lumps ...*mesh.Mesh) product.Part {
	faces := make([]int, len(lumps))
	for i, m := range lumps {
		for _, f := range m.FaceOf {
			faces[i] = max(faces[i], int(f)+1)
		}
	}
	return finish(name, mesh.Join(lumps, faces))
}
