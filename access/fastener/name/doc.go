// Package name reads what the name of a part says of a fastener: the kind, head
// and drive, by words of the trade in English, German, French, Italian, Spanish,
// Chinese, Japanese (and some Russian) or by the designation of a standard, and
// the size and length. Names lie; what one says is a statement to hold against
// the shape and never a finding.
//
//	"ISO 4762 - M4 x 12"          a screw with a cylindrical head, M4, 12 mm
//	"Schraubendeckel", "bolt cover"  nothing: the head word is another thing
//
// Words of German, English, Chinese and Japanese stand last in a compound or a
// phrase ("Sechskantmutter", "bolt cover"), those of French, Italian and Spanish
// first ("tapa de tornillo"); what follows a preposition only describes.
package name
