package depth

import (
	"context"
	"math"
	"slices"
)

// What the choice of holds goes by.
const (
	mostRounds = 4 // of choosing and predicting afresh
	nearRuns   = 6 // cuts between two runs that are held as one, so that changes stay few
	aboutStart = 8 // cuts by which a stop may come in before or after the guide fails
)

// chooser seeks the holds of a task.
type chooser struct {
	*task
	ctx    context.Context
	wishes *Wishes
	forced []bool // of each cut: a wish holds it
	form   []form // of each cut, once asked for
	slots  [2]slot
}

// choose returns the holds whose prediction has the least cost, and that
// prediction. guided is that of the guide alone, nil when there is no guide.
func (m *task) choose(ctx context.Context, wishes *Wishes, guided *Prediction) (*Prediction, error) {
	c := &chooser{task: m, ctx: ctx, wishes: wishes, forced: make([]bool, len(m.cuts))}
	var fixed []Hold
	for _, o := range wishes.Hold {
		h := Hold{First: o.From, Last: o.last(), By: o.By, Groove: o.Groove}
		for i := h.First - 1; i < h.Last; i++ {
			c.forced[i] = true
		}
		fixed = append(fixed, h)
	}
	slices.SortFunc(fixed, func(a, b Hold) int { return a.First - b.First })
	best, err := c.begin(fixed, guided)
	if err != nil {
		return nil, err
	}
	for range mostRounds {
		holds := c.better(best)
		if holds == nil {
			break
		}
		next, err := m.predict(ctx, holds, best)
		if err != nil {
			return nil, err
		}
		if !(c.cost(next, 1, len(m.cuts)) < c.cost(best, 1, len(m.cuts))) {
			m.drop(next)
			break
		}
		if best != guided {
			m.drop(best)
		}
		best = next
	}
	if m.work.Stop != nil && len(fixed) == 0 && best.Spread.Out > 0 {
		p, err := m.alone(ctx, ByStop)
		if err != nil {
			return nil, err
		}
		if c.cost(p, 1, len(m.cuts)) < c.cost(best, 1, len(m.cuts)) {
			best = p
		}
	}
	return best, nil
}

// begin predicts the holds that the wishes ask for, with the guide in between; the
// stop, or the hand, when there is none.
func (c *chooser) begin(fixed []Hold, guided *Prediction) (*Prediction, error) {
	if len(fixed) == 0 && guided != nil {
		return guided, nil
	}
	n := len(c.cuts)
	if c.work.Guide != nil {
		return c.settle(fixed, guided)
	}
	var best *Prediction
	for _, by := range []Way{ByStop, ByHand} {
		if by == ByStop && c.work.Stop == nil {
			continue
		}
		holds := slices.Clone(fixed)
		for i := 0; i < n; i++ {
			if c.forced[i] {
				continue
			}
			to := i
			for to+1 < n && !c.forced[to+1] {
				to++
			}
			holds = append(holds, Hold{First: i + 1, Last: to + 1, By: by})
			i = to
		}
		p, err := c.settle(holds, nil)
		if err != nil {
			return nil, err
		}
		if best == nil || c.cost(p, 1, n) < c.cost(best, 1, n) {
			best = p
		}
	}
	return best, nil
}

// settle predicts holds after choosing where each stop is set.
func (c *chooser) settle(holds []Hold, guided *Prediction) (*Prediction, error) {
	all, err := c.complete(holds)
	if err != nil {
		return nil, err
	}
	p := guided
	for i := range all {
		if all[i].By != ByStop {
			continue
		}
		// Those before it have been settled: predicted with them, its groove is
		// known.
		if all[i].Groove == 0 && all[i].First > 1 {
			all[i].Groove = all[i].First - 1
		}
		if p == nil || i > 0 {
			trial := slices.Clone(all[:i+1])
			if trial[i].Last < len(c.cuts) {
				trial = append(trial, Hold{First: trial[i].Last + 1, Last: len(c.cuts), By: ByHand})
			}
			if p, err = c.predict(c.ctx, trial, p); err != nil {
				return nil, err
			}
		}
		c.set(&all[i], p)
	}
	return c.predict(c.ctx, all, p)
}

