package engine

import (
	"fmt"
	"math/big"
	"slices"

	"brightcut/bar"
	"brightcut/fault"
)

// walk visits every node, outer before inner.
func walk(nodes []*node, visit func(*node)) {
	for _, n := range nodes {
		visit(n)
		walk(n.body, visit)
		for _, c := range n.choices {
			walk(c, visit)
		}
	}
}

// settle brings every wish to whole counts, where that does not depend on a bar
// that is changed on the way.
func (p *program) settle(nodes []*node) {
	walk(nodes, func(n *node) {
		if n.axis == 0 || n.axis == IndexAxis && p.circle == 0 {
			return
		}
		if n.item.Amount.Unit == Waves && p.swaps {
			n.by = map[string]*counted{}
			return
		}
		n.fixed = p.count(n, p.setup.Bar)
	})
}

// counted returns the whole counts of a motion with the named bar in place.
func (p *program) counted(n *node, bar string) *counted {
	if n.fixed != nil {
		return n.fixed
	}
	c, ok := n.by[bar]
	if !ok {
		c = p.count(n, bar)
		n.by[bar] = c
	}
	return c
}

// count brings a wish to the nearest whole count. A wish that comes to none is
// a fault: the operator would make no motion at all.
func (p *program) count(n *node, bar string) *counted {
	a, m := &p.axes[n.axis], n.item.Amount
	c, problem, mend := p.whole(a, m, bar)
	if problem == "" && c.count == 0 && c.wish.Sign() != 0 && n.item.Motion != Set {
		problem = fmt.Sprintf("%s is less than half of %s (%s) of the %s", m.words(), a.counts(1), a.worth(1), a.name)
		mend = fmt.Sprintf("give at least %s, %s", a.worth(1), a.counts(1))
		if a.which == IndexAxis {
			if circles := p.circlesFor(m); circles != "" {
				mend = circles
			}
		}
	}
	if problem != "" {
		p.fault(n, problem, mend)
	}
	return c
}

// whole brings an amount to the nearest whole count of the axis. When it cannot,
// it says why and returns no counts.
func (p *program) whole(a *axis, m Amount, bar string) (c *counted, problem, mend string) {
	none := &counted{wish: new(big.Rat)}
	var wave *big.Rat
	if a.which == ShiftAxis && p.setup.Engine.Kind == StraightLine && bar == "" {
		return none, "there is no bar to shift", "name a bar, or leave the shift out"
	}
	if m.Unit == Waves {
		if wave = p.setup.wave(bar); wave == nil {
			return none, fmt.Sprintf("the %s %q has no wave to count by", p.barWord(), bar), "give the shift in teeth or as " + map[bool]string{true: "a length", false: "an angle"}[a.linear]
		}
	}
	wish := a.inCounts(m, wave)
	if m.Unit == Teeth && !wish.IsInt() {
		return none, fmt.Sprintf("the %s cannot stop between two %s", a.name, a.many), "give a whole number of " + a.many
	}
	n, off, ok := nearest(wish)
	if !ok {
		return none, fmt.Sprintf("%s is more than %d %s", m.words(), mostCounts, a.many), "give a smaller amount"
	}
	return &counted{wish: wish, count: n, err: a.gives(off)}, "", ""
}

// wave returns the length of one wave of the named bar, mm, or one bump of the
// rosette as a share of a turn; nil when it has none.
func (s *Setup) wave(name string) *big.Rat {
	e, ok := s.Bars[name]
	if !ok {
		return nil
	}
	if e.Figure == bar.Blend && e.First != nil {
		e = *e.First
	}
	if s.Engine.Kind == Rose {
		n := e.Count
		if n == 0 {
			n = len(e.Heights)
		}
		if n < 1 {
			return nil
		}
		return new(big.Rat).SetFrac64(1, int64(n))
	}
	if e.Wave > 0 {
		return rational(e.Wave)
	}
	if e.Figure == bar.Points && len(e.Drawn) > 1 && e.Period() > 0 {
		return rational(e.Period())
	}
	return nil
}

