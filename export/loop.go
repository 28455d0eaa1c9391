package export

import (
	"iter"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Node is a corner of a line and the way to the next corner: straight when Bulge
// is 0, else a circular arc, Bulge being the tangent of a quarter of its angle,
// above 0 when it turns counter-clockwise. (The bulge of DXF, so that arcs of
// every size keep their full precision.)
type Node struct {
	r2.Vec
	Bulge float64
}

// Line is a line or, when Closed, a loop. The Bulge of an open line's last node
// counts for nothing.
type Line struct {
	Layer  string
	Closed bool
	Nodes  []Node
}

// stretch is the way from one node to the next.
type stretch struct {
	a, b  r2.Vec
	bulge float64
}

func (l Line) stretches() iter.Seq[stretch] {
	return func(yield func(stretch) bool) {
		for i, n := range l.Nodes {
			j := i + 1
			if j == len(l.Nodes) {
				if !l.Closed {
					return
				}
				j = 0
			}
			if !yield(stretch{n.Vec, l.Nodes[j].Vec, n.Bulge}) {
				return
			}
		}
	}
}

// angle is that of the arc, rad, with its sign.
func (s stretch) angle() float64 { return 4 * math.Atan(s.bulge) }

// radius is that of the arc, above 0.
func (s stretch) radius() float64 {
	b := math.Abs(s.bulge)
	return r2.Norm(r2.Sub(s.b, s.a)) * (1 + b*b) / (4 * b)
}

// centre is that of the arc: half the chord along, and to the left of it by the
// radius less the height of the arc, c/4·(1/b − b).
func (s stretch) centre() r2.Vec {
	chord := r2.Sub(s.b, s.a)
	off := (1/s.bulge - s.bulge) / 4
	return r2.Vec{X: (s.a.X+s.b.X)/2 - off*chord.Y, Y: (s.a.Y+s.b.Y)/2 + off*chord.X}
}

func (s stretch) length() float64 {
	if s.bulge == 0 {
		return r2.Norm(r2.Sub(s.b, s.a))
	}
	return s.radius() * math.Abs(s.angle())
}

// at is the place a share t of the way on.
func (s stretch) at(t float64) r2.Vec {
	switch {
	case t == 0:
		return s.a
	case t == 1:
		return s.b
	case s.bulge == 0:
		return r2.Add(s.a, r2.Scale(t, r2.Sub(s.b, s.a)))
	}
	return r2.Rotate(s.a, s.angle()*t, s.centre())
}

// part is the way from the share t to the share u.
func (s stretch) part(t, u float64) stretch {
	return stretch{s.at(t), s.at(u), math.Tan(s.angle() * (u - t) / 4)}
}

// reversed is the line walked the other way.
func (l Line) reversed() Line {
	n := len(l.Nodes)
	out := Line{Layer: l.Layer, Closed: l.Closed, Nodes: make([]Node, n)}
	for i := range l.Nodes {
		out.Nodes[i].Vec = l.Nodes[n-1-i].Vec
		if before := n - 2 - i; before >= 0 {
			out.Nodes[i].Bulge = -l.Nodes[before].Bulge
		} else {
			out.Nodes[i].Bulge = -l.Nodes[n-1].Bulge
		}
	}
	return out
}

// Length returns the length of the line, mm.
func (l Line) Length() (sum float64) {
	for s := range l.stretches() {
		sum += s.length()
	}
	return sum
}

// Area returns the area of a loop, mm², above 0 when it runs counter-clockwise:
// that of its corners and, for each arc, the segment between arc and chord.
func (l Line) Area() (sum float64) {
	for s := range l.stretches() {
		sum += r2.Cross(s.a, s.b) / 2
		if s.bulge != 0 {
			r, φ := s.radius(), s.angle()
			sum += r * r * (φ - math.Sin(φ)) / 2
		}
	}
	return sum
}

// Points returns the line with straight stretches only, which stay within
// tolerance of its arcs, mm. The first point of a loop is not repeated.
func (l Line) Points(tolerance float64) []r2.Vec {
	out := make([]r2.Vec, 0, len(l.Nodes)+1)
	for s := range l.stretches() {
		out = append(out, s.a)
		if s.bulge == 0 {
			continue
		}
		n := s.chords(tolerance)
		for i := 1; i < n; i++ {
			out = append(out, s.at(float64(i)/float64(n)))
		}
	}
	if !l.Closed && len(l.Nodes) > 0 {
		out = append(out, l.Nodes[len(l.Nodes)-1].Vec)
	}
	return out
}

// chords is how many chords keep within tolerance of the arc: the height of an
// arc of angle φ is r(1 − cos φ/2).
func (s stretch) chords(tolerance float64) int {
	r := s.radius()
	φ := 2 * math.Acos(max(-1, 1-tolerance/r))
	return 1 + int(min(math.Abs(s.angle())/max(φ, 1e-6), 1e6))
}

// grow takes the line into a box, arcs with what bulges beyond their ends.
func (l Line) grow(box *r2.Box) {
	take := func(p r2.Vec) {
		box.Min.X, box.Min.Y = min(box.Min.X, p.X), min(box.Min.Y, p.Y)
		box.Max.X, box.Max.Y = max(box.Max.X, p.X), max(box.Max.Y, p.Y)
	}
	for _, n := range l.Nodes {
		take(n.Vec)
	}
	for s := range l.stretches() {
		if s.bulge == 0 {
			continue
		}
		c, r := s.centre(), s.radius()
		from := math.Atan2(s.a.Y-c.Y, s.a.X-c.X)
		for k := range 4 { // the four outermost places of the circle
			φ := float64(k) * math.Pi / 2
			turn := math.Mod(φ-from, 2*math.Pi)
			if s.bulge > 0 && turn < 0 {
				turn += 2 * math.Pi
			}
			if s.bulge < 0 && turn > 0 {
				turn -= 2 * math.Pi
			}
			if math.Abs(turn) < math.Abs(s.angle()) {
				sin, cos := math.Sincos(φ)
				take(r2.Vec{X: c.X + r*cos, Y: c.Y + r*sin})
			}
		}
	}
}

// nobox holds nothing.
func nobox() r2.Box {
	inf := math.Inf(1)
	return r2.Box{Min: r2.Vec{X: inf, Y: inf}, Max: r2.Vec{X: -inf, Y: -inf}}
}

// circle is a loop round c, counter-clockwise, begun at the angle 0.
func circle(layer string, c r2.Vec, r float64) Line {
	return Line{layer, true, []Node{{r2.Vec{X: c.X + r, Y: c.Y}, 1}, {r2.Vec{X: c.X - r, Y: c.Y}, 1}}}
}
