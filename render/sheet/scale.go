package sheet

import (
	"math"
	"strconv"
)

// standardScale is the largest scale of ISO 5455 (1, 2 and 5 times powers of
// ten, either way) that is not above s.
func standardScale(s float64) float64 {
	if !(s > 0) || math.IsInf(s, 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(s)))
	best := p
	for _, k := range []float64{1, 2, 5, 10} {
		if k*p <= s*(1+1e-9) {
			best = k * p
		}
	}
	if s < 1 { // 1:2 is 0.5 and 1:5 is 0.2, which are steps from above as well
		return 1 / stepUp(1/s)
	}
	return best
}

// stepUp is the least of 1, 2, 5 times a power of ten that is not below v.
func stepUp(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{1, 2, 5} {
		if k*p >= v*(1-1e-9) {
			return k * p
		}
	}
	return 10 * p
}

// scaleText writes a scale as drawings do, "2:1" or "1:5".
func scaleText(s float64) string {
	if !(s > 0) || math.IsInf(s, 0) {
		return ""
	}
	if s >= 1 {
		return short(s) + ":1"
	}
	return "1:" + short(1/s)
}

func short(v float64) string {
	return strconv.FormatFloat(math.Round(v*1000)/1000, 'f', -1, 64)
}
