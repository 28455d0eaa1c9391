package bar

import (
	"fmt"
	"math"

	"brightcut/fault"
)

const (
	// PathError bounds how far Path.At lies from the exact envelope, mm: a
	// thousandth of the finest step that the eye places at reading distance.
	PathError = 1e-6

	// tableError is the share of PathError left to the table; the rest covers
	// rounding and what split leaves out.
	tableError = 0.9 * PathError

	// MaxTouch is the largest touchpiece, mm, taken to be meant.
	MaxTouch = 1000

	// leastTouch is the radius, mm, below which a touchpiece is a point. On the
	// steepest flank that is a matter of 6·10⁻⁸ mm.
	leastTouch = 1e-9

	// maxSpans limits the table of a path to 200 MB: two spans for each of
	// MaxPoints, and some over.
	maxSpans = 1 << 22
)

// Path is the way of a touchpiece over an edge. It is not changed after Follow
// and may be read by any number of goroutines at once.
type Path struct {
	profile  *Profile
	follower follower
	period   float64 // as Edge.Period
	from, to float64 // span of the edge
	start    float64 // of the table
	length   float64
	spans    []span
	bucket   []int32 // first span of each of len(bucket)−1 equal parts of the table
	perPart  float64 // parts per unit of place
	kinks    []kink
}

// span is a stretch of the table from s to the next one's: a cubic in s, or the
// turning of the touchpiece on a corner.
type span struct {
	s    float64
	c    [4]float64 // of the cubic; or c[0] = y, c[1] = h of the corner
	turn bool
}

// kink is a place where the touchpiece leaves one place of the edge and comes to
// bear on another.
type kink struct {
	s, lift     float64
	left, right float64 // y of the contact before and after
	jump        float64 // of the slope
}

// Follow runs a touchpiece of radius ρ, mm, along the edge. With ρ = 0 the path is
// the edge itself. The error is a fault.List: that of Check, or what makes the
// touchpiece unfit for the edge, in the field "touchpiece" ("rubber" for a rosette).
//
// A rubber must be small against its rosette: below r·cos ψ and r/√5 at the least
// radius r and the steepest slope ψ. Else two of its places could pass each other
// twice: that takes a line through two places on the edge, less than 2ρ apart, that
// passes the middle within ρ, and no edge that gentle has one.
func Follow(e Edge, ρ float64) (*Path, error) {
	pr, err := e.Profile()
	if err != nil {
		return nil, err
	}
	return pr.Follow(ρ)
}

// Follow runs a touchpiece of radius ρ along the profile, as the function Follow.
func (pr *Profile) Follow(ρ float64) (*Path, error) {
	p := &Path{profile: pr, follower: follower{pr.frame, ρ}, period: pr.edge.Period()}
	p.from, p.to = pr.edge.Span()
	field := "touchpiece"
	if pr.edge.polar() {
		field = "rubber"
	}
	if !(ρ >= 0 && ρ <= MaxTouch) {
		return nil, fault.List{{Field: field, Problem: fmt.Sprintf("a nose radius of %g mm cannot be used", ρ),
			Mend: fmt.Sprintf("give a radius between 0 and %d mm", MaxTouch)}}
	}
	if most := pr.largestRubber(); ρ > most {
		return nil, fault.List{{Field: field, Problem: fmt.Sprintf("a radius of %.4g mm is too large for this rosette, whose least radius is %.4g mm", ρ, pr.leastRadius()),
			Mend: fmt.Sprintf("give a rubber of %.3g mm or less, or a gentler rosette", most)}}
	}
	if ρ < leastTouch {
		p.follower.ρ = 0
	}
	if len(pr.pieces) == 0 {
		return p, nil
	}
	p.start = pr.frame.place(pr.pieces[0].a)
	end := pr.frame.place(pr.pieces[len(pr.pieces)-1].b)
	if p.period > 0 {
		end = p.start + p.period
	}
	p.length = end - p.start
	f := p.follower
	run := f.bearings(pr.pieces)
	if pr.frame.inner && p.period == 0 {
		// The edge reaches as far as the nose bears with its centre on the path.
		for i := range run {
			p.start, end = min(p.start, run[i].sa), max(end, run[i].sb)
		}
		p.length = end - p.start
	}
	run = f.sweep(run, p.start)
	t := tabler{follower: f, spans: make([]span, 0, 2*len(run))}
	var first, last contact
	for i := range run {
		b := &run[i]
		stop := end
		if i+1 < len(run) {
			stop = min(run[i+1].start, end)
		}
		l, r := last, contact{}
		r, last = t.piece(b, b.start, stop)
		if len(t.spans) > maxSpans {
			return nil, fault.List{{Field: "figure", Problem: fmt.Sprintf("the path over this edge needs a table of more than %d spans", maxSpans),
				Mend: "draw the edge with fewer points or waves"}}
		}
		if i == 0 {
			first = r
			continue
		}
		if jump := math.Abs(r.slope - l.slope); b.start < end && (jump > sameSlope || r.y > l.y) {
			p.kinks = append(p.kinks, kink{b.start, r.lift, l.y, r.y, jump})
		}
	}
	if p.period > 0 {
		// Over the highest crest, a corner only for a touchpiece without radius.
		if jump := math.Abs(first.slope - last.slope); jump > sameSlope {
			p.kinks = append(p.kinks, kink{p.start, first.lift, first.y, first.y, jump})
		}
	}
	p.spans = t.spans
	p.index()
	return p, nil
}

