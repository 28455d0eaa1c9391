package bar

import "math"

// bearing is a piece on which the touchpiece may bear all along: its centre moves
// from sa to sb as the contact moves from a to b. Beyond, it turns on an end.
type bearing struct {
	piece
	sa, sb float64
	start  float64 // where on the stroke the touchpiece comes to bear on it
}

// follower carries what every step needs.
type follower struct {
	frame frame
	ρ     float64
}

// bearings takes out of the pieces what is hollower than the touchpiece and leaves
// the corners either side.
func (f follower) bearings(pieces []piece) []bearing {
	out := make([]bearing, 0, len(pieces)+4)
	for i := range pieces {
		p := &pieces[i]
		if p.kind == straight || f.ρ == 0 {
			out = f.keep(out, p, p.at(p.a), p.at(p.b), true)
			continue
		}
		out = f.split(out, p, p.at(p.a), p.at(p.b), true)
	}
	for i := range out {
		b := &out[i]
		b.sa = f.frame.bear(b.at(b.a), f.ρ).s
		b.sb = f.frame.bear(b.at(b.b), f.ρ).s
		if b.a == b.b {
			b.sa = f.frame.place(b.a)
			b.sb = b.sa
		}
	}
	return out
}

// split keeps or leaves out the stretch between two spots, or halves it. A stretch
// so short that leaving it out changes no lift by more than 10⁻⁸ mm is left out:
// over a stretch w the touchpiece bearing on both ends instead of between them
// stands lower by less than w²(1 + h′²)^(3/2)/(2ρ).
func (f follower) split(out []bearing, p *piece, a, b spot, first bool) []bearing {
	least, most := f.frame.hollowBounds(a, b)
	if f.ρ*most <= 1 {
		return f.keep(out, p, a, b, first)
	}
	w := b.y - a.y
	steep := 1 + max(a.d1*a.d1, b.d1*b.d1)
	mid := a.y + w/2
	if f.ρ*least >= 1 || w*w*steep*math.Sqrt(steep) < 2e-8*f.ρ || mid <= a.y || mid >= b.y {
		return f.corner(f.corner(out, a), b)
	}
	m := p.at(mid)
	return f.split(f.split(out, p, a, m, first), p, m, b, false)
}

// keep appends a stretch, or lengthens the last one when this is not the first of
// its piece and they meet.
func (f follower) keep(out []bearing, p *piece, a, b spot, first bool) []bearing {
	if n := len(out); !first && n > 0 && out[n-1].b == a.y && out[n-1].a < out[n-1].b {
		out[n-1].b = b.y
		return out
	}
	k := bearing{piece: *p}
	k.a, k.b = a.y, b.y
	return append(out, k)
}

// corner appends a corner unless the last stretch ends on it.
func (f follower) corner(out []bearing, q spot) []bearing {
	if n := len(out); n > 0 && out[n-1].b == q.y {
		return out
	}
	return append(out, bearing{piece: piece{kind: straight, a: q.y, b: q.y, y0: q.y, c0: q.h}})
}

// invert returns the contact on a piece with its centre at s, between sa and sb,
// by Newton's method kept between brackets, from a guess of where it bears if that
// lies on the piece.
func (f follower) invert(b *bearing, s, guess float64) contact {
	if b.kind == straight && f.frame.R == 0 {
		w := math.Sqrt(1 + float64(b.c1*b.c1))
		sin := b.c1 / w
		y := min(max(s+float64(f.ρ*sin), b.a), b.b)
		return contact{y, s, float64(b.c1*(y-b.y0)) + b.c0 - f.ρ*sin*b.c1/(w+1), b.c1, 1}
	}
	lo, hi := b.a, b.b
	y := guess
	if !(y > lo && y < hi) {
		y = lo
		if b.sb > b.sa {
			y += (hi - lo) * min(max((s-b.sa)/(b.sb-b.sa), 0), 1)
		}
	}
	var c contact
	for range 80 {
		c = f.frame.bear(b.at(y), f.ρ)
		d := c.s - s
		if math.Abs(d) <= exact(s) {
			break
		}
		if d > 0 {
			hi = y
		} else {
			lo = y
		}
		next := y - d/c.rate
		if !(next > lo && next < hi) {
			if next = lo + (hi-lo)/2; next == lo || next == hi {
				break
			}
		}
		y = next
	}
	c.lift += float64(c.slope * (s - c.s))
	c.s = s
	return c
}

