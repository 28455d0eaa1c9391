package bar

import "math"

// vertices returns places and lifts on the path, ascending from end to end of the
// table, such that straight lines between them lie within τ of its table.
func (p *Path) vertices(τ float64) [][2]float64 { return thinned(p.dense(τ/8), τ*7/8, 0) }

// dense returns places on the path close enough for straight lines within τ.
func (p *Path) dense(τ float64) [][2]float64 {
	out := make([][2]float64, 0, len(p.spans)+1)
	for i := range p.spans {
		q := &p.spans[i]
		a, b := q.s, p.start+p.length
		if i+1 < len(p.spans) {
			b = p.spans[i+1].s
		}
		if !(b > a) {
			continue
		}
		if q.turn {
			out = chords(out, func(s float64) (float64, float64) { return p.eval(q, s) }, a, b, τ)
			continue
		}
		// A chord over Δ lies within Δ²·max|f″|/8 of its curve.
		bend := max(math.Abs(2*q.c[2]), math.Abs(2*q.c[2]+6*q.c[3]*(b-a)))
		n := max(1, math.Ceil((b-a)*math.Sqrt(bend/(8*τ))))
		for k := range int(n) {
			s := a + (b-a)*float64(k)/n
			lift, _ := p.eval(q, s)
			out = append(out, [2]float64{s, lift})
		}
	}
	if n := len(p.spans); n > 0 {
		s := p.start + p.length
		lift, _ := p.eval(&p.spans[n-1], s)
		out = append(out, [2]float64{s, lift})
	}
	return out
}

// chords appends places on a curve that bends one way from a to b, without its end,
// close enough for straight lines within τ. Such a curve lies between a chord and
// the tangents at its ends, which meet Δ(m − s₀)(s₁ − m)/(s₁ − s₀) off a chord of
// slope m.
func chords(out [][2]float64, f func(y float64) (h, slope float64), a, b, τ float64) [][2]float64 {
	l, s0 := f(a)
	r, s1 := f(b)
	m := (r - l) / (b - a)
	mid := a + (b-a)/2
	if high := (b - a) * (m - s0) * (s1 - m) / (s1 - s0); math.Abs(high) > τ && mid-a > 2*sharp {
		return chords(chords(out, f, a, mid, τ), f, mid, b, τ)
	}
	return append(out, [2]float64{a, l})
}

// thinned leaves out points while straight lines between those kept pass within τ,
// measured in height, of all of them, and points closer together than can be drawn.
// No line is made longer than longest, unless that is 0.
func thinned(v [][2]float64, τ, longest float64) [][2]float64 {
	if len(v) < 3 {
		return v
	}
	out := v[:1:1]
	from := v[0]
	last := from
	lo, hi := math.Inf(-1), math.Inf(1) // slopes of lines from the last point kept
	for i := 1; i < len(v); i++ {
		q := v[i]
		if d := q[0] - last[0]; i < len(v)-1 && d < 2*sharp {
			continue
		}
		d := q[0] - from[0]
		if m := (q[1] - from[1]) / d; last != from && (!(m >= lo && m <= hi) || longest > 0 && d > longest) {
			out = append(out, last)
			from, lo, hi = last, math.Inf(-1), math.Inf(1)
			d = q[0] - from[0]
		}
		lo, hi = max(lo, (q[1]-τ-from[1])/d), min(hi, (q[1]+τ-from[1])/d)
		last = q
	}
	if n := len(out); n > 1 && last[0]-out[n-1][0] < 2*sharp {
		out = out[:n-1]
	}
	return append(out, last)
}
