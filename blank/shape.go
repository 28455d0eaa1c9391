package blank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Distance returns the signed distance from p to the edge of the shape, mm:
// negative inside, 0 on the edge, positive outside. It is exact (to rounding)
// for every Form, inside and out, and so never changes by more than p moves.
//
// A Polygon costs a look at each of its corners; to ask many times, ask the
// Field or the Ground of a Blank, which keep an index.
func (s Shape) Distance(p r2.Vec) float64 {
	if s.Form == Polygon {
		return polygonDistance(s.Points, r2.Sub(p, s.Centre))
	}
	e := newEdge(s)
	return e.distance(p)
}

// edge is a Shape made ready for many questions.
type edge struct {
	form         Form
	centre       r2.Vec
	outer, inner float64 // radii of a disc or ring
	half         r2.Vec  // rectangle: half sides less the corner
	corner       float64
	sin, cos     float64
	polygon      *polygon
}

func newEdge(s Shape) edge {
	e := edge{form: s.Form, centre: s.Centre}
	switch s.Form {
	case Disc:
		e.outer = s.Diameter / 2
	case Ring:
		e.outer, e.inner = s.Diameter/2, s.Inner/2
	case Rectangle:
		e.sin, e.cos = math.Sincos(s.Angle)
		e.corner = s.Corner
		e.half = r2.Vec{X: s.Width/2 - s.Corner, Y: s.Height/2 - s.Corner}
	case Polygon:
		e.polygon = newPolygon(s.Points)
	default:
		panic("blank: a Shape without a Form")
	}
	return e
}

func (e *edge) distance(p r2.Vec) float64 {
	x, y := p.X-e.centre.X, p.Y-e.centre.Y
	switch e.form {
	case Disc:
		return length(x, y) - e.outer
	case Ring:
		r := length(x, y)
		return max(r-e.outer, e.inner-r)
	case Rectangle:
		// Into the rectangle's own axes, one quarter of it, and from the
		// rectangle on which the corner circles have their centres.
		qx := math.Abs(float64(e.cos*x)+float64(e.sin*y)) - e.half.X
		qy := math.Abs(float64(e.cos*y)-float64(e.sin*x)) - e.half.Y
		return min(max(qx, qy), 0) + length(max(qx, 0), max(qy, 0)) - e.corner
	default:
		return e.polygon.distance(r2.Vec{X: x, Y: y})
	}
}

// length is the length of (x, y), the same on processors that fuse multiply
// and add.
func length(x, y float64) float64 { return math.Sqrt(float64(x*x) + float64(y*y)) }

// Bounds returns the smallest upright box round the shape.
func (s Shape) Bounds() r2.Box {
	var h r2.Vec
	switch s.Form {
	case Disc, Ring:
		h = r2.Vec{X: s.Diameter / 2, Y: s.Diameter / 2}
	case Rectangle:
		sin, cos := math.Sincos(s.Angle)
		sin, cos = math.Abs(sin), math.Abs(cos)
		a, b := s.Width/2-s.Corner, s.Height/2-s.Corner
		h = r2.Vec{
			X: float64(a*cos) + float64(b*sin) + s.Corner,
			Y: float64(a*sin) + float64(b*cos) + s.Corner,
		}
	case Polygon:
		if len(s.Points) == 0 {
			return r2.Box{Min: s.Centre, Max: s.Centre}
		}
		box := r2.Box{Min: s.Points[0], Max: s.Points[0]}
		for _, q := range s.Points[1:] {
			box = r2.Box{
				Min: r2.Vec{X: min(box.Min.X, q.X), Y: min(box.Min.Y, q.Y)},
				Max: r2.Vec{X: max(box.Max.X, q.X), Y: max(box.Max.Y, q.Y)},
			}
		}
		return box.Add(s.Centre)
	}
	return r2.Box{Min: r2.Sub(s.Centre, h), Max: r2.Add(s.Centre, h)}
}

// Area returns the area of the shape, mm².
func (s Shape) Area() float64 {
	switch s.Form {
	case Disc:
		return math.Pi / 4 * s.Diameter * s.Diameter
	case Ring:
		return math.Pi / 4 * (s.Diameter - s.Inner) * (s.Diameter + s.Inner)
	case Rectangle:
		return s.Width*s.Height - (4-math.Pi)*s.Corner*s.Corner
	case Polygon:
		return math.Abs(turnedArea(s.Points))
	}
	return 0
}

// turnedArea is the area of a polygon, positive when its corners run
// counter-clockwise.
func turnedArea(points []r2.Vec) float64 {
	if len(points) < 3 {
		return 0
	}
	// Taken from the first corner, so that a shape far from the origin loses
	// no digits.
	var sum float64
	o := points[0]
	for i := 1; i+1 < len(points); i++ {
		sum += r2.Cross(r2.Sub(points[i], o), r2.Sub(points[i+1], o))
	}
	return sum / 2
}
