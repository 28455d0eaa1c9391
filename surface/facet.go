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
// with t no more than the reach of the flank. The plane of the tip flat, where the
// tip rises by Δz over the step Δ, is off by f/2·|Δz/Δ·n|·δ/2. Strips that would exceed
// PlaneTolerance are split into wedges of equal share.

// PlaneTolerance is the greatest error, mm, of the planes that stand in for the
// flanks of a cut whose V turns: 0.1 µm, less than half of what the 0.5 µm chord of
// a sampled path makes of the height of a 65° flank.
const PlaneTolerance = 0.0001

// maxWedges bounds the work for one strip. It is reached only by paths sampled
// far more coarsely than the engine does.
const maxWedges = 1 << 12

// corner is a place, in cells of the grid.
type corner struct{ x, y float64 }

// plane is the height z at (x, y) and its gradient.
type plane struct{ x, y, z, gx, gy float64 }

// facet is a piece of a flank or of the tip flat: four corners in order, two of
// them one for a triangle.
type facet struct {
	corner [4]corner
	plane  plane
}

// vee is the section of the cutter. Its unit across is the millimetre, or the
// cell of a grid; heights are millimetres.
type vee struct {
	half float64 // half the tip flat
	cot  float64 // rise of a flank for 1 across
	tan  float64 // reach of a flank for a rise of 1 mm
}

// scaled returns the section with another unit across, of which per make a
// millimetre.
func (v vee) scaled(per float64) vee { return vee{v.half * per, v.cot / per, v.tan * per} }

// reach is how far a tip at z reaches along the V, beyond half the flat, in
// stock that stands up to top.
func (v vee) reach(z, top float64) float64 {
	if z >= top {
		return 0
	}
	return (top - z) * v.tan
}

