package surface

import "math"

// A strip between two places of the tip is carved as planes. Where the V keeps
// its direction the planes are the flanks themselves. Where it turns by δ from
// one place to the next (a ring: the V stays along the radius) a flank is ruled
// by lines of slope cot α that turn with the V, and a plane stands in for it.
//
// The plane holds the tip's height along the flank's inner edge, and rises by
// cot α along the V's middle direction m. With g its gradient and n square to m,
// at a distance t from the inner edge along the V turned by a from m it lies
//
//	t·(cot α·(1 − cos a) − g·n·sin a),  |a| ≤ δ/2
//
// below the true flank, and the inner edge of a flank beside a tip flat f is
// itself bent by f/2·δ²/8. So the error is at most
//
//	t·(|g·n|·δ/2 + cot α·δ²/8) + f/2·|g|·δ²/8
//
// with t no more than the reach of the flank. Strips that would exceed
// PlaneTolerance are split into wedges of equal share.

// PlaneTolerance is the greatest error, mm, of the planes that stand in for the
// flanks of a cut whose V turns: 0.1 µm, a fiftieth of the chord that paths
// are sampled to seen through a flank of 65°, and far below what light shows.
const PlaneTolerance = 0.0001

// maxWedges bounds the work for one strip. It is reached only by paths sampled
// far more coarsely than the engine does.
const maxWedges = 1 << 12

// corner of a facet, in the caller's frame.
type corner struct{ x, y float64 }

// plane is the height z at (x, y) and its gradient.
type plane struct{ x, y, z, gx, gy float64 }

// facet is a convex piece of a flank or of the tip flat.
type facet struct {
	corner [4]corner // the last two are one for a triangle
	plane  plane
}

// reach is how far a tip at z reaches along the V, beyond half the flat, in
// stock that stands up to top.
func (k *Carver) reach(z, top float64) float64 { return (top - z) * k.tan }

// ends returns the two places of the tip that bound strip n where it is in
// stock that stands up to top; ok is false when none of it is.
func (k *Carver) ends(n int32, top float64) (a, b tip, ok bool) {
	i := k.strips[n].first
	a, b = k.tips[i], k.tips[i+1]
	if a.z >= top && b.z >= top {
		return a, b, false
	}
	switch {
	case a.z > top:
		a = between(a, b, (a.z-top)/(a.z-b.z))
	case b.z > top:
		b = between(a, b, (top-a.z)/(b.z-a.z))
	}
	return a, b, true
}

// between returns the tip at share s of the way from a to b.
func between(a, b tip, s float64) tip {
	c := tip{x: mix(a.x, b.x, s), y: mix(a.y, b.y, s), z: mix(a.z, b.z, s)}
	c.ux, c.uy = turn(a, b, s)
	return c
}

func mix(a, b, s float64) float64 { return a + float64((b-a)*s) }

// turn returns the V's direction at share s of the way from a to b: it turns
// evenly.
func turn(a, b tip, s float64) (ux, uy float64) {
	if a.ux == b.ux && a.uy == b.uy {
		return a.ux, a.uy
	}
	d := turned(a, b)
	sin, cos := math.Sincos(d * s)
	return float64(a.ux*cos) - float64(a.uy*sin), float64(a.ux*sin) + float64(a.uy*cos)
}

// turned returns the angle by which the V turns from a to b, within ±π.
func turned(a, b tip) float64 {
	return math.Atan2(float64(a.ux*b.uy)-float64(a.uy*b.ux), float64(a.ux*b.ux)+float64(a.uy*b.uy))
}

// wedges returns into how many wedges the strip from a to b is split.
func (k *Carver) wedges(a, b tip, top float64) int {
	if a.ux == b.ux && a.uy == b.uy {
		return 1
	}
	// g·n = (Δz ∓ cot α·Δ·m)/(Δ·n) with Δ the step from a to b; it is greatest
	// at one of the ends.
	dx, dy, dz := b.x-a.x, b.y-a.y, b.z-a.z
	across := 0.0
	for _, m := range [2]tip{a, b} {
		if n := math.Abs(dx*m.uy - dy*m.ux); n > parallel*math.Hypot(dx, dy) {
			across = math.Max(across, (math.Abs(dz)+k.cot*math.Abs(dx*m.ux+dy*m.uy))/n)
		}
	}
	d := math.Abs(turned(a, b))
	t := k.reach(math.Min(a.z, b.z), top)
	err := t*(across*d/2+k.cot*d*d/8) + k.half*math.Hypot(across, k.cot)*d*d/8
	return int(math.Max(1, math.Min(math.Ceil(err/PlaneTolerance), maxWedges)))
}

