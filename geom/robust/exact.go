package robust

import (
	"math"
	"math/big"

	"github.com/go-gl/mathgl/mgl64"
)

// The exact level works on integers: every float64 is an integer times a power
// of two, and one common power drops out of the sign.

func orientExact(a, b, c mgl64.Vec2) int {
	v, ok := scaled(a, b, c)
	if !ok {
		return 0
	}
	ax, ay, bx, by := sub(v[0], v[4]), sub(v[1], v[5]), sub(v[2], v[4]), sub(v[3], v[5])
	return cross(ax, ay, bx, by).Sign()
}

// scaled multiplies all coordinates by the power of two that makes the finest
// of them an integer. The largest then has at most 53 + 2098 bits.
func scaled(pts ...mgl64.Vec2) ([]*big.Int, bool) {
	low := math.MaxInt
	var man [6]int64
	var exp [6]int
	for i, p := range pts {
		for k, x := range p {
			if math.IsNaN(x - x) {
				return nil, false
			}
			f, e := math.Frexp(x)
			man[2*i+k], exp[2*i+k] = int64(f*(1<<53)), e
			if x != 0 {
				low = min(low, e)
			}
		}
	}
	out := make([]*big.Int, 2*len(pts))
	for i := range out {
		out[i] = big.NewInt(man[i])
		if man[i] != 0 {
			out[i].Lsh(out[i], uint(exp[i]-low))
		}
	}
	return out, true
}

func sub(a, b *big.Int) *big.Int { return new(big.Int).Sub(a, b) }
func mul(a, b *big.Int) *big.Int { return new(big.Int).Mul(a, b) }

func cross(ax, ay, bx, by *big.Int) *big.Int { return sub(mul(ax, by), mul(ay, bx)) }
