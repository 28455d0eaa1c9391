package bar

import "math"

// frame tells how the drawing lies: straight along a bar (R = 0), or wrapped
// round a rosette of mean radius R.
//
// For the inverse job the frame is turned inside out: heights are drawn downwards
// from the circle R + rise on which the nose's centre runs, and the nose bears
// from without. What bears is then still the highest, so one sweep serves both
// ways. A bar is turned over by drawing it upside down; its frame does not change.
type frame struct {
	R     float64
	inner bool
	rise  float64
}

// out is 1, or −1 for a frame turned inside out.
func (f frame) out() float64 {
	if f.inner {
		return -1
	}
	return 1
}

// radius returns the distance from the middle of what is drawn at the height h.
func (f frame) radius(h float64) float64 { return f.R + f.rise + f.out()*h }

// along returns the y of a place; place returns the place of a y.
func (f frame) along(s float64) float64 {
	if f.R == 0 {
		return s
	}
	return s * f.R
}

func (f frame) place(y float64) float64 {
	if f.R == 0 {
		return y
	}
	return y / f.R
}

// slope turns a slope of the drawing into one per unit of place.
func (f frame) slope(d1 float64) float64 {
	if f.R == 0 {
		return d1
	}
	return d1 * f.R
}

// contact is the touchpiece bearing on the edge at y with its centre at s.
type contact struct {
	y, s, lift float64
	slope      float64 // of the pitch curve: dlift/ds
	rate       float64 // ds/dy along the edge; not above 0 where the edge is hollower than the nose
}

// bear sets a touchpiece of radius ρ on a spot of the edge: its centre is offset
// by ρ along the normal.
//
// Bar: tan ψ = h′, centre (y − ρ sin ψ, h + ρ cos ψ). Rosette: tan ψ = r′/r, the
// centre lies ρ cos ψ further out and ρ sin ψ back, so at radius
// c = √(r² + 2rρ cos ψ + ρ²), turned back by atan(ρ sin ψ/(r + ρ cos ψ)); the
// slope of its path is dc/ds = c·r sin ψ/(r cos ψ + ρ).
func (f frame) bear(q spot, ρ float64) contact {
	if f.R == 0 {
		w := math.Sqrt(1 + float64(q.d1*q.d1))
		sin := q.d1 / w
		return contact{q.y, q.y - float64(ρ*sin), q.h - ρ*sin*q.d1/(w+1), q.d1, 1 - ρ*q.d2/(w*w*w)}
	}
	σ := f.out()
	r, r1 := f.radius(q.h), σ*f.R*q.d1
	w := math.Hypot(r, r1)
	sin, cos := r1/w, r/w
	out, back := r+float64(σ*ρ*cos), σ*ρ*sin
	c := math.Hypot(out, back)
	short := 2 * r * ρ * sin * sin / ((1 + cos) * (c + r + σ*ρ)) // r + ρ − c, or c − r + ρ
	turn := float64(r*cos) + σ*ρ
	return contact{
		y:     q.y,
		s:     q.y/f.R - math.Atan2(back, out),
		lift:  q.h - short,
		slope: σ * c * r * sin / turn,
		rate:  w * (1 - ρ*f.hollowness(q)) * turn / (c * c) / f.R,
	}
}

// hollowness returns the curvature of the edge, 1/mm: above 0 in a hollow, below
// on a bump. Rosette: (r·r″ − r² − 2r′²)/(r² + r′²)^(3/2), or less that inside out.
func (f frame) hollowness(q spot) float64 {
	if f.R == 0 {
		w := 1 + float64(q.d1*q.d1)
		return q.d2 / (w * math.Sqrt(w))
	}
	σ := f.out()
	r, r1, r2 := f.radius(q.h), f.R*q.d1, σ*f.R*f.R*q.d2
	w := math.Hypot(r, r1)
	return σ * (float64(r*r2) - float64(r*r) - 2*float64(r1*r1)) / (w * w * w)
}

