package depth

import (
	"context"
	"fmt"
	"math"
	"slices"

	"brightcut/fault"
)

// Predict works out the depth of every cut in the job's order, each on the ground
// that the cuts before it left. The foot rests on the ground beside the stroke as
// it was before that stroke: a groove being cut does not reach under its own
// foot. Cuts that no hold names are held by the guide, or at a fixed height when
// there is none.
//
// Its error is a fault.List for holds that cannot be, or ctx's own.
func Predict(ctx context.Context, w *Work, holds []Hold, tolerance float64) (*Prediction, error) {
	if tolerance == 0 {
		tolerance = DefaultTolerance
	}
	m, err := newTask(ctx, w, tolerance)
	if err != nil {
		return nil, err
	}
	all, err := m.complete(holds)
	if err != nil {
		return nil, err
	}
	defer m.ground.release()
	return m.predict(ctx, all, nil)
}

// complete sorts the holds and fills the runs that none names.
func (m *task) complete(holds []Hold) ([]Hold, error) {
	n := len(m.cuts)
	other := ByGuide
	if m.work.Guide == nil {
		other = Fixed
	}
	by := make([]int, n) // number of the hold, from 1
	var l fault.List
	for i, h := range holds {
		bad := func(field, problem, mend string) {
			l = append(l, fault.Fault{Field: fmt.Sprintf("hold[%d].%s", i, field), Problem: problem, Mend: mend})
		}
		switch {
		case h.First < 1 || h.Last < h.First || h.Last > n:
			bad("from", fmt.Sprintf("there are no cuts %d to %d", h.First, h.Last), fmt.Sprintf("give cuts from 1 to %d", n))
			continue
		case h.By < ByGuide || h.By > Fixed:
			bad("by", "this is no way to hold the depth", "give guide, stop or hand")
		case h.Groove != 0 && (h.Groove < 1 || h.Groove >= h.First):
			bad("groove", fmt.Sprintf("the stop cannot be set in cut %d", h.Groove), "name a cut before the run")
		case !finite(h.Reading, h.Lift, h.Height):
			bad("height", "it is not finite", "give a length")
		}
		if problem, mend := m.work.lacks(h.By); problem != "" {
			bad("by", problem, mend)
		}
		for k := h.First; k <= h.Last; k++ {
			if by[k-1] != 0 {
				bad("from", fmt.Sprintf("cut %d is held twice", k), "let the runs follow one another")
				break
			}
			by[k-1] = i + 1
		}
	}
	if err := l.Err(); err != nil {
		return nil, err
	}
	var out []Hold
	for k := 0; k < n; {
		to := k
		for to+1 < n && by[to+1] == by[k] {
			to++
		}
		h := Hold{By: other}
		if by[k] > 0 {
			h = holds[by[k]-1]
		}
		h.First, h.Last = k+1, to+1
		out = append(out, h)
		k = to + 1
	}
	return out, nil
}

// course is one prediction in the making.
type course struct {
	*task
	p       *Prediction
	feeler  feeler
	marks   marks
	spot    []spot
	widths  []float32
	before  []spot // those of the cut before
	earlier []float32
	lowered float64 // the most along the cut
	worn    float64 // how much the tip has receded before the cut, mm
	set     float64 // the same when the hold was set
}