// leastRadius returns the least radius of a rosette, mm.
func (pr *Profile) leastRadius() float64 {
	r := pr.frame.radius(0)
	for i := range pr.pieces {
		p := &pr.pieces[i]
		r = min(r, pr.frame.radius(p.at(p.a).h), pr.frame.radius(p.at(p.b).h))
	}
	return r
}

// largestRubber returns the largest radius that Follow takes for a rosette.
func (pr *Profile) largestRubber() float64 {
	if pr.frame.R == 0 {
		return math.Inf(1)
	}
	steep := 0.0
	for i := range pr.pieces {
		p := &pr.pieces[i]
		steep = max(steep, math.Abs(p.at(p.a).d1), math.Abs(p.at(p.b).d1))
	}
	r := pr.leastRadius()
	return r * min(0.99/math.Hypot(1, steep*pr.frame.R/r), 1/2.25)
}

// tabler writes the table.
type tabler struct {
	follower
	spans []span
}

// piece tables a bearing from one place to another: turning on its first end,
// along it, turning on its last. It returns the touchpiece at both places.
func (t *tabler) piece(b *bearing, from, to float64) (first, last contact) {
	if to <= from {
		return t.over(b, from), t.over(b, to)
	}
	lo, hi := max(from, b.sa), min(to, b.sb)
	along := lo < hi
	if along {
		first, last = t.over(b, lo), t.over(b, hi)
	}
	if from < b.sa && t.ρ > 0 {
		t.turn(b.at(b.a), from)
	}
	if along {
		c, d := first, last
		c.s, d.s = lo, hi
		if b.kind == straight && t.frame.R == 0 {
			t.spans = append(t.spans, span{s: lo, c: [4]float64{c.lift, c.slope}})
		} else {
			t.smooth(b, b.at(c.y), b.at(d.y), c, d)
		}
	}
	if to > b.sb && t.ρ > 0 {
		t.turn(b.at(b.b), max(from, b.sb))
	}
	if !along || from < lo {
		first = t.over(b, from)
	}
	if !along || to > hi {
		last = t.over(b, to)
	}
	return first, last
}

func (t *tabler) turn(q spot, s float64) {
	t.spans = append(t.spans, span{s: s, c: [4]float64{q.y, q.h}, turn: true})
}

// smooth tables a stretch by cubics that meet the path and its slope at their
// ends, halving until the error is certain to be small enough. Let the slope vary
// by no more than v over a stretch Δ. The path lies within Δv/4 of its chord; the
// cubic lies within 4Δv/27 for either end's slope. On a bar the slope is monotone
// over a piece, so both lie on one side of the chord and Δv/4 bounds the error.
func (t *tabler) smooth(b *bearing, q, r spot, c, d contact) {
	Δ := d.s - c.s
	if !(Δ > 0) || len(t.spans) > maxSpans {
		return
	}
	share := 0.25
	if t.frame.R != 0 {
		share += 8.0 / 27
	}
	mid := q.y + (r.y-q.y)/2
	if share*Δ*t.frame.slopeSpread(q, r, t.ρ) > tableError && mid > q.y && mid < r.y {
		m := b.at(mid)
		e := t.frame.bear(m, t.ρ)
		if e.s = min(max(e.s, c.s), d.s); e.s > c.s && e.s < d.s {
			t.smooth(b, q, m, c, e)
			t.smooth(b, m, r, e, d)
			return
		}
	}
	mean := (d.lift - c.lift) / Δ
	t.spans = append(t.spans, span{s: c.s, c: [4]float64{c.lift, c.slope,
		(3*mean - 2*c.slope - d.slope) / Δ, (c.slope + d.slope - 2*mean) / (Δ * Δ)}})
}