// clip shortens the way from a to b to where it is in stock that stands up to
// top; ok is false when none of it is.
func clip(a, b tip, top float64) (_, _ tip, ok bool) {
	switch {
	case a.z < top && b.z < top:
		return a, b, true
	case a.z >= top && b.z >= top:
		return a, b, false
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

// turns says whether the V has another direction at b than at a.
func turns(a, b tip) bool { return a.ux != b.ux || a.uy != b.uy }

// chordServes is the square of the longest chord that serves for the V's turn.
const chordServes = 0.01

// turn returns the V's direction at share s of the way from a to b: it turns
// evenly. Over a small angle δ the chord between the two directions serves; it
// is nowhere more than δ³/60 off the even turn, 1.6e-5 rad at the limit.
func turn(a, b tip, s float64) (ux, uy float64) {
	if !turns(a, b) {
		return a.ux, a.uy
	}
	x, y := b.ux-a.ux, b.uy-a.uy
	if float64(x*x)+float64(y*y) <= chordServes {
		x, y = a.ux+float64(x*s), a.uy+float64(y*s)
		l := 1 / math.Sqrt(float64(x*x)+float64(y*y))
		return x * l, y * l
	}
	sin, cos := math.Sincos(turned(a, b) * s)
	return float64(a.ux*cos) - float64(a.uy*sin), float64(a.ux*sin) + float64(a.uy*cos)
}

// turned returns the angle by which the V turns from a to b, within ±π.
func turned(a, b tip) float64 {
	sin := float64(a.ux*b.uy) - float64(a.uy*b.ux)
	cos := float64(a.ux*b.ux) + float64(a.uy*b.uy)
	if cos > 0.995 { // the next term is below 1e-7
		return sin + float64(sin*sin*sin)/6
	}
	return math.Atan2(sin, cos)
}

// parallel is the least angle, rad, between the V and the path: below it the
// cutter slides along its own face and sweeps nothing wider than a hair.
const parallel = 1e-5

// wedges returns into how many wedges the strip from a to b is split.
func (v vee) wedges(a, b tip, top float64) int {
	if !turns(a, b) {
		return 1
	}
	c := math.Hypot(b.ux-a.ux, b.uy-a.uy)
	d := c + float64(c*c*c)/6 // δ = 2·asin(c/2), or a little more
	// g·n = (Δz ∓ cot α·Δ·m)/(Δ·n) with Δ the step from a to b; it is greatest
	// at one of the ends. Of a flank Δ is the step of its inner edge, which beside
	// a tip flat is up to f·δ/2 shorter than the tip's.
	dx, dy, dz := b.x-a.x, b.y-a.y, math.Abs(b.z-a.z)
	hair := float64(parallel * (math.Abs(dx) + math.Abs(dy)))
	across, flat := 0.0, 0.0 // of the flanks, of the tip flat
	for _, m := range [2]tip{a, b} {
		if n := math.Abs(float64(dx*m.uy) - float64(dy*m.ux)); n > hair {
			along := math.Abs(float64(dx*m.ux) + float64(dy*m.uy))
			across = max(across, (dz+float64(v.cot*along))/max(hair, n-float64(v.half*d)))
			flat = max(flat, dz/n)
		}
	}
	t := v.reach(min(a.z, b.z), top)
	bound := float64(t*(float64(across*d)/2+float64(v.cot*d*d)/8)) +
		float64(v.half*(across+v.cot)*d*d)/8 + float64(v.half*flat*d)/2
	// The bound is of the first order in the turn. Near a fold the second adds a
	// hundredth, as TestCarveIsTheDefinition has met; a twentieth is kept for it.
	return int(max(1, min(math.Ceil(1.05*bound/PlaneTolerance), maxWedges)))
}

// gradient returns the gradient that rises from a.z to b.z along the path and
// by slope along m; ok is false where the two are parallel. A tip that
// stays in its place while the V turns makes a cone.
func gradient(a, b tip, m corner, slope float64) (g corner, ok bool) {
	dx, dy, dz := b.x-a.x, b.y-a.y, b.z-a.z
	d := float64(dx*m.y) - float64(dy*m.x)
	if l := math.Abs(dx) + math.Abs(dy); math.Abs(d) <= parallel*l {
		if l < 1e-12 {
			return corner{float64(slope * m.x), float64(slope * m.y)}, true
		}
		return corner{}, false
	}
	return corner{
		(float64(dz*m.y) - float64(slope*dy)) / d,
		(float64(slope*dx) - float64(dz*m.x)) / d,
	}, true
}

// extent returns the least and greatest corner of what the V sweeps between
// two places of the tip.
func (v vee) extent(a, b tip, top float64) (lo, hi corner) {
	ra, rb := v.half+v.reach(a.z, top), v.half+v.reach(b.z, top)
	ax, ay, bx, by := math.Abs(ra*a.ux), math.Abs(ra*a.uy), math.Abs(rb*b.ux), math.Abs(rb*b.uy)
	lo = corner{min(a.x-ax, b.x-bx), min(a.y-ay, b.y-by)}
	hi = corner{max(a.x+ax, b.x+bx), max(a.y+ay, b.y+by)}
	return lo, hi
}

// carve lowers r to the planes of the strips, in stock that stands up to top.
func (k *Carver) carve(r *raster, strips []int32, top float64) {
	// The places of a band's strips lie far apart in memory: those of several strips
	// are fetched at once, so that the waits overlap.
	var ends [16][2]tip
	for len(strips) > 0 {
		n := min(len(ends), len(strips))
		for i, s := range strips[:n] {
			t := k.tips[k.strips[s].first:][:2]
			ends[i] = [2]tip{t[0], t[1]}
		}
		for i, s := range strips[:n] {
			r.strip(s, r.tip(ends[i][0]), r.tip(ends[i][1]), top)
		}
		strips = strips[n:]
	}
}

// strip lowers r to the planes of strip n, from a to b.
func (r *raster) strip(n int32, a, b tip, top float64) {
	a, b, ok := clip(a, b, top)
	if !ok {
		return
	}
	w := r.vee.wedges(a, b, top)
	if w == 1 {
		r.wedge(n, a, b, top)
		return
	}
	p := a
	for i := 1; i <= w; i++ {
		q := b
		if i < w {
			q = between(a, b, float64(i)/float64(w))
		}
		if r.meets(r.vee.extent(p, q, top)) {
			r.wedge(n, p, q, top)
		}
		p = q
	}
}

// wedge lowers r to the planes of one wedge of strip n.
func (r *raster) wedge(n int32, a, b tip, top float64) {
	m := corner{a.ux, a.uy}
	if turns(a, b) {
		m.x, m.y = turn(a, b, 0.5)
	}
	reachA, reachB := r.vee.reach(a.z, top), r.vee.reach(b.z, top)
	if h := r.vee.half; h > 0 {
		if g, ok := gradient(a, b, m, 0); ok {
			p := plane{a.x, a.y, a.z, g.x, g.y}
			r.quad(3*n+1, p, m, out(a, -h), out(b, -h), out(a, h), out(b, h))
		}
	}
	for side := int32(0); side <= 2; side += 2 {
		s := float64(side - 1)
		// The flank's own inner edge stands in for the path.
		ai, bi := a, b
		if r.vee.half > 0 {
			p, q := out(a, s*r.vee.half), out(b, s*r.vee.half)
			ai.x, ai.y, bi.x, bi.y = p.x, p.y, q.x, q.y
		}
		if g, ok := gradient(ai, bi, m, s*r.vee.cot); ok {
			p := plane{ai.x, ai.y, ai.z, g.x, g.y}
			r.quad(3*n+side, p, m, corner{ai.x, ai.y}, corner{bi.x, bi.y}, out(ai, s*reachA), out(bi, s*reachB))
		}
	}
}

// quad lowers r to a plane between the inner edge from ai to bi and the outer
// edge from ao to bo, whose ends lie along the V; m is its middle direction.
func (r *raster) quad(id int32, p plane, m, ai, bi, ao, bo corner) {
	f := facet{[4]corner{ai, bi, bo, ao}, p}
	inner := float64((bi.x-ai.x)*m.y) - float64((bi.y-ai.y)*m.x)
	outer := float64((bo.x-ao.x)*m.y) - float64((bo.y-ao.y)*m.x)
	if float64(inner*outer) >= 0 {
		r.fill(&f, id)
		return
	}
	// The V turns about a place within its reach: the plane folds over there. The
	// fold lies on both ends, or cells between it and the next wedge stay uncut.
	u, v := corner{ao.x - ai.x, ao.y - ai.y}, corner{bo.x - bi.x, bo.y - bi.y}
	s := inner / (inner - outer)
	if turned := float64(u.x*v.y) - float64(u.y*v.x); turned != 0 {
		if x := (float64((bi.x-ai.x)*v.y) - float64((bi.y-ai.y)*v.x)) / turned; x >= 0 && x <= 1 {
			s = x
		}
	}
	fold := corner{mix(ai.x, ao.x, s), mix(ai.y, ao.y, s)}
	f.corner = [4]corner{ai, bi, fold, fold}
	r.fill(&f, id)
	f.corner = [4]corner{fold, fold, bo, ao}
	r.fill(&f, id)
}

// out returns the place at t along the V.
func out(a tip, t float64) corner {
	return corner{a.x + float64(t*a.ux), a.y + float64(t*a.uy)}
}
