package depth

import (
	"brightcut/engine"
)

// Plan is how the depth of a job's cuts is to be held.
type Plan struct {
	// Cuts in the plan's order, numbered in it, with the predicted heights of the
	// tip in their paths and the moves that lead from each to the next. Surface,
	// picture and sheet read these.
	Cuts    []engine.Cut
	Holds   []Hold
	Closed  bool    // the sequence goes round and meets its beginning
	Begin   int     // number in the job of the first cut of the plan
	Advance Advance // whether the job's order is turned round

	Tolerance  float64 // share of the wished width
	Prediction *Prediction
	GuideOnly  []CutDepth // by the guide alone in the job's order, nil without one; the plan's order may differ
	Compared   []Spread   // guide only, stop only, fixed height, plan: those that can be done
	Choices    []Choice   // every choice in a sentence, in the order in which it matters at the bench
	Trust      []Trust    // of each run held by the stop
}

// Choice is one choice of the plan.
type Choice struct {
	Kind   string  // "advance", "begin", "side", "guide", "stop", "trust", "hand", "fixed", "spread"; "warning" for what the plan cannot mend
	First  int     // first cut concerned, in the plan's order; 0 is the whole job
	Last   int     // last one
	Value  float64 // the number it rests on, mm; a share for advance and side, a count for some warnings
	Forced bool    // asked for by the job
	Text   string  // a sentence, with its numbers
}

// Trust is how far a stop may be relied on, for the tolerance of the width.
type Trust struct {
	Hold        int     // number of the hold, from 0
	First, Last int     // cuts round the run for which it would serve along the whole stroke; 0 when none
	From, To    float64 // readings for which it serves in every cut of the run
	Whole       bool    // it serves along the whole of every cut of the run
	Worst       float64 // greatest error of width in the run, mm
	SD          float64 // greatest standard uncertainty of the stock in the run, mm; 0 when it is not known
	Known       bool    // the whole run lies inside the readings
}
