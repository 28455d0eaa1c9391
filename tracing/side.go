package tracing

import (
	"fmt"
	"math"
	"slices"
)

// turn makes the base line level, and the lower side the upper.
func (tr *tracer) turn(p []Point) {
	m := identity
	if b := tr.t.Base; b != nil {
		d := b[1].minus(b[0])
		m = turning(-math.Atan2(d.Y, d.X)).times(shift(-b[0].X, -b[0].Y))
	}
	if tr.t.Under {
		m = scaling(-1, -1).times(m)
	}
	if m != identity {
		for i := range p {
			p[i] = m.point(p[i])
		}
	}
}

// side returns the upper side of a chain, from its left end to its right one.
func (tr *tracer) side(c *chain) []Point {
	p := c.points
	left, right := p[0].X, p[0].X
	low, high := p[0].Y, p[0].Y
	for _, q := range p {
		left, right, low, high = min(left, q.X), max(right, q.X), min(low, q.Y), max(high, q.Y)
	}
	if tr.t.Base == nil && high-low > 3*(right-left) {
		tr.fault("edge", fmt.Sprintf("the bar stands upright in the drawing: it is %.2f mm wide and %.2f mm high", right-left, high-low),
			"give the base line of the bar, in the direction of the stroke")
		return nil
	}
	// The ends of the bar may be upright: of what is that far left or right the
	// highest counts.
	i, k := 0, 0
	for n, q := range p {
		if q.X <= left+same && (p[i].X > left+same || q.Y > p[i].Y) {
			i = n
		}
		if q.X >= right-same && (p[k].X < right-same || q.Y > p[k].Y) {
			k = n
		}
	}
	if !c.closed {
		out := slices.Clone(p[min(i, k) : max(i, k)+1])
		if i > k {
			slices.Reverse(out)
		}
		n := len(p) - len(out)
		if n > 0 {
			tr.remark("What is drawn before the left end and beyond the right end was left out: %d points.", n)
		}
		if n > 0 || tr.d.Photo != nil {
			return tr.trim(out)
		}
		return out
	}
	walk := func(step int) (out []Point) {
		for n := i; ; n = (n + step + len(p)) % len(p) {
			out = append(out, p[n])
			if n == k {
				return out
			}
		}
	}
	a, b := walk(1), walk(-1)
	if under(a) < under(b) {
		a = b
	}
	return tr.trim(a)
}

// trim leaves out the ends of the bar: what climbs more steeply than three to one in
// the outermost hundredth of its length, and in a photograph the corner that the
// blur has rounded.
func (tr *tracer) trim(p []Point) []Point {
	n := len(p)
	length := p[n-1].X - p[0].X
	most, extra := min(length/100, 1), 0.0
	if f := tr.d.Photo; f != nil {
		most = max(most, 3*f.Scale)
		extra = reach * f.Scale
	}
	i, k := 0, n-1
	climbs := func(end, at Point) bool { return math.Abs(at.Y-end.Y) > 3*math.Abs(at.X-end.X)+tr.tolerance }
	for m := 1; m < n && p[m].X-p[0].X <= most; m++ {
		if climbs(p[0], p[m]) {
			i = m
		}
	}
	for m := n - 2; m > i && p[n-1].X-p[m].X <= most; m-- {
		if climbs(p[n-1], p[m]) {
			k = m
		}
	}
	if i == 0 && k == n-1 {
		return p
	}
	left, right := p[i].X, p[k].X
	if i > 0 {
		left += extra
	}
	if k < n-1 {
		right -= extra
	}
	for i < k && p[i].X < left {
		i++
	}
	for k > i && p[k].X > right {
		k--
	}
	if cut := max(p[i].X-p[0].X, p[n-1].X-p[k].X); cut > tr.tolerance {
		tr.remark("The upright ends of the bar are no part of the edge: up to %.4f mm at an end was left out.", cut)
	}
	return p[i : k+1]
}

// under returns the area under a line, by the trapezium rule.
func under(p []Point) float64 {
	sum := 0.0
	for i := 1; i < len(p); i++ {
		sum += (p[i].X - p[i-1].X) * (p[i].Y + p[i-1].Y - 2*p[0].Y)
	}
	return sum
}
