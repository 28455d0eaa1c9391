package engine

import (
	"math"
	"math/big"
)

// rational returns the simple fraction that x is the nearest float64 of, when
// there is one with a denominator up to a million; otherwise x itself, exactly.
// A screw of 14 threads to the inch is thus 127/70 mm and not a rounded 1.814….
//
// Among the fractions with denominators up to Q two are at least 1/Q² apart,
// so for Q = 10⁶ a chance fit to one part in 10¹⁵ is as good as impossible.
func rational(x float64) *big.Rat {
	const most, near = 1_000_000, 1e-15
	r := new(big.Rat)
	if math.Abs(x) < 1e12 {
		// Convergents of the continued fraction of x.
		p0, q0, p1, q1 := int64(0), int64(1), int64(1), int64(0)
		for v := x; ; {
			a := math.Floor(v)
			if math.Abs(a) > 1e12 {
				break
			}
			p0, q0, p1, q1 = p1, q1, int64(a)*p1+p0, int64(a)*q1+q0
			if q1 > most {
				break
			}
			if math.Abs(float64(p1)/float64(q1)-x) <= near*math.Abs(x) {
				return r.SetFrac64(p1, q1)
			}
			v = 1 / (v - a)
		}
	}
	r.SetFloat64(x)
	return r
}

// value returns the fraction of an amount as it was written, in its own unit;
// of an Angle it is the share of a turn.
func (a Amount) value() *big.Rat {
	switch {
	case a.Unit == Angle:
		return rational(a.Value / (2 * math.Pi))
	case a.Den != 0:
		return new(big.Rat).SetFrac(big.NewInt(a.Num), big.NewInt(a.Den))
	}
	return rational(a.Value)
}

// nearest returns the whole number nearest to r, halves away from zero, and
// that number less r. It reports false when the number is beyond a billion.
func nearest(r *big.Rat) (n int, off *big.Rat, ok bool) {
	twice := new(big.Int).Mul(r.Num(), big.NewInt(2))
	if r.Sign() < 0 {
		twice.Sub(twice, r.Denom())
	} else {
		twice.Add(twice, r.Denom())
	}
	whole := new(big.Int).Quo(twice, new(big.Int).Mul(r.Denom(), big.NewInt(2)))
	if !whole.IsInt64() || whole.Int64() > mostCounts || whole.Int64() < -mostCounts {
		return 0, nil, false
	}
	return int(whole.Int64()), new(big.Rat).Sub(new(big.Rat).SetInt(whole), r), true
}

// mostCounts bounds a dial: no wheel or screw of a workshop shows a billion.
const mostCounts = 1_000_000_000

// float returns the float64 nearest to r.
func float(r *big.Rat) float64 {
	f, _ := r.Float64()
	return f
}

func whole(n int64) *big.Rat { return new(big.Rat).SetInt64(n) }

func times(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }

func over(a, b *big.Rat) *big.Rat { return new(big.Rat).Quo(a, b) }
