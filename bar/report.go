package bar

import "math"

// Loss is a stretch of the edge that the touchpiece does not reach.
type Loss struct {
	From, To float64 // places on the edge, mm or rad; From lies in the first period, or on the bar
	Depth    float64 // how far the nose stays off the edge at most, mm
}

// LeastLoss is the least Depth that a Report lists, mm.
const LeastLoss = PathError

// Slight is the Depth of a Loss, mm, below which it need not be told: half the finest
// step that the eye places at reading distance. The corners between drawn points that
// stand close are such.
const Slight = 0.0005

// Report says what the touchpiece makes of the edge, over one period or all that
// is drawn.
type Report struct {
	HasHollow      bool    // the edge is hollow somewhere
	SmallestHollow float64 // least radius of curvature in its hollows, mm; 0 at a sharp corner
	HollowAt       float64 // where that is
	HasBump        bool    // a plain rosette and a straight bar are no bump
	SmallestBump   float64 // least radius of curvature on its bumps, mm; 0 at a sharp corner
	BumpAt         float64
	SteepestSlope  float64 // angle between the edge and the stroke (the tangent circle of a rosette) where it is greatest, rad
	SteepestPath   float64 // the same of the path of the touchpiece's centre: the greatest pressure angle, rad
	Drawn          float64 // half the height of the edge from lowest to highest, mm
	Left           float64 // half the height of the path, mm
	Lost           []Loss  // ascending
}

// Told returns the losses that are worth telling, and how many are slight.
func (r Report) Told() (lost []Loss, slight int) {
	for _, l := range r.Lost {
		if l.Depth < Slight {
			slight++
		} else {
			lost = append(lost, l)
		}
	}
	return lost, slight
}

// Report returns what the touchpiece makes of the edge.
func (p *Path) Report() Report {
	r := p.shape()
	low, high := p.Extremes()
	r.Left = (high - low) / 2
	for i := range p.spans {
		q := &p.spans[i]
		end := p.start + p.length
		if i+1 < len(p.spans) {
			end = p.spans[i+1].s
		}
		r.SteepestPath = max(r.SteepestPath, p.angle(q, q.s), p.angle(q, end))
	}
	r.Lost = p.lost()
	return r
}

// angle returns the pressure angle at s, in the span q, rad.
func (p *Path) angle(q *span, s float64) float64 {
	lift, slope := p.eval(q, s)
	if f := p.follower.frame; f.R != 0 {
		slope /= f.radius(p.follower.ρ + lift)
	}
	return math.Atan(math.Abs(slope))
}

// shape reports what the edge is, whatever follows it.
func (p *Path) shape() Report {
	pr, f := p.profile, p.follower.frame
	var r Report
	low, high := math.Inf(1), math.Inf(-1)
	hollow, bump := 0.0, 0.0 // greatest curvature of either sense
	see := func(k, y float64) {
		if k > hollow {
			hollow, r.HollowAt = k, f.place(y)
		}
		if -k > bump {
			bump, r.BumpAt = -k, f.place(y)
		}
	}
	for i := range pr.pieces {
		q := &pr.pieces[i]
		a, b := q.at(q.a), q.at(q.b)
		for _, s := range []spot{a, b} {
			low, high = min(low, s.h), max(high, s.h)
			r.SteepestSlope = max(r.SteepestSlope, f.angle(s))
			see(f.hollowness(s), s.y)
		}
		if q.kind != straight {
			k, y := extreme(q, a.y, b.y, func(s spot) float64 { return f.hollowness(s) })
			see(k, y)
			k, y = extreme(q, a.y, b.y, func(s spot) float64 { return -f.hollowness(s) })
			see(-k, y)
			if f.R != 0 {
				k, _ = extreme(q, a.y, b.y, f.angle)
				r.SteepestSlope = max(r.SteepestSlope, k)
			}
		}
	}
	r.HasHollow, r.HasBump = hollow > flattest, bump > flattest
	if r.HasHollow {
		r.SmallestHollow = 1 / hollow
	}
	if r.HasBump {
		r.SmallestBump = 1 / bump
	}
	p.cornersOf(&r)
	if low < high {
		r.Drawn = (high - low) / 2
	}
	return r
}

