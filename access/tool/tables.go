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

// ringD = ringSlope·s + ringBase bounds from above the greatest outside
// diameters of box wrenches from 7/16 in to 3/4 in, within 0.4 mm (US federal
// description A-A-1346A, 3.2); smaller and larger ones follow the same line.
const ringSlope, ringBase = 1.375, 2.41

// spanners: widest open-end head from memory of ISO 3318 and DIN 3110
// (2.1 s + 7); thicknesses and lengths are fits to common spanners, from
// memory. The ring's diameter follows from s.
var spanners = []spanner{
	{s: 3.2, openW: 13.7, openT: 3.3, ringT: 4.3, length: 70}, {s: 4, openW: 15.4, openT: 3.5, ringT: 4.8, length: 75},
	{s: 5, openW: 17.5, openT: 3.9, ringT: 5.4, length: 85}, {s: 5.5, openW: 18.6, openT: 4, ringT: 5.7, length: 95},
	{s: 6, openW: 19.6, openT: 4.2, ringT: 6, length: 100}, {s: 7, openW: 21.7, openT: 4.5, ringT: 6.6, length: 110},
	{s: 8, openW: 23.8, openT: 4.8, ringT: 7.2, length: 115}, {s: 9, openW: 25.9, openT: 5.2, ringT: 7.8, length: 125},
	{s: 10, openW: 28, openT: 5.5, ringT: 8.4, length: 130}, {s: 11, openW: 30.1, openT: 5.8, ringT: 9, length: 135},
	{s: 12, openW: 32.2, openT: 6.2, ringT: 9.6, length: 145}, {s: 13, openW: 34.3, openT: 6.5, ringT: 10.2, length: 155},
	{s: 14, openW: 36.4, openT: 6.8, ringT: 10.8, length: 165}, {s: 15, openW: 38.5, openT: 7.2, ringT: 11.4, length: 175},
	{s: 16, openW: 40.6, openT: 7.5, ringT: 12, length: 185}, {s: 17, openW: 42.7, openT: 7.8, ringT: 12.6, length: 190},
	{s: 18, openW: 44.8, openT: 8.1, ringT: 13.2, length: 200}, {s: 19, openW: 46.9, openT: 8.5, ringT: 13.8, length: 210},
	{s: 21, openW: 51.1, openT: 9.1, ringT: 15, length: 230}, {s: 22, openW: 53.2, openT: 9.5, ringT: 15.6, length: 240},
	{s: 24, openW: 57.4, openT: 10.1, ringT: 16.8, length: 265}, {s: 27, openW: 63.7, openT: 11.1, ringT: 18.6, length: 290},
	{s: 30, openW: 70, openT: 12.1, ringT: 20.4, length: 320},
}

const spannerSource = "ISO 3318, DIN 3110 from memory (open head, an upper bound); A-A-1346A (ring's diameter); fits to common spanners (thickness, length)"

// The least swing that still turns the fastener, degrees.
const (
	keySwing     = 60  // six positions a turn, from symmetry
	openOffset   = 15  // of an open head against its handle: so 30° a swing
	openHexSwing = 30  // turned over after each swing: twice the offset
	openTwoSwing = 150 // and on two flats: at 0° and 30° of each half turn
	openSqrSwing = 60  // the same head on a square: positions at 0° and 30° of each 90°
	ringHexSwing = 30  // twelve-point ring
	ringSqrSwing = 45  // eight-point ring
	ratchetSwing = 15  // 36 teeth: 10° and some play
	sqrt3        = 1.7320508075688772
)
