package surface

import "math"

// Profile holds the texture figures of a line, of ISO 21920-2 (and ISO 4287):
// heights in mm from the mean line, which is the mean height. Nothing is filtered
// and no form is taken off: what the flanks leave is all there is.
type Profile struct {
	Ra  float64 // arithmetic mean of |z|
	Rq  float64 // root mean square
	Rz  float64 // height from lowest to highest, the mean of five equal sections
	Rt  float64 // height from lowest to highest of the whole line
	Rsk float64 // skewness: below 0 where narrow grooves part broad lands
	Rku float64 // kurtosis: 3 for a normal distribution
}

// sections is the count of sections whose heights Rz averages.
const sections = 5

// ProfileOf returns the figures of heights evenly spaced along a line. Fewer
// heights than the sections of Rz, or a line without any height, give zeros.
func ProfileOf(z []float64) Profile {
	n := len(z)
	if n < sections {
		return Profile{}
	}
	var p Profile
	var m moments
	mean := pairwise(z, func(v float64) float64 { return v }) / float64(n)
	lo, hi := z[0], z[0]
	for s := range sections {
		part := z[s*n/sections : (s+1)*n/sections]
		low, high := part[0], part[0]
		for _, v := range part {
			m.add(v - mean)
			low, high = min(low, v), max(high, v)
		}
		p.Rz += (high - low) / sections
		lo, hi = min(lo, low), max(hi, high)
	}
	p.Rt = hi - lo
	p.Ra, p.Rq, p.Rsk, p.Rku = m.figures()
	return p
}

// moments sums powers of a deviation from the mean.
type moments struct {
	n               float64
	abs, s2, s3, s4 float64
}

func (m *moments) add(d float64) {
	m.n++
	q := float64(d * d)
	m.abs += math.Abs(d)
	m.s2 += q
	m.s3 += float64(q * d)
	m.s4 += float64(q * q)
}

func (m *moments) join(o moments) {
	m.n += o.n
	m.abs += o.abs
	m.s2 += o.s2
	m.s3 += o.s3
	m.s4 += o.s4
}

// figures returns mean absolute deviation, root mean square, skewness and
// kurtosis.
func (m *moments) figures() (a, q, sk, ku float64) {
	if m.n == 0 {
		return 0, 0, 0, 0
	}
	a, q = m.abs/m.n, math.Sqrt(m.s2/m.n)
	if q > 0 {
		sk, ku = m.s3/m.n/(q*q*q), m.s4/m.n/(q*q*q*q)
	}
	if !finite(sk, ku) { // a spread so small that its powers vanish
		sk, ku = 0, 0
	}
	return a, q, sk, ku
}

// pairwise sums f over z by halves, so that rounding grows with the logarithm
// of the count.
func pairwise[T float32 | float64](z []T, f func(T) float64) float64 {
	if len(z) <= 64 {
		s := 0.0
		for _, v := range z {
			s += f(v)
		}
		return s
	}
	h := len(z) / 2
	return pairwise(z[:h], f) + pairwise(z[h:], f)
}