// index notes where each equal part of the table begins.
func (p *Path) index() {
	n := len(p.spans)
	p.bucket = make([]int32, n+1)
	p.perPart = float64(n) / p.length
	k := 0
	for i := range p.bucket {
		s := p.start + float64(i)/p.perPart
		for k+1 < n && p.spans[k+1].s <= s {
			k++
		}
		p.bucket[i] = int32(k)
	}
}

// At returns the lift of the touchpiece at the place s, mm, and its slope, mm per
// mm on a bar and mm per rad on a rosette; the lift is within PathError of the
// exact envelope. Beyond the ends of an edge that does not repeat it is that of
// the end. At a kink the slope is that of the side further on.
func (p *Path) At(s float64) (lift, slope float64) {
	if len(p.spans) == 0 {
		return 0, 0
	}
	s = p.reduce(s)
	q := &p.spans[p.find(s)]
	return p.eval(q, s)
}

func (p *Path) eval(q *span, s float64) (lift, slope float64) {
	if q.turn {
		lift, slope = p.follower.frame.disc(q.c[0], q.c[1], p.follower.ρ, s)
		if math.IsInf(lift, 0) { // by rounding, at the end of the steepest flank
			lift = q.c[1] - p.follower.ρ
		}
		return lift, slope
	}
	u := s - q.s
	a := float64(q.c[3]*u) + q.c[2]
	b := float64(a*u) + q.c[1]
	return float64(b*u) + q.c[0], float64((float64(2*q.c[3]*u)+q.c[2])*u) + b
}

// reduce brings s into the table.
func (p *Path) reduce(s float64) float64 {
	u := s - p.start
	if p.period > 0 && (u < 0 || u >= p.length) {
		u -= p.period * math.Floor(u/p.period)
	}
	if !(u > 0) { // also what is not a number
		return p.start
	}
	return p.start + min(u, p.length)
}

// find returns the span that holds s of the table.
func (p *Path) find(s float64) int {
	i := min(int((s-p.start)*p.perPart), len(p.bucket)-2)
	lo, hi := int(p.bucket[i]), int(p.bucket[i+1])
	for hi-lo > 8 {
		if m := int(uint(lo+hi) >> 1); p.spans[m].s <= s {
			lo = m
		} else {
			hi = m
		}
	}
	for lo < hi && p.spans[lo+1].s <= s {
		lo++
	}
	return lo
}

// Period returns what Edge.Period does: the path repeats as the edge does.
func (p *Path) Period() float64 { return p.period }

// Span returns what Edge.Span does: the readings on which the touchpiece is on the
// bar.
func (p *Path) Span() (from, to float64) { return p.from, p.to }

// Kinks returns the places where the slope of the path jumps, ascending: those of
// one period, brought between 0 and the period, or those of the span. They are
// hollow, where the touchpiece bears on two places at once; a touchpiece of radius 0
// has one at every corner.
func (p *Path) Kinks() []float64 {
	var at []float64
	for _, k := range p.kinks {
		if k.jump > sameSlope && (p.period > 0 || (k.s > p.from && k.s < p.to)) {
			at = append(at, k.s)
		}
	}
	return inPeriod(at, p.period)
}

// Extremes returns the least and the greatest lift over a period, or over the
// span, mm.
func (p *Path) Extremes() (low, high float64) {
	if len(p.spans) == 0 {
		return 0, 0
	}
	low, high = math.Inf(1), math.Inf(-1)
	from, to := p.start, p.start+p.length
	if p.period == 0 {
		from, to = max(from, p.from), min(to, p.to)
	}
	see := func(h float64) { low, high = min(low, h), max(high, h) }
	for i := range p.spans {
		q := &p.spans[i]
		a, b := max(q.s, from), to
		if i+1 < len(p.spans) {
			b = min(b, p.spans[i+1].s)
		}
		if a > b {
			continue
		}
		l, m := p.eval(q, a)
		see(l)
		l, n := p.eval(q, b)
		see(l)
		if top := p.follower.frame.place(q.c[0]); q.turn && m > 0 && n < 0 && top > a && top < b {
			see(q.c[1])
		}
	}
	return low, high
}
