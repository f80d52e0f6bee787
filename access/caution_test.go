package access

import "testing"

// TestHazardOf: names that call for a caution, and neighbours of such parts
// and false friends that do not (common practice, no source).
func TestHazardOf(t *testing.T) {
	const none, cell, capacitor, spring, glass = -1, 0, 1, 2, 4
	for name, want := range map[string]int{
		"cell":               cell,
		"Battery_Pack-2":     cell,
		"Li-Ion 18650":       cell,
		"Akkupack":           cell,
		"锂电池":                cell,
		"capacitor C1":       capacitor,
		"Elko 470µ":          capacitor,
		"电容":                 capacitor,
		"Zugfeder":           spring,
		"cover glass":        glass,
		"cell contact +":     none,
		"Battery cover 2":    none,
		"Batteriehalter":     none,
		"glass pane":         glass,
		"LCD":                glass,
		"cell tray":          none,
		"Battery holder":     none,
		"battery cover":      none,
		"load cell":          none,
		"cancelled":          none,
		"capacitance sensor": none,
		"offspring":          none,
		"LCD_BRK 1":          none,
		"LCD_HINGE_SUP_L2":   glass,
		"LCD_SUP_BRK_L2":     none,
		"Battery holder:1":   none,
		"cell tray v2 (1)":   none,
		"Battery:1":          cell,
		"LCD v3":             glass,
		"board":              none,
		"":                   none,
	} {
		if got := hazardOf(name); got != want {
			t.Errorf("hazardOf(%q) = %d, want %d", name, got, want)
		}
	}
}
