package engine

import (
	"fmt"
	"math"
	"sort"
)

const (
	// nearParallel is how near the V's own plane a path may run, rad: within
	// it a groove is less than a sixth as wide across the path as the V is.
	// (Common practice, no source: no bar of the trade is as steep.)
	nearParallel = 10 * math.Pi / 180
	// roundingShare is the share of a step or a wave that roundings may add
	// up to before it is said.
	roundingShare = 0.1
)

// warnings gathers what the operator should know, in the order of the cuts.
func (w *work) warnings(l *List) []Warning {
	out := w.detail()
	for _, c := range l.Closures {
		if !c.Closes {
			out = append(out, Warning{Kind: "closure", Last: len(l.Cuts), Margin: -math.Abs(c.Gap), Text: c.Text, Origin: c.Origin})
		}
	}
	out = append(out, w.roundings()...)
	return append(out, w.heels()...)
}

// detail says what of the bars' edges the touchpiece cannot reach.
func (w *work) detail() []Warning {
	var names []string
	for name := range w.paths {
		names = append(names, name)
	}
	sort.Strings(names)
	var out []Warning
	for _, name := range names {
		r := w.paths[name].Report()
		deepest := 0.0
		for _, x := range r.Lost {
			deepest = max(deepest, x.Depth)
		}
		if deepest <= w.chord {
			continue
		}
		out = append(out, Warning{Kind: "lost detail", Margin: -deepest,
			Text: fmt.Sprintf("The nose of %.4g mm cannot reach the bottom of %q: it stays off by up to %.3g um, at %d places of the edge.",
				w.setup.Touch, name, deepest*1000, len(r.Lost))})
	}
	return out
}

// steepest is where a cut runs farthest from square to its V.
type steepest struct {
	tan     float64 // with the plunge, as slope of a level path
	reading float64
}

// slope finds the steepest place of the cut's pieces, to the size of a cell.
//
// A path that rises or plunges at φ as well as sloping by ψ rubs when
// tan ψ·cos α + tan φ·sin α > tan κ: the flank's normal in the plane of the face
// is (cos α, sin α) for across and endwise. Divided by cos α that is a level
// path of slope tan ψ + tan φ·tan α.
func (w *work) slope(i int, enough float64) (s steepest) {
	t := w.tip(&w.run.cuts[i])
	m := t.motion
	if len(m.steep) == 0 {
		return s
	}
	half := math.Tan(w.setup.Cutter.Half())
	tan := func(cell int) float64 {
		v := m.steep[cell]
		if m.climb != nil {
			v += m.climb[cell] * half
		}
		if t.rose {
			v /= t.position + min(m.lift[cell], m.lift[cell+1])
		}
		return v
	}
	if !t.rose && m.steepest <= enough {
		return s
	}
	n := len(m.steep)
	for _, p := range w.spans[i] {
		from, to := m.cell(p.from+t.phase), m.cell(p.to+t.phase)
		to = min(to, from+n-1) // one period holds every slope
		for g := from; g <= to; g++ {
			turn := floorDiv(g, n)
			k := g - turn*n
			if v := tan(k); v > s.tan {
				s.tan = v
				mid := m.at[k] + (m.at[k+1]-m.at[k])/2 + float64(turn)*m.period - t.phase
				s.reading = min(max(mid, p.from), p.to)
			}
		}
	}
	return s
}

// cell returns the number of the cell that holds u, counted on through the
// periods.
func (m *motion) cell(u float64) int {
	turn := 0.0
	if m.period > 0 {
		turn = math.Floor((u - m.from) / m.period)
		u -= turn * m.period
	}
	n := len(m.steep)
	k := sort.Search(n, func(i int) bool { return m.at[i+1] > u })
	return int(turn)*n + min(k, n-1)
}

