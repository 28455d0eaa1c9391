package engine

import "brightcut/fault"

// Unit is what an Amount counts.
type Unit int

// Units of an Amount.
const (
	Teeth  Unit = iota + 1 // whole teeth, holes or divisions of the axis
	Length                 // mm
	Angle                  // rad
	Waves                  // waves of the bar, bumps of the rosette
	Turns                  // turns of the work
)

// Amount is a wish as it was written: 16 teeth, 0.156 mm, half a wave, 1/360 turn.
// Value = Num/Den exactly when Den is not 0.
type Amount struct {
	Value    float64
	Num, Den int64
	Unit     Unit
	Text     string // as written, for messages and sheets
}

// Motion is one of the motions of the trade.
type Motion int

// The motions of a sequence.
const (
	CutOne    Motion = iota + 1 // one stroke, or one turn of the spindle
	Step                        // move the slide by Amount
	Turn                        // turn the index wheel by Amount
	Shift                       // shift the bar along the stroke, or the rosette's phase, by Amount
	Chuck                       // turn the work in the chuck by Amount
	Set                         // bring an axis to an absolute reading
	Swap                        // put on another bar or rosette
	SetDepth                    // set the depth of the cuts that follow
	Repeat                      // Body, Count times
	Alternate                   // the next of Choices, in turn, each time it is reached
	Note                        // words for the operator, told before the next cut
)

// Axis names what a setting belongs to.
type Axis int

// The axes an engine is set by.
const (
	SlideAxis Axis = iota + 1
	IndexAxis
	ShiftAxis
	ChuckAxis
)

// Item is one line of a sequence.
type Item struct {
	Motion  Motion
	Amount  Amount   // Step, Turn, Shift, Chuck, Set
	Axis    Axis     // Set
	Name    string   // Swap: the bar; Note: the words
	Depth   float64  // SetDepth, mm; CutOne: a depth of its own, if not 0
	Limits  *Limits  // CutOne: limits of its own
	Count   int      // Repeat
	Body    []Item   // Repeat
	Choices [][]Item // Alternate
	Origin  fault.Origin
}

// Limits are the readings between which the cutter is in the work: of the
// stroke, mm, or of the spindle, rad.
type Limits struct{ From, To float64 }