// predict works the cuts out under complete holds. Cuts of prior that come before
// the first whose hold differs are taken from it.
func (m *task) predict(ctx context.Context, holds []Hold, prior *Prediction) (*Prediction, error) {
	n := len(m.cuts)
	p := &Prediction{
		Cuts: make([]CutDepth, n), Holds: slices.Clone(holds), task: m, start: make([]int, n+1),
		columns: m.columns(), Cell: m.ground.field.Cell, Pitch: m.pitch(),
	}
	c := &course{task: m, p: p, marks: marks{windows: m.work.Blank.KeepClear}}
	from := 0
	if prior != nil {
		from = c.follow(prior)
	}
	last := 0 // cut by the guide
	for _, h := range holds {
		if h.By == ByGuide {
			last = h.Last
		}
	}
	guided := last > from
	if guided {
		if err := m.ground.fresh(ctx); err != nil {
			return nil, err
		}
		c.feeler = newFeeler(m.ground, m.work.Guide)
	}
	hold := 0
	length := 0.0 // cut so far, mm
	for i := range n {
		if i%16 == 0 && ctx.Err() != nil {
			return nil, fmt.Errorf("depth: working out cut %d: %w", i+1, ctx.Err())
		}
		for p.Holds[hold].Last < i+1 {
			hold++
		}
		c.worn = float64(m.work.Wear * length)
		if p.Holds[hold].First == i+1 && p.Holds[hold].By == ByStop {
			c.set = c.worn
		} else if p.Holds[hold].By != ByStop {
			c.set = 0
		}
		if m.work.Wear > 0 {
			for j := range m.cuts[i].Pieces {
				length += m.cuts[i].Pieces[j].Length()
			}
		}
		carve := guided && i+1 < last
		if i < from-1 && !carve {
			continue
		}
		c.spot = m.spots(c.spot, i)
		if i >= from {
			c.cut(i, &p.Holds[hold])
		} else if i == from-1 {
			c.recall(i)
		}
		if carve {
			if err := m.ground.carve(shaped(&m.cuts[i], c.spot, p.tip[p.start[i]:][:len(c.spot)])); err != nil {
				return nil, fmt.Errorf("depth: cut %d: %w", i+1, err)
			}
		}
		c.spot, c.before = c.before, c.spot
		c.widths, c.earlier = c.earlier, c.widths
	}
	p.sumUp()
	return p, nil
}

// columns returns columns for all spots, those of a prediction that was dropped if
// there are any.
func (m *task) columns() columns {
	if c := m.spare; c.state != nil {
		m.spare = columns{}
		return c
	}
	return newColumns(m.total)
}

// drop takes the columns of a prediction that nobody asks any more.
func (m *task) drop(p *Prediction) {
	m.spare, p.columns = p.columns, columns{}
}

// follow takes over the cuts of prior that are held as here, and returns how many.
func (c *course) follow(prior *Prediction) int {
	p := c.p
	n := sameUpTo(p.Holds, prior.Holds)
	for i := range p.Holds {
		if p.Holds[i].First <= n {
			p.Holds[i].Height, p.Holds[i].Reading = prior.Holds[i].Height, prior.Holds[i].Reading
		}
	}
	copy(p.Cuts, prior.Cuts[:n])
	copy(p.start, prior.start[:n+1])
	k := prior.start[n]
	copy(p.stock, prior.stock[:k])
	copy(p.tip, prior.tip[:k])
	copy(p.ground, prior.ground[:k])
	copy(p.state, prior.state[:k])
	return n
}

// recall makes a cut taken over the one before the next.
func (c *course) recall(i int) {
	c.widths = resize(c.widths, len(c.spot))
	for j := range c.widths {
		k := c.p.start[i] + j
		c.widths[j] = float32(c.width(float64(c.p.stock[k]) - float64(c.p.tip[k])))
	}
}

// cut works out cut i, from 0.
func (c *course) cut(i int, h *Hold) {
	p, n := c.p, len(c.spot)
	k := p.start[i]
	p.start[i+1] = k + n
	col := columns{p.stock[k:][:n], p.tip[k:][:n], p.ground[k:][:n], p.state[k:][:n]}
	if i+1 == h.First && h.By == ByStop && !h.kept {
		h.Height = c.engage(h)
	}
	for j := range c.spot {
		s := &c.spot[j]
		col.stock[j] = float32(c.ground.stockAt(s.x, s.y))
	}
	c.hold(h, i, col)
	c.sum(h, i, col)
}

