package fastener

import "testing"

// flatHead is a shank of 4 × 10 under a head dk wide and k high whose rim is
// bevelled by b; f is the fillet below it and c the chamfer of its tip.
func flatHead(dk, k, b, f, c float64) []float64 {
	zr := []float64{-10, 0, -10, 2 - c, c - 10, 2}
	if f > 0 {
		zr = append(zr, -f, 2, -0.3*f, 2+0.3*f, 0, 2+f)
	} else {
		zr = append(zr, 0, 2)
	}
	return append(zr, 0, dk/2, k-b, dk/2, k, dk/2-b, k, 0)
}

// oval is a shank of 4 × 10 under a domed head, its end bored so wide and deep.
func oval(dk, bore, deep float64) []float64 {
	zr := []float64{-10, 2, 0, 2, 0, dk / 2, 0.2, dk / 2, 0.8, 0.4 * dk, 1.1, 0.25 * dk, 1.25, 0, deep - 10, 0, deep - 10, bore / 2, -10, bore / 2}
	return append(zr, -10, 2)
}

// Heads of rivets: flat ones are 2 d × 0.33 d or 2.25 d × 0.3 d, oval ones of
// semi-tubular rivets 1.75 d wide (ASME B18.1.1 and B18.7, from memory).
func TestHeadsOfRivets(t *testing.T) {
	for _, c := range []struct {
		what string
		zr   []float64
		head string // "" for none
	}{
		{"flat", flatHead(8, 1.32, 0.4, 0.25, 0), "flat"},
		{"tinners'", flatHead(9, 1.2, 0.4, 0.25, 0), "flat"},
		{"a sharp corner below: a turned pin", flatHead(9, 1.2, 0.4, 0, 0), ""},
		{"a sharp rim: a turned pin", flatHead(9, 1.2, 0, 0.25, 0), ""},
		{"a chamfered tip", flatHead(9, 1.2, 0.4, 0.25, 0.4), ""},
		{"a high head", flatHead(9, 2.4, 0.4, 0.25, 0), ""},
		{"a wide head", flatHead(12, 1.2, 0.4, 0.25, 0), ""},
		{"semi-tubular", oval(7, 2.6, 4), "round"},
		{"a thin wall: a cap", oval(7, 3.6, 4), ""},
		{"a centre hole", oval(7, 1, 4), ""},
		{"a dimple", oval(7, 2.6, 1), ""},
	} {
		f, ok := pile{}.add(0, turned("", c.zr...)).kinds()[0]
		if ok != (c.head != "") || ok && (f.Kind != Rivet || f.Head != c.head || f.Size != "4 mm" || f.Length != 10) {
			t.Errorf("%s: %q %q %q × %g; %q", c.what, f.Kind, f.Head, f.Size, f.Length, f.Evidence)
		}
	}
}
