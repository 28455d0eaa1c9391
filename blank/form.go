package blank

import (
	"fmt"
	"math"

	"brightcut/fault"
	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Figure names the form that a blank's surface is meant to have.
type Figure int

// The figures of a Nominal. The zero Figure is flat.
const (
	Flat     Figure = iota
	Cylinder        // Radius, Axis, Centre
	Dome            // Radius, Centre: a sphere
	Cone            // Fall, Centre: blunt at its point, see Nominal.Height
	Turned          // Profile, Centre: a surface of revolution
)

// Nominal is the form that the blank's surface is meant to have, before bow and
// bumps. Only the fields named beside its Figure count. Its highest line or
// point, over Centre, stands at height 0; a hollow's lowest one does.
type Nominal struct {
	Figure  Figure
	Centre  r2.Vec   // of the figure; any point over the axis of a Cylinder
	Radius  float64  // mm; above 0 the work is high in the middle, below 0 hollow
	Axis    float64  // direction of a Cylinder's axis, rad from x
	Fall    float64  // angle between a Cone's flank and the level, rad; below 0 it is hollow
	Profile []r2.Vec // Turned: X the radius, from 0 and rising, Y the height, mm; joined by a smooth curve
}

// maxProfile bounds a drawn profile: a point every 5 µm over 50 mm.
const maxProfile = 10_000

// Check reports what is wrong with the figure, field by field.
func (n Nominal) Check() fault.List {
	var list fault.List
	add := func(field, problem, mend string) {
		list = append(list, fault.Fault{Field: field, Problem: problem, Mend: mend})
	}
	finite := func(field string, v float64) bool {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			add(field, "it is not a finite number", "give a number")
			return false
		}
		return true
	}
	if n.Figure < Flat || n.Figure > Turned {
		add("figure", "there is no such figure", "one of flat, cylinder, dome, cone, turned")
	}
	if n.Figure != Flat {
		finite("centre", n.Centre.X)
		finite("centre", n.Centre.Y)
	}
	switch n.Figure {
	case Cylinder, Dome:
		if finite("radius", n.Radius) && math.Abs(n.Radius) < 0.1 {
			add("radius", fmt.Sprintf("%s mm is no radius for work", short(n.Radius)), "give the radius of the surface in mm, below 0 for a hollow")
		}
		if n.Figure == Cylinder {
			finite("axis", n.Axis)
		}
	case Cone:
		if finite("fall", n.Fall) && math.Abs(n.Fall) > 80*math.Pi/180 {
			add("fall", fmt.Sprintf("%s° is too steep for work that is cut from above", short(n.Fall*180/math.Pi)), "give the angle of the flank against the level, up to 80°")
		}
	case Turned:
		if len(n.Profile) < 3 || len(n.Profile) > maxProfile {
			add("profile", fmt.Sprintf("it has %d points", len(n.Profile)), fmt.Sprintf("give 3 to %d points (radius, height)", maxProfile))
			return list
		}
		for i, p := range n.Profile {
			field := fmt.Sprintf("profile[%d]", i)
			if !finite(field, p.X) || !finite(field, p.Y) {
				continue
			}
			switch {
			case i == 0 && p.X != 0:
				add(field, fmt.Sprintf("the first radius is %s mm", short(p.X)), "begin at radius 0")
			case i > 0 && !(p.X-n.Profile[i-1].X >= 1e-6):
				add(field, fmt.Sprintf("the radius %s mm does not follow %s mm", short(p.X), short(n.Profile[i-1].X)), "give the radii from 0 outwards, each once")
			}
		}
	}
	return list
}

// Surface is a Nominal made ready for many questions.
type Surface struct {
	nominal Nominal
	spline  *interp.NaturalCubic // Turned: mirrored about the axis
	reach   float64              // Turned: the last radius
}

// Surface makes the figure ready. It must have passed Check.
func (n Nominal) Surface() *Surface {
	s := &Surface{nominal: n}
	if n.Figure != Turned {
		return s
	}
	// Drawn to both sides of the axis, the curve is level at the axis.
	last := len(n.Profile) - 1
	xs := make([]float64, 0, 2*last+1)
	ys := make([]float64, 0, 2*last+1)
	for i := last; i > 0; i-- {
		xs, ys = append(xs, -n.Profile[i].X), append(ys, n.Profile[i].Y)
	}
	for _, p := range n.Profile {
		xs, ys = append(xs, p.X), append(ys, p.Y)
	}
	s.spline, s.reach = new(interp.NaturalCubic), n.Profile[last].X
	if err := s.spline.Fit(xs, ys); err != nil {
		panic("blank: a turned figure that has not passed Check: " + err.Error())
	}
	return s
}

