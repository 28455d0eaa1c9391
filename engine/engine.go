package engine

import (
	"math"

	"brightcut/blank"
)

// Kind tells the two engines apart.
type Kind int

// The kinds of engine.
const (
	StraightLine Kind = iota + 1
	Rose
)

// Screw is a slide's screw with its ratchet.
type Screw struct {
	Pitch   float64 // travel a turn, mm
	Ratchet int     // teeth a turn
	Min     float64 // travel of the slide, readings in mm
	Max     float64
	Error   *Periodic // mm; nil when none is known
}

// Length returns the travel that a number of teeth gives, mm.
func (s Screw) Length(teeth int) float64 { return float64(teeth) * s.Pitch / float64(s.Ratchet) }

// Wheel divides a turn: an index wheel with its circles of holes, a crossing
// wheel, or the graduations of a chuck.
type Wheel struct {
	Circles []int     // holes (teeth, divisions) in each circle
	Worm    int       // turns of the wheel for one turn of the work; 1 when it sits on the spindle
	Error   *Periodic // rad of the work; nil when none is known
}

// Angle returns the turn of the work that a number of holes of the circle
// gives, rad.
func (w Wheel) Angle(holes, circle int) float64 {
	return 2 * math.Pi * float64(holes) / (float64(circle) * float64(w.Worm))
}

// Swing is how the cutter's slide assembly swings about an axis along the stroke,
// so that the cutter can stand square to curved work.
type Swing struct {
	Axis     float64 // height of the axis above the highest place of the work, mm; below 0 it lies in the work
	Min, Max float64 // rad; above 0 it leans so as to stand square to work that falls towards +x
}

// Engine is one machine of the workshop.
type Engine struct {
	Name  string
	Kind  Kind
	Slide Screw // cross slide of a straight line engine, slide of a rose engine
	Chuck Wheel // turning of the work by graduations, apart from the index
	Index Wheel // index wheel under the chuck

	// Straight line engine.
	StrokeMin float64 // readings of the stroke scale, mm
	StrokeMax float64
	Lever     float64 // motion of the work for one of the touchpiece
	Shift     Screw   // shifts the bar along the stroke

	// Rose engine.
	Rocking  float64 // motion of the spindle across for one of the rubber
	Pumping  float64 // motion of the spindle endwise for one of its rubber
	Crossing Wheel   // turns the rosettes against the work: the phase

	Truing *blank.TruingChuck // tilts the work on the chuck; nil when nothing does
	Swing  *Swing             // of the cutter's slide assembly; nil when it stands fast

	SecondsPerStroke float64 // at the usual pace, the return and the settings included
}
