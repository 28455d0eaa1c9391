package bar

import "math"

// curve is the kind of a piece.
type curve uint8

const (
	straight curve = iota // c0 + c1·x
	cubic                 // c0 + c1·x + c2·x² + c3·x³
	wave                  // c0 + c1·sin(c2·x)
	arc                   // c0 ± √(c1² − x²), bump for c1 > 0, hollow for c1 < 0
)

// piece is a stretch [a, b] of an edge, with x = y − y0, all in mm along the
// datum. Height, slope and second derivative are each monotone over a piece, and
// the last two do not change sign; so bounds of all three over any stretch of it
// are their values at its ends. A piece with a = b is a corner that stands alone.
type piece struct {
	kind           curve
	a, b           float64
	y0             float64
	c0, c1, c2, c3 float64
}

// spot is an edge's height and its first two derivatives at y.
type spot struct{ y, h, d1, d2 float64 }

func (p *piece) at(y float64) spot {
	x := y - p.y0
	switch p.kind {
	case cubic:
		d := float64(p.c3*x) + p.c2
		d = float64(d*x) + p.c1
		e := float64(3*p.c3*x) + 2*p.c2
		return spot{y, float64(d*x) + p.c0, float64(e*x) + p.c1, float64(6*p.c3*x) + 2*p.c2}
	case wave:
		s, c := math.Sincos(p.c2 * x)
		a := p.c1 * p.c2
		return spot{y, float64(p.c1*s) + p.c0, a * c, -a * p.c2 * s}
	case arc:
		q := math.Sqrt(max(0, (math.Abs(p.c1)-x)*(math.Abs(p.c1)+x)))
		if p.c1 < 0 {
			q = -q
		}
		return spot{y, p.c0 + q, -x / q, -p.c1 * p.c1 / (q * q * q)}
	}
	return spot{y, float64(p.c1*x) + p.c0, p.c1, 0}
}

// moved returns the piece shifted by d along the edge.
func (p piece) moved(d float64) piece {
	p.a += d
	p.b += d
	p.y0 += d
	return p
}

// cubicPieces appends the cubic through (y0, h0) and (y1, h1) with slopes m0 and
// m1, split where its slope or second derivative changes sign.
func cubicPieces(dst []piece, y0, h0, m0, y1, h1, m1 float64) []piece {
	d := y1 - y0
	q := (h1 - h0) / d
	p := piece{kind: cubic, a: y0, b: y1, y0: y0, c0: h0, c1: m0,
		c2: (3*q - 2*m0 - m1) / d, c3: (m0 + m1 - 2*q) / (d * d)}
	// Roots of the slope c1 + 2c2·x + 3c3·x² and of its derivative. One that falls
	// together with an end, but for 10⁻⁵ of the stretch, makes no piece of its own:
	// what it would part off bends the other way by 10⁻¹⁰ of the stretch's bend.
	const end = 1e-5
	var cuts [3]float64
	n := 0
	add := func(x float64) {
		if x > end*d && x < d-end*d {
			cuts[n] = x
			n++
		}
	}
	if p.c3 != 0 {
		add(-p.c2 / (3 * p.c3))
	}
	if disc := float64(p.c2*p.c2) - float64(3*p.c3*p.c1); disc > 0 {
		w := -p.c2 - math.Copysign(math.Sqrt(disc), p.c2)
		if w != 0 {
			add(p.c1 / w)
			if p.c3 != 0 {
				add(w / (3 * p.c3))
			}
		}
	}
	for i := 1; i < n; i++ {
		for j := i; j > 0 && cuts[j] < cuts[j-1]; j-- {
			cuts[j], cuts[j-1] = cuts[j-1], cuts[j]
		}
	}
	for _, x := range cuts[:n] {
		if y := y0 + x; y > p.a+end*d {
			q := p
			q.b = y
			dst = append(dst, q)
			p.a = y
		}
	}
	return append(dst, p)
}
