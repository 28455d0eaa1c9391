package bar

import "math"

// fitError is how far a curve drawn by cubics may lie from what it stands for, mm:
// a tenth of PathError.
const fitError = 1e-7

// fitted appends cubics that meet f and its slope at their ends and lie along it
// from a to b, halving until they do so at a quarter, half and three quarters of
// the way. f must bend smoothly between a and b, and turn there twice at most.
func fitted(dst []piece, f func(y float64) (h, slope float64), a, b float64) []piece {
	h0, m0 := f(a)
	h1, m1 := f(b)
	return fitBetween(dst, f, a, h0, m0, b, h1, m1, 12)
}

func fitBetween(dst []piece, f func(y float64) (h, slope float64), a, h0, m0, b, h1, m1 float64, halvings int) []piece {
	d := b - a
	if !(d > 0) {
		return dst
	}
	q := (h1 - h0) / d
	off := 0.0
	for _, t := range [3]float64{0.25, 0.5, 0.75} {
		x := t * d
		c := (((m0+m1-2*q)/(d*d)*x+(3*q-2*m0-m1)/d)*x+m0)*x + h0
		h, _ := f(a + x)
		off = max(off, math.Abs(c-h))
	}
	mid := a + d/2
	if off <= fitError/2 || halvings == 0 || !(mid-a > 1e-5) {
		return cubicPieces(dst, a, h0, m0, b, h1, m1)
	}
	h, m := f(mid)
	dst = fitBetween(dst, f, a, h0, m0, mid, h, m, halvings-1)
	return fitBetween(dst, f, mid, h, m, b, h1, m1, halvings-1)
}
