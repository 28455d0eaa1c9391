package bar

import (
	"iter"
	"math"
)

// Stretch is a smooth part of an edge, in mm along the datum (Radius·θ on a
// rosette). Height, slope and second derivative are each monotone over it and the
// last two do not change sign, so that their values at its two ends bound them.
type Stretch struct {
	From, To float64
	piece    piece
}

// At returns the height, mm, and its first two derivatives at y, mm along the
// datum.
func (s Stretch) At(y float64) (h, slope, bend float64) {
	q := s.piece.at(y)
	return q.h, q.d1, q.d2
}

// Straight says whether height goes by the place alone: a straight line on a bar,
// a spiral on a rosette, or a circle round it where the slope is 0.
func (s Stretch) Straight() bool { return s.piece.kind == straight }

// Arc returns the radius when the stretch is drawn as an arc of a circle: above 0
// on a bump, below 0 in a hollow. On a rosette that circle is wrapped round the
// mean radius and is none any more.
func (s Stretch) Arc() (radius float64, ok bool) { return s.piece.c1, s.piece.kind == arc }

// Stretches yields the edge between two places, mm along the datum, from the
// lesser to the greater: as many periods as there are, the first and the last
// stretch cut off at the places. Beyond what is drawn of an edge that does not
// repeat it stays level.
func (p *Profile) Stretches(from, to float64) iter.Seq[Stretch] {
	return func(yield func(Stretch) bool) {
		give := func(q piece) bool {
			a, b := max(q.a, from), min(q.b, to)
			return !(a < b) || yield(Stretch{a, b, q})
		}
		n := len(p.pieces)
		if n == 0 {
			give(piece{a: from, b: to})
			return
		}
		first, last := p.pieces[0], p.pieces[n-1]
		if p.period == 0 {
			if !give(piece{a: min(from, first.a), b: first.a, c0: first.at(first.a).h}) {
				return
			}
			for _, q := range p.pieces {
				if !give(q) {
					return
				}
			}
			give(piece{a: last.b, b: max(to, last.b), c0: last.at(last.b).h})
			return
		}
		for k := math.Floor((from - first.a) / p.period); first.a+k*p.period < to; k++ {
			for _, q := range p.pieces {
				if !give(q.moved(k * p.period)) {
					return
				}
			}
		}
	}
}