// settleStarts brings the settings before the first cut to whole counts.
func (p *program) settleStarts() {
	for _, st := range p.setup.Starts {
		add := func(problem, mend string) {
			p.faults = append(p.faults, fault.Fault{Origin: st.Origin, Field: startField(st.Axis), Problem: problem, Mend: mend})
		}
		if st.Axis < SlideAxis || st.Axis > ChuckAxis {
			add("no axis is named", "set slide, index, shift or chuck")
			continue
		}
		a := &p.axes[st.Axis]
		if a.count == nil {
			if !(st.Axis == IndexAxis && len(p.setup.Engine.Index.Circles) > 0) {
				add(p.setup.lacks(st.Axis), "leave this start out")
			}
			continue
		}
		problem, mend := a.misfit(st.Amount.Unit)
		if problem == "" && !finite(st.Amount.Value) {
			problem, mend = "the amount is not a number", "give a number with its unit"
		}
		if problem == "" {
			var c *counted
			if c, problem, mend = p.whole(a, st.Amount, p.setup.Bar); problem == "" {
				p.starts[st.Axis] = *c
				if v := a.at(c.count); a.linear && !within(v, a.min, a.max) {
					problem = fmt.Sprintf("the %s starts at %s, outside its travel from %s to %s", a.name, millimetres(v), millimetres(a.min), millimetres(a.max))
					mend = "start within the travel"
				}
			}
		}
		if problem != "" {
			add(problem, mend)
		}
	}
}

func startField(a Axis) string {
	if a < SlideAxis || a > ChuckAxis {
		return "start"
	}
	return "start." + axisKeys[a]
}

// within allows for the last bits of a float64, not for a tooth.
func within(v, from, to float64) bool { return v >= from-1e-9 && v <= to+1e-9 }

// turned is a wish on the index wheel with how often it is worked.
type turned struct {
	amount Amount
	times  int64
}

// turns returns the wishes on the index wheel, the start's among them.
func (p *program) turns() []turned {
	var out []turned
	for _, st := range p.setup.Starts {
		if st.Axis == IndexAxis {
			out = append(out, turned{st.Amount, 1})
		}
	}
	walk(p.nodes, func(n *node) {
		if n.axis == IndexAxis && n.reached > 0 {
			out = append(out, turned{n.item.Amount, n.reached})
		}
	})
	return out
}

// chooseCircle takes the circle that the job names or, when it names none, the
// one that makes every wish exact, or else the least total error; of equals,
// the one with the fewest holes to count.
func (p *program) chooseCircle() {
	w := p.setup.Engine.Index
	if len(w.Circles) == 0 {
		return
	}
	if p.circle = p.setup.Circle; p.circle != 0 {
		return
	}
	circles := slices.Sorted(slices.Values(w.Circles))
	wishes := p.turns()
	for _, t := range wishes {
		if t.amount.Unit == Teeth && t.amount.Value != 0 && circles[0] != circles[len(circles)-1] {
			p.circle = circles[0]
			p.faults = append(p.faults, fault.Fault{Field: "index_circle",
				Problem: fmt.Sprintf("%s are counted in the sequence, but not on which circle", t.amount.words()),
				Mend:    "name the circle: " + numbers(circles)})
			return
		}
	}
	var least *big.Rat
	for _, c := range circles {
		if off, ok := misses(w, c, wishes); ok && (least == nil || off.Cmp(least) < 0) {
			p.circle, least = c, off
		}
	}
	if least == nil { // every circle is too coarse; the finest says so best
		p.circle = circles[len(circles)-1]
	}
}

// shownCircle returns the circle that the cuts' counts belong to: 0 when nothing
// is turned on the wheel and none is named.
func (p *program) shownCircle() int {
	if p.setup.Circle == 0 && len(p.turns()) == 0 {
		return 0
	}
	return p.circle
}

// misses returns the total error of the wishes on a circle, in turns; false
// when one of them comes to no hole at all.
func misses(w Wheel, circle int, wishes []turned) (*big.Rat, bool) {
	sum := new(big.Rat)
	per := whole(int64(circle) * int64(w.Worm))
	for _, t := range wishes {
		if t.amount.Unit == Teeth {
			continue
		}
		v := t.amount.value()
		n, off, ok := nearest(times(v, per))
		if !ok || n == 0 && v.Sign() != 0 {
			return nil, false
		}
		off.Abs(off)
		sum.Add(sum, times(over(off, per), whole(t.times)))
	}
	return sum, true
}

// circlesFor names the circles on which a wish can be worked.
func (p *program) circlesFor(m Amount) string {
	w := p.setup.Engine.Index
	var exact, near []int
	for _, c := range w.Circles {
		off, ok := misses(w, c, []turned{{m, 1}})
		switch {
		case !ok:
		case off.Sign() == 0:
			exact = append(exact, c)
		default:
			near = append(near, c)
		}
	}
	switch {
	case len(exact) > 0:
		return "use the circle of " + numbers(exact) + ", where it is exact"
	case len(near) > 0:
		return "use the circle of " + numbers(near) + ", where it comes to at least one hole"
	}
	return ""
}

// numbers lists circles: "96, 112 or 360".
func numbers(c []int) string {
	s := ""
	for i, n := range c {
		switch {
		case i == 0:
		case i == len(c)-1:
			s += " or "
		default:
			s += ", "
		}
		s += fmt.Sprint(n)
	}
	return s
}
