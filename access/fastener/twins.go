package fastener

import (
	"slices"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
)

// mostAlike bounds how many parts of equal counts one part is held against:
// boards have hundreds of boxes of twelve triangles.
const mostAlike = 32

// twins gives each part the first of those with the very same mesh and faces:
// one shape that was saved as several products is examined once.
func twins(parts []product.Part, feats []*feature.Part, used []bool) []int {
	first := make([]int, len(parts))
	byCount := map[[2]int][]int{}
	for i := range parts {
		first[i] = i
		p := &parts[i]
		if !used[i] || !p.HasShape() || p.Box.Diagonal() > 2*greatestR+greatestL {
			continue
		}
		key := [2]int{len(p.Mesh.Vertices), len(p.Mesh.Triangles)}
		same := byCount[key]
		if k := slices.IndexFunc(same, func(j int) bool { return alike(&parts[j], p, feats[j], feats[i]) }); k >= 0 {
			first[i] = same[k]
		} else if len(same) < mostAlike {
			byCount[key] = append(same, i)
		}
	}
	return first
}

// alike compares all that an examination looks at.
func alike(a, b *product.Part, fa, fb *feature.Part) bool {
	return a.Volume == b.Volume && a.Centroid == b.Centroid && a.Box == b.Box && a.Closed == b.Closed &&
		slices.Equal(a.Mesh.Vertices, b.Mesh.Vertices) && slices.Equal(a.Mesh.Triangles, b.Mesh.Triangles) &&
		slices.Equal(a.Mesh.FaceOf, b.Mesh.FaceOf) && slices.Equal(fa.Faces, fb.Faces)
}