// parallel is the least angle, rad, between the V and the path: below it the
// cutter slides along its own face and sweeps nothing wider than a hair.
const parallel = 1e-5

// gradient returns the gradient that rises from a.z to b.z along the path and
// by slope along (mx, my); ok is false where the two are parallel. A tip that
// stays in its place while the V turns makes a cone.
func gradient(a, b tip, mx, my, slope float64) (g corner, ok bool) {
	dx, dy, dz := b.x-a.x, b.y-a.y, b.z-a.z
	d := float64(dx*my) - float64(dy*mx)
	l := math.Hypot(dx, dy)
	if l < 1e-12 {
		return corner{slope * mx, slope * my}, true
	}
	if math.Abs(d) <= parallel*l {
		return corner{}, false
	}
	return corner{
		(float64(dz*my) - float64(slope*dy)) / d,
		(float64(slope*dx) - float64(dz*mx)) / d,
	}, true
}

// carve lowers r to the planes of strip n, in stock that stands up to top.
func (k *Carver) carve(r *raster, n int32, top float64) {
	a, b, ok := k.ends(n, top)
	if !ok {
		return
	}
	w := k.wedges(a, b, top)
	p := a
	for i := 1; i <= w; i++ {
		q := b
		if i < w {
			q = between(a, b, float64(i)/float64(w))
		}
		if lo, hi := k.extent(p, q, top); w == 1 || r.meets(lo, hi) {
			k.wedge(r, n, p, q, top)
		}
		p = q
	}
}

// extent returns the least and greatest corner of what the V sweeps between
// two places of the tip.
func (k *Carver) extent(a, b tip, top float64) (lo, hi corner) {
	ra, rb := k.half+math.Max(0, k.reach(a.z, top)), k.half+math.Max(0, k.reach(b.z, top))
	ax, ay, bx, by := ra*math.Abs(a.ux), ra*math.Abs(a.uy), rb*math.Abs(b.ux), rb*math.Abs(b.uy)
	lo = corner{math.Min(a.x-ax, b.x-bx), math.Min(a.y-ay, b.y-by)}
	hi = corner{math.Max(a.x+ax, b.x+bx), math.Max(a.y+ay, b.y+by)}
	return lo, hi
}

// wedge lowers r to the planes of one wedge of strip n.
func (k *Carver) wedge(r *raster, n int32, a, b tip, top float64) {
	mx, my := turn(a, b, 0.5)
	var f facet
	if h := k.half; h > 0 {
		if g, ok := gradient(a, b, mx, my, 0); ok {
			f.plane = plane{a.x, a.y, a.z, g.x, g.y}
			f.corner = [4]corner{
				{a.x - h*a.ux, a.y - h*a.uy}, {b.x - h*b.ux, b.y - h*b.uy},
				{b.x + h*b.ux, b.y + h*b.uy}, {a.x + h*a.ux, a.y + h*a.uy},
			}
			r.fill(&f, 3*n+1)
		}
	}
	for side := int32(0); side <= 2; side += 2 {
		s := float64(side - 1)
		// The flank's own inner edge stands in for the path.
		ai, bi := a, b
		ai.x, ai.y = a.x+float64(s*k.half*a.ux), a.y+float64(s*k.half*a.uy)
		bi.x, bi.y = b.x+float64(s*k.half*b.ux), b.y+float64(s*k.half*b.uy)
		g, ok := gradient(ai, bi, mx, my, s*k.cot)
		if !ok {
			continue
		}
		f.plane = plane{ai.x, ai.y, ai.z, g.x, g.y}
		ra, rb := s*k.reach(a.z, top), s*k.reach(b.z, top)
		ao := corner{ai.x + float64(ra*a.ux), ai.y + float64(ra*a.uy)}
		bo := corner{bi.x + float64(rb*b.ux), bi.y + float64(rb*b.uy)}
		in := float64((bi.x-ai.x)*my) - float64((bi.y-ai.y)*mx)
		out := float64((bo.x-ao.x)*my) - float64((bo.y-ao.y)*mx)
		if in*out >= 0 {
			f.corner = [4]corner{{ai.x, ai.y}, {bi.x, bi.y}, bo, ao}
			r.fill(&f, 3*n+side)
			continue
		}
		// The V turns about a place within its reach: the flank folds over there.
		c := in / (in - out)
		fold := corner{mix(mix(ai.x, ao.x, c), mix(bi.x, bo.x, c), 0.5), mix(mix(ai.y, ao.y, c), mix(bi.y, bo.y, c), 0.5)}
		f.corner = [4]corner{{ai.x, ai.y}, {bi.x, bi.y}, fold, fold}
		r.fill(&f, 3*n+side)
		f.corner = [4]corner{fold, fold, bo, ao}
		r.fill(&f, 3*n+side)
	}
}
