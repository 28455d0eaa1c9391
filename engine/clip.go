package engine

import (
	"context"
	"math"
)

const (
	// leastGap is the shortest stretch of path, mm, that clipping is sure to
	// see: a gap or a cut shorter than that is a twentieth of the narrowest
	// usual groove.
	leastGap = 0.01
	// edgeFit is how near to the field's edge a clipped end lies, mm.
	edgeFit = 1e-7
	// onEdge is how far past the edge still counts as in the field, so that a
	// cut along a border is not broken up by the last bits of its places.
	onEdge = 1e-9
)

// span is a stretch of readings.
type span struct{ from, to float64 }

// clip returns the stretches of [from, to] in which the path is in the field.
//
// away is the signed distance to the field's edge of the place at a reading,
// negative inside and never more than the true distance, so that a step by that
// distance cannot pass the edge; speed is the most that the place moves, mm, for
// one of the reading. Where the edge is nearer than leastGap the step is
// leastGap. A crossing is then closed in on until it is known to edgeFit, and
// the end on the field's side is taken.
func clip(ctx context.Context, from, to, speed float64, away func(float64) float64) ([]span, error) {
	var spans []span
	d := away(from) - onEdge
	start, inside := from, d <= 0
	for s, n := from, 0; s < to; n++ {
		if n%4096 == 4095 {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
		}
		next := min(to, s+max(math.Abs(d), leastGap)/speed)
		if next <= s { // the step is below the last bit of the reading
			next = math.Nextafter(s, math.Inf(1))
		}
		e := away(next) - onEdge
		if e <= 0 != inside {
			edge := closeIn(s, d, next, e, speed, away)
			if inside {
				spans = keep(spans, span{start, edge}, speed)
			}
			start, inside = edge, !inside
		}
		s, d = next, e
	}
	if inside {
		spans = keep(spans, span{start, to}, speed)
	}
	return spans, nil
}

// keep adds a stretch unless it is too short to be a cut.
func keep(spans []span, s span, speed float64) []span {
	if (s.to-s.from)*speed < leastGap {
		return spans
	}
	return append(spans, s)
}

// closeIn brackets the one change of sign between two readings, by false
// position with the Illinois rule and halving every third time, and returns the
// reading on the field's side.
func closeIn(s, d, t, e, speed float64, away func(float64) float64) float64 {
	for n := 0; math.Abs(t-s)*speed > edgeFit && n < 200; n++ {
		m := s + (t-s)*(d/(d-e))
		if lo, hi := min(s, t), max(s, t); n%3 == 2 || !(m > lo && m < hi) {
			m = s + (t-s)/2
		}
		f := away(m) - onEdge
		if f <= 0 == (e <= 0) {
			t, e = m, f
			d /= 2
		} else {
			s, d, t, e = t, e, m, f
		}
	}
	if d <= 0 {
		return s
	}
	return t
}