// hollowBounds bounds the hollowness over a stretch of one piece from the spots
// at its ends.
func (f frame) hollowBounds(a, b spot) (least, most float64) {
	if f.R == 0 {
		w0, w1 := math.Hypot(1, a.d1), math.Hypot(1, b.d1)
		return quotient(min(a.d2, b.d2), max(a.d2, b.d2), cube(min(w0, w1)), cube(max(w0, w1)))
	}
	r0, r1, m0, m1 := f.ends(a, b)
	σ := f.out()
	c0, c1 := σ*f.R*f.R*a.d2, σ*f.R*f.R*b.d2
	if c0 > c1 {
		c0, c1 = c1, c0
	}
	lo, hi := min(r0*c0, r1*c0)-r1*r1-2*m1*m1, max(r0*c1, r1*c1)-r0*r0-2*m0*m0
	if f.inner {
		lo, hi = -hi, -lo
	}
	return quotient(lo, hi, cube(math.Hypot(r0, m0)), cube(math.Hypot(r1, m1)))
}

// ends returns the least and greatest radius, and steepness in mm per rad, over a
// stretch of one piece.
func (f frame) ends(a, b spot) (r0, r1, m0, m1 float64) {
	r0, r1 = f.radius(a.h), f.radius(b.h)
	m0, m1 = math.Abs(f.R*a.d1), math.Abs(f.R*b.d1)
	return min(r0, r1), max(r0, r1), min(m0, m1), max(m0, m1)
}

func cube(x float64) float64 { return x * x * x }

// quotient bounds [lo, hi]/[small, large] for positive divisors.
func quotient(lo, hi, small, large float64) (float64, float64) {
	return min(lo/small, lo/large), max(hi/small, hi/large)
}

// slopeSpread bounds how much the slope of the pitch curve varies over a stretch
// of one piece.
func (f frame) slopeSpread(a, b spot, ρ float64) float64 {
	if f.R == 0 {
		return math.Abs(a.d1 - b.d1)
	}
	// slope = c·r·r′/(r² + ρw), w = √(r² + r′²), c² = r² + ρ² + 2ρr²/w, with −ρ
	// inside out
	r0, r1, m0, m1 := f.ends(a, b)
	w0, w1 := math.Hypot(r0, m0), math.Hypot(r1, m1)
	if f.inner {
		least := r0*r0 - ρ*w1
		if least <= 0 {
			return math.Inf(1)
		}
		c0 := math.Sqrt(max(0, r0*r0+ρ*ρ-2*ρ*r1*r1/w0))
		c1 := math.Sqrt(r1*r1 + ρ*ρ - 2*ρ*r0*r0/w1)
		return c1*r1*m1/least - c0*r0*m0/(r1*r1-ρ*w0)
	}
	c0 := math.Sqrt(r0*r0 + ρ*ρ + 2*ρ*r0*r0/w1)
	c1 := math.Sqrt(r1*r1 + ρ*ρ + 2*ρ*r1*r1/w0)
	return c1*r1*m1/(r0*r0+ρ*w0) - c0*r0*m0/(r1*r1+ρ*w1)
}

// disc returns the lift and slope at s of the touchpiece bearing on a corner at
// (y, h); −Inf beyond its reach.
func (f frame) disc(y, h, ρ, s float64) (lift, slope float64) {
	if f.R == 0 {
		u := s - y
		q := (ρ - u) * (ρ + u)
		if q <= 0 {
			if u == 0 {
				return h, 0
			}
			return math.Inf(-1), 0
		}
		q = math.Sqrt(q)
		return h - float64(u*u)/(q+ρ), -u / q
	}
	σ := f.out()
	r := f.radius(h)
	u := s - y/f.R
	sin, cos := math.Sincos(u)
	x := r * sin
	q := (ρ - x) * (ρ + x)
	if q <= 0 || cos <= 0 {
		if u == 0 {
			return h, 0
		}
		return math.Inf(-1), 0
	}
	q = math.Sqrt(q)
	half := math.Sin(u / 2)
	return h - float64(σ*2*r*half*half) - float64(x*x)/(q+ρ), -x * (σ + r*cos/q)
}
