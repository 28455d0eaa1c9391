package bar

import "math"

// sinePieces appends one wave of mean + a·sin(2π(y−y0)/λ), hollow to hollow, in
// quarters. Its crest stands at y0 + λ/4.
func sinePieces(dst []piece, y0, λ, mean, a float64) []piece {
	for i := range 4 {
		dst = append(dst, piece{kind: wave, a: y0 + float64(i-1)*λ/4, b: y0 + float64(i)*λ/4,
			y0: y0, c0: mean, c1: a, c2: 2 * math.Pi / λ})
	}
	return dst
}

// line returns the straight piece from (y0, h0) to (y1, h1).
func line(y0, h0, y1, h1 float64) piece {
	return piece{kind: straight, a: y0, b: y1, y0: y0, c0: h0, c1: (h1 - h0) / (y1 - y0)}
}

// sharp is the radius or the length of a flat, mm, below which there is none: a
// nanometre, far below what can be made and far above rounding.
const sharp = 1e-6

func blunt(x float64) float64 {
	if x < sharp {
		return 0
	}
	return x
}

// trapezoidPieces: the crest's flat is centred on λ/4, the hollow's on 3λ/4.
func trapezoidPieces(λ, a, crest, hollow float64) []piece {
	c, h := blunt(crest*λ)/2, blunt(hollow*λ)/2
	corners := [][2]float64{{λ/4 - c, a}, {λ/4 + c, a}, {3*λ/4 - h, -a}, {3*λ/4 + h, -a}, {5*λ/4 - c, a}}
	var out []piece
	for i := 1; i < len(corners); i++ {
		if l, r := corners[i-1], corners[i]; r[0] > l[0] {
			out = append(out, line(l[0], l[1], r[0], r[1]))
		}
	}
	return out
}

// arcShares returns the shares of the wave that bump and hollow take: as given,
// one from the other, or half each.
func arcShares(λ, crest, hollow float64) (c, h float64) {
	crest, hollow = blunt(crest*λ)/λ, blunt(hollow*λ)/λ
	switch {
	case crest == 0 && hollow == 0:
		return 0.5, 0.5
	case hollow == 0:
		// crest alone: the rest is hollow; nothing is left for crest = 1
		return crest, 1 - crest
	case crest == 0:
		return 1 - hollow, hollow
	}
	return crest, hollow
}

// arcPieces draws bumps over a share c of the wave and hollows over the rest, as
// arcs with their chords end to end. Both meet at the same steepness β, so that
// the joint is tangent; their heights add up to 2a, hence
//
//	tan(β/2) = 4a/λ,  radii c·λ/(2 sin β) and h·λ/(2 sin β).
//
// With no hollow (c = 1) the bumps meet in cusps, with no bump the hollows do.
func arcPieces(λ, a, crest, hollow float64) []piece {
	c, h := arcShares(λ, crest, hollow)
	β := 2 * math.Atan(4*a/λ)
	sin := math.Sin(β)
	var out []piece
	if c > 0 {
		r := c * λ / (2 * sin)
		y := λ / 4
		p := piece{kind: arc, y0: y, c0: a - r, c1: r, a: y - c*λ/2, b: y}
		q := p
		q.a, q.b = y, y+c*λ/2
		out = append(out, p, q)
	}
	if h > 0 {
		r := h * λ / (2 * sin)
		y := 3 * λ / 4
		p := piece{kind: arc, y0: y, c0: r - a, c1: -r, a: λ/4 + c*λ/2, b: y}
		q := p
		q.a, q.b = y, y+h*λ/2
		out = append(out, p, q)
	}
	return out
}

// zigzagFlank returns tan(β/2) for flanks of steepness β that, with a nose of
// radius n on the crest and q in the hollow tangent to them, stand 2a high in half
// a wave. With N = n + q the flank rises 2a − N(1 − cos β) over λ/2 − N sin β, so
//
//	2(N − a)u² − λu + 2a = 0,  u = tan(β/2).
//
// ok is false when the radii leave no room for so high a zigzag.
func zigzagFlank(λ, a, nose, root float64) (u float64, ok bool) {
	disc := λ*λ - 16*a*(nose+root-a)
	if disc < 0 {
		return 0, false
	}
	u = 4 * a / (λ + math.Sqrt(disc))
	return u, u < 1
}

// zigzagPieces: crests at λ/4, hollows at 3λ/4.
func zigzagPieces(λ, a, nose, root float64) []piece {
	nose, root = blunt(nose), blunt(root)
	u, _ := zigzagFlank(λ, a, nose, root)
	sin := 2 * u / (1 + u*u)
	rise := 2 * u * u / (1 + u*u) // 1 − cos β
	var out []piece
	// From crest to crest: nose, flank, root, root, flank, nose.
	top, low, next := λ/4, 3*λ/4, 5*λ/4
	n, r := nose*sin, root*sin
	hn, hr := a-nose*rise, root*rise-a
	add := func(p piece) {
		if p.b > p.a {
			out = append(out, p)
		}
	}
	add(piece{kind: arc, a: top, b: top + n, y0: top, c0: a - nose, c1: nose})
	tan := 2 * u / (1 - u*u)
	add(piece{kind: straight, a: top + n, b: low - r, y0: top + n, c0: hn, c1: -tan})
	add(piece{kind: arc, a: low - r, b: low, y0: low, c0: root - a, c1: -root})
	add(piece{kind: arc, a: low, b: low + r, y0: low, c0: root - a, c1: -root})
	add(piece{kind: straight, a: low + r, b: next - n, y0: low + r, c0: hr, c1: tan})
	add(piece{kind: arc, a: next - n, b: next, y0: next, c0: a - nose, c1: nose})
	for i := 1; i < len(out); i++ {
		out[i].a = out[i-1].b
	}
	return out
}

// pointPieces joins the drawn points.
func pointPieces(e Edge, period float64) []piece {
	drawn := e.whole()
	n := len(drawn)
	y := make([]float64, n)
	h := make([]float64, n)
	for i, d := range drawn {
		y[i], h[i] = d[0], d[1]
		if e.polar() {
			y[i] *= e.Radius
		}
	}
	repeats := period > 0
	if repeats {
		y[n-1], h[n-1] = y[0]+period, h[0]
	}
	var out []piece
	if !e.Spline {
		out = make([]piece, 0, n)
		for i := 1; i < n; i++ {
			out = append(out, line(y[i-1], h[i-1], y[i], h[i]))
		}
		return out
	}
	m := splineSlopes(y, h, repeats)
	out = make([]piece, 0, 2*n) // a cubic is split in its bends
	for i := 1; i < n; i++ {
		out = cubicPieces(out, y[i-1], h[i-1], m[i-1], y[i], h[i], m[i])
	}
	return out
}