// flattest is the curvature, 1/mm, below which an edge is straight: a radius of a
// thousand kilometres. The inverse of a smaller one could overflow.
const flattest = 1e-9

// angle returns the steepness of the edge: atan h′, or atan r′/r.
func (f frame) angle(q spot) float64 {
	if f.R == 0 {
		return math.Atan(math.Abs(q.d1))
	}
	return math.Atan(math.Abs(f.R*q.d1) / f.radius(q.h))
}

// cornersOf notes sharp corners, whose radius is 0.
func (p *Path) cornersOf(r *Report) {
	pr := p.profile
	n := len(pr.pieces)
	for i := 1; i <= n; i++ {
		if i == n && pr.period == 0 {
			break
		}
		a, b := &pr.pieces[i-1], &pr.pieces[i%n]
		jump := b.at(b.a).d1 - a.at(a.b).d1
		at := pr.frame.place(a.b)
		if jump > sameSlope && !(r.HasHollow && r.SmallestHollow == 0) {
			r.HasHollow, r.SmallestHollow, r.HollowAt = true, 0, at
		}
		if jump < -sameSlope && !(r.HasBump && r.SmallestBump == 0) {
			r.HasBump, r.SmallestBump, r.BumpAt = true, 0, at
		}
	}
}

// extreme returns the greatest value of g over a stretch of a piece and where it
// is. It looks at nine places and closes in about the best: enough where g has one
// summit on the stretch, as curvature and steepness have over a quarter of a wave,
// a single arc or the stretch of a cubic between turning points.
func extreme(p *piece, a, b float64, g func(spot) float64) (most, at float64) {
	const n = 8
	most = math.Inf(-1)
	best := 0
	for i := range n + 1 {
		y := a + (b-a)*float64(i)/n
		if v := g(p.at(y)); v > most {
			most, at, best = v, y, i
		}
	}
	lo, hi := a+(b-a)*float64(max(best-1, 0))/n, a+(b-a)*float64(min(best+1, n))/n
	const golden = 0.6180339887498949
	for range 40 {
		y, z := hi-golden*(hi-lo), lo+golden*(hi-lo)
		u, v := g(p.at(y)), g(p.at(z))
		if u > most {
			most, at = u, y
		}
		if v > most {
			most, at = v, z
		}
		if u > v {
			hi = z
		} else {
			lo = y
		}
	}
	return most, at
}

// lost measures how far the nose stays off the stretches that it skips.
func (p *Path) lost() []Loss {
	f, ρ := p.follower.frame, p.follower.ρ
	return p.skipped(func(k kink, q spot) float64 { return f.distance(k.s, k.lift, ρ, q) - ρ })
}

// skipped measures by off the stretches between the two places that the nose bears
// on at each kink, and lists those that are more than LeastLoss off.
func (p *Path) skipped(off func(k kink, q spot) float64) []Loss {
	var out []Loss
	pr, f := p.profile, p.follower.frame
	i := 0
	for _, k := range p.kinks {
		if !(k.right > k.left) || p.period == 0 && (f.place(k.right) < p.from || f.place(k.left) > p.to) {
			continue
		}
		for i > 0 && pr.pieces[i].a > k.left {
			i--
		}
		for i+1 < len(pr.pieces) && pr.pieces[i].b <= k.left {
			i++
		}
		deep := 0.0
		for j := i; j < len(pr.pieces) && pr.pieces[j].a < k.right; j++ {
			q := &pr.pieces[j]
			a, b := max(q.a, k.left), min(q.b, k.right)
			d, _ := extreme(q, a, b, func(s spot) float64 { return off(k, s) })
			deep = max(deep, d)
		}
		if deep > LeastLoss {
			out = append(out, Loss{From: f.place(k.left), To: f.place(k.right), Depth: deep})
		}
	}
	if p.period > 0 {
		shiftLosses(out, p.period)
	}
	return out
}

// distance returns how far a spot of the edge lies from the touchpiece's centre.
func (f frame) distance(s, lift, ρ float64, q spot) float64 {
	if f.R == 0 {
		return math.Hypot(s-q.y, lift+ρ-q.h)
	}
	c, r, u := f.radius(ρ+lift), f.radius(q.h), s-q.y/f.R
	return math.Hypot(c-r*math.Cos(u), r*math.Sin(u))
}
