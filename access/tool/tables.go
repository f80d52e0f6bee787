package tool

// blade is a screwdriver in one size: blade and handle, mm.
type blade struct {
	tool             string // "cross", "slot", "hexalobular", "hex socket"
	size             string // "1" of PH1, "0.8x4", "T10", "2.5"
	diameter, length float64
	handleD, handleL float64
}

// blades: numbers and lengths from memory of ISO 8764-2 (cross) and
// ISO 2380-1/-2, DIN 5265 (slot); hexalobular and hexagon blades and all
// handles are common practice without a standard. The hexagon blades are as
// thick as their own corners.
var blades = []blade{
	{"cross", "0", 3, 60, 22, 80},
	{"cross", "1", 4.5, 80, 28, 95},
	{"cross", "2", 6, 100, 34, 105},
	{"cross", "3", 8, 150, 38, 115},
	{"cross", "4", 10, 200, 42, 120},
	{"slot", "0.4x2.5", 2.5, 75, 20, 80},
	{"slot", "0.5x3", 3, 75, 20, 80},
	{"slot", "0.6x3.5", 3.5, 100, 24, 90},
	{"slot", "0.8x4", 4, 100, 28, 95},
	{"slot", "1x5.5", 5.5, 125, 32, 100},
	{"slot", "1.2x6.5", 6.5, 150, 34, 105},
	{"slot", "1.2x8", 7, 150, 36, 110},
	{"slot", "1.6x10", 8, 175, 38, 115},
	{"slot", "2x12", 9, 200, 40, 120},
	{"hexalobular", "T6", 3, 60, 20, 80},
	{"hexalobular", "T8", 3, 60, 20, 80},
	{"hexalobular", "T10", 3.5, 80, 24, 90},
	{"hexalobular", "T15", 4, 80, 28, 95},
	{"hexalobular", "T20", 4.5, 100, 28, 95},
	{"hexalobular", "T25", 5, 100, 32, 100},
	{"hexalobular", "T30", 6, 115, 34, 105},
	{"hexalobular", "T40", 8, 130, 38, 115},
	{"hex socket", "1.5", 1.73, 60, 20, 80},
	{"hex socket", "2", 2.31, 75, 20, 80},
	{"hex socket", "2.5", 2.89, 75, 24, 90},
	{"hex socket", "3", 3.46, 75, 24, 90},
	{"hex socket", "4", 4.62, 100, 28, 95},
	{"hex socket", "5", 5.77, 100, 32, 100},
	{"hex socket", "6", 6.93, 125, 34, 105},
	{"hex socket", "8", 9.24, 150, 38, 115},
}

const bladeSource = "ISO 8764-2, ISO 2380-1 from memory (blade); common practice (handle); hand: radius 50 mm, NASA-STD-3000 12.3.1.2 from memory"

// hexKey is an angled key: width across flats, arms and corners, mm.
type hexKey struct{ s, long, short, corner float64 }

// hexKeys: greatest arm lengths of ISO 2936:2014, standard series; the corner
// width is 2 s/√3, sharp, real keys are slightly less.
var hexKeys = []hexKey{
	{0.7, 33, 7, 0.81}, {0.9, 33, 11, 1.04}, {1.3, 41, 13, 1.5}, {1.5, 46.5, 15.5, 1.73},
	{2, 52, 18, 2.31}, {2.5, 58.5, 20.5, 2.89}, {3, 66, 23, 3.46}, {3.5, 69.5, 25.5, 4.04},
	{4, 74, 29, 4.62}, {4.5, 80, 30.5, 5.2}, {5, 85, 33, 5.77}, {6, 96, 38, 6.93},
	{7, 102, 41, 8.08}, {8, 108, 44, 9.24}, {9, 114, 47, 10.39}, {10, 122, 50, 11.55},
	{11, 129, 53, 12.7}, {12, 137, 57, 13.86}, {13, 145, 63, 15.01}, {14, 154, 70, 16.17},
	{15, 161, 73, 17.32}, {16, 168, 76, 18.48}, {17, 177, 80, 19.63}, {18, 188, 84, 20.78},
	{19, 199, 89, 21.94},
}

const keySource = "ISO 2936:2014, standard arms"

// lobe is a hexalobular number with its tool's point-to-point width, mm.
type lobe struct {
	number string
	tip    float64
}

// lobes: tool tips from memory of ISO 10664 and trade; T1 to T5, T7, T9 and
// T27 are not in the standard.
var lobes = []lobe{
	{"T1", 0.81}, {"T2", 0.93}, {"T3", 1.1}, {"T4", 1.28}, {"T5", 1.42}, {"T6", 1.7}, {"T7", 1.99},
	{"T8", 2.31}, {"T9", 2.5}, {"T10", 2.74}, {"T15", 3.27}, {"T20", 3.86}, {"T25", 4.43},
	{"T27", 4.99}, {"T30", 5.52}, {"T40", 6.65}, {"T45", 7.82}, {"T50", 8.83}, {"T55", 11.22},
	{"T60", 13.25}, {"T70", 15.51}, {"T80", 17.54}, {"T90", 19.92}, {"T100", 22.13},
}

