package tracing

import (
	"fmt"
	"math"
	"slices"
)

// centre returns the centre of a rosette: as given, that of a round hole drawn
// within it, or that of its area.
func (tr *tracer) centre(c *chain, of []int) Point {
	if tr.t.Centre != nil {
		return *tr.t.Centre
	}
	if !c.closed {
		tr.fault("centre", "part of a rosette does not tell its centre", "give the centre of the rosette")
		return Point{}
	}
	middle, area := centroid(c.points)
	// The largest round hole about that middle, whether chosen or not.
	best, found := 0.0, Point{}
	for i := range tr.d.Lines {
		l := &tr.d.Lines[i]
		if !l.Closed || i == c.first || len(l.Points) < 8 {
			continue
		}
		at, hole := centroid(l.Points)
		r := at.distance(l.Points[0])
		round := hole < area && at.distance(middle) < 0.2*math.Sqrt(area)
		for _, p := range l.Points {
			round = round && math.Abs(p.distance(at)-r) < 1e-3*r
		}
		if round && hole > best {
			best, found = hole, at
		}
	}
	if best > 0 {
		tr.remark("The centre is that of the round hole at %v.", found)
		return found
	}
	tr.remark("The centre is that of the area, at %v.", middle)
	return middle
}

// centroid returns the centre of the area of a closed line, and the area.
func centroid(p []Point) (Point, float64) {
	var sum Point
	area := 0.0
	for i := range p {
		a, b := p[i].minus(p[0]), p[(i+1)%len(p)].minus(p[0])
		w := a.cross(b)
		area += w
		sum = sum.plus(a.plus(b).times(w))
	}
	if area == 0 {
		return p[0], 0
	}
	return p[0].plus(sum.times(1 / (3 * area))), math.Abs(area) / 2
}

// around turns a chain into angles and radii, counter-clockwise. A closed one goes
// round just once and ends a turn after it begins.
func (tr *tracer) around(c *chain, of []int) ([]Point, bool) {
	centre := tr.centre(c, of)
	if len(tr.faults) > 0 {
		return nil, false
	}
	p := c.points
	if c.closed {
		p = append(slices.Clone(p), p[0])
	}
	out := tr.polar(p, centre)
	if len(tr.faults) > 0 {
		return nil, false
	}
	if out[len(out)-1].X < out[0].X {
		slices.Reverse(out)
	}
	if c.closed {
		if turn := out[len(out)-1].X - out[0].X; math.Abs(turn-2*math.Pi) > 1e-6 {
			tr.fault("edge", fmt.Sprintf("it goes %.2f times round its centre, at %v", math.Abs(turn/(2*math.Pi)), centre), "give the centre of the rosette, or draw it once round")
			return nil, false
		}
		out[len(out)-1].X = out[0].X + 2*math.Pi
	}
	return out, true
}

// polar turns a line into (angle, radius) about the centre, the angle running on
// beyond half a turn. A straight line is no straight line there: r = d/cos φ, whose
// second derivative is r(1 + 2 tan² φ), so that it is divided until its chords stray
// by less than a quarter of the tolerance.
func (tr *tracer) polar(p []Point, centre Point) []Point {
	var out []Point
	before := 0.0
	for i, q := range p {
		v := q.minus(centre)
		r := v.length()
		if r < 1e-3 {
			tr.fault("edge", fmt.Sprintf("it passes through its centre, at %v", centre), "give the centre of the rosette")
			return nil
		}
		θ := math.Atan2(v.Y, v.X)
		if i == 0 {
			out = append(out, Point{θ, r})
			before = θ
			continue
		}
		u := p[i-1].minus(centre)
		turn := math.Atan2(u.cross(v), u.X*v.X+u.Y*v.Y)
		d := math.Abs(u.cross(v)) / math.Max(p[i-1].distance(q), 1e-300) // centre to line
		n := 1
		if d > 0 {
			far := math.Max(r, u.length())
			tan2 := math.Max(far*far/(d*d)-1, 0)
			n = steps(turn*turn*far*(1+2*tan2), tr.tolerance/4)
		}
		if n < 0 || len(out)+n > MaxPoints {
			tr.fault("edge", "it passes too near its centre", "give the centre of the rosette")
			return nil
		}
		for k := 1; k < n; k++ {
			w := u.toward(v, float64(k)/float64(n))
			out = append(out, Point{before + math.Atan2(u.cross(w), u.X*w.X+u.Y*w.Y), w.length()})
		}
		before += turn
		out = append(out, Point{before, r})
	}
	return out
}

// wrapped adds a line of angles, cut where it leaves the turn from 0.
func (e *envelope) wrapped(p, q Point) {
	const turn = 2 * math.Pi
	if p.X > q.X {
		p, q = q, p
	}
	k := math.Floor(p.X/turn) * turn
	p.X, q.X = p.X-k, q.X-k
	if q.X > turn {
		cut := p.toward(q, (turn-p.X)/(q.X-p.X))
		cut.X = turn
		e.add(p, cut)
		p, q = Point{0, cut.Y}, Point{q.X - turn, q.Y}
	}
	e.add(p, q)
}
