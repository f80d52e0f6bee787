package step

import (
	"fmt"
	"math"
	"strings"

	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// styles are the colours of the file as "#rrggbb".
type styles struct {
	colorOf    map[p21.ID]string      // of solids, faces, representations, mapped items
	strong     map[p21.ID]bool        // given by an overriding style
	occurrence map[p21.ID]string      // by NEXT_ASSEMBLY_USAGE_OCCURRENCE
	deep       map[p21.ID][]deepColor // by each usage on the way
}

// deepColor is the colour of one deep occurrence.
type deepColor struct {
	way
	color string
}

// readStyles reads STYLED_ITEM(name, styles, item) and what overrides it.
func (r *reader) readStyles() {
	r.style = styles{colorOf: map[p21.ID]string{}, strong: map[p21.ID]bool{}, occurrence: map[p21.ID]string{}, deep: map[p21.ID][]deepColor{}}
	memo := map[p21.ID]string{}
	for rec := range r.f.Of("STYLED_ITEM", "OVER_RIDING_STYLED_ITEM", "CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM") {
		p := leafOr(rec, "STYLED_ITEM")
		k := 1
		if rec.IsComplex() {
			k = 0
		}
		item, color, by := p.OptRef(k+1), "", p21.ID(0)
		for it := p.List(k); color == "" && it.Next(); {
			if id, ok := it.Value().Ref(); ok {
				color, by = r.surfaceColor(id, memo, 0), id
			}
		}
		if color == "" || item == 0 {
			continue
		}
		if steps := r.contextSteps(by); len(steps) > 0 {
			r.paintUse(steps, color)
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
// occurrence that the style's context names.
func (r *reader) occurrenceStyle(rec p21.Record, item p21.ID, color string) {
	target, err := r.open(item)
	if err != nil || !target.Is(bodyEntities...) && !target.Is(facetBodies...) && r.reps[item] == nil {
		return
	}
	r.paintUse(r.styledSteps(rec), color)
}

// paintUse gives a colour to every use by one usage, or to one deep occurrence.
func (r *reader) paintUse(steps []p21.ID, color string) {
	if len(steps) == 1 {
		r.style.occurrence[steps[0]] = color
		return
	}
	addWay(r.style.deep, steps, deepColor{way{steps}, color})
}

// contextSteps are the usages that a style is meant for alone:
// PRESENTATION_STYLE_BY_CONTEXT(styles, style_context).
func (r *reader) contextSteps(style p21.ID) []p21.ID {
	p, err := r.params(style, "PRESENTATION_STYLE_BY_CONTEXT")
	if err != nil {
		return nil
	}
	return r.usageSteps([]p21.ID{p.OptRef(1)})
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
	memo[id] = "" // a circle ends here
	p := rec.Params()
	switch name := rec.Name(); {
	case rec.Is("COLOUR_RGB"):
		color = rgbColor(rec)
	case rec.Is("PRE_DEFINED_COLOUR", "DRAUGHTING_PRE_DEFINED_COLOUR"):
		p = leafOr(rec, "PRE_DEFINED_ITEM")
		color = namedColors[strings.ToLower(clean(p.String(0)))]
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

// rgbColor reads COLOUR_RGB(name, red, green, blue), without the name as a leaf.
func rgbColor(rec p21.Record) string {
	p, k := leafOr(rec, "COLOUR_RGB"), 1
	if rec.IsComplex() {
		k = 0
	}
	red, green, blue := p.Real(k), p.Real(k+1), p.Real(k+2)
	if p.Err() != nil {
		return ""
	}
	return hexColor(red, green, blue)
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

// ofBody is the colour that a body is seen in: that of more than half of its
// faces, where a face without a colour has its shell's or the body's; else the
// body's own; "" where only the product has one.
func (s *styles) ofBody(id p21.ID, bodies []*brep.Body) string {
	own := s.colorOf[id]
	for _, b := range bodies {
		if len(b.Shells) == 0 {
			continue
		}
		if c := s.colorOf[p21.ID(b.Shells[0].Tag)]; c != "" {
			own = c
		}
	}
	count, total := map[string]int{}, 0
	for _, b := range bodies {
		total += len(b.Faces)
		for i := range b.Faces {
			c := s.colorOf[p21.ID(b.Faces[i].Tag)]
			if c == "" {
				c = own
			}
			count[c]++
		}
	}
	for c, n := range count { // at most one has more than half: the order does not matter
		if 2*n > total {
			return c
		}
	}
	return own
}
