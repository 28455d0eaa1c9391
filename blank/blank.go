package blank

import "gonum.org/v1/gonum/spatial/r2"

// Form names the figure of a Shape.
type Form int

// The figures a Shape may have.
const (
	Disc      Form = iota + 1 // Diameter
	Ring                      // Diameter outside, Inner inside
	Rectangle                 // Width × Height, rounded by Corner, turned by Angle
	Polygon                   // Points in order, closed by itself
)

// Shape is a closed figure on the work. Only the fields named beside its Form count.
type Shape struct {
	Form     Form
	Centre   r2.Vec
	Diameter float64
	Inner    float64  // inner diameter of a Ring
	Width    float64  // along x before the turn by Angle
	Height   float64  // along y before the turn by Angle
	Corner   float64  // corner radius of a Rectangle
	Angle    float64  // rad, counter-clockwise about Centre
	Points   []r2.Vec // corners of a Polygon, relative to Centre
}

// Window is a part of the work that stays uncut: a subdial, an aperture, a
// signature panel. Open says that the metal itself is missing there.
type Window struct {
	Name   string
	Shape  Shape
	Border float64 // uncut margin kept round the shape, mm
	Open   bool    // cut through: the guide finds no ground there
}

// Blank is the piece of metal before cutting.
type Blank struct {
	Metal     string
	Thickness float64
	Outline   Shape
	Border    float64 // uncut margin inside the outline, mm
	Windows   []Window
	KeepClear []Window // ground that is not cut and that no foot may touch
	Nominal   Nominal  // form the surface is meant to have; the zero Nominal is flat
}