// set chooses the reading at which the stop of a hold is set: where the groove's
// height is the middle of those wished over the run. p tells the heights of the
// groove.
func (c *chooser) set(h *Hold, p *Prediction) {
	h.Lift = c.work.Stop.Lift(c.work.Pressure.Force)
	for _, o := range c.wishes.Hold {
		if o.By == ByStop && o.From <= h.First && h.First <= o.last() && o.Reading != nil {
			h.Reading = *o.Reading
			return
		}
	}
	low, high := math.Inf(1), math.Inf(-1)
	for i := h.First - 1; i < h.Last; i++ {
		f := c.formOf(i)
		low, high = min(low, f.low), max(high, f.high)
	}
	number := h.Groove
	if number == 0 {
		number = h.First
	}
	middle := (low+high)/2 - c.cuts[number-1].Depth
	groove := c.at(0, number-1).spots
	least := math.Inf(1)
	for j := range groove {
		s := &groove[j]
		z := c.ground.stockAt(s.x, s.y) - c.cuts[number-1].Depth - s.rise
		if h.Groove > 0 {
			z = float64(p.tip[p.start[number-1]+j]) - s.rise
		}
		// Of places as good, the one nearest the middle of the stroke.
		away := math.Abs(float64(j)-float64(len(groove))/2) / float64(len(groove)+1)
		if d := math.Abs(z-middle) + 1e-5*away; d < least {
			least, h.Reading = d, s.reading
		}
	}
}

// handSteps is how many standard deviations of the hand's scatter are reckoned
// with between neighbours: 3·√2.
const handSteps = 4.243

// cost is what a plan is judged by, over cuts first to last: the greatest step of
// width between neighbours, or the greatest excess over the tolerance, mm. A
// guide over ground to be kept clear is no plan at all.
func (c *chooser) cost(p *Prediction, first, last int) float64 {
	cost := 0.0
	for i := first - 1; i < last; i++ {
		k := &p.Cuts[i]
		if k.By == ByGuide && k.Reference == KeepClear {
			return math.Inf(1)
		}
		cost = max(cost, k.Step, c.excess(i, k.Width.Min), c.excess(i, k.Width.Max))
		if k.By == ByHand {
			cost = max(cost, c.handCost())
		}
	}
	return cost
}

// unknownHand is the share of the width that a hand is reckoned to be off by when
// its scatter is not known: enough for it to serve only where nothing else does
// (no source).
const unknownHand = 0.2

// handCost is the step to be reckoned with by hand.
func (c *chooser) handCost() float64 {
	if s := c.tan * c.give(ByHand) * c.work.Pressure.Scatter; s > 0 {
		return handSteps * s
	}
	return unknownHand * c.wished(0)
}

// better returns holds that should cost less than those of p, nil when there are
// none to be seen: the runs of cuts in which the guide fails are given to stop or
// hand.
func (c *chooser) better(p *Prediction) []Hold {
	changed := false
	holds := slices.Clone(p.Holds)
	for _, r := range c.failing(p) {
		if h, ok := c.mend(p, r[0], r[1]); ok {
			holds = replace(holds, h)
			changed = true
		}
	}
	if !changed {
		return nil
	}
	return holds
}

// failing lists the runs of free guided cuts that leave the tolerance or stand on
// ground they must not, first to last.
func (c *chooser) failing(p *Prediction) [][2]int {
	var out [][2]int
	for i := range p.Cuts {
		k := &p.Cuts[i]
		if c.forced[i] || k.By != ByGuide || k.Out == 0 && k.Reference != KeepClear {
			continue
		}
		if n := len(out); n > 0 && i+1-out[n-1][1] <= nearRuns && c.free(p, out[n-1][1], i+1) {
			out[n-1][1] = i + 1
		} else {
			out = append(out, [2]int{i + 1, i + 1})
		}
	}
	return out
}

