package engine

import (
	"math"
	"sort"

	"brightcut/bar"
)

// motion is what a bar, or a rosette with perhaps a second one for pumping,
// makes the engine do, taken apart into cells so fine that within one the motion
// is a straight line to a sixteenth of the chord error. Over it a path is
// sampled by taking whole cells together, never by a fixed count.
type motion struct {
	path, pump *bar.Path // nil: none
	lever, lid float64   // motion for one of the touchpiece: across, endwise

	period float64 // mm, or rad; 0 when it does not repeat
	from   float64 // where the cells begin
	to     float64 // where they end: from + period when it repeats
	low    float64 // readings of the bar between which there is a bar
	high   float64

	at    []float64 // cell i runs from at[i] to at[i+1]
	lift  []float64 // across, at each of at
	rise  []float64 // endwise, at each of at; nil without pumping
	kink  []bool    // the path has a corner at at[i]
	steep []float64 // steepest slope in cell i, either way
	climb []float64 // steepest endwise slope in cell i; nil without pumping

	steepest  float64
	top, foot float64 // of lift
	lowest    float64 // of rise
	rough     float64 // most by which the path leaves the straight line of a cell, mm
	knots     []int32 // straight line engine: ends of the chords, the first at from
}

// mostCells bounds the cells of one motion.
const mostCells = 1 << 21

// place is the state of a motion at one reading of its bar.
type place struct{ lift, slope, rise, climb float64 }

func (m *motion) place(u float64) (p place) {
	if m.path != nil {
		p.lift, p.slope = m.path.At(u)
		p.lift, p.slope = m.lever*p.lift, m.lever*p.slope
	}
	if m.pump != nil {
		p.rise, p.climb = m.pump.At(u)
		p.rise, p.climb = m.lid*p.rise, m.lid*p.climb
	}
	return p
}

// newMotion takes a motion apart. radius is the greatest radius it will be
// worked at on a rose engine, and 0 on a straight line engine.
func newMotion(edge bar.Edge, path, pump *bar.Path, lever, lid, radius, chord float64) *motion {
	m := &motion{path: path, pump: pump, lever: lever, lid: lid}
	m.low, m.high = math.Inf(-1), math.Inf(1)
	if radius > 0 {
		m.period = 2 * math.Pi
		if path != nil && pump == nil && path.Period() > 0 {
			m.period = path.Period()
		}
		m.to = m.period
	} else if path != nil {
		m.low, m.high = path.Span()
		if m.period = path.Period(); m.period > 0 {
			m.to = m.period
		} else if finite(m.low) && finite(m.high) {
			m.from, m.to = m.low, m.high
		}
	}
	if m.to > m.from {
		m.split(m.starts(edge), radius, chord/16)
	}
	if radius == 0 && m.steepest > 0 {
		m.knots = m.chords(m.lift, m.at, chord)
	}
	return m
}

// starts returns the places where cells have to end whatever their size: the
// corners of the path, and places close enough for no bump to be overlooked.
func (m *motion) starts(edge bar.Edge) []edgeAt {
	var s []edgeAt
	n := 64 * max(1, len(edge.Heights))
	if m.period == 2*math.Pi {
		n = 64 * max(1, edge.Count, len(edge.Heights))
	}
	for i := 0; i <= n; i++ {
		s = append(s, edgeAt{m.from + (m.to-m.from)*float64(i)/float64(n), false})
	}
	put := func(u float64, kink bool) {
		if m.period > 0 {
			u -= m.period * math.Floor((u-m.from)/m.period)
		}
		if u > m.from && u < m.to {
			s = append(s, edgeAt{u, kink})
		}
	}
	for _, p := range []*bar.Path{m.path, m.pump} {
		if p == nil {
			continue
		}
		turn := 1
		if q := p.Period(); m.period > 0 && q > 0 {
			turn = max(1, int(math.Round(m.period/q)))
		}
		for _, k := range p.Kinks() {
			for i := range turn {
				put(k+float64(i)*p.Period(), true)
			}
		}
	}
	for _, d := range edge.Drawn {
		put(d[0], false)
	}
	sort.Slice(s, func(i, j int) bool { return s[i].u < s[j].u })
	// Places that are all but one become one.
	kept := s[:1]
	for _, e := range s[1:] {
		last := &kept[len(kept)-1]
		if e.u-last.u < 1e-9*(m.to-m.from) {
			if last.kink = last.kink || e.kink; e.kink && len(kept) > 1 {
				last.u = e.u
			}
			continue
		}
		kept = append(kept, e)
	}
	kept[len(kept)-1].u = m.to
	return kept
}

type edgeAt struct {
	u    float64
	kink bool
}