// exact is the error, mm or rad, at which an iteration at the place s ends: what
// rounding leaves of s, and four orders below PathError on the largest rosette.
func exact(s float64) float64 { return 1e-14 + 4e-16*math.Abs(s) }

// over returns the touchpiece at s when only this piece is there. The lift is
// −Inf beyond its reach.
func (f follower) over(b *bearing, s float64) contact { return f.overNear(b, s, math.NaN()) }

// overNear is over from a guess of where the touchpiece bears; NaN is no guess.
func (f follower) overNear(b *bearing, s, guess float64) contact {
	switch {
	case s == b.sa && b.a < b.b:
		return f.frame.bear(b.at(b.a), f.ρ)
	case s == b.sb && b.a < b.b:
		return f.frame.bear(b.at(b.b), f.ρ)
	case s <= b.sa:
		q := b.at(b.a)
		lift, slope := f.frame.disc(b.a, q.h, f.ρ, s)
		return contact{y: b.a, s: s, lift: lift, slope: slope}
	case s >= b.sb:
		q := b.at(b.b)
		lift, slope := f.frame.disc(b.b, q.h, f.ρ, s)
		return contact{y: b.b, s: s, lift: lift, slope: slope}
	}
	return f.invert(b, s, guess)
}

// sweep leaves those bearings that the touchpiece comes to bear on, each with the
// place where it does, from the place from on. Of two bearings the one further
// along the edge is the higher from one place on, so a stack holds the envelope:
// a new bearing takes away from its end all that it overtops from their start.
func (f follower) sweep(all []bearing, from float64) []bearing {
	stack := all[:0]
	for i := range all {
		b := all[i]
		b.start = from
		end := math.Inf(1) // b is known to be the higher there
		for len(stack) > 0 {
			top := &stack[len(stack)-1]
			if top.b == b.a && top.start <= top.sb && top.sb <= b.sa {
				b.start = top.sb // they meet in a bump, or run into each other
				break
			}
			if at := f.over(&b, top.start).lift; at > math.Inf(-1) && at >= f.over(top, top.start).lift {
				end = top.start
				stack = stack[:len(stack)-1]
				continue
			}
			b.start = f.crossing(top, &b, end)
			break
		}
		if len(stack) == 0 {
			b.start = from
		}
		stack = append(stack, b)
	}
	return stack
}

// reach returns how far from a corner its disc reaches.
func (f follower) reach(h float64) float64 {
	if f.frame.R == 0 {
		return f.ρ
	}
	return math.Asin(min(1, f.ρ/f.frame.radius(h)))
}

// crossing returns where b, further along the edge, comes to stand above top. It
// stands below at top.start, and above at end.
func (f follower) crossing(top, b *bearing, end float64) float64 {
	lo, hi := top.start, end
	if top.b == b.a {
		// They meet in a hollow corner, which both hold.
		lo, hi = max(lo, b.sa), min(hi, top.sb)
	} else {
		lo = max(lo, f.frame.place(b.a)-f.reach(b.at(b.a).h))
		hi = min(hi, f.frame.place(top.b)+f.reach(top.at(top.b).h))
	}
	if !(lo < hi) {
		return lo
	}
	s := lo + (hi-lo)/2
	l, r := contact{y: math.NaN()}, contact{y: math.NaN()}
	for range 80 {
		// The contact follows its centre by 1/rate, so that close to the crossing one look is enough.
		l, r = f.overNear(top, s, l.y+(s-l.s)/l.rate), f.overNear(b, s, r.y+(s-r.s)/r.rate)
		d := r.lift - l.lift
		if math.Abs(d) <= exact(s) {
			return s
		}
		if d > 0 {
			hi = s
		} else {
			lo = s
		}
		next := s - d/(r.slope-l.slope)
		if !(next > lo && next < hi) {
			if next = lo + (hi-lo)/2; next == lo || next == hi {
				return s
			}
		}
		s = next
	}
	return s
}
