package depth

import (
	"fmt"

	"brightcut/fault"
)

// Way is one of the ways to hold the depth of a cut.
type Way int

// The ways to hold depth.
const (
	ByGuide Way = iota + 1 // the foot rests on the work beside the cutter
	ByStop                 // a stop at a height of the machine, set in a good groove
	ByHand                 // the operator's pressure alone
	Fixed                  // a height of the machine that nothing refers to the work
)

var wayWords = [...]string{ByGuide: "guide", ByStop: "stop", ByHand: "hand", Fixed: "fixed height"}

// String returns "guide", "stop", "hand" or "fixed height".
func (w Way) String() string {
	if w < ByGuide || w > Fixed {
		return ""
	}
	return wayWords[w]
}

// Hold says how the depth of a run of cuts is held.
type Hold struct {
	First, Last int // numbers of the cuts, in the order in which they are cut
	By          Way

	// ByStop: the cutter rests in the groove of this earlier cut at this
	// reading, and the stop is set Lift above that. Groove 0 sets it on the
	// uncut work at the first cut of the run, at the wished depth.
	Groove  int
	Reading float64 // of the stroke, mm, or the spindle, rad
	Lift    float64 // mm

	// Height, mm. ByStop: of the tip at work in the machine, with its flex;
	// Predict fills it in. Fixed: how far above the engine's own heights, which
	// stand at the wished depth below the nominal surface, the cutter is set.
	Height float64

	kept bool // ByStop: Height is as it was set before
}

// String returns words such as "cuts 354–360 by the stop".
func (h Hold) String() string {
	return fmt.Sprintf("%s by %s", cutsFrom(h.First, h.Last), map[Way]string{ByGuide: "the guide", ByStop: "the stop", ByHand: "hand", Fixed: "a fixed height"}[h.By])
}

// cutsFrom names a run of cuts.
func cutsFrom(first, last int) string {
	if first == last {
		return fmt.Sprintf("cut %d", first)
	}
	return fmt.Sprintf("cuts %d–%d", first, last)
}

// Override is a hold that a job asks for, whatever the plan would choose.
type Override struct {
	From, To int // numbers of cuts in the plan's order; To 0 is From alone
	By       Way
	Groove   int      // ByStop: where to set it; 0 lets the plan choose
	Reading  *float64 // ByStop: reading at which to set it; nil lets the plan choose
}

// Advance is the order in which a sequence is cut.
type Advance int

// The ways to advance. The zero Advance lets the plan choose.
const (
	AsWritten Advance = iota + 1 // in the order of the job's sequence
	Reversed                     // the last cut of the job first
)

// String returns "as written" or "reversed".
func (a Advance) String() string {
	switch a {
	case AsWritten:
		return "as written"
	case Reversed:
		return "reversed"
	}
	return ""
}

// Wishes are what a job says about its plan. The zero Wishes leave everything to
// the plan.
type Wishes struct {
	Tolerance float64    // share of the width by which a groove may be off; 0 is DefaultTolerance, and Unseen has to be reckoned first
	Hold      []Override // in any order; they must not overlap
	Begin     int        // cut, as the job numbers it, that a closed sequence begins with; 0 lets the plan choose
	Advance   Advance    // 0 lets the plan choose
}

// DefaultTolerance is a twentieth of the width (common practice, no source).
const DefaultTolerance = 0.05

// Unseen stands for the tolerance that the eye sets: whoever makes the plan puts in
// its place the share of the width that just does not show.
const Unseen = -1

// Check returns what is wrong with the wishes for a job of n cuts, or of a
// number not yet known when n is 0. Fields: "tolerance", "begin", "advance",
// "hold[0].from", "hold[0].to", "hold[0].by", "hold[0].groove".
func (w *Wishes) Check(n int) fault.List {
	var l fault.List
	add := func(field, problem, mend string) {
		l = append(l, fault.Fault{Field: field, Problem: problem, Mend: mend})
	}
	beyond := func(cut int) bool { return cut < 1 || n > 0 && cut > n }
	last := "the last"
	if n > 0 {
		last = fmt.Sprint(n)
	}
	if w.Tolerance != Unseen && !(w.Tolerance >= 0 && w.Tolerance < 1) {
		add("tolerance", fmt.Sprintf("a groove cannot be off by %s of its width", short(w.Tolerance)), "give a share above 0 and below 1, such as 5 %, or write unseen")
	}
	if w.Begin != 0 && beyond(w.Begin) {
		add("begin", fmt.Sprintf("there is no cut %d to begin with", w.Begin), "give a cut of the job, from 1 to "+last)
	}
	if w.Advance < 0 || w.Advance > Reversed {
		add("advance", "there is no such order", "give as written or reversed")
	}
	for i, h := range w.Hold {
		at := fmt.Sprintf("hold[%d].", i)
		to := h.last()
		if beyond(h.From) {
			add(at+"from", fmt.Sprintf("there is no cut %d", h.From), "give a cut from 1 to "+last)
		} else if to < h.From || beyond(to) {
			add(at+"to", fmt.Sprintf("the cuts from %d to %d are no run of cuts", h.From, to), fmt.Sprintf("give a cut from %d to %s", h.From, last))
		}
		if h.By != ByGuide && h.By != ByStop && h.By != ByHand {
			add(at+"by", "this is no way to hold the depth", "give guide, stop or hand")
		}
		if h.Groove != 0 && (h.By != ByStop || h.Groove < 1 || h.Groove >= h.From) {
			add(at+"groove", fmt.Sprintf("the stop cannot be set in cut %d", h.Groove), "name a cut before the run, for a stop")
		}
		for j, o := range w.Hold[:i] {
			if h.From <= o.last() && o.From <= to {
				add(at+"from", fmt.Sprintf("%s are held twice, as hold[%d] has some of them", cutsFrom(h.From, to), j), "let the runs follow one another")
				break
			}
		}
	}
	return l
}

func (o Override) last() int {
	if o.To == 0 {
		return o.From
	}
	return o.To
}
