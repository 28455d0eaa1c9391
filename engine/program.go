package engine

import (
	"fmt"
	"math"
	"math/big"
	"sort"
	"strings"

	"brightcut/fault"
)

// What a sequence may ask for at most. They bound time and memory before
// anything is worked out; a hand-cranked piece has a few hundred cuts, and at
// eight seconds a stroke 100 000 are a working month.
const (
	MaxCuts     = 100_000
	MaxMotions  = 1_000_000
	MaxVertices = 8_000_000
)

// node is an item of the sequence made ready to be worked.
type node struct {
	item    *Item
	field   string // where it stands: "sequence[0].do[1].step"
	axis    Axis   // of a motion that moves one; 0 otherwise
	body    []*node
	choices [][]*node
	reached int64 // how often the whole run comes to it
	next    int   // Alternate: how often the run has come to it so far
	fixed   *counted
	by      map[string]*counted // by the bar in place, for wishes in waves
}

// counted is what whole counts make of a wish.
type counted struct {
	wish  *big.Rat // in counts
	count int
	err   float64 // mm or rad
}

// program is a sequence made ready: checked, counted and settled in whole counts
// as far as that does not depend on the bar in place.
type program struct {
	setup  *Setup
	axes   [ChuckAxis + 1]axis
	circle int
	nodes  []*node
	swaps  bool // the bar changes on the way
	cuts   int64
	steps  int64 // motions and rounds of repeats
	starts [ChuckAxis + 1]counted
	names  []string // of bars and rosettes that are used, sorted
	faults fault.List
}

func (p *program) fault(n *node, problem, mend string) {
	p.faults = append(p.faults, fault.Fault{Origin: n.item.Origin, Field: n.field, Problem: problem, Mend: mend})
}

// program makes the sequence ready. Its faults are those that can be known
// before the first cut.
func (s *Setup) program() *program {
	p := &program{setup: s, axes: s.Engine.axes(0)}
	if len(s.Engine.Index.Circles) > 0 {
		p.axes = s.Engine.axes(s.Engine.Index.Circles[0]) // any circle: that the wheel is there is what counts here
	}
	used := map[string]bool{s.Bar: true}
	p.nodes = p.ready(s.Sequence, "sequence", func(i int) string { return fmt.Sprintf("sequence[%d]", i) }, used)
	for name := range used {
		if _, ok := s.Bars[name]; ok {
			p.names = append(p.names, name)
		}
	}
	sort.Strings(p.names)
	longest := &node{item: &Item{}, field: "sequence"}
	for most, i := int64(0), 0; i < len(p.nodes); i++ {
		before := p.steps
		p.tally(p.nodes[i:i+1], 1)
		if p.steps-before > most {
			longest, most = p.nodes[i], p.steps-before
		}
	}
	p.limit(longest)
	p.chooseCircle()
	p.axes = s.Engine.axes(p.circle)
	p.settle(p.nodes)
	p.settleStarts()
	return p
}

// motionKeys are the keys of the motions in a job.
var motionKeys = map[Motion]string{
	CutOne: "cut", Step: "step", Turn: "turn", Shift: "shift", Chuck: "chuck", Set: "set",
	SetDepth: "depth", Repeat: "repeat", Alternate: "alternate", Note: "note",
}

func (p *program) barWord() string {
	if p.setup.Engine.Kind == Rose {
		return "rosette"
	}
	return "bar"
}

// ready makes nodes of items, with the faults that each shows by itself.
func (p *program) ready(items []Item, place string, at func(int) string, used map[string]bool) []*node {
	nodes := make([]*node, 0, len(items))
	for i := range items {
		it := &items[i]
		n := &node{item: it, field: at(i)}
		key := motionKeys[it.Motion]
		if it.Motion == Swap {
			key = p.barWord()
		}
		n.field += "." + key
		nodes = append(nodes, n)
		switch it.Motion {
		case CutOne:
			p.readyCut(n)
		case Step:
			p.readyMove(n, SlideAxis)
		case Turn:
			p.readyMove(n, IndexAxis)
		case Shift:
			p.readyMove(n, ShiftAxis)
		case Chuck:
			p.readyMove(n, ChuckAxis)
		case Set:
			p.readyMove(n, it.Axis)
		case Swap:
			p.swaps = true
			used[it.Name] = true
			if _, ok := p.setup.Bars[it.Name]; !ok {
				p.fault(n, fmt.Sprintf("there is no %s %q in this job", p.barWord(), it.Name),
					"name one of: "+strings.Join(sortedNames(p.setup), ", "))
			}
		case SetDepth:
			p.readyDepth(n, n.field, it.Depth)
		case Repeat:
			if it.Count < 1 {
				p.fault(n, fmt.Sprintf("%d times is no repeat", it.Count), "repeat it at least once")
			}
			do := at(i) + ".do"
			if len(it.Body) == 0 {
				p.fault(n, "there is nothing to repeat", "list the motions under do")
			}
			n.body = p.ready(it.Body, do, func(j int) string { return fmt.Sprintf("%s[%d]", do, j) }, used)
		case Alternate:
			if len(it.Choices) == 0 {
				p.fault(n, "there is nothing to alternate", "list at least two choices")
			}
			for k, choice := range it.Choices {
				from := fmt.Sprintf("%s[%d]", n.field, k)
				n.choices = append(n.choices, p.ready(choice, from, func(j int) string {
					if len(choice) == 1 {
						return from
					}
					return fmt.Sprintf("%s[%d]", from, j)
				}, used))
			}
		case Note:
		default:
			p.fault(n, "this is no motion of the sequence", "use cut, step, turn, shift, chuck, set, depth, note, repeat or alternate")
		}
	}
	return nodes
}