// heels says where the cutter's heel rubs, and where a path runs along the V's
// own plane. Consecutive cuts share one warning.
func (w *work) heels() []Warning {
	limit := w.setup.Cutter.HeelLimit()
	heel, along := math.Tan(limit), math.Tan(math.Pi/2-nearParallel)
	var out []Warning
	open := [2]int{-1, -1} // of heels and of parallels: the one that reaches to the cut before
	for i := range w.run.cuts {
		s := w.slope(i, min(heel, along))
		psi := math.Atan(s.tan)
		for kind, least := range [2]float64{heel, along} {
			if s.tan <= least {
				open[kind] = -1
				continue
			}
			name, margin := "heel", limit-psi
			if kind == 1 {
				name, margin = "parallel", math.Pi/2-nearParallel-psi
			}
			n := i + 1
			if open[kind] < 0 {
				open[kind] = len(out)
				out = append(out, Warning{Kind: name, First: n, Margin: math.Inf(1), Origin: w.run.cuts[i].Origin})
			}
			o := &out[open[kind]]
			o.Last = n
			if margin < o.Margin-1e-12 {
				t := w.tip(&w.run.cuts[i])
				v := t.at(s.reading)
				o.Margin, o.X, o.Y = margin, v.X, v.Y
			}
		}
	}
	for i := range out {
		o := &out[i]
		which := cutRanges([]int{o.First})
		if o.Last > o.First {
			which = fmt.Sprintf("cuts %d–%d", o.First, o.Last)
		}
		place := fmt.Sprintf("worst at x %.2f, y %.2f mm", o.X, o.Y)
		if o.Kind == "heel" {
			o.Text = fmt.Sprintf("The heel rubs in %s: the path slopes by %.1f deg, and the cutter clears up to %.1f deg; %s.",
				which, (limit-o.Margin)*180/math.Pi, limit*180/math.Pi, place)
		} else {
			o.Text = fmt.Sprintf("The path of %s runs within %s of the V's own plane, where the groove has next to no width; %s.",
				which, degrees(nearParallel+o.Margin), place)
		}
	}
	return out
}

// roundings says on which axes the errors of whole counts add up to more than a
// share of the step or the wave.
func (w *work) roundings() []Warning {
	var out []Warning
	p := w.run.p
	for a := SlideAxis; a <= ChuckAxis; a++ {
		x := &p.axes[a]
		if x.count == nil {
			continue
		}
		least := math.Inf(1) // the smallest move of the axis
		for i := range w.run.cuts {
			for _, m := range w.run.cuts[i].Moves {
				if m.Axis == a && m.Motion != Set {
					least = min(least, math.Abs(m.Exact))
				}
			}
		}
		first, worst := 0, 0.0
		waves := map[string]float64{}
		for name := range w.motions {
			if wave := w.setup.wave(name); a == ShiftAxis && wave != nil {
				waves[name] = x.gives(over(wave, x.count))
			}
		}
		for i := range w.run.cuts {
			c := &w.run.cuts[i]
			against := least
			if wave, ok := waves[c.Settings.Bar]; ok {
				against = wave
			}
			for _, r := range c.Rounding {
				if r.Axis != a || math.Abs(r.Sum) <= roundingShare*against*(1+1e-9) {
					continue
				}
				if first == 0 {
					first = c.Number
				}
				if math.Abs(r.Sum) > math.Abs(worst) {
					worst = r.Sum
				}
			}
		}
		if first == 0 {
			continue
		}
		words, of := millimetres, "the step"
		if !x.linear {
			words = degrees
		}
		if a == ShiftAxis {
			of = "a wave"
		}
		out = append(out, Warning{Kind: "rounding", First: first, Last: len(w.run.cuts), Margin: -math.Abs(worst), Origin: w.run.cuts[first-1].Origin,
			Text: fmt.Sprintf("Whole %s of the %s put the cuts off by more than a tenth of %s from cut %d on, by %s at the worst.",
				x.many, x.name, of, first, words(math.Abs(worst)))})
	}
	return out
}
