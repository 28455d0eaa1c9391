package engine

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"brightcut/fault"
)

const (
	mostOffers = 4
	// farOffer is how far from the wish, in rays, teeth or bumps, an offer is
	// looked for.
	farOffer = 2000
)

// closures says of everything in the sequence that ought to meet its own
// beginning whether it does. All is reckoned in whole counts and fractions.
func (p *program) closures(l *List) []Closure {
	var out []Closure
	for _, a := range []Axis{IndexAxis, ChuckAxis} {
		if r, ok := p.round(l, a); ok {
			out = append(out, p.roundClosure(r))
			if c, ok := p.phase(l, r); ok {
				out = append(out, c)
			}
		}
	}
	return append(out, p.fractions()...)
}

// round is a sequence that goes round on the index wheel or the chuck.
type round struct {
	axis    *axis
	cuts    int   // in all
	rays    int   // places round, the last one's way back to the first included
	steps   []int // counts from place to place
	first   int   // the cut, from 0, that the first step follows
	total   int64 // counts
	turns   int64 // whole turns that it ought to make, with sign
	per     int64 // counts a turn
	closing bool  // the sequence itself makes the last step
	origin  fault.Origin
}

// round finds out whether the cuts go round on an axis: whether their wishes
// come to whole turns or, if not, what they turn is within one step of it.
func (p *program) round(l *List, which Axis) (r round, ok bool) {
	a := &p.axes[which]
	if a.count == nil {
		return r, false
	}
	r = round{axis: a, cuts: len(l.Cuts), per: a.count.Denom().Int64(), origin: p.origin(which)}
	at := func(i int) int {
		if which == IndexAxis {
			return l.Cuts[i].Settings.Index
		}
		return l.Cuts[i].Settings.Chuck
	}
	off, set := 0.0, false // error of the moves; an axis set is a wish of its own
	errors := func(moves []Move) {
		for _, m := range moves {
			if m.Axis == which {
				off += m.Error
				set = set || m.Motion == Set
			}
		}
	}
	for i := 1; i < len(l.Cuts); i++ {
		if d := at(i) - at(i-1); d != 0 {
			if len(r.steps) == 0 {
				r.first = i - 1
			}
			r.steps = append(r.steps, d)
		}
		errors(l.Cuts[i].Moves)
	}
	if len(r.steps) == 0 {
		return r, false
	}
	back := 0
	for _, m := range l.After {
		if m.Axis == which {
			back += m.Count
			r.closing = true
		}
	}
	if r.closing {
		errors(l.After)
	} else {
		back = r.steps[0]
		for _, m := range l.Cuts[r.first+1].Moves {
			if m.Axis == which {
				off += m.Error
			}
		}
	}
	if back != 0 {
		r.steps = append(r.steps, back)
	}
	r.rays = len(r.steps)
	longest := int64(0)
	for _, d := range r.steps {
		r.total += int64(d)
		longest = max(longest, int64(max(d, -d)))
	}
	wish := float64(r.total)/float64(r.per) - off/(2*math.Pi)
	if q := math.Round(wish); !set && q != 0 && math.Abs(wish-q) < 1e-9 {
		r.turns = int64(q)
		return r, true
	}
	r.turns = int64(math.Round(float64(r.total) / float64(r.per)))
	gap := r.turns*r.per - r.total
	return r, r.turns != 0 && max(gap, -gap) < longest && longest*3 <= r.per
}

// origin returns the line of the first motion on an axis.
func (p *program) origin(which Axis) fault.Origin {
	var o fault.Origin
	walk(p.nodes, func(n *node) {
		if n.axis == which && n.reached > 0 && o == (fault.Origin{}) {
			o = n.item.Origin
		}
	})
	return o
}

// even returns the step when all are alike.
func even(steps []int) (k int, ok bool) {
	for _, d := range steps {
		if d != steps[0] {
			return 0, false
		}
	}
	return steps[0], true
}

func abs(n int64) int64 { return max(n, -n) }

func sign(n int64) int64 {
	if n < 0 {
		return -1
	}
	return 1
}

