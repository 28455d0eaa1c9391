package blank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// mostSegments bounds what a finer and finer chord may ask of one circle.
const mostSegments = 1 << 16

// Outline returns the edge of the shape as closed loops of straight lines that
// stay within chord of it, mm, for drawing. The first point of a loop is not
// repeated at its end. The first loop runs counter-clockwise round the outside;
// a Ring has a second, clockwise round its hole. A circle takes at least 12 and
// at most 65536 segments, whatever the chord.
func (s Shape) Outline(chord float64) [][]r2.Vec {
	switch s.Form {
	case Disc:
		return [][]r2.Vec{arc(nil, s.Centre, s.Diameter/2, 0, 2*math.Pi, chord)}
	case Ring:
		return [][]r2.Vec{
			arc(nil, s.Centre, s.Diameter/2, 0, 2*math.Pi, chord),
			arc(nil, s.Centre, s.Inner/2, 0, -2*math.Pi, chord),
		}
	case Rectangle:
		var loop []r2.Vec
		a, b := s.Width/2-s.Corner, s.Height/2-s.Corner
		for quarter, c := range [4]r2.Vec{{X: a, Y: b}, {X: -a, Y: b}, {X: -a, Y: -b}, {X: a, Y: -b}} {
			c = r2.Add(s.Centre, r2.Rotate(c, s.Angle, r2.Vec{}))
			if s.Corner == 0 {
				loop = append(loop, c)
				continue
			}
			from := s.Angle + float64(quarter)*math.Pi/2
			loop = arc(loop, c, s.Corner, from, from+math.Pi/2, chord)
			sin, cos := math.Sincos(from + math.Pi/2)
			loop = append(loop, r2.Vec{X: c.X + float64(s.Corner*cos), Y: c.Y + float64(s.Corner*sin)})
		}
		return [][]r2.Vec{loop}
	case Polygon:
		loop := make([]r2.Vec, len(s.Points))
		backwards := turnedArea(s.Points) < 0
		for i, p := range s.Points {
			if backwards {
				i = len(s.Points) - 1 - i
			}
			loop[i] = r2.Add(s.Centre, p)
		}
		return [][]r2.Vec{loop}
	}
	panic("blank: a Shape without a Form")
}

// arc appends an arc without its last point.
func arc(to []r2.Vec, centre r2.Vec, radius, from, until, chord float64) []r2.Vec {
	// A chord over the angle 2δ stands radius·(1 − cos δ) off its arc.
	share := math.Abs(until-from) / (2 * math.Pi)
	n := 12.0
	if chord < radius {
		n = max(n, math.Pi/math.Acos(1-chord/radius))
	}
	if !(n < mostSegments) {
		n = mostSegments
	}
	count := int(math.Ceil(n * share))
	for i := range count {
		sin, cos := math.Sincos(from + (until-from)*float64(i)/float64(count))
		to = append(to, r2.Vec{X: centre.X + float64(radius*cos), Y: centre.Y + float64(radius*sin)})
	}
	return to
}
