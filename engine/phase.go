package engine

import (
	"fmt"
	"maps"
	"math"
	"math/big"
	"slices"
)

// fineFraction is the error of a shift, as a share of a wave, below which
// nothing is said of a fraction that does not come out in whole teeth.
const fineFraction = 0.01

// phase says whether a phase that is shifted on the way round has come back to
// whole waves where the last ray meets the first.
func (p *program) phase(l *List, r round) (c Closure, ok bool) {
	a := &p.axes[ShiftAxis]
	bar := l.Cuts[0].Settings.Bar
	wave := p.setup.wave(bar)
	if a.count == nil || wave == nil {
		return c, false
	}
	var steps []int
	still := true
	for i := 1; i < len(l.Cuts); i++ {
		if l.Cuts[i].Settings.Bar != bar {
			return c, false
		}
		d := l.Cuts[i].Settings.Shift - l.Cuts[i-1].Settings.Shift
		still = still && d == 0
		steps = append(steps, d)
	}
	if still {
		return c, false
	}
	last := 0
	if r.closing {
		for _, m := range l.After {
			if m.Axis == ShiftAxis {
				last += m.Count
			}
		}
	} else {
		last = steps[r.first]
	}
	steps = append(steps, last)
	total := int64(0)
	for _, d := range steps {
		total += int64(d)
	}
	perWave := over(wave, a.count) // counts, perhaps not whole
	waves, _, fits := nearest(over(whole(total), perWave))
	if !fits {
		return c, false
	}
	gap := new(big.Rat).Sub(times(whole(int64(waves)), perWave), whole(total))
	if waves < 0 {
		gap.Neg(gap)
	}
	c = Closure{Axis: ShiftAxis, Cuts: len(l.Cuts), Gap: a.gives(gap), Closes: gap.Sign() == 0, Origin: p.origin(ShiftAxis)}
	in := fmt.Sprintf("%d waves", waves)
	if waves == 1 || waves == -1 {
		in = "one wave"
	} else if waves == 0 {
		in = "where it began"
	}
	if c.Closes {
		c.Text = fmt.Sprintf("In the round the phase comes back by %s.", in)
		if waves == 0 {
			c.Text = "In the round the phase comes back to where it began."
		}
		return c, true
	}
	words := millimetres
	if !a.linear {
		words = degrees
	}
	miss := "short of"
	if gap.Sign() < 0 {
		miss = "past"
	}
	c.Text = fmt.Sprintf("The phase does not close with the round: it comes %s %s %s.", words(math.Abs(c.Gap)), miss, in)
	c.Offers = p.phaseOffers(r, steps, perWave)
	c.Text += offered(c.Offers)
	return c, true
}

// phaseOffers returns steps of the shift that come back to whole waves and, for
// a shift to and fro, numbers of cuts that come out even.
func (p *program) phaseOffers(r round, steps []int, perWave *big.Rat) []Offer {
	a := &p.axes[ShiftAxis]
	var offers []Offer
	if k, uniform := even(steps); uniform {
		try := func(k int) bool {
			waves := over(whole(int64(k)*int64(len(steps))), perWave)
			if k == 0 || k < 0 != (steps[0] < 0) || !waves.IsInt() {
				return false
			}
			offers = append(offers, Offer{Count: k, Cuts: len(steps),
				Text: fmt.Sprintf("a shift of %s a cut, %s waves in the round", a.counts(k), waves.Num())})
			return true
		}
		for d := 1; d < farOffer && !try(k-d); d++ {
		}
		for d := 1; d < farOffer && !try(k+d); d++ {
		}
		return offers
	}
	for i := 1; i < len(steps)-1; i++ {
		if steps[i] != -steps[i-1] {
			return nil
		}
	}
	k, ok := even(r.steps)
	if !ok || r.axis.which != IndexAxis {
		return nil
	}
	all := r.per * abs(r.turns)
	try := func(rays int) bool {
		if rays < 2 || rays%2 != 0 || all%int64(rays) != 0 {
			return false
		}
		n := int(all / int64(rays))
		offers = append(offers, Offer{Circle: p.circle, Count: n * int(sign(int64(k))), Cuts: rays,
			Text: fmt.Sprintf("%d cuts, %s a step, so that to and fro come out even", rays, r.axis.counts(n))})
		return true
	}
	for d := 1; d < min(r.rays, farOffer) && !try(r.rays-d); d++ {
	}
	for d := 1; d < farOffer && !try(r.rays+d); d++ {
	}
	return offers
}

