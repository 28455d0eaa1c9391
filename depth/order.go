package depth

import (
	"math"
	"slices"

	"brightcut/engine"

	"gonum.org/v1/gonum/spatial/r2"
)

// closed says whether the cuts go round once, by equal turns of the work, and
// meet their beginning: then the round may begin anywhere.
func (m *task) closed() bool {
	n := len(m.cuts)
	if n < 8 {
		return false
	}
	turn := m.cuts[1].Turned - m.cuts[0].Turned
	if math.Abs(math.Abs(turn)*float64(n)-2*math.Pi) > 1e-6 {
		return false
	}
	for i := range m.cuts {
		d := m.cuts[i].Turned - m.cuts[0].Turned - float64(float64(i)*turn)
		if math.Abs(math.Remainder(d, 2*math.Pi)) > 1e-6 || m.cuts[i].Position != m.cuts[0].Position {
			return false
		}
	}
	return true
}

// ahead returns the share of the way, by samples, along which the sequence moves
// towards the foot's side, so that the foot stands on ground not yet cut.
func (m *task) ahead() float64 {
	const pairs, places = 64, 16
	side := m.work.Guide.Side.sign()
	var before, here []spot
	to, all := 0.0, 0.0
	n := len(m.cuts) - 1
	for k := range min(n, pairs) {
		i := 1 + k*n/min(n, pairs)
		before, here = m.spots(before, i-1), m.spots(here, i)
		for q := range places {
			s := &here[min(len(here)-1, (2*q+1)*len(here)/(2*places))]
			j := -1
			if s.step != noStep {
				j = spotAt(before, s.step)
			}
			if j < 0 {
				continue
			}
			across := (float64((s.x-before[j].x)*s.ux) + float64((s.y-before[j].y)*s.uy)) * side
			all += math.Abs(across)
			to += max(0, across)
		}
		if len(here) == 0 {
			continue
		}
	}
	if all == 0 {
		return 1
	}
	return to / all
}

// closing returns how many of the last cuts of a closed round have the foot on or
// over the first one: those within g + w/2 of it, at the least radius.
func (m *task) closing() int {
	n := len(m.cuts)
	reach := m.work.Guide.Offset + m.wished(0)/2
	first := m.spots(nil, 0)
	var here []spot
	for k := 1; k < n; k++ {
		here = m.spots(here, n-k)
		near := false
		for j := range here {
			if here[j].step == noStep {
				continue
			}
			if i := spotAt(first, here[j].step); i >= 0 && math.Hypot(here[j].x-first[i].x, here[j].y-first[i].y) <= reach {
				near = true
				break
			}
		}
		if !near {
			return k - 1
		}
	}
	return n
}

// unevenness returns for each cut of a closed round, in the job's order, by how
// much the stock strays from its middle height, either way, over the k cuts that
// would close the round if it began with the cut after; the uncertainty of the
// form counts with it.
func (m *task) unevenness(k int, back bool) []float64 {
	n := len(m.cuts)
	low, high, doubt := make([]float64, n), make([]float64, n), make([]float64, n)
	const places = 24
	var spots []spot
	for i := range n {
		spots = m.spots(spots, i)
		low[i], high[i] = math.Inf(1), math.Inf(-1)
		for q := range places {
			if len(spots) == 0 {
				break
			}
			s := &spots[q*(len(spots)-1)/(places-1)]
			z, sd, _ := m.work.Stock.Height(r2.Vec{X: s.x, Y: s.y})
			low[i], high[i], doubt[i] = min(low[i], z), max(high[i], z), max(doubt[i], sd)
		}
	}
	out := make([]float64, n)
	for i := range n {
		a, b, d := math.Inf(1), math.Inf(-1), 0.0
		for j := range k + 1 {
			q := floorMod(i-j, n)
			if back {
				q = floorMod(i+j, n)
			}
			a, b, d = min(a, low[q]), max(b, high[q]), max(d, doubt[q])
		}
		out[i] = max(0, (b-a)/2) + d
	}
	return out
}

// ordered returns the task with the cuts in another order: a closed round from
// the given cut on, from 1, and any sequence turned round.
func (m *task) ordered(begin int, advance Advance, closed bool) *task {
	n := len(m.cuts)
	o := *m
	o.cuts, o.written = make([]engine.Cut, n), make([]int, n)
	for i := range n {
		q := i
		switch {
		case closed && advance == Reversed:
			q = floorMod(begin-1-i, n)
		case closed:
			q = floorMod(begin-1+i, n)
		case advance == Reversed:
			q = n - 1 - i
		}
		o.written[i] = q + 1
		o.cuts[i] = m.cuts[q]
		o.cuts[i].Number = i + 1
	}
	l := newLeads(m.cuts)
	for i := range n {
		c := &o.cuts[i]
		from, q := 0, o.written[i]-1 // the first cut is led to by way of the job's first
		if i > 0 {
			from = o.written[i-1] - 1
		}
		switch {
		case i > 0 && q == from+1 || i == 0 && q == 0:
			continue // as in the job
		case i == 0:
			c.Moves = slices.Concat(m.cuts[0].Moves, l.set(&m.cuts[0], &m.cuts[q]))
		default:
			c.Moves = l.lead(&m.cuts[from], &m.cuts[q])
		}
	}
	return &o
}

