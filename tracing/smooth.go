package tracing

import (
	"math"
	"slices"
)

// smooth moves every place of an outline, spaced evenly, onto the quadratic fitted to
// the places about it (local regression; Savitzky and Golay 1964 for even spacing).
// The window grows while no place moves further than limit and what is taken away
// still looks like scatter, no more than what narrower windows took. noise is the
// scatter along the normal; over is the window's length, in spacings.
func smooth(p []Point, closed bool, limit float64) (out []Point, noise, moved, over float64) {
	out = p
	n := len(p)
	least := math.Inf(1)
	for _, half := range []int{4, 6, 8, 12, 16, 24, 32, 48, 64} {
		if 2*half+1 > n/2 {
			break
		}
		q := local(p, closed, half)
		d := make([]float64, n)
		for i := range p {
			d[i] = q[i].distance(p[i])
		}
		slices.Sort(d)
		most := d[n-1]
		// The median, so that corners do not count as scatter: 1.4826 of it is the
		// deviation of a normal one. In the middle of a window a quadratic takes 9/4
		// of a place's share with it.
		scatter := 1.4826 * d[n/2] / math.Sqrt(1-2.25/float64(2*half+1))
		if half == 4 {
			noise = scatter
		}
		if !(most <= limit) || half > 8 && scatter > 1.25*least+1e-3 {
			break
		}
		if half >= 6 {
			least = min(least, scatter)
		}
		noise = max(noise, min(scatter, least))
		out, moved, over = q, most, float64(2*half+1)
	}
	return out, noise, moved, over
}

// local fits the quadratics.
func local(p []Point, closed bool, half int) []Point {
	n := len(p)
	q := slices.Clone(p)
	for i := range p {
		from, to := i-half, i+half
		if !closed { // at the ends the window is one-sided
			from, to = max(from, 0), min(to, n-1)
		}
		// Moments of u = −half…half and of the places.
		var s [5]float64
		var x, y [3]float64
		for k := from; k <= to; k++ {
			c := p[(k%n+n)%n]
			u := float64(k-i) / float64(half)
			w := 1.0
			for m := range s {
				s[m] += w
				if m < 3 {
					x[m] += w * c.X
					y[m] += w * c.Y
				}
				w *= u
			}
		}
		// The value at u = 0 by Cramer's rule.
		det := s[0]*(s[2]*s[4]-s[3]*s[3]) - s[1]*(s[1]*s[4]-s[2]*s[3]) + s[2]*(s[1]*s[3]-s[2]*s[2])
		value := func(v [3]float64) float64 {
			return (v[0]*(s[2]*s[4]-s[3]*s[3]) - s[1]*(v[1]*s[4]-s[3]*v[2]) + s[2]*(v[1]*s[3]-s[2]*v[2])) / det
		}
		if math.Abs(det) > 1e-9 {
			q[i] = Point{value(x), value(y)}
		}
	}
	return q
}