// The bit driver, mm: bit of ISO 1173 with a 1/4 in hexagon over its corners,
// from memory; holder and driver are common practice without a source.
const (
	bitR       = 7.3 / 2
	bitFrom    = 10.0 // the bit's hexagon begins this far above the recess
	bitTo      = 25.0
	holderR    = 11.0 / 2
	holderLen  = 60.0
	bodyR      = 60.0 / 2 // gearbox nose of a pistol-grip driver
	bodyLen    = 160.0
	microBitR  = 4.62 / 2 // 4 mm hexagon over its corners
	microBitTo = 28.0
	pencilR    = 30.0 / 2
	pencilLen  = 180.0
)

const (
	bitSource   = "ISO 1173 from memory (bit); common practice (holder, driver with its nose around the axis; its grip stands off to the side that is free)"
	microSource = "common practice (4 mm bit, pencil driver)"
)

// fistR is the hand turning a screwdriver about its axis, mm: half of an
// opening of 107 mm by 117 mm for half a turn (NASA-STD-3000 12.3.1.2, from
// memory, bare hand), rounded down to what a hand that chooses its place needs.
const fistR = 50.0

// socketDrive is a square drive with its ratchet, mm.
type socketDrive struct {
	name                 string
	upTo                 float64 // largest across flats for which it is the usual one
	slope, base, length  float64 // outside diameter = slope·s + base; socket length
	extensionR           float64
	headR, headH, handle float64 // ratchet
	handleHalfW          float64
}

// socketDrives: outside diameters from memory of ISO 2725-1 and DIN 3124 as
// linear fits, to be taken as upper bounds; lengths, extension and ratchet
// (ISO 3315) common practice.
var socketDrives = []socketDrive{
	{"1/4 in", 9, 1.25, 2.2, 25, 6, 11, 25, 150, 8},
	{"3/8 in", 19, 1.25, 2.2, 30, 7, 15, 35, 200, 10},
	{"1/2 in", 32, 1.25, 3.0, 40, 8, 20, 42, 275, 12},
}

const (
	extensionLen = 100.0 // mm, common practice
	socketSource = "ISO 2725-1, DIN 3124 from memory (socket); common practice (extension, ratchet of 36 teeth)"
)

// spanner is a combination spanner, mm.
type spanner struct{ s, openW, ringD, openT, ringT, length float64 }

// spanners: widest open-end head from memory of ISO 3318 and DIN 3110
// (2.1 s + 7); ring, thicknesses and lengths are fits to common spanners, from
// memory.
var spanners = []spanner{
	{3.2, 13.7, 6.6, 3.3, 4.3, 70}, {4, 15.4, 7.8, 3.5, 4.8, 75}, {5, 17.5, 9.4, 3.9, 5.4, 85},
	{5.5, 18.6, 10.2, 4, 5.7, 95}, {6, 19.6, 11, 4.2, 6, 100}, {7, 21.7, 12.5, 4.5, 6.6, 110},
	{8, 23.8, 14.1, 4.8, 7.2, 115}, {9, 25.9, 15.6, 5.2, 7.8, 125}, {10, 28, 17.2, 5.5, 8.4, 130},
	{11, 30.1, 18.8, 5.8, 9, 135}, {12, 32.2, 20.3, 6.2, 9.6, 145}, {13, 34.3, 21.9, 6.5, 10.2, 155},
	{14, 36.4, 23.4, 6.8, 10.8, 165}, {15, 38.5, 25, 7.2, 11.4, 175}, {16, 40.6, 26.6, 7.5, 12, 185},
	{17, 42.7, 28.1, 7.8, 12.6, 190}, {18, 44.8, 29.7, 8.1, 13.2, 200}, {19, 46.9, 31.2, 8.5, 13.8, 210},
	{21, 51.1, 34.4, 9.1, 15, 230}, {22, 53.2, 35.9, 9.5, 15.6, 240}, {24, 57.4, 39, 10.1, 16.8, 265},
	{27, 63.7, 43.7, 11.1, 18.6, 290}, {30, 70, 48.4, 12.1, 20.4, 320},
}

const spannerSource = "ISO 3318, DIN 3110 from memory (open head, an upper bound); fits to common spanners (ring, thickness, length)"

// The least swing that still turns the fastener, degrees.
const (
	keySwing     = 60 // six positions a turn, from symmetry
	openHexSwing = 30 // head offset 15°, turned over after each swing
	openSqrSwing = 60 // the same head on a square: positions at 0° and 30° of each 90°
	ringHexSwing = 30 // twelve-point ring
	ringSqrSwing = 45 // eight-point ring
	ratchetSwing = 15 // 36 teeth: 10° and some play
	sqrt3        = 1.7320508075688772
)