// free says whether cuts first to last are guided by nobody's wish.
func (c *chooser) free(p *Prediction, first, last int) bool {
	for i := first - 1; i < last; i++ {
		if c.forced[i] || p.Cuts[i].By != ByGuide {
			return false
		}
	}
	return true
}

// mend returns the hold that serves a failing run best, and whether it is better
// than the guide.
func (c *chooser) mend(p *Prediction, first, last int) (best Hold, ok bool) {
	from, to := max(1, first-aboutStart-1), min(len(c.cuts), last+1)
	least := c.cost(p, from, to)
	try := func(h Hold, cost float64) {
		if cost < least {
			best, least, ok = h, cost, true
		}
	}
	if c.work.Stop != nil {
		for d := range 2*aboutStart + 1 {
			// The failing cut first, then before and after it by turns.
			start := first + (d+1)/2*(1-2*(d%2))
			if start < 1 || start > last || start < first && !c.free(p, start, first) {
				continue
			}
			h := Hold{First: start, Last: last, By: ByStop, Groove: start - 1}
			c.set(&h, p)
			try(h, c.stopCost(p, &h, from, to))
		}
	}
	try(Hold{First: first, Last: last, By: ByHand}, c.handCost())
	return best, ok
}

// stopCost is the cost of cuts from up to to if a stop held some of them and the
// others stayed as in p.
func (c *chooser) stopCost(p *Prediction, h *Hold, from, to int) float64 {
	height, depth := c.heightOf(h, p)
	cost := 0.0
	for i := from - 1; i < to; i++ {
		in := i+1 >= h.First && i+1 <= h.Last
		switch {
		case in:
			cost = max(cost, c.stopExcess(i, height, depth))
			if i+1 > h.First {
				cost = max(cost, c.tan*c.stepOf(i))
			}
		case i > h.Last || i+1 < h.First:
			cost = max(cost, c.cost(p, i+1, i+1))
		}
		if i == 0 || i+1 != h.First && i+1 != h.Last+1 {
			continue
		}
		// Into the run, or out of it.
		var here, before slot
		if in {
			here, before = c.stopped(0, i, height, depth), c.widths(1, p, i-1)
		} else {
			here, before = c.widths(0, p, i), c.stopped(1, i-1, height, depth)
		}
		d, _ := step(here.spots, here.v, before.spots, before.v)
		cost = max(cost, d)
		if !in {
			k := &p.Cuts[i]
			cost = max(cost, c.excess(i, k.Width.Min), c.excess(i, k.Width.Max))
		}
	}
	return cost
}

// heightOf returns the height at work of a stop that is set as h says, and the
// depth it is set for.
func (c *chooser) heightOf(h *Hold, p *Prediction) (height, depth float64) {
	number := max(h.Groove, 1)
	if h.Groove == 0 {
		number = h.First
	}
	groove := c.at(0, number-1).spots
	for j := range groove {
		if groove[j].reading == h.Reading {
			s := &groove[j]
			depth = c.cuts[number-1].Depth
			if h.Groove == 0 {
				return c.ground.stockAt(s.x, s.y) - depth - s.rise, depth
			}
			return float64(p.tip[p.start[number-1]+j]) - s.rise, depth
		}
	}
	return 0, c.cuts[number-1].Depth
}

// replace puts a hold into complete holds, in the place of what held its cuts.
func replace(holds []Hold, h Hold) []Hold {
	var out []Hold
	put := false
	for _, o := range holds {
		if o.Last < h.First || o.First > h.Last {
			if o.First > h.Last && !put {
				out, put = append(out, h), true
			}
			out = append(out, o)
			continue
		}
		if o.First < h.First {
			left := o
			left.Last = h.First - 1
			out = append(out, left)
		}
		if !put {
			out, put = append(out, h), true
		}
		if o.Last > h.Last {
			right := o
			right.First = h.Last + 1
			out = append(out, right)
		}
	}
	if !put {
		out = append(out, h)
	}
	return out
}
