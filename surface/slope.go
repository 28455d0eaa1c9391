package surface

import (
	"math"

	"brightcut/engine"
)

// Slope returns the slope of a facet's flank at (x, y): how much the height
// changes for 1 mm along x and along y. Along a curved path the slope turns
// smoothly, as the true path does; at a true corner of the path it jumps.
//
// With T the path's direction at the place s of the tip and u(s) the V's, the
// gradient g satisfies g·u = ±cot α (0 on the tip flat) and, since staying at
// the distance t along the V while s advances only follows the tip's height,
// g·(T + t·u′(s)) = z′(s).
func (k *Carver) Slope(facet int32, x, y float64) (dzdx, dzdy float64) {
	st := &k.strips[facet/3]
	a, b := &k.tips[st.first], &k.tips[st.first+1]
	slope := float64(facet%3-1) * k.vee.cot
	px, py, dx, dy, ux, uy := x-a.x, y-a.y, b.x-a.x, b.y-a.y, a.ux, a.uy
	var s, dtx, dty float64
	if a.ux == b.ux && a.uy == b.uy {
		s = share(cross(px, py, ux, uy), cross(dx, dy, ux, uy))
		dx, dy = st.heading(dx, dy, s)
	} else {
		var turns float64
		s, ux, uy, turns = foot(a, b, x, y)
		// t·u′, and u′ is square to u.
		d := dot(px-float64(s*dx), py-float64(s*dy), ux, uy) * turns
		dtx, dty = -d*uy, d*ux
		dx, dy = st.heading(dx, dy, s)
		dx, dy = dx+dtx, dy+dty
	}
	d := cross(dx, dy, ux, uy)
	if math.Abs(d) <= parallel*(math.Abs(dx)+math.Abs(dy)) {
		return slope * ux, slope * uy
	}
	dz := b.z - a.z
	return cross(dz, slope, dy, uy) / d, cross(slope, dz, ux, dx) / d
}

// cross and dot multiply vectors; the conversions keep processors that could
// from fusing the products, so that all give the same bits.
func cross(ax, ay, bx, by float64) float64 { return float64(ax*by) - float64(ay*bx) }
func dot(ax, ay, bx, by float64) float64   { return float64(ax*bx) + float64(ay*by) }

// share returns p/d within [0, 1]; half where d is nothing.
func share(p, d float64) float64 {
	if d == 0 {
		return 0.5
	}
	return min(max(p/d, 0), 1)
}

// foot returns the place s between a and b at which the V passes through (x, y),
// the V's direction there, and the angle by which it turns from a to b.
func foot(a, b *tip, x, y float64) (s, ux, uy, turns float64) {
	px, py, dx, dy := x-a.x, y-a.y, b.x-a.x, b.y-a.y
	vx, vy := b.ux-a.ux, b.uy-a.uy
	// (x, y) − s·(dx, dy) is parallel to the chord between the V's directions, which
	// serves for the even turn (turn): f + g·s − h·s² = 0. The V turns by so little in
	// a strip that two of Newton's steps from the middle leave nothing to see.
	f, h := cross(px, py, a.ux, a.uy), cross(dx, dy, vx, vy)
	g := cross(px, py, vx, vy) - cross(dx, dy, a.ux, a.uy)
	s = 0.5
	for range 2 {
		rate := g - float64(2*h*s)
		if rate == 0 {
			break
		}
		s = min(max((-f-float64(h*s*s))/rate, 0), 1)
	}
	if float64(vx*vx)+float64(vy*vy) > chordServes {
		ux, uy = turn(*a, *b, s)
		return s, ux, uy, turned(*a, *b)
	}
	ux, uy = a.ux+float64(vx*s), a.uy+float64(vy*s)
	l := 1 / math.Sqrt(float64(ux*ux)+float64(uy*uy))
	sin := cross(a.ux, a.uy, vx, vy)
	return s, ux * l, uy * l, sin + float64(sin*sin*sin)/6
}

// bend is the greatest product of a turn of the path and the shorter of the
// segments beside it, mm, that a sampled curve shows: a curve of radius R
// sampled to the chord e has segments of √(8eR), so it turns by √(8e/R), and
// their product is 8e. The half above it allows for segments of unequal length.
const bend = 1.5 * 8 * engine.DefaultChord

// heading returns the path's direction at share s of the strip, given the
// straight step (dx, dy) from its beginning to its end. It turns evenly from one
// end's direction to the other's.
func (st *strip) heading(dx, dy, s float64) (float64, float64) {
	t := mix(float64(st.from), float64(st.to), s)
	if t == 0 {
		return dx, dy
	}
	q := t * t
	sin, cos := t*(1-float64(q/6*(1-q/20))), 1-float64(q/2*(1-q/12))
	if q > 0.1 {
		sin, cos = math.Sincos(t)
	}
	return cross(dx, dy, sin, cos), dot(dx, dy, sin, cos)
}

// bendPath finds how far the path of the last piece turns from each of its
// strips to the strip's ends.
func (k *Carver) bendPath() {
	p := k.pieces[len(k.pieces)-1]
	strips := k.strips[len(k.strips)-int(p.last-p.first):]
	tips := k.tips[p.first : p.last+1]
	join := func(before, after *strip, a, b, c tip) {
		before.to, after.from = bent(a, b, c)
	}
	for i := 1; i < len(strips); i++ {
		join(&strips[i-1], &strips[i], tips[i-1], tips[i], tips[i+1])
	}
	first, last := &strips[0], &strips[len(strips)-1]
	if p.closed {
		join(last, first, tips[len(strips)-1], tips[0], tips[1])
		return
	}
	// A free end is taken to go on bending as the other end of its strip does.
	first.from, last.to = -first.to, -last.from
}

// bent shares out the turn of the path at b between the strips before and after
// it, by their lengths; none when b is a true corner.
func bent(a, b, c tip) (before, after float32) {
	px, py, qx, qy := b.x-a.x, b.y-a.y, c.x-b.x, c.y-b.y
	turn := math.Atan2(cross(px, py, qx, qy), dot(px, py, qx, qy))
	p, q := math.Hypot(px, py), math.Hypot(qx, qy)
	if min(p, q) < same || math.Abs(turn)*min(p, q) > bend {
		return 0, 0
	}
	return float32(turn * p / (p + q)), float32(-turn * q / (p + q))
}