func (m *task) pitch() float64 {
	if m.work.Pitch != 0 {
		return m.work.Pitch
	}
	return 2 * m.ground.field.Cell
}

// sameUpTo returns how many cuts two lists of complete holds hold alike, with
// the cuts before them alike too.
func sameUpTo(a, b []Hold) int {
	n := 0
	for i := 0; i < len(a) && i < len(b); i++ {
		x, y := a[i], b[i]
		if x.First != y.First || x.By != y.By || x.By == ByStop && (x.Groove != y.Groove || x.Reading != y.Reading || x.Lift != y.Lift) || x.By == Fixed && x.Height != y.Height {
			break
		}
		n = min(x.Last, y.Last)
		if x.Last != y.Last {
			break
		}
	}
	return n
}

func resize(v []float32, n int) []float32 {
	if cap(v) < n {
		return make([]float32, n, n+n/4)
	}
	return v[:n]
}

// sum sums a cut up.
func (c *course) sum(h *Hold, i int, col columns) {
	out := &c.p.Cuts[i]
	*out = CutDepth{Number: i + 1, Written: c.written[i], By: h.By}
	depth, width := newTally(), newTally()
	wish := c.wished(i)
	c.widths = resize(c.widths, len(c.spot))
	off := 0
	for j := range c.spot {
		d := float64(col.stock[j]) - float64(col.tip[j])
		w := c.width(d)
		depth.add(d)
		width.add(w)
		c.widths[j] = float32(w)
		if math.Abs(w-wish) > c.tolerance*wish {
			off++
		}
		out.Reference = max(out.Reference, Reference(col.state[j]))
	}
	if h.By == ByGuide {
		out.Lowered = c.lowered
	}
	out.Depth, out.Width = depth.bounds(), width.bounds()
	out.Scatter = c.tan * c.give(h.By) * c.work.Pressure.Scatter
	if len(c.spot) > 0 {
		out.Out = float64(off) / float64(len(c.spot))
	}
	if i > 0 {
		out.Step, out.StepAt = step(c.spot, c.widths, c.before, c.earlier)
	}
}

// give returns the compliance that the hand's scatter works on, mm/N.
func (c *task) give(by Way) float64 {
	switch {
	case by == Fixed:
		return 0
	case by == ByStop:
		return c.work.Stop.Compliance
	case c.work.Guide != nil:
		return c.work.Guide.Compliance
	case c.work.Stop != nil:
		return c.work.Stop.Compliance
	}
	return 0
}

// step returns the greatest change of width between two cuts at one reading.
func step(spots []spot, widths []float32, before []spot, earlier []float32) (most, at float64) {
	for j := 0; j < len(spots); j++ {
		if spots[j].step == noStep {
			continue
		}
		k := spotAt(before, spots[j].step)
		if k < 0 {
			continue
		}
		// Both go on step by step.
		for ; j < len(spots) && k < len(before) && spots[j].step == before[k].step && spots[j].step != noStep; j, k = j+1, k+1 {
			if d := math.Abs(float64(widths[j]) - float64(earlier[k])); d > most {
				most, at = d, spots[j].reading
			}
		}
		j--
	}
	return most, at
}

// sumUp sums the cuts up.
func (p *Prediction) sumUp() {
	s, all, off := &p.Spread, newTally(), 0.0
	for i := range p.Cuts {
		k := &p.Cuts[i]
		if n := p.start[i+1] - p.start[i]; n > 0 {
			all.join(tally{k.Width.Min, k.Width.Max, k.Width.Mean * float64(n), n})
			off += math.Round(k.Out * float64(n))
		}
		if k.Step > s.Step {
			s.Step, s.StepTo, s.StepAt = k.Step, k.Number, k.StepAt
		}
		if k.Out > 0 {
			s.Out++
		}
	}
	s.Width, s.Within = all.bounds(), 1-off/float64(max(all.n, 1))
}
