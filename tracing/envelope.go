package tracing

import (
	"math"
	"slices"
)

// stretch is the part from u to v of the straight line of that number.
type stretch struct {
	u, v float64
	line int
}

// envelope finds the upper envelope of straight lines: which of them stands
// highest over each x. It halves the lines and merges, in n·log n.
type envelope struct{ from, to []Point } // from.X < to.X

func (e *envelope) at(line int, x float64) float64 {
	p, q := e.from[line], e.to[line]
	switch x {
	case p.X:
		return p.Y
	case q.X:
		return q.Y
	}
	return p.Y + (q.Y-p.Y)*((x-p.X)/(q.X-p.X))
}

// add takes a line unless it stands upright: its ends belong to what it meets.
func (e *envelope) add(p, q Point) {
	if p.X > q.X {
		p, q = q, p
	}
	if q.X > p.X {
		e.from, e.to = append(e.from, p), append(e.to, q)
	}
}

func (e *envelope) upper(a, b int) []stretch {
	if b-a == 1 {
		return []stretch{{e.from[a].X, e.to[a].X, a}}
	}
	if b <= a {
		return nil
	}
	m := (a + b) / 2
	return e.merge(e.upper(a, m), e.upper(m, b))
}

func (e *envelope) merge(a, b []stretch) []stretch {
	x := make([]float64, 0, 2*(len(a)+len(b)))
	for _, s := range a {
		x = append(x, s.u, s.v)
	}
	for _, s := range b {
		x = append(x, s.u, s.v)
	}
	slices.Sort(x)
	x = slices.Compact(x)
	var out []stretch
	emit := func(u, v float64, line int) {
		if n := len(out); n > 0 && out[n-1].line == line && out[n-1].v == u {
			out[n-1].v = v
		} else if v > u {
			out = append(out, stretch{u, v, line})
		}
	}
	i, k := 0, 0
	for n := 1; n < len(x); n++ {
		u, v := x[n-1], x[n]
		for i < len(a) && a[i].v <= u {
			i++
		}
		for k < len(b) && b[k].v <= u {
			k++
		}
		inA, inB := i < len(a) && a[i].u <= u, k < len(b) && b[k].u <= u
		switch {
		case inA && inB:
			l, m := a[i].line, b[k].line
			d, f := e.at(l, u)-e.at(m, u), e.at(l, v)-e.at(m, v)
			switch {
			case d >= 0 && f >= 0:
				emit(u, v, l)
			case d <= 0 && f <= 0:
				emit(u, v, m)
			default:
				c := min(max(u+(v-u)*(d/(d-f)), u), v)
				if d > 0 {
					emit(u, c, l)
					emit(c, v, m)
				} else {
					emit(u, c, m)
					emit(c, v, l)
				}
			}
		case inA:
			emit(u, v, a[i].line)
		case inB:
			emit(u, v, b[k].line)
		}
	}
	return out
}

// outline returns the corners of the envelope, and the stretches over which there
// is nothing.
func (e *envelope) outline() (c []Point, holes [][2]float64) {
	for i, s := range e.upper(0, len(e.from)) {
		if i > 0 {
			if last := c[len(c)-1].X; s.u > last+1e-9 {
				holes = append(holes, [2]float64{last, s.u})
			}
		}
		p := Point{s.u, e.at(s.line, s.u)}
		if n := len(c); n == 0 || p.X > c[n-1].X || math.Abs(p.Y-c[n-1].Y) > same {
			c = append(c, p)
		}
		c = append(c, Point{s.v, e.at(s.line, s.v)})
	}
	return c, holes
}
