package access

import (
	"strings"
	"unicode"

	"stepscan/access/product"
)

// matter is what a thread is cut into, as far as it decides how deep it must be.
type matter uint8

const (
	unknownMatter matter = iota
	steel                // and other metals as hard: brass, zinc, titanium
	lightMetal           // aluminium, magnesium
	plastic
)

// words of materials as files have them; a word decides before the density.
var matterWords = map[string]matter{
	"steel": steel, "stahl": steel, "acier": steel, "acero": steel, "acciaio": steel, "inox": steel, "iron": steel,
	"brass": steel, "messing": steel, "bronze": steel, "titanium": steel, "titan": steel, "zinc": steel, "zamak": steel, "copper": steel,
	"aluminium": lightMetal, "aluminum": lightMetal, "alu": lightMetal, "almg": lightMetal, "magnesium": lightMetal,
	"plastic": plastic, "kunststoff": plastic, "abs": plastic, "pc": plastic, "pa": plastic, "pa6": plastic, "pa66": plastic, "pom": plastic,
	"pp": plastic, "pe": plastic, "hdpe": plastic, "ps": plastic, "pvc": plastic, "pet": plastic, "petg": plastic, "pla": plastic, "pbt": plastic,
	"pmma": plastic, "asa": plastic, "nylon": plastic, "polyamide": plastic, "polycarbonate": plastic, "acetal": plastic, "polypropylene": plastic,
}

// matterOf tells by the material's name, else by the density where that leaves
// no doubt: 850 to 1600 kg/m³ plastics, 2600 to 2900 aluminium (glass is there
// too, but nobody threads it), from 4400 titanium, zinc, steel, brass.
func matterOf(p *product.Part) matter {
	for _, w := range strings.FieldsFunc(strings.ToLower(p.Material), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		if m, ok := matterWords[w]; ok {
			return m
		}
	}
	switch d := p.Density; {
	case d >= 850 && d <= 1600:
		return plastic
	case d >= 2600 && d <= 2900:
		return lightMetal
	case d >= 4400 && d <= 9000:
		return steel
	}
	return unknownMatter
}

// String is the material in a sentence.
func (m matter) String() string {
	return [...]string{"material unknown", "steel or as hard", "light metal", "plastic"}[m]
}
