package depth

import (
	"context"

	"brightcut/engine"
)

// MakePlan chooses how to hold the depth of the job's cuts, so that the largest
// change of width between a cut and the next is least and the changes of hold are
// few. What the wishes fix is left as they say.
//
// Its error is a fault.List where work or wishes cannot be met, fields as in
// Work.Check and, under "plan.", Wishes.Check; or ctx's own.
func MakePlan(ctx context.Context, w *Work, wishes Wishes) (*Plan, error) {
	t, err := newTask(ctx, w, wishes.tolerance())
	if err != nil {
		return nil, err
	}
	defer t.ground.release()
	holds, err := t.complete(nil)
	if err != nil {
		return nil, err
	}
	p := &Plan{Begin: 1, Advance: AsWritten, Tolerance: wishes.tolerance()}
	if p.Prediction, err = t.predict(ctx, holds, nil); err != nil {
		return nil, err
	}
	p.Holds = p.Prediction.Holds
	p.Cuts = t.heights(p.Prediction)
	p.Compared = []Spread{p.Prediction.Spread}
	return p, nil
}

func (w *Wishes) tolerance() float64 {
	if w.Tolerance == 0 {
		return DefaultTolerance
	}
	return w.Tolerance
}

// heights returns the cuts with the predicted heights in their paths.
func (m *task) heights(p *Prediction) []engine.Cut {
	out := append([]engine.Cut(nil), m.cuts...)
	var spots []spot
	for i := range out {
		spots = m.spots(spots, i)
		out[i].Pieces = shaped(&out[i], spots, p.tip[p.start[i]:p.start[i+1]])
	}
	return out
}
