package fastener

import (
	"testing"

	ft "stepscan/access/fastener/fastenertest"
)

// A dowel with the thread to draw it out by is one; another bore makes a bush of
// it, or a shaft. Ø10 has M6 (ISO 8735, from memory).
func TestDowelsThatAreDrawnOut(t *testing.T) {
	for _, c := range []struct {
		what       string
		bore, deep float64
		kind       Kind
	}{{"M6", 5, 10, Pin}, {"a wider bore", 7, 10, ""}} {
		rod := turned("", 0, 0, 0, 4.5, 0.5, 5, 29, 5, 30, 4, 30, c.bore/2, 30-c.deep, c.bore/2, 30-c.deep, 0)
		h := pile{}.add(0, rod).add(0, ft.Tube(30, 14, 10)).add(14, ft.Tube(30, 10, 10))
		size := ""
		if c.kind != "" {
			size = "10 mm"
		}
		h.expect(t, c.what, 0, c.kind, size)
	}
}
