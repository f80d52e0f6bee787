package fastenertest

import (
	"stepscan/access/product"
	"stepscan/geom/mesh"
)

// Meshed is a part of any closed mesh, such as those of mesh/shape.
func Meshed(name string, m *mesh.Mesh) product.Part { return finish(name, m) }
