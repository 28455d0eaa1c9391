package engine

import "brightcut/fault"

// Settings are the counts that the engine's dials show, from its zero.
type Settings struct {
	Slide int // teeth of the slide's ratchet
	Index int // holes of the index circle
	Shift int // teeth of the bar shift, or of the crossing wheel
	Chuck int // divisions of the chuck
	Bar   string
}

// Move is one motion made by the operator since the cut before, in whole counts.
type Move struct {
	Motion  Motion
	Axis    Axis         // Step, Turn, Shift, Chuck, Set
	Count   int          // teeth, holes or divisions moved, with sign
	Exact   float64      // what Count gives: mm, or rad
	Wish    Amount       // what was asked for
	Error   float64      // Exact less the wish, mm or rad; of a Set, where the axis comes to rest less where it was wished
	Name    string       // Swap: the bar; Note: the words
	Depth   float64      // SetDepth, mm
	Reading int          // the dial's count after the move
	Origin  fault.Origin // the line of the sequence that asks for it
}

// Rounding is what whole teeth make of the wishes on one axis. The sum begins
// with the start's own rounding, and begins again at every Set.
type Rounding struct {
	Axis Axis
	This float64 // error of the moves since the cut before, mm or rad
	Sum  float64 // running sum over the sequence, mm or rad
}

// Vertex is a place of the tip on the work.
type Vertex struct {
	X, Y   float64 // in the frame of the work, mm
	Z      float64 // height of the tip, mm; below 0 is in the metal
	Across float64 // direction in which the V lies, rad from the work's x axis, without jumps along a piece
}

// Piece is a stretch of a cut in which the cutter is in the field. Start is less
// than Stop; on a rose engine Start lies in [0, 2π) unless limits say otherwise,
// and Stop passes 2π where the piece runs through the spindle's zero.
type Piece struct {
	Start, Stop float64 // readings of the stroke, mm, or of the spindle, rad
	Closed      bool    // a full ring: Stop is Start + 2π, and the last vertex repeats the first
	Path        []Vertex
	Readings    []float64 // reading of the stroke or spindle at each vertex of Path
}

// Cut is one stroke of the crank or one turn of the spindle: the path of the
// tip over the work, the settings that give it, and the moves that lead to them.
type Cut struct {
	Number   int // from 1, in the order of cutting
	Settings Settings
	Moves    []Move  // since the cut before
	Position float64 // of the slide, mm
	Turned   float64 // index and chuck together, rad
	Phase    float64 // shift of the bar, mm, or of the rosette, rad
	Stray    Stray   // what the engine's known errors add; the path has it in
	Rounding []Rounding
	Depth    float64 // wished, below the nominal surface, mm
	Pieces   []Piece
	Origin   fault.Origin // the line of the sequence that cuts it
}

// Stray is how far slide and work really stand from where the counts put them.
type Stray struct {
	Position float64 // mm
	Turned   float64 // rad
}

// Closure says whether a sequence that goes round meets its own beginning.
type Closure struct {
	Axis   Axis
	Cuts   int     // cuts in the round
	Gap    float64 // what is missing (+) or too much (−), rad; mm for a bar shift
	Closes bool
	Text   string  // a sentence, with its numbers
	Offers []Offer // nearest whole settings that do close
	Origin fault.Origin
}

// Offer is a whole setting that closes a round.
type Offer struct {
	Circle int    // holes of the circle
	Count  int    // holes, teeth a step
	Cuts   int    // cuts in the round
	Text   string // in words
}

// Warning is something the operator should know before cutting: a heel that
// rubs, detail of the bar that the touchpiece loses.
type Warning struct {
	Kind   string // "heel", "parallel", "lost detail", "closure", "rounding"
	First  int    // first cut concerned; 0 for the whole job
	Last   int
	X, Y   float64 // where on the work it is worst, mm
	Margin float64 // how much is left (negative: how far past), rad for "heel"
	Text   string  // a sentence, with its numbers
	Origin fault.Origin
}

// List is the list of cuts with what was found while making it.
type List struct {
	Cuts             []Cut
	After            []Move // written after the last cut: they finish a round and cut nothing
	Circle           int    // of the index wheel that the counts belong to; 0 when it is not used
	SecondsPerStroke float64
	Closures         []Closure
	Warnings         []Warning
}
