package depth

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"brightcut/engine"
	"brightcut/fault"
)

// MakePlan chooses how to hold the depth of the job's cuts, so that the largest
// change of width between a cut and the next is least and the changes of hold are
// few. What the wishes fix is left as they say.
//
// Its error is a fault.List where work or wishes cannot be met, fields as in
// Work.Check and, under "plan.", Wishes.Check; or ctx's own.
func MakePlan(ctx context.Context, w *Work, wishes Wishes) (*Plan, error) {
	faults := wishes.Check(len(w.List.Cuts))
	for i := range faults {
		faults[i].Field = "plan." + faults[i].Field
	}
	for i, o := range wishes.Hold {
		if problem, mend := w.lacks(o.By); problem != "" {
			faults = append(faults, fault.Fault{Field: fmt.Sprintf("plan.hold[%d].by", i), Problem: problem, Mend: mend})
		}
	}
	if err := append(w.Check(), faults...).Err(); err != nil {
		return nil, err
	}
	t, err := newTask(ctx, w, wishes.tolerance())
	if err != nil {
		return nil, err
	}
	defer t.ground.release()
	m := &maker{task: t, wishes: &wishes, plan: &Plan{Tolerance: t.tolerance, Closed: t.closed()}}
	if err := m.compare(ctx); err != nil {
		return nil, err
	}
	order := m.order()
	guided := m.guided
	if order != t {
		if guided != nil { // of another order
			order.drop(guided)
			m.guided, guided = nil, nil
		}
		if w.Guide != nil && !wishes.holdsAll(len(t.cuts)) {
			if guided, err = order.alone(ctx, ByGuide); err != nil {
				return nil, err
			}
		}
	}
	p := m.plan
	if p.Prediction, err = order.choose(ctx, &wishes, guided); err != nil {
		return nil, err
	}
	p.Prediction.Spread.Name = "plan"
	p.Holds = p.Prediction.Holds
	p.Compared = append(p.Compared, p.Prediction.Spread)
	p.Cuts = order.heights(p.Prediction)
	c := &chooser{task: order, ctx: ctx, wishes: &wishes}
	for k := range p.Holds {
		if p.Holds[k].By == ByStop {
			p.Trust = append(p.Trust, c.trust(p.Prediction, k))
		}
	}
	m.say()
	return p, nil
}

// lacks says what the work has not got for a way to hold the depth.
func (w *Work) lacks(by Way) (problem, mend string) {
	switch {
	case by == ByGuide && w.Guide == nil:
		return "the job names no guide", "name a guide, or hold by stop or hand"
	case by == ByStop && w.Stop == nil:
		return "the job tells of no stop", "write stop: {compliance: …}, or hold by guide or hand"
	}
	return "", ""
}

func (w *Wishes) tolerance() float64 {
	if w.Tolerance == 0 {
		return DefaultTolerance
	}
	return w.Tolerance
}

// holdsAll says whether the wishes hold every one of n cuts.
func (w *Wishes) holdsAll(n int) bool {
	for _, o := range w.Hold {
		n -= o.last() - o.From + 1
	}
	return n <= 0
}

// maker makes a plan.
type maker struct {
	*task
	wishes *Wishes
	plan   *Plan
	guided *Prediction // by the guide alone, in the job's order; nil without a guide
	share  float64     // of the way on virgin ground, in the job's order
	offers []Choice    // about the order
}

// compare predicts each way alone, in the job's order.
func (m *maker) compare(ctx context.Context) error {
	type way struct {
		by   Way
		name string
	}
	var ways []way
	if m.work.Stop != nil {
		ways = append(ways, way{ByStop, "stop only"})
	}
	ways = append(ways, way{Fixed, "fixed height"})
	var group sync.WaitGroup
	spreads := make([]Spread, len(ways))
	errs := make([]error, len(ways))
	group.Go(func() { // these need no ground, and leave the other core to the guide
		t := *m.task
		for i, w := range ways {
			p, err := t.alone(ctx, w.by)
			if err != nil {
				errs[i] = err
				return
			}
			spreads[i] = p.Spread
			spreads[i].Name = w.name
			t.drop(p)
		}
	})
	var err error
	if m.work.Guide != nil {
		if m.guided, err = m.alone(ctx, ByGuide); err == nil {
			m.guided.Spread.Name = "guide only"
			m.plan.Compared = append(m.plan.Compared, m.guided.Spread)
			m.plan.GuideOnly = m.guided.Cuts
		}
	}
	group.Wait()
	for _, e := range append(errs, err) {
		if e != nil {
			return e
		}
	}
	m.plan.Compared = append(m.plan.Compared, spreads...)
	return nil
}

// alone predicts one way for all cuts.
func (m *task) alone(ctx context.Context, by Way) (*Prediction, error) {
	h := Hold{First: 1, Last: len(m.cuts), By: by}
	if by == ByStop {
		(&chooser{task: m, wishes: &Wishes{}}).set(&h, nil)
	}
	return m.predict(ctx, []Hold{h}, nil)
}

// order chooses which way to advance and where to begin.
func (m *maker) order() *task {
	p := m.plan
	p.Begin, p.Advance = 1, AsWritten
	if m.wishes.Advance != 0 {
		p.Advance = m.wishes.Advance
	} else if m.work.Guide != nil {
		m.share = m.ahead()
		// Below a half the foot stands on cut ground more than on virgin ground.
		if m.share < 0.45 {
			p.Advance = Reversed
		}
	}
	n := len(m.cuts)
	usual := 1
	if p.Advance == Reversed {
		usual = n
	}
	p.Begin = usual
	switch {
	case !p.Closed:
	case m.wishes.Begin != 0:
		p.Begin = m.wishes.Begin
	case m.work.Guide != nil && m.work.Stock != nil && m.work.Stop != nil:
		m.begin(usual)
	}
	if p.Begin == 1 && p.Advance == AsWritten {
		return m.task
	}
	return m.ordered(p.Begin, p.Advance, p.Closed)
}

// begin chooses the cut with which a closed round begins: so that those that
// close it, which the stop has to hold, lie where the stock is flattest.
func (m *maker) begin(usual int) {
	n := len(m.cuts)
	k := m.closing()
	if k < 1 || k > n/2 {
		return
	}
	back := m.plan.Advance == Reversed
	uneven := m.unevenness(k, back)
	// The cut before the first one closes the round.
	closes := func(begin int) int {
		if back {
			return floorMod(begin, n)
		}
		return floorMod(begin-2, n)
	}
	best := usual
	for b := 1; b <= n; b++ {
		if uneven[closes(b)] < uneven[closes(best)]-1e-9 {
			best = b
		}
	}
	const worth = 1e-4 // mm: a tenth of a micron is not worth a round begun elsewhere
	if uneven[closes(usual)]-uneven[closes(best)] < worth {
		return
	}
	m.plan.Begin = best
	m.offers = append(m.offers, Choice{Kind: "begin", Value: uneven[closes(best)], Text: m.beginWords(best, k, uneven[closes(best)], uneven[closes(usual)])})
}

// heights returns the cuts with the predicted heights in their paths.
func (m *task) heights(p *Prediction) []engine.Cut {
	out := slices.Clone(m.cuts)
	var spots []spot
	for i := range out {
		spots = m.spots(spots, i)
		out[i].Pieces = shaped(&out[i], spots, p.tip[p.start[i]:p.start[i+1]])
	}
	return out
}
