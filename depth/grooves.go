package depth

import (
	"slices"

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

// List returns the plan's Grooves with what the engine found that still holds for
// them. In another order than the job's, what follows its last cut comes no more,
// and warnings name no cuts.
func (p *Plan) List(l *engine.List) *engine.List {
	out := *l
	out.Cuts = p.Grooves()
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