// split divides the motion into cells in each of which it leaves a straight line
// by no more than fine.
//
// Where a derivative stays within a range D over a length h, the function leaves
// its chord by at most D·h/4. D is taken from the slopes at both ends and in
// the middle; round a spindle the turning of the radius is added:
// P = r·e_r has P′ = r′·e_r + r·e_θ, which over h changes by no more than
// D + 2|r′|h + r·h.
func (m *motion) split(starts []edgeAt, radius, fine float64) {
	var cell func(a, b float64, pa, pb place, deep int)
	end := func(u float64, p place) {
		m.at = append(m.at, u)
		m.lift = append(m.lift, p.lift)
		if m.pump != nil {
			m.rise = append(m.rise, p.rise)
		}
	}
	cell = func(a, b float64, pa, pb place, deep int) {
		h := b - a
		mid := m.place(a + h/2)
		hi, lo := max(pa.slope, mid.slope, pb.slope), min(pa.slope, mid.slope, pb.slope)
		steep := max(hi, -lo)
		d := hi - lo
		if radius > 0 {
			d += 2*steep*h + (radius+max(pa.lift, pb.lift, 0))*h
		}
		up, down := max(pa.climb, mid.climb, pb.climb), min(pa.climb, mid.climb, pb.climb)
		off := max(d, up-down) * h / 4
		if off > fine && deep < 40 && len(m.at) < mostCells {
			cell(a, a+h/2, pa, mid, deep+1)
			end(a+h/2, mid)
			m.kink = append(m.kink, false)
			cell(a+h/2, b, mid, pb, deep+1)
			return
		}
		m.rough = max(m.rough, off)
		m.steep = append(m.steep, steep)
		if m.pump != nil {
			m.climb = append(m.climb, max(up, -down))
		}
	}
	for i := 0; i+1 < len(starts); i++ {
		a, b := starts[i].u, starts[i+1].u
		end(a, m.place(a))
		m.kink = append(m.kink, starts[i].kink)
		// Just inside, where a corner has the slope of this cell's side.
		in := (b - a) * 1e-7
		cell(a, b, m.place(a+in), m.place(b-in), 0)
	}
	last := starts[len(starts)-1]
	p := m.place(last.u)
	if m.period > 0 { // the same place as the first, to the last bit
		p.lift = m.lift[0]
		if m.pump != nil {
			p.rise = m.rise[0]
		}
	}
	end(last.u, p)
	m.kink = append(m.kink, last.kink)
	m.foot, m.top = math.Inf(1), math.Inf(-1)
	for _, v := range m.lift {
		m.foot, m.top = min(m.foot, v), max(m.top, v)
	}
	for _, v := range m.rise {
		m.lowest = min(m.lowest, v)
	}
	for _, v := range m.steep {
		m.steepest = max(m.steepest, v)
	}
}

// ring returns the ends of the chords of a ring whose slide stands at radius, as
// numbers of cells from the first. cos and sin are those of at.
func (m *motion) ring(radius float64, cos, sin []float64, chord float64) []int32 {
	x, y := make([]float64, len(m.at)), make([]float64, len(m.at))
	for i := range m.at {
		r := radius + m.lift[i]
		x[i], y[i] = float64(r*cos[i]), float64(r*sin[i])
	}
	return m.chords(x, y, chord)
}

// chords takes cells together into chords, each as long as it may be, and
// returns where they begin. No corner is passed over.
//
// A chord will do when the ends of its cells lie in a strip beside it no wider
// than the chord error less what the cells themselves leave out. The path then
// lies in that strip as well, and so does the chord between any two places of
// it: a cut that begins or ends within a chord keeps the bound.
func (m *motion) chords(x, y []float64, chord float64) []int32 {
	n := len(m.at) - 1
	if n < 1 {
		return nil
	}
	wide := chord - 2*m.rough
	var knots []int32
	for i, last := 0, 1; i < n; {
		knots = append(knots, int32(i))
		// Reach out from the length of the chord before, then close in.
		good, out := i+1, true
		for step := last; step > 0; {
			if end := good + step; end <= n && m.fits(x, y, i, end, wide) {
				good = end
				if out {
					step *= 2
					continue
				}
			} else {
				out = false
			}
			step /= 2
		}
		last = max(1, (good-i)*3/4)
		i = good
	}
	return knots
}

// fits says whether the ends of the cells i to j lie in a strip of a width
// beside the chord from i to j, and between its ends.
func (m *motion) fits(x, y []float64, i, j int, wide float64) bool {
	dx, dy := x[j]-x[i], y[j]-y[i]
	long := math.Hypot(dx, dy)
	if !(long > 0) {
		return false
	}
	dx, dy = dx/long, dy/long
	var lo, hi, under, above float64
	for k := i + 1; k < j; k++ {
		if m.kink[k] {
			return false
		}
		px, py := x[k]-x[i], y[k]-y[i]
		off := float64(px*dy) - float64(py*dx)
		lo, hi = min(lo, off), max(hi, off)
		along := float64(px*dx) + float64(py*dy)
		if hi-lo > wide || along < 0 || along > long {
			return false
		}
		if m.rise != nil {
			z := m.rise[k] - m.rise[i] - float64((m.rise[j]-m.rise[i])*(along/long))
			under, above = min(under, z), max(above, z)
			if above-under > wide {
				return false
			}
		}
	}
	return true
}
