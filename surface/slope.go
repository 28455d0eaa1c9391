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
	n, side := facet/3, float64(facet%3-1)
	i := k.strips[n].first
	a, b := k.tips[i], k.tips[i+1]
	s, t := foot(a, b, x, y)
	ux, uy := turn(a, b, s)
	dx, dy := k.heading(n, s)
	if a.ux != b.ux || a.uy != b.uy {
		d := turned(a, b)
		dx -= t * d * uy
		dy += t * d * ux
	}
	dz, slope := b.z-a.z, side*k.vee.cot
	d := dx*uy - dy*ux
	if math.Abs(d) <= parallel*math.Hypot(dx, dy) {
		return slope * ux, slope * uy
	}
	return (dz*uy - slope*dy) / d, (slope*dx - dz*ux) / d
}

// foot returns the place s between a and b at which the V passes through
// (x, y), and the distance t of (x, y) along the V there.
func foot(a, b tip, x, y float64) (s, t float64) {
	dx, dy := b.x-a.x, b.y-a.y
	s = 0.5
	// One step is exact where the V does not turn; it turns by so little in a
	// strip that three leave nothing to see.
	for range 3 {
		ux, uy := turn(a, b, s)
		d := dx*uy - dy*ux
		if d == 0 {
			return s, (x-a.x)*ux + (y-a.y)*uy
		}
		px, py := x-a.x, y-a.y
		s = math.Max(0, math.Min(1, (px*uy-py*ux)/d))
		t = (dx*py - dy*px) / d
		if a.ux == b.ux && a.uy == b.uy {
			break
		}
	}
	return s, t
}

// bend is the greatest product of a turn of the path and the shorter of the
// segments beside it, mm, that a sampled curve shows: a curve of radius R
// sampled to the chord e has segments of √(8eR), so it turns by √(8e/R), and
// their product is 8e. The half above it allows for segments of unequal length.
const bend = 1.5 * 8 * engine.DefaultChord

// heading returns the path's direction at share s of strip n, as long as the
// strip.
func (k *Carver) heading(n int32, s float64) (dx, dy float64) {
	st := k.strips[n]
	p := k.pieces[st.piece]
	a, b := k.tips[st.first], k.tips[st.first+1]
	dx, dy = b.x-a.x, b.y-a.y
	l := math.Hypot(dx, dy)
	before, after := st.first-1, st.first+2
	if p.closed && before < p.first {
		before = p.last - 1
	}
	if p.closed && after > p.last {
		after = p.first + 1
	}
	t0, t1 := 0.0, 0.0 // turn of the path's direction from the strip's own to its ends
	if before >= p.first {
		t0 = -bent(k.tips[before], a, b, l/(l+dist(k.tips[before], a)))
	}
	if after <= p.last {
		t1 = bent(a, b, k.tips[after], l/(l+dist(b, k.tips[after])))
	}
	sin, cos := math.Sincos(mix(t0, t1, s))
	return dx*cos - dy*sin, dx*sin + dy*cos
}

// bent returns the given share of the turn of the path at b, or 0 when b is a
// true corner.
func bent(a, b, c tip, share float64) float64 {
	px, py, qx, qy := b.x-a.x, b.y-a.y, c.x-b.x, c.y-b.y
	turn := math.Atan2(px*qy-py*qx, px*qx+py*qy)
	if math.Abs(turn)*math.Min(math.Hypot(px, py), math.Hypot(qx, qy)) > bend {
		return 0
	}
	return turn * share
}

func dist(a, b tip) float64 { return math.Hypot(b.x-a.x, b.y-a.y) }
