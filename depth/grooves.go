package depth

import (
	"fmt"
	"slices"
	"strings"

	"brightcut/engine"
)

// Grooves returns the plan's cuts with the heights of the tip below the uncut
// work in their paths, where Cuts has them in the machine: what is left on the
// work when its bow is looked away from. A carver begins with a level surface and
// needs these.
func (p *Plan) Grooves() []engine.Cut {
	q := p.Prediction
	out := slices.Clone(p.Cuts)
	var spots []spot
	var below []float32
	for i := range out {
		spots = q.task.spots(spots, i)
		below = below[:0]
		for k := q.start[i]; k < q.start[i+1]; k++ {
			below = append(below, q.tip[k]-q.stock[k])
		}
		out[i].Pieces = shaped(&q.task.cuts[i], spots, below)
	}
	return out
}

// List returns the plan's Grooves, with a note where the hold changes, and what the
// engine found that still holds for them. In another order than the job's, what follows its last cut comes no more,
// and warnings name no cuts.
func (p *Plan) List(l *engine.List) *engine.List {
	out := *l
	out.Cuts = p.Grooves()
	for k := 1; k < len(p.Holds); k++ {
		c := &out.Cuts[p.Holds[k].First-1]
		c.Moves = append([]engine.Move{{Motion: engine.Note, Name: p.change(k)}}, c.Moves...)
	}
	if p.Begin == 1 && p.Advance != Reversed {
		return &out
	}
	out.After = nil
	out.Warnings = slices.Clone(l.Warnings)
	for i := range out.Warnings {
		w := &out.Warnings[i]
		w.First, w.Last = 0, 0
		w.Text += " Cuts are numbered here as the job has them."
	}
	return &out
}

// Written returns the number that the job has for cut n of the plan.
func (p *Plan) Written(n int) int {
	if w := p.Prediction.task.written; w != nil {
		return w[n-1]
	}
	return n
}

// change says what to do before the first cut of hold k, from 1.
func (p *Plan) change(k int) string {
	h := &p.Holds[k]
	from := map[Way]string{ByGuide: "Retract the guide", ByStop: "Back off the stop"}[p.Holds[k-1].By]
	var to string
	switch h.By {
	case ByGuide:
		to = "let the guide down"
	case ByStop:
		to = fmt.Sprintf("engage the stop, set %s above the groove of cut %d at %s", micron(h.Lift), h.Groove, p.Prediction.task.reading(h.Reading))
		if h.Lift < 5e-5 {
			to = fmt.Sprintf("engage the stop, set in the groove of cut %d at %s", h.Groove, p.Prediction.task.reading(h.Reading))
		}
	case ByHand:
		to = "go on by hand"
	default:
		to = "go on at a fixed height"
	}
	if from == "" {
		return strings.ToUpper(to[:1]) + to[1:] + "."
	}
	return from + " and " + to + "."
}
