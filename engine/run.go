package engine

import (
	"context"
	"fmt"

	"brightcut/fault"
)

// runner works a program motion by motion, as the operator does, and writes
// down the cuts without their paths.
type runner struct {
	p       *program
	ctx     context.Context
	err     error
	reading [ChuckAxis + 1]int
	this    [ChuckAxis + 1]float64
	sum     [ChuckAxis + 1]float64
	moved   [ChuckAxis + 1]bool
	bar     string
	depth   float64
	moves   []Move // made since the start, those of a cut being a stretch of it
	from    int    // where the moves since the last cut begin
	past    []*stray
	strays  map[*node]*stray
	pending []*stray // met since the last cut
	cuts    []Cut
	nodes   []*node // that cut each of cuts
	bad     []bool  // cuts that stand past the travel
}

// stray is a motion that runs past the travel of its axis.
type stray struct {
	node        *node
	axis        *axis
	first, last int // cuts
	reading     int // the first one past the travel
	count       int // cuts that stand there
}

// run works the whole sequence.
func (p *program) run(ctx context.Context) (*runner, error) {
	r := &runner{p: p, ctx: ctx, bar: p.setup.Bar, depth: p.setup.Depth, strays: map[*node]*stray{}}
	r.cuts = make([]Cut, 0, p.cuts)
	r.nodes = make([]*node, 0, p.cuts)
	r.bad = make([]bool, 0, p.cuts)
	for i := range p.starts {
		r.reading[i] = p.starts[i].count
		r.sum[i] = p.starts[i].err
	}
	r.work(p.nodes)
	return r, r.err
}

func (r *runner) work(nodes []*node) {
	for _, n := range nodes {
		if r.err != nil {
			return
		}
		switch it := n.item; it.Motion {
		case CutOne:
			r.cut(n)
		case Repeat:
			for range it.Count {
				r.work(n.body)
			}
		case Alternate:
			choice := n.choices[n.next%len(n.choices)]
			n.next++
			r.work(choice)
		case Swap:
			if r.bar != it.Name {
				r.bar = it.Name
				r.moves = append(r.moves, Move{Motion: Swap, Name: it.Name, Origin: it.Origin})
			}
		case SetDepth:
			if r.depth != it.Depth {
				r.depth = it.Depth
				r.moves = append(r.moves, Move{Motion: SetDepth, Depth: it.Depth, Origin: it.Origin})
			}
		case Note:
			r.moves = append(r.moves, Move{Motion: Note, Name: it.Name, Origin: it.Origin})
		default:
			r.move(n)
		}
	}
}

// move brings an axis on by the motion's whole counts.
func (r *runner) move(n *node) {
	c, a := r.p.counted(n, r.bar), &r.p.axes[n.axis]
	m := Move{Motion: n.item.Motion, Axis: n.axis, Count: c.count, Wish: n.item.Amount, Error: c.err, Origin: n.item.Origin}
	if n.item.Motion == Set {
		m.Count -= r.reading[n.axis]
		r.this[n.axis], r.sum[n.axis] = c.err, c.err
	} else {
		r.this[n.axis] += c.err
		r.sum[n.axis] += c.err
	}
	r.moved[n.axis] = true
	if m.Count == 0 {
		return // nothing for the operator to do
	}
	r.reading[n.axis] += m.Count
	m.Exact, m.Reading = a.at(m.Count), r.reading[n.axis]
	r.moves = append(r.moves, m)
	if a.linear && !within(a.at(m.Reading), a.min, a.max) {
		s := r.strays[n]
		if s == nil {
			s = &stray{node: n, axis: a}
			r.strays[n] = s
		}
		if s.count == 0 {
			s.reading = m.Reading
		}
		r.pending = append(r.pending, s)
	}
}

// cut writes down a cut where the engine stands.
func (r *runner) cut(n *node) {
	number := len(r.cuts) + 1
	if number%1024 == 0 {
		if r.err = r.ctx.Err(); r.err != nil {
			return
		}
	}
	axes := &r.p.axes
	c := Cut{
		Number: number,
		Settings: Settings{
			Slide: r.reading[SlideAxis], Index: r.reading[IndexAxis], Shift: r.reading[ShiftAxis], Chuck: r.reading[ChuckAxis], Bar: r.bar,
		},
		Depth:  r.depth,
		Origin: n.item.Origin,
	}
	if n.item.Depth != 0 {
		c.Depth = n.item.Depth
	}
	at := func(a Axis) float64 {
		if axes[a].count == nil {
			return 0
		}
		return axes[a].at(r.reading[a])
	}
	c.Position, c.Turned, c.Phase = at(SlideAxis), at(IndexAxis)+at(ChuckAxis), at(ShiftAxis)
	c.Stray = Stray{r.p.setup.Engine.Slide.Stray(c.Settings.Slide), r.p.setup.Engine.Index.Stray(c.Settings.Index, r.p.circle)}
	if r.from < len(r.moves) {
		c.Moves = r.moves[r.from:len(r.moves):len(r.moves)]
		r.from = len(r.moves)
	}
	told := 0
	for a := SlideAxis; a <= ChuckAxis; a++ {
		if r.moved[a] || r.sum[a] != 0 {
			told++
		}
	}
	if told > 0 {
		c.Rounding = make([]Rounding, 0, told)
		for a := SlideAxis; a <= ChuckAxis; a++ {
			if r.moved[a] || r.sum[a] != 0 {
				c.Rounding = append(c.Rounding, Rounding{Axis: a, This: r.this[a], Sum: r.sum[a]})
			}
			r.moved[a], r.this[a] = false, 0
		}
	}
	r.note(number)
	r.cuts = append(r.cuts, c)
	r.nodes = append(r.nodes, n)
	r.bad = append(r.bad, len(r.pending) > 0 || r.outside())
	r.pending = r.pending[:0]
}

// note charges a cut to the motions that ran past the travel before it.
func (r *runner) note(number int) {
	for _, s := range r.pending {
		if s.last == number {
			continue
		}
		if s.count == 0 {
			s.first = number
			r.past = append(r.past, s)
		}
		s.last = number
		s.count++
	}
}

func (r *runner) outside() bool {
	for a := SlideAxis; a <= ChuckAxis; a++ {
		if x := &r.p.axes[a]; x.linear && !within(x.at(r.reading[a]), x.min, x.max) {
			return true
		}
	}
	return false
}

// after returns the moves behind the last cut.
func (r *runner) after() []Move { return r.moves[r.from:] }

// strayFaults says which motions run past the travel, one fault each.
func (r *runner) strayFaults() fault.List {
	var l fault.List
	for _, s := range r.past {
		a := s.axis
		at := a.at(s.reading)
		end := fmt.Sprintf("ends at %s", millimetres(a.max))
		if at < a.min {
			end = fmt.Sprintf("begins at %s", millimetres(a.min))
		}
		which := fmt.Sprintf("cut %d", s.first)
		if s.count > 1 {
			which = fmt.Sprintf("%d cuts from cut %d on", s.count, s.first)
		}
		l = append(l, fault.Fault{
			Origin: s.node.item.Origin, Field: s.node.field,
			Problem: fmt.Sprintf("the %s would stand at %s (%s) for cut %d, and its travel %s; %s cannot be reached",
				a.name, millimetres(at), a.counts(s.reading), s.first, end, which),
			Mend: "start elsewhere, step less or repeat fewer times",
		})
	}
	return l
}