// roundClosure says by how much the round misses, and what would close it.
func (p *program) roundClosure(r round) Closure {
	a, turns := r.axis, abs(r.turns)
	gap := turns*r.per - r.total*sign(r.turns)
	c := Closure{
		Axis: a.which, Cuts: r.cuts / int(turns), Gap: a.at(int(gap)), Closes: gap == 0, Origin: r.origin,
	}
	round := "round"
	if turns > 1 {
		round = fmt.Sprintf("round %d times", turns)
	}
	if c.Closes {
		c.Text = fmt.Sprintf("%d cuts go %s and close.", r.cuts, round)
		return c
	}
	miss := "short of"
	if gap < 0 {
		miss = "past"
	}
	c.Text = fmt.Sprintf("The %d cuts do not close: going %s they come to %s (%s) %s the first.",
		r.cuts, round, a.counts(int(abs(gap))), degrees(math.Abs(c.Gap)), miss)
	c.Offers = p.roundOffers(r)
	c.Text += offered(c.Offers)
	return c
}

func offered(offers []Offer) string {
	if len(offers) == 0 {
		return ""
	}
	s := " It would close with "
	for i, o := range offers {
		if i > 0 {
			s += "; or "
		}
		s += o.Text
	}
	return s + "."
}

// roundOffers returns whole settings that close: first those with as many rays,
// then the nearest numbers of rays, on any circle of the wheel.
func (p *program) roundOffers(r round) []Offer {
	w := p.setup.Engine.Index
	if r.axis.which == ChuckAxis {
		w = p.setup.Engine.Chuck
	}
	turns, side := abs(r.turns), int(sign(r.turns))
	k, uniform := even(r.steps)
	if !uniform {
		return p.otherCircles(r, w)
	}
	perRay := max(1, r.cuts/r.rays)
	var offers []Offer
	offer := func(circle, rays int) bool {
		all := int64(circle) * int64(w.Worm) * turns
		if rays < 1 || all%int64(rays) != 0 {
			return false
		}
		step := int(all / int64(rays))
		o := Offer{Circle: circle, Count: step * side, Cuts: rays * perRay}
		o.Text = fmt.Sprintf("%s a step on the circle of %d, %d cuts", r.axis.counts(step), circle, o.Cuts)
		if r.axis.which == ChuckAxis {
			o.Text = fmt.Sprintf("%s a step, %d cuts", r.axis.counts(step), o.Cuts)
		}
		if !slices.Contains(offers, o) {
			offers = append(offers, o)
		}
		return true
	}
	for _, c := range w.Circles {
		offer(c, r.rays)
	}
	for _, c := range w.Circles {
		for d := 1; d < min(r.rays, farOffer) && !offer(c, r.rays-d); d++ {
		}
		for d := 1; d < farOffer && !offer(c, r.rays+d); d++ {
		}
	}
	// Nearest number of cuts first; then the present circle; then the nearest step.
	slices.SortStableFunc(offers, func(a, b Offer) int {
		far := func(o Offer) int { return max(o.Cuts-r.rays*perRay, r.rays*perRay-o.Cuts) }
		other := func(o Offer) int {
			if o.Circle == p.circle {
				return 0
			}
			return 1
		}
		apart := func(o Offer) int { return max(o.Count-k, k-o.Count) }
		return cmp.Or(cmp.Compare(far(a), far(b)), cmp.Compare(other(a), other(b)), cmp.Compare(apart(a), apart(b)))
	})
	return offers[:min(len(offers), mostOffers)]
}

// otherCircles tries the same wishes, however uneven, on every circle.
func (p *program) otherCircles(r round, w Wheel) []Offer {
	if r.axis.which != IndexAxis || !r.closing {
		return nil
	}
	var offers []Offer
	for _, c := range w.Circles {
		per := whole(int64(c) * int64(w.Worm))
		sum, fits := int64(0), c != p.circle
		walk(p.nodes, func(n *node) {
			if n.axis != IndexAxis || n.reached == 0 {
				return
			}
			k, _, ok := nearest(times(n.item.Amount.value(), per))
			fits = fits && ok && k != 0 && n.item.Amount.Unit != Teeth && n.item.Motion == Turn
			sum += n.reached * int64(k)
		})
		if fits && sum == r.turns*int64(c)*int64(w.Worm) {
			offers = append(offers, Offer{Circle: c, Cuts: r.cuts, Text: fmt.Sprintf("the same wishes on the circle of %d", c)})
		}
	}
	return offers[:min(len(offers), mostOffers)]
}