// leads makes the moves between cuts that do not follow one another in the job.
type leads struct {
	unit   [engine.ChuckAxis + 1]float64 // what one count of each axis gives, mm or rad; 0 when it never moves
	like   map[[2]int]engine.Move        // a move of the job by axis and count
	depths bool                          // the sequence sets depths
}

func newLeads(cuts []engine.Cut) *leads {
	l := &leads{like: map[[2]int]engine.Move{}}
	for i := range cuts {
		for _, m := range cuts[i].Moves {
			switch m.Motion {
			case engine.Step, engine.Turn, engine.Shift, engine.Chuck, engine.Set:
				if m.Count != 0 {
					l.unit[m.Axis] = m.Exact / float64(m.Count)
					if m.Motion != engine.Set {
						l.like[[2]int{int(m.Axis), m.Count}] = m
					}
				}
			case engine.SetDepth:
				l.depths = true
			}
		}
	}
	return l
}

func settings(c *engine.Cut) [engine.ChuckAxis + 1]int {
	return [engine.ChuckAxis + 1]int{
		engine.SlideAxis: c.Settings.Slide, engine.IndexAxis: c.Settings.Index,
		engine.ShiftAxis: c.Settings.Shift, engine.ChuckAxis: c.Settings.Chuck,
	}
}

// lead returns the moves from one cut to another: by counts, round the shorter
// way where an axis goes round.
func (l *leads) lead(from, to *engine.Cut) []engine.Move {
	motion := [...]engine.Motion{engine.SlideAxis: engine.Step, engine.IndexAxis: engine.Turn, engine.ShiftAxis: engine.Shift, engine.ChuckAxis: engine.Chuck}
	return l.between(from, to, func(a engine.Axis, count, reading int) engine.Move {
		if u := math.Abs(l.unit[a]); u > 0 && (a == engine.IndexAxis || a == engine.ChuckAxis) {
			round := int(math.Round(2 * math.Pi / u))
			count -= round * int(math.Round(float64(count)/float64(round)))
		}
		m := engine.Move{Motion: motion[a], Axis: a, Count: count, Exact: float64(count) * l.unit[a], Reading: reading}
		m.Wish = engine.Amount{Value: float64(count), Num: int64(count), Den: 1, Unit: engine.Teeth}
		if k, ok := l.like[[2]int{int(a), count}]; ok {
			m.Wish, m.Error, m.Origin = k.Wish, k.Error, k.Origin
		} else if k, ok := l.like[[2]int{int(a), -count}]; ok {
			m.Wish, m.Error, m.Origin = k.Wish, -k.Error, k.Origin
			m.Wish.Value, m.Wish.Num, m.Wish.Text = -m.Wish.Value, -m.Wish.Num, ""
		}
		return m
	})
}

// set returns the moves that bring the engine to a cut's settings by their
// readings.
func (l *leads) set(from, to *engine.Cut) []engine.Move {
	return l.between(from, to, func(a engine.Axis, count, reading int) engine.Move {
		return engine.Move{Motion: engine.Set, Axis: a, Count: count, Exact: float64(count) * l.unit[a], Reading: reading,
			Wish: engine.Amount{Value: float64(reading), Num: int64(reading), Den: 1, Unit: engine.Teeth}}
	})
}

func (l *leads) between(from, to *engine.Cut, move func(a engine.Axis, count, reading int) engine.Move) []engine.Move {
	var out []engine.Move
	if from.Settings.Bar != to.Settings.Bar {
		out = append(out, engine.Move{Motion: engine.Swap, Name: to.Settings.Bar, Origin: to.Origin})
	}
	if l.depths && from.Depth != to.Depth {
		out = append(out, engine.Move{Motion: engine.SetDepth, Depth: to.Depth, Origin: to.Origin})
	}
	f, t := settings(from), settings(to)
	for a := engine.SlideAxis; a <= engine.ChuckAxis; a++ {
		if d := t[a] - f[a]; d != 0 {
			if m := move(a, d, t[a]); m.Count != 0 || m.Motion == engine.Set {
				out = append(out, m)
			}
		}
	}
	for _, m := range to.Moves {
		if m.Motion == engine.Note {
			out = append(out, m)
		}
	}
	return out
}
