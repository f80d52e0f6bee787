package step

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Names that people and systems give to attributes which tell what a part is
// made of, lower case without blanks and signs. Anybody may fill them in, so
// that they count only where the file has no property for it.
var notedNames = map[string]notedKind{
	"material": notedMaterial, "materialname": notedMaterial, "swmaterial": notedMaterial, "werkstoff": notedMaterial,
	"materialbezeichnung": notedMaterial, "matériau": notedMaterial, "materiau": notedMaterial, "matière": notedMaterial,
	"matiere": notedMaterial, "materiale": notedMaterial, "материал": notedMaterial, "材料": notedMaterial,
	"材质": notedMaterial, "材質": notedMaterial, "ptcmaterialname": notedMaterial,

	"density": notedDensity, "massdensity": notedDensity, "materialdensity": notedDensity, "ptcmassdensity": notedDensity,
	"dichte": notedDensity, "densité": notedDensity, "densite": notedDensity, "densidad": notedDensity,
	"densità": notedDensity, "плотность": notedDensity, "密度": notedDensity,

	"mass": notedMass, "weight": notedMass, "masse": notedMass, "gewicht": notedMass, "poids": notedMass, "masa": notedMass,
	"peso": notedMass, "massa": notedMass, "масса": notedMass, "вес": notedMass, "质量": notedMass, "質量": notedMass,
	"重量": notedMass,
}

type notedKind int

const (
	notedMaterial notedKind = iota + 1
	notedDensity
	notedMass
)

// readNoted fills from a product's attributes what its properties leave open.
// A density or a mass needs its unit: a bare number may be anything.
func (r *reader) readNoted(pr *product) {
	m := &pr.made
	weak := func(what, name string) {
		m.Weak = append(m.Weak, fmt.Sprintf("%s from the attribute \"%s\"", what, name))
	}
	for _, a := range r.attributes[pr.pd] {
		switch notedNames[squeezed(a.Name)] {
		case notedMaterial:
			if name := materialName(a.Value); m.Material == "" && name != "" {
				m.Material = name
				weak("material", a.Name)
			}
		case notedDensity:
			if rho, ok := amount(a, densityWords); ok && m.Density == 0 {
				m.Density = rho
				weak("density", a.Name)
			}
		case notedMass:
			if g, ok := amount(a, massWords); ok && m.Mass == 0 {
				m.Mass = g
				weak("mass", a.Name)
			}
		}
	}
}

// squeezed is an attribute's name without what differs between writers.
func squeezed(name string) string {
	return strings.Map(func(c rune) rune {
		if strings.ContainsRune(" _-.:/()[]", c) {
			return -1
		}
		return c
	}, strings.ToLower(name))
}

// densityWords are units of density as people write them, in kg/m³; massWords
// those of mass, in g. A pound is 453.59237 g by definition.
var (
	densityWords = map[string]float64{
		"kg/m3": 1, "g/cm3": 1e3, "g/cc": 1e3, "g/ml": 1e3, "kg/dm3": 1e3, "kg/l": 1e3, "t/m3": 1e3, "mg/mm3": 1e3,
		"g/mm3": 1e6, "kg/mm3": 1e9, "kg/cm3": 1e6, "g/m3": 1e-3, "t/mm3": 1e12, "tonne/mm3": 1e12,
		"lb/in3": poundGram / 1e3 / cubicInch, "lbm/in3": poundGram / 1e3 / cubicInch, "pound/in3": poundGram / 1e3 / cubicInch,
		"lb/ft3": poundGram / 1e3 / cubicInch / 1728, "lbm/ft3": poundGram / 1e3 / cubicInch / 1728,
	}
	massWords = map[string]float64{
		"g": 1, "gram": 1, "grams": 1, "gramm": 1, "kg": 1e3, "kilogram": 1e3, "kilograms": 1e3, "kilogramm": 1e3,
		"mg": 1e-3, "t": 1e6, "tonne": 1e6, "lb": poundGram, "lbs": poundGram, "lbm": poundGram, "lbmass": poundGram,
		"pound": poundGram, "pounds": poundGram, "oz": poundGram / 16, "ounce": poundGram / 16,
	}
)

const (
	poundGram = 453.59237
	cubicInch = 0.0254 * 0.0254 * 0.0254 // m³
)

// amountText is a number with a point or a comma, and its unit behind it.
var amountText = regexp.MustCompile(`^([-+]?[0-9]*[.,]?[0-9]+(?:[eE][-+]?[0-9]+)?|[0-9]+[.,])\s*(\pL.*)?$`)

// thousands is "7,850", which may be seven and a bit or many.
var thousands = regexp.MustCompile(`^[-+]?[1-9][0-9]{0,2},[0-9]{3}$`)

// amount reads an attribute as a positive number of one of the units.
func amount(a Attribute, units map[string]float64) (float64, bool) {
	m := amountText.FindStringSubmatch(strings.TrimSpace(a.Value + " " + a.Unit))
	if m == nil || thousands.MatchString(m[1]) {
		return 0, false
	}
	x, err := strconv.ParseFloat(strings.Replace(m[1], ",", ".", 1), 64)
	f, ok := units[unitWord(m[2])]
	return x * f, err == nil && ok && x > 0 && x*f < 1e15
}

// unitWord writes a unit's sign as the tables have it: "g / cm^3" as "g/cm3".
func unitWord(s string) string {
	return strings.NewReplacer(" ", "", "³", "3", "^", "", "**", "", "inch", "in", "cubic", "").Replace(strings.ToLower(s))
}
