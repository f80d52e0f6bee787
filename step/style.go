package step

import (
	"fmt"
	"math"

	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// styles are the colours of the file as "#rrggbb".
type styles struct {
	colorOf    map[p21.ID]string // of solids, faces, representations, mapped items
	strong     map[p21.ID]bool   // given by an overriding style
	occurrence map[p21.ID]string // by NEXT_ASSEMBLY_USAGE_OCCURRENCE
}

// readStyles reads STYLED_ITEM(name, styles, item) and what overrides it.
func (r *reader) readStyles() {
	r.style = styles{colorOf: map[p21.ID]string{}, strong: map[p21.ID]bool{}, occurrence: map[p21.ID]string{}}
	memo := map[p21.ID]string{}
	for rec := range r.f.Of("STYLED_ITEM", "OVER_RIDING_STYLED_ITEM", "CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM") {
		p := leafOr(rec, "STYLED_ITEM")
		k := 1
		if rec.IsComplex() {
			k = 0
		}
		item, color := p.OptRef(k+1), ""
		for it := p.List(k); color == "" && it.Next(); {
			if id, ok := it.Value().Ref(); ok {
				color = r.surfaceColor(id, memo, 0)
			}
		}
		if color == "" || item == 0 {
			continue
		}
		if rec.Is("CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM") {
			r.occurrenceStyle(rec, item, color)
			continue
		}
		if over := rec.Is("OVER_RIDING_STYLED_ITEM"); over || !r.style.strong[item] {
			r.style.colorOf[item], r.style.strong[item] = color, over
		}
	}
}

// occurrenceStyle gives the colour of a whole body or representation to the
// occurrence that the style's context names. Contexts of several steps mean one
// deep occurrence; those are left aside, since a colour has one step here.
func (r *reader) occurrenceStyle(rec p21.Record, item p21.ID, color string) {
	target, err := r.open(item)
	if err != nil || !target.Is(bodyEntities...) && r.rep(item) == nil {
		return
	}
	if nauo := r.styledUse(rec); nauo != 0 {
		r.style.occurrence[nauo] = color
	}
}

// styleSteps are the entities on the way from a styled item to the colour of
// its surface, with the parameter that leads on. Colours of curves and points
// are left aside.
var styleSteps = map[string]int{
	"PRESENTATION_STYLE_ASSIGNMENT":           0,
	"PRESENTATION_STYLE_BY_CONTEXT":           0,
	"SURFACE_STYLE_USAGE":                     1,
	"SURFACE_SIDE_STYLE":                      1,
	"SURFACE_STYLE_FILL_AREA":                 0,
	"FILL_AREA_STYLE":                         1,
	"FILL_AREA_STYLE_COLOUR":                  1,
	"SURFACE_STYLE_RENDERING":                 1,
	"SURFACE_STYLE_RENDERING_WITH_PROPERTIES": 1,
}

// surfaceColor follows a style to a colour, "" where there is none.
func (r *reader) surfaceColor(id p21.ID, memo map[p21.ID]string, depth int) string {
	if c, ok := memo[id]; ok {
		return c
	}
	rec, err := r.open(id)
	if err != nil || depth > maxChain {
		return ""
	}
	color := ""
	p := rec.Params()
	switch name := rec.Name(); name {
	case "COLOUR_RGB":
		color = hexColor(p.Real(1), p.Real(2), p.Real(3))
		if p.Err() != nil {
			color = ""
		}
	case "PRE_DEFINED_COLOUR", "DRAUGHTING_PRE_DEFINED_COLOUR":
		color = namedColors[p.String(0)]
	default:
		if k, ok := styleSteps[name]; ok {
			color = r.nextStyle(p.Value(k), memo, depth)
		}
	}
	memo[id] = color
	return color
}

func (r *reader) nextStyle(v p21.Value, memo map[p21.ID]string, depth int) string {
	if id, ok := v.Ref(); ok {
		return r.surfaceColor(id, memo, depth+1)
	}
	it, _ := v.Items()
	for it.Next() {
		if id, ok := it.Value().Ref(); ok {
			if c := r.surfaceColor(id, memo, depth+1); c != "" {
				return c
			}
		}
	}
	return ""
}

// namedColors: ISO 10303-46, draughting_pre_defined_colour.
var namedColors = map[string]string{
	"red": "#ff0000", "green": "#00ff00", "blue": "#0000ff", "yellow": "#ffff00",
	"magenta": "#ff00ff", "cyan": "#00ffff", "black": "#000000", "white": "#ffffff",
}

// hexColor writes shares of 0 to 1 as sRGB.
func hexColor(r, g, b float64) string {
	return fmt.Sprintf("#%02x%02x%02x", channel(r), channel(g), channel(b))
}

func channel(x float64) uint8 { return uint8(math.Round(255 * min(max(x, 0), 1))) }

// ofProduct is the colour that a product's representations have.
func (s *styles) ofProduct(pr *product) string {
	for _, id := range pr.reps {
		if c := s.colorOf[id]; c != "" {
			return c
		}
	}
	return ""
}

// ofBody is the colour of a body: its own, its outer shell's, or that of most
// of its faces; "" where only the product has one.
func (s *styles) ofBody(id p21.ID, bodies []*brep.Body) string {
	if c := s.colorOf[id]; c != "" {
		return c
	}
	for _, b := range bodies {
		if len(b.Shells) > 0 {
			if c := s.colorOf[p21.ID(b.Shells[0].Tag)]; c != "" {
				return c
			}
		}
	}
	return s.byFaces(bodies)
}

// byFaces is the colour of more than half of a part's faces, "" without one.
func (s *styles) byFaces(bodies []*brep.Body) string {
	count, total := map[string]int{}, 0
	for _, b := range bodies {
		total += len(b.Faces)
		for i := range b.Faces {
			count[s.colorOf[p21.ID(b.Faces[i].Tag)]]++
		}
	}
	for c, n := range count { // at most one has more than half: the order does not matter
		if 2*n > total {
			return c
		}
	}
	return ""
}