func (p *program) readyCut(n *node) {
	it := n.item
	if it.Depth != 0 {
		p.readyDepth(n, n.field+".depth", it.Depth)
	}
	if it.Limits == nil {
		return
	}
	for _, f := range p.setup.limitFaults(*it.Limits) {
		f.Origin, f.Field = it.Origin, n.field+"."+f.Field
		p.faults = append(p.faults, f)
	}
}

func (p *program) readyDepth(n *node, field string, depth float64) {
	if problem, mend := p.setup.depthFault(depth); problem != "" {
		p.faults = append(p.faults, fault.Fault{Origin: n.item.Origin, Field: field, Problem: problem, Mend: mend})
	}
}

// readyMove checks that the engine has the axis and that the unit fits it.
func (p *program) readyMove(n *node, which Axis) {
	if which < SlideAxis || which > ChuckAxis {
		p.fault(n, "no axis is named", "set slide, index, shift or chuck")
		return
	}
	a := &p.axes[which]
	if n.item.Motion == Set {
		n.field += "." + axisKeys[which]
	}
	if a.count == nil {
		p.fault(n, p.setup.lacks(which), "leave this motion out, or name an engine that has it")
		return
	}
	n.axis = which
	if problem, mend := a.misfit(n.item.Amount.Unit); problem != "" {
		p.fault(n, problem, mend)
		n.axis = 0
	} else if v := n.item.Amount.Value; math.IsNaN(v) || math.IsInf(v, 0) {
		p.fault(n, "the amount is not a number", "give a number with its unit")
		n.axis = 0
	}
}

var axisKeys = [...]string{SlideAxis: "slide", IndexAxis: "index", ShiftAxis: "shift", ChuckAxis: "chuck"}

// lacks says that the engine has not got an axis.
func (s *Setup) lacks(which Axis) string {
	part := map[Axis]string{SlideAxis: "slide with a ratchet", IndexAxis: "index wheel", ShiftAxis: "bar shift", ChuckAxis: "graduated chuck"}[which]
	if which == ShiftAxis && s.Engine.Kind == Rose {
		part = "crossing wheel"
	}
	name := s.Engine.Name
	if name == "" {
		name = "this engine"
	}
	return fmt.Sprintf("%s has no %s", name, part)
}

func sortedNames(s *Setup) []string {
	var names []string
	for name := range s.Bars {
		names = append(names, name)
	}
	sort.Strings(names)
	return names
}

// tally counts how often every item is reached, without working the sequence:
// of an alternation reached t times, choice i of n comes t/n times and once
// more if i < t mod n, in whatever order they come.
func (p *program) tally(nodes []*node, reached int64) {
	for _, n := range nodes {
		n.reached = reached
		p.steps = add(p.steps, reached)
		switch n.item.Motion {
		case CutOne:
			p.cuts = add(p.cuts, reached)
		case Repeat:
			rounds := mul(reached, int64(max(n.item.Count, 0)))
			p.steps = add(p.steps, rounds)
			p.tally(n.body, rounds)
		case Alternate:
			for i, choice := range n.choices {
				t := reached / int64(len(n.choices))
				if int64(i) < reached%int64(len(n.choices)) {
					t++
				}
				p.tally(choice, t)
			}
		}
	}
}

// limit refuses what is too long, at the item that makes it so, and what cuts
// nothing.
func (p *program) limit(longest *node) {
	switch {
	case p.cuts > MaxCuts:
		p.fault(longest, fmt.Sprintf("the sequence makes %s cuts, more than the %d the program works out", many(p.cuts), MaxCuts),
			"repeat fewer times, or divide the work into several jobs")
	case p.steps > MaxMotions:
		p.fault(longest, fmt.Sprintf("the sequence makes %s motions, more than the %d the program works out", many(p.steps), MaxMotions),
			"repeat fewer times, or divide the work into several jobs")
	case p.cuts == 0 && len(p.faults) == 0:
		p.fault(&node{item: &Item{}, field: "sequence"}, "the sequence cuts nothing", "put a cut into it")
	}
}

func many(n int64) string {
	if n == math.MaxInt64 {
		return "more than 9e18"
	}
	return fmt.Sprint(n)
}

// add and mul stay at MaxInt64 where they would pass it. Both want arguments ≥ 0.
func add(a, b int64) int64 {
	if a > math.MaxInt64-b {
		return math.MaxInt64
	}
	return a + b
}

func mul(a, b int64) int64 {
	if a != 0 && b > math.MaxInt64/a {
		return math.MaxInt64
	}
	return a * b
}
