package access

import (
	"regexp"
	"slices"
	"strings"

	"stepscan/access/product"
)

// A hazard is a kind of part whose handling can hurt someone, with the usual
// caution. The words are ordinary ones of the trade in a few languages; a
// caution too many costs a line, one too few may cost a finger, so they are
// wide. Cautions are common practice and no substitute for the local rules
// that every one of them points to.
type hazard struct {
	words *regexp.Regexp
	text  string
}

const deferral = " Follow local regulations and leave the work to licensed practice where they ask for it."

var hazards = []hazard{
	{
		words(`cells?|battery|batteries|batterij|batteri|accu|akku\w*|batterie\w*|bateria|bater\x{ed}a|batteria|accumulat\w*|lipo|li-ion|knopfzelle|zelle|18650|21700|14500|cr20\d\d|cr2450`, `电池|電池|锂电|バッテリー|배터리|전지`),
		"Cells and batteries: do not short-circuit, pierce, bend or heat them; take them out first, cover their contacts and store them apart from anything that burns." + deferral,
	},
	{
		words(`capacitors?|electrolytic|supercap\w*|ultracap\w*|kondensator\w*|elko|condensateur|condensador|condensatore|condensator`, `电容|コンデンサ|キャパシタ|커패시터|콘덴서`),
		"Capacitors may hold a charge after the supply is off: let them discharge and measure before touching." + deferral,
	},
	{
		words(`springs?|torsion spring|gas strut|feder|zugfeder|druckfeder|gasfeder|ressort|muelle|molla`, `弹簧|ばね|スプリング|스프링`),
		"Springs and struts may be under load: relieve them under control, with the face and hands out of their way." + deferral,
	},
	{
		words(`pressure vessel|gas cartridge|accumulator vessel|druckbeh\x{e4}lter|refrigerant|compressor`, `压力容器|圧力容器`),
		"Vessels may be under pressure: relieve it before any joint is opened." + deferral,
	},
	{
		words(`glass\w*|lamp|lcd|ccfl|glas|verre|vidrio|vetro`, `玻璃|ガラス|유리`),
		"Glass may break into sharp pieces: cover it and wear gloves and eye protection." + deferral,
	},
}

// words matches whole words of alphabets, and signs of scripts without word
// boundaries anywhere.
func words(alphabetic, signs string) *regexp.Regexp {
	return regexp.MustCompile(`(?i)(?:^|[^\p{L}\p{N}])(?:` + alphabetic + `)(?:$|[^\p{L}])|` + signs)
}

// notItself are last words that make a hazard's neighbour of it (a cell's tray
// is no cell), and false friends. Behind the word may stand what tells uses
// apart: numbers, the revision, the left one from the right.
var notItself = regexp.MustCompile(`(?i)\b(tray|holder|cover|lid|door|contact|clip|strap|label|bracket|brk|brkt|mount|hinge|gasket|bezel|window|washer|pin)s?(?:[\s\d#+:.<>()-]|\b[lr]\d*\b|\bv\d+\b)*$|` +
	`\b(load cell|honeycomb|cell ?phone)|(halter|deckel)\b|支架|盖|カバー|ホルダ|커버|홀더`)

// hazardOf is the index of the hazard that a name speaks of, -1 for none.
func hazardOf(name string) int {
	name = strings.ReplaceAll(name, "_", " ")
	if notItself.MatchString(name) {
		return -1
	}
	return slices.IndexFunc(hazards, func(h hazard) bool { return h.words.MatchString(name) })
}

// cautions are notes on parts whose names speak of a hazard. A part without
// such a name may be one all the same; that cannot be known from a shape.
func (j *Judgement) cautions() []Finding {
	found := make([][]product.SolidIndex, len(hazards))
	for i := range j.Product.Solids {
		s := product.SolidIndex(i)
		h := hazardOf(j.Product.Name(s))
		if h < 0 {
			h = hazardOf(j.Product.Part(s).Name)
		}
		if h >= 0 {
			found[h] = append(found[h], s)
		}
	}
	var out []Finding
	for h, solids := range found {
		if len(solids) == 0 {
			continue
		}
		out = append(out, Finding{
			Rule: ruleCaution, Level: "note", Occurrences: j.ids(solids), Fasteners: []string{},
			Text: hazards[h].text + " Here: " + j.few(solids) + ".", Value: Unknown(), Limit: Unknown(), Source: commonPractice,
		})
	}
	return out
}

// few names solids, the first of many.
func (j *Judgement) few(solids []product.SolidIndex) string {
	const most = 5
	var n []string
	for i, s := range solids {
		if i == most {
			n = append(n, "and more")
			break
		}
		n = append(n, `"`+j.Product.Name(s)+`"`)
	}
	return strings.Join(n, ", ")
}
