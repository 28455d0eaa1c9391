package bar

import (
	"math"
	"sort"
)

// Profile is an edge taken apart into smooth pieces: over one period when it
// repeats, else over what is drawn. It is not changed after it is made.
type Profile struct {
	edge   Edge
	frame  frame
	pieces []piece // contiguous, ascending, in mm along the datum; none for a plain edge
	period float64 // mm along the datum; 0 when the edge does not repeat
}

// Profile takes the edge apart. The error is the fault.List of Check.
func (e Edge) Profile() (*Profile, error) {
	faults, p := e.check()
	if len(faults) > 0 {
		return nil, faults
	}
	return p, nil
}

// profile is Profile of an edge known to be sound but for the steepness and the
// radius of its finished pieces.
func (e Edge) profile() *Profile {
	p := &Profile{edge: e, frame: frame{R: e.Radius}}
	if e.polar() {
		p.period = e.Period() * e.Radius
	} else {
		p.period = e.Period()
	}
	λ := e.Wave
	if e.polar() {
		λ = e.OneWave() * e.Radius
	}
	switch e.Figure {
	case Sine:
		p.pieces = sinePieces(nil, 0, λ, 0, e.Amplitude)
	case Trapezoid:
		p.pieces = trapezoidPieces(λ, e.Amplitude, e.Crest, e.Hollow)
	case Arcs:
		p.pieces = arcPieces(λ, e.Amplitude, e.Crest, e.Hollow)
	case Zigzag:
		p.pieces = zigzagPieces(λ, e.Amplitude, e.Nose, e.Root)
	case Points:
		p.pieces = pointPieces(e, p.period)
	case Bumps:
		for i, h := range e.Heights {
			p.pieces = sinePieces(p.pieces, float64(i)*λ, λ, h/2, h/2)
		}
	case Harmonics:
		p.pieces = harmonicPieces(λ, e.Sines)
	case Blend:
		p.pieces = blendPieces(e)
	}
	for i := 1; i < len(p.pieces); i++ {
		p.pieces[i].a = p.pieces[i-1].b // close what rounding opened
	}
	if p.period > 0 && len(p.pieces) > 0 {
		p.pieces[len(p.pieces)-1].b = p.pieces[0].a + p.period
		p.crestFirst()
	}
	return p
}

// crestFirst turns a repeating profile so that it begins on its highest crest. A
// touchpiece over that crest bears on it, so that over one period from there it
// bears on that period only.
func (p *Profile) crestFirst() {
	best, top := 0, math.Inf(-1)
	for i := range p.pieces {
		if h := p.pieces[i].at(p.pieces[i].a).h; h > top {
			best, top = i, h
		}
	}
	turned := make([]piece, 0, len(p.pieces))
	turned = append(turned, p.pieces[best:]...)
	for _, q := range p.pieces[:best] {
		turned = append(turned, q.moved(p.period))
	}
	start := turned[0].a
	for i := 1; i < len(turned); i++ {
		turned[i].a = turned[i-1].b
	}
	turned[len(turned)-1].b = start + p.period
	p.pieces = turned
}

// reduce brings y into the drawn period, or to the nearer end of what is drawn.
func (p *Profile) reduce(y float64) float64 {
	from, to := p.pieces[0].a, p.pieces[len(p.pieces)-1].b
	if p.period > 0 {
		y -= p.period * math.Floor((y-from)/p.period)
	}
	if !(y > from) { // also what is not a number
		return from
	}
	return min(y, to)
}

// Height returns the height of the edge at the place s, mm, and its slope, mm per
// mm or mm per rad. Beyond the ends of an edge that does not repeat it is that of
// the end. At a corner the slope is that of the side further on.
func (p *Profile) Height(s float64) (h, slope float64) {
	if len(p.pieces) == 0 {
		return 0, 0
	}
	y := p.reduce(p.frame.along(s))
	i := sort.Search(len(p.pieces)-1, func(i int) bool { return y < p.pieces[i].b })
	q := p.pieces[i].at(y)
	return q.h, p.frame.slope(q.d1)
}

// Height returns what Profile's Height does. It takes the edge apart at each call:
// to draw an edge, ask a Profile. It panics when Check finds fault with the edge.
func (e Edge) Height(s float64) (h, slope float64) {
	p, err := e.Profile()
	if err != nil {
		panic("bar: Height of an edge that Check refuses: " + err.Error())
	}
	return p.Height(s)
}

// sameSlope is the difference of slopes, mm per mm, below which two stretches
// are taken to run into each other without a corner: far below what any bar is
// made to (10⁻⁶ is a micron in a metre), far above rounding.
const sameSlope = 1e-6

// Corners returns the places where the slope of the edge jumps, ascending: those
// of one period, brought between 0 and the period, or all of them.
func (p *Profile) Corners() []float64 {
	var at []float64
	n := len(p.pieces)
	for i := 1; i <= n; i++ {
		if i == n && p.period == 0 {
			break
		}
		l, r := &p.pieces[i-1], &p.pieces[i%n]
		if math.Abs(l.at(l.b).d1-r.at(r.a).d1) > sameSlope {
			at = append(at, p.frame.place(l.b))
		}
	}
	return inPeriod(at, p.frame.place(p.period))
}

// inPeriod brings places between 0 and the period and sorts them.
func inPeriod(at []float64, period float64) []float64 {
	if period > 0 {
		for i, s := range at {
			if s -= period * math.Floor(s/period); s >= period {
				s = 0
			}
			at[i] = s
		}
	}
	sort.Float64s(at)
	return at
}

// shiftLosses brings the beginnings of stretches between 0 and the period and
// sorts them.
func shiftLosses(lost []Loss, period float64) {
	for i := range lost {
		d := period * math.Floor(lost[i].From/period)
		lost[i].From -= d
		lost[i].To -= d
	}
	sort.Slice(lost, func(i, j int) bool { return lost[i].From < lost[j].From })
}