// fractions says which shifts by a fraction of a wave do not come out in whole
// teeth, so that as many of them as make whole waves do not come back.
func (p *program) fractions() []Closure {
	a := &p.axes[ShiftAxis]
	type fraction struct {
		bar, wave string
	}
	seen := map[fraction]int{}
	var out []Closure
	var sums []float64
	var texts []string
	walk(p.nodes, func(n *node) {
		if n.axis != ShiftAxis || n.reached == 0 || n.item.Motion != Shift || n.item.Amount.Unit != Waves {
			return
		}
		byBar := n.by
		if n.fixed != nil {
			byBar = map[string]*counted{p.setup.Bar: n.fixed}
		}
		for _, bar := range slices.Sorted(maps.Keys(byBar)) {
			c := byBar[bar]
			wave := p.setup.wave(bar)
			f := new(big.Rat).Abs(n.item.Amount.value())
			if wave == nil || f.IsInt() || !f.Denom().IsInt64() || f.Denom().Int64() > farOffer {
				continue
			}
			off := new(big.Rat).Sub(c.wish, whole(int64(c.count))) // teeth too few
			if c.wish.Sign() < 0 {
				off.Neg(off)
			}
			if share := float(over(times(off, a.count), wave)); math.Abs(share) <= fineFraction {
				continue
			}
			key := fraction{bar, f.String()}
			if i, ok := seen[key]; ok {
				sums[i] += c.err * float64(n.reached)
				continue
			}
			seen[key] = len(out)
			period := f.Denom().Int64()
			gap := a.gives(times(off, whole(period)))
			cl := Closure{Axis: ShiftAxis, Cuts: int(period), Gap: gap, Origin: n.item.Origin, Offers: p.fractionOffers(f, wave)}
			out = append(out, cl)
			sums = append(sums, c.err*float64(n.reached))
			wish, _ := new(big.Rat).Abs(c.wish).Float64()
			texts = append(texts, fmt.Sprintf("%s of %q is %.4g teeth of the %s and is worked as %d", n.item.Amount.words(), bar, wish, a.name, max(c.count, -c.count)))
		}
	})
	words := millimetres
	if !a.linear {
		words = degrees
	}
	for i := range out {
		sum := "back and forth cancel over the sequence"
		if math.Abs(sums[i]) > 1e-9 {
			sum = fmt.Sprintf("over the sequence that comes to %s", words(math.Abs(sums[i])))
		}
		out[i].Text = fmt.Sprintf("%s: %d such shifts miss whole waves by %s; %s.%s",
			texts[i], out[i].Cuts, words(math.Abs(out[i].Gap)), sum, offered(out[i].Offers))
	}
	return out
}

// fractionOffers returns the waves nearest to the one in place of which the
// fraction f is a whole number of teeth: other counts of bumps on a rosette,
// other lengths of wave on a bar.
func (p *program) fractionOffers(f, wave *big.Rat) []Offer {
	a := &p.axes[ShiftAxis]
	var offers []Offer
	if a.linear {
		low := floor(over(times(f, wave), a.count))
		for _, n := range []int64{low, low + 1} {
			if n > 0 {
				length := over(times(whole(n), a.count), f)
				offers = append(offers, Offer{Count: int(n), Text: fmt.Sprintf("a wave of %s, %s", millimetres(float(length)), a.counts(int(n)))})
			}
		}
		return offers
	}
	bumps := int64(math.Round(1 / float(wave)))
	try := func(b int64) bool {
		teeth := over(f, times(whole(max(b, 1)), a.count))
		if b < 1 || !teeth.IsInt() || !teeth.Num().IsInt64() {
			return false
		}
		n := int(teeth.Num().Int64())
		offers = append(offers, Offer{Count: n, Text: fmt.Sprintf("a rosette of %d bumps, %s", b, a.counts(n))})
		return true
	}
	for d := int64(1); d < min(bumps, farOffer) && !try(bumps-d); d++ {
	}
	for d := int64(1); d < farOffer && !try(bumps+d); d++ {
	}
	return offers
}

func floor(r *big.Rat) int64 {
	// Div rounds towards −∞ for a denominator above zero, which it always is.
	return new(big.Int).Div(r.Num(), r.Denom()).Int64()
}