// Height returns the height of the surface at p, mm, with its slope (dz/dx,
// dz/dy) and its second derivatives xx, xy, yy. ok is false where the figure has
// no surface: beyond the equator of a dome or cylinder, or past the last point
// of a profile.
//
//	dome     z = √(R² − r²) − R
//	cylinder z = √(R² − t²) − R, t measured square to the axis
//	cone     z = −r·tan(fall)
//
// for a work high in the middle, with all signs turned for a hollow. At the
// point of a cone the slope is taken as 0.
func (s *Surface) Height(p r2.Vec) (z float64, slope r2.Vec, second [3]float64, ok bool) {
	n := &s.nominal
	d := r2.Sub(p, n.Centre)
	switch n.Figure {
	case Cylinder:
		sin, cos := math.Sincos(n.Axis)
		across := r2.Vec{X: -sin, Y: cos}
		z, z1, z2, ok := round(n.Radius, r2.Dot(across, d))
		return z, r2.Scale(z1, across), [3]float64{z2 * sin * sin, -z2 * sin * cos, z2 * cos * cos}, ok
	case Dome:
		r := r2.Norm(d)
		z, z1, z2, ok := round(n.Radius, r)
		return revolve(d, r, z, z1, z2, ok)
	case Cone:
		r := r2.Norm(d)
		fall := math.Tan(n.Fall)
		return revolve(d, r, -r*fall, -fall, 0, true)
	case Turned:
		r := r2.Norm(d)
		if r > s.reach {
			return 0, r2.Vec{}, second, false
		}
		// The derivative of a cubic piece is a parabola: its central difference
		// is exact but at a knot, where it is the mean of both sides.
		h := min(1e-4*s.reach, s.reach/4)
		a, b := max(r-h, -s.reach), min(r+h, s.reach)
		bend := (s.spline.PredictDerivative(b) - s.spline.PredictDerivative(a)) / (b - a)
		return revolve(d, r, s.spline.Predict(r), s.spline.PredictDerivative(r), bend, true)
	}
	return 0, r2.Vec{}, second, true
}

// round is a circular section of radius R (below 0 hollow) at t from its crest.
func round(radius, t float64) (z, z1, z2 float64, ok bool) {
	root := radius*radius - t*t
	if root <= 0 {
		return 0, 0, 0, false
	}
	q := math.Copysign(math.Sqrt(root), radius)
	// √(R² − t²) − R without cancellation.
	return -t * t / (q + radius), -t / q, -(1 + t*t/root) / q, true
}

// revolve turns a section z(r) round its axis.
func revolve(d r2.Vec, r, z, z1, z2 float64, ok bool) (float64, r2.Vec, [3]float64, bool) {
	if !ok {
		return 0, r2.Vec{}, [3]float64{}, false
	}
	if r < 1e-9 {
		return z, r2.Vec{}, [3]float64{z2, 0, z2}, true
	}
	u := r2.Scale(1/r, d)
	round := z1 / r
	return z, r2.Scale(z1, u), [3]float64{
		z2*u.X*u.X + round*u.Y*u.Y,
		(z2 - round) * u.X * u.Y,
		z2*u.Y*u.Y + round*u.X*u.X,
	}, true
}

// Normal returns the unit normal out of the metal at p.
func (s *Surface) Normal(p r2.Vec) (normal r3.Vec, ok bool) {
	_, g, _, ok := s.Height(p)
	return r3.Unit(r3.Vec{X: -g.X, Y: -g.Y, Z: 1}), ok
}

// Curvature returns the normal curvature of the surface at p in the direction
// that lies at the given angle from x seen from above, 1/mm: above 0 where the
// work is high in the middle. Its inverse is the radius R in the guide's error
// g²/(2R).
//
// κ = −(zxx·u² + 2·zxy·uv + zyy·v²) / ((1 + z_u²)·√(1 + |∇z|²)), the second
// fundamental form over the first (from memory).
func (s *Surface) Curvature(p r2.Vec, direction float64) (curvature float64, ok bool) {
	_, g, h, ok := s.Height(p)
	sin, cos := math.Sincos(direction)
	along := g.X*cos + g.Y*sin
	bend := h[0]*cos*cos + 2*h[1]*sin*cos + h[2]*sin*sin
	return -bend / ((1 + along*along) * math.Sqrt(1+r2.Norm2(g))), ok
}
