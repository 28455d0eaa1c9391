package depth

import (
	"math"
)

// Reference is the state of the ground that the guide's foot rests on.
type Reference int

// The states of the reference, the worse the later.
const (
	NoReference  Reference = iota // the guide is not used
	VirginGround                  // ground not cut before
	Crests                        // cut ground whose lands still stand at the surface; the foot may sink between them
	Lowered                       // cut ground whose crests lie below the surface
	KeepClear                     // ground that must stay unmarked
	OverWindow                    // the foot hangs over an open window
	OverEdge                      // the foot hangs over the edge of the work
)

var referenceWords = [...]string{"none", "virgin", "crests", "lowered", "keep clear", "window", "edge"}

// String returns "none", "virgin", "crests", "lowered", "keep clear", "window"
// or "edge".
func (r Reference) String() string {
	if r < 0 || int(r) >= len(referenceWords) {
		return ""
	}
	return referenceWords[r]
}

// Range is the least, the mean and the greatest of a quantity.
type Range struct{ Min, Mean, Max float64 }

// Place is the prediction for one place along a cut. Heights are mm above the
// nominal form.
type Place struct {
	Reading   float64 // of the stroke, mm, or the spindle, rad
	X, Y      float64 // on the work, mm
	Stock     float64 // height of the uncut work at the tip
	Tip       float64
	Depth     float64 // below the uncut work, mm
	Width     float64 // across the stroke, mm
	Ground    float64 // height at which the foot rests; that of the stock under it when the guide is not used
	FootX     float64 // of the foot, mm; the tip's own place without a guide
	FootY     float64
	Reference Reference
	Lowered   float64 // by how much the foot rests below the uncut work, mm
}

// CutDepth is the prediction for one cut.
type CutDepth struct {
	Number    int // in the order of cutting
	Written   int // in the order of the job
	By        Way
	Depth     Range     // mm
	Width     Range     // mm
	Reference Reference // the worst along the cut
	Lowered   float64   // the most along the cut, mm
	Scatter   float64   // standard deviation of the width by that of the hand's force, mm
	Step      float64   // greatest change of width from the cut before at one reading, mm; 0 for the first cut
	StepAt    float64   // that reading
	Out       float64   // share of the places off the wished width by more than the tolerance
}

// Spread sums a prediction up.
type Spread struct {
	Name   string  // "guide only", "stop only", "fixed height", "plan"
	Width  Range   // over all places, mm
	Step   float64 // greatest change of width between a cut and the next at one reading, mm
	StepTo int     // the cut it steps to
	StepAt float64 // the reading
	Within float64 // share of the places within the tolerance of the wished width
	Out    int     // cuts that leave the tolerance somewhere
}

// Prediction is the depth of every cut, each made on the ground that the cuts
// before it left.
type Prediction struct {
	Cuts   []CutDepth
	Holds  []Hold // as given, heights filled in, runs not named added
	Spread Spread
	Cell   float64 // of the ground, mm
	Pitch  float64 // between places, mm

	task  *task
	start []int // of each cut's places in columns; one more at the end
	columns
}

// columns hold what was found at each place.
type columns struct {
	stock, tip, ground []float32
	state              []uint8
}

func newColumns(n int) columns {
	return columns{make([]float32, n), make([]float32, n), make([]float32, n), make([]uint8, n)}
}

// Places returns what is predicted along a cut of the given number, in the order
// of its path.
func (p *Prediction) Places(number int) []Place {
	if number < 1 || number > len(p.Cuts) || p.task == nil {
		return nil
	}
	m := p.task
	spots := m.spots(nil, number-1)
	out := make([]Place, len(spots))
	for i := range spots {
		s := &spots[i]
		k := p.start[number-1] + i
		q := Place{
			Reading: s.reading, X: s.x, Y: s.y, Stock: float64(p.stock[k]), Tip: float64(p.tip[k]),
			Ground: float64(p.ground[k]), FootX: s.x, FootY: s.y, Reference: Reference(p.state[k]),
		}
		if p.Cuts[number-1].By == ByGuide {
			q.FootX, q.FootY = m.foot(s)
			q.Lowered = max(0, m.ground.stockAt(q.FootX, q.FootY)-q.Ground)
		}
		q.Depth = q.Stock - q.Tip
		q.Width = m.width(q.Depth)
		out[i] = q
	}
	return out
}

// At returns what is predicted at one reading of a cut, between the places to
// either side; ok is false where the cutter is not in the work.
func (p *Prediction) At(number int, reading float64) (q Place, ok bool) {
	places := p.Places(number)
	for i := 1; i < len(places); i++ {
		a, b := &places[i-1], &places[i]
		if !(a.Reading <= reading && reading <= b.Reading) || a.Reading == b.Reading || p.task.opens(number-1, i) {
			continue
		}
		t := (reading - a.Reading) / (b.Reading - a.Reading)
		near := a
		if t > 0.5 {
			near = b
		}
		mix := func(u, v float64) float64 { return u + float64((v-u)*t) }
		return Place{
			Reading: reading, X: mix(a.X, b.X), Y: mix(a.Y, b.Y), Stock: mix(a.Stock, b.Stock), Tip: mix(a.Tip, b.Tip),
			Depth: mix(a.Depth, b.Depth), Width: mix(a.Width, b.Width), Ground: mix(a.Ground, b.Ground),
			FootX: mix(a.FootX, b.FootX), FootY: mix(a.FootY, b.FootY),
			Reference: near.Reference, Lowered: mix(a.Lowered, b.Lowered),
		}, true
	}
	return Place{}, false
}

// tally gathers a Range.
type tally struct {
	min, max, sum float64
	n             int
}

func newTally() tally { return tally{min: math.Inf(1), max: math.Inf(-1)} }

func (t *tally) add(v float64) {
	t.min, t.max = min(t.min, v), max(t.max, v)
	t.sum += v
	t.n++
}

func (t *tally) join(u tally) {
	t.min, t.max = min(t.min, u.min), max(t.max, u.max)
	t.sum += u.sum
	t.n += u.n
}

func (t *tally) bounds() Range {
	if t.n == 0 {
		return Range{}
	}
	return Range{t.min, t.sum / float64(t.n), t.max}
}
