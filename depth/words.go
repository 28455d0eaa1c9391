package depth

import (
	"fmt"
	"math"
)

// say puts every choice of the plan into a sentence.
func (m *maker) say() {
	p := m.plan
	add := func(c Choice) { p.Choices = append(p.Choices, c) }
	if c, ok := m.advanceWords(); ok {
		add(c)
	}
	if p.Closed && m.wishes.Begin != 0 {
		add(Choice{Kind: "begin", Forced: true, Text: fmt.Sprintf("Begin with cut %d of the job, as it asks.", p.Begin)})
	}
	for _, c := range m.offers {
		add(c)
	}
	stops := 0
	for k := range p.Holds {
		add(m.holdWords(k))
		if p.Holds[k].By == ByStop {
			add(m.trustWords(&p.Trust[stops]))
			stops++
		}
	}
	add(m.spreadWords())
	for _, c := range m.warnings() {
		add(c)
	}
}

// advanceWords says which way to advance and which side the guide stands.
func (m *maker) advanceWords() (Choice, bool) {
	g := m.work.Guide
	p := m.plan
	switch {
	case m.wishes.Advance != 0:
		return Choice{Kind: "advance", Forced: true, Text: fmt.Sprintf("Advance in the order %s, as the job asks.", p.Advance)}, true
	case g == nil:
		return Choice{}, false
	case p.Advance == Reversed:
		return Choice{Kind: "advance", Value: m.share, Text: fmt.Sprintf(
			"Advance the other way, so that the foot on the %s runs ahead on ground not yet cut: in the order of the job it would stand on cut ground for %.0f %% of the way. With a guide on the %s the order of the job would serve.",
			g.Side, 100*(1-m.share), g.Side.Other())}, true
	case m.share < 0.55:
		return Choice{Kind: "side", Value: m.share, Text: fmt.Sprintf(
			"Whichever way the sequence advances, the foot stands on cut ground for about half of the way (%.0f %%), on either side.", 100*(1-m.share))}, true
	}
	return Choice{Kind: "side", Value: m.share, Text: fmt.Sprintf(
		"Leave the guide on the %s and advance as written: the foot runs ahead on ground not yet cut for %.0f %% of the way.", g.Side, 100*m.share)}, true
}

func (m *maker) beginWords(cut, closing int, here, usual float64) string {
	return fmt.Sprintf("Begin with cut %d of the job: the %s that close the round then lie where the stock strays by %s from its middle height, against %s when begun as written.",
		cut, plural(closing, "cut"), micron(here), micron(usual))
}

// holdWords says how a run of cuts is held.
func (m *maker) holdWords(k int) Choice {
	p := m.plan
	h := &p.Holds[k]
	c := Choice{First: h.First, Last: h.Last, Kind: h.By.String(), Forced: m.forced(h)}
	depth, width, state := newTally(), newTally(), NoReference
	for i := h.First - 1; i < h.Last; i++ {
		d := &p.Prediction.Cuts[i]
		depth.join(tally{d.Depth.Min, d.Depth.Max, d.Depth.Mean, 1})
		width.join(tally{d.Width.Min, d.Width.Max, d.Width.Mean, 1})
		state = max(state, d.Reference)
	}
	found := fmt.Sprintf("%s deep, %s wide", between(1000*depth.min, 1000*depth.max, "µm"), between(1000*width.min, 1000*width.max, "µm"))
	asked := ""
	if c.Forced {
		asked = ", as the job asks"
	}
	again := ""
	if k > 0 {
		again = fmt.Sprintf("From cut %d, ", h.First)
	}
	switch h.By {
	case ByGuide:
		c.Value = depth.sum / float64(max(depth.n, 1))
		c.Text = fmt.Sprintf("Hold %s by the guide%s: %s, the foot at worst %s.", cutsFrom(h.First, h.Last), asked, found, stateWords(state))
		if k > 0 {
			c.Text = fmt.Sprintf("%sback off the stop and let the guide down again%s: %s, the foot at worst %s.", again, asked, found, stateWords(state))
		}
	case ByStop:
		c.Value = h.Lift
		where := m.reading(h.Reading)
		how := fmt.Sprintf("with the cutter at rest in the groove of cut %d at %s, set it %s above", h.Groove, where, micron(h.Lift))
		if h.Lift == 0 {
			how = fmt.Sprintf("set it with the cutter at rest in the groove of cut %d at %s", h.Groove, where)
		}
		if h.Groove == 0 {
			how = fmt.Sprintf("touch the work with the cutter at %s on cut %d, and set the stop %s below that", where, h.First, micron(m.work.List.Cuts[0].Depth-h.Lift))
		}
		if again == "" {
			c.Text = fmt.Sprintf("Engage the stop for %s%s: %s. The cuts come out %s.", cutsFrom(h.First, h.Last), asked, how, found)
		} else {
			c.Text = fmt.Sprintf("%sretract the guide and engage the stop%s; %s. Cuts %d–%d come out %s.", again, asked, how, h.First, h.Last, found)
		}
		if give := m.work.Stop.Lift(m.work.Pressure.Force); give > 0 {
			c.Text += fmt.Sprintf(" The usual pressure of %s N bends it down by %s to the same depth.", short(m.work.Pressure.Force), micron(give))
		}
	case ByHand:
		c.Value = m.tan * m.give(ByHand) * m.work.Pressure.Scatter
		scatter := "how far the hand scatters is not known, so neither is the width"
		if c.Value > 0 {
			scatter = fmt.Sprintf("a scatter of %s N in the hand scatters the width by ±%s", short(m.work.Pressure.Scatter), micron(c.Value))
		}
		run := cutsFrom(h.First, h.Last)
		c.Text = fmt.Sprintf("Cut %s by hand%s, as deep as the cut before: %s.", run, asked, scatter)
	default:
		c.Text = fmt.Sprintf("Cut %s at a fixed height: %s.", cutsFrom(h.First, h.Last), found)
	}
	return c
}

func stateWords(r Reference) string {
	switch r {
	case VirginGround:
		return "on ground not yet cut"
	case Crests:
		return "on lands between grooves"
	case Lowered:
		return "on crests below the surface"
	case KeepClear:
		return "on ground that must stay unmarked"
	case OverWindow:
		return "over an open window"
	case OverEdge:
		return "over the edge of the work"
	}
	return "nowhere"
}

// forced says whether the job asks for a hold.
func (m *maker) forced(h *Hold) bool {
	for _, o := range m.wishes.Hold {
		if o.From <= h.First && h.Last <= o.last() {
			return true
		}
	}
	return false
}

// trustWords says how far a stop may be relied on.
func (m *maker) trustWords(t *Trust) Choice {
	h := &m.plan.Holds[t.Hold]
	c := Choice{Kind: "trust", First: h.First, Last: h.Last, Value: t.Worst}
	percent := fmt.Sprintf("±%.3g %%", 100*m.plan.Tolerance)
	doubt := ""
	switch {
	case m.work.Stock == nil || m.work.Stock.map_ == nil:
		doubt = " The work was not read: it is taken to be flat."
	case !t.Known:
		doubt = " Part of these cuts lies outside the readings, where the form is not known."
	case t.SD > 0:
		doubt = fmt.Sprintf(" The form is known there to ±%s.", micron(t.SD))
	}
	switch {
	case t.Whole && t.First < h.First || t.Whole && t.Last > h.Last:
		c.Text = fmt.Sprintf("Set so, the stop may be trusted for %s of the width from cut %d to cut %d along the whole stroke; in these cuts it is off by %s at most.%s", percent, t.First, t.Last, micron(t.Worst), doubt)
	case t.Whole:
		c.Text = fmt.Sprintf("Set so, the stop may be trusted for %s of the width along the whole stroke of these cuts, and no farther; it is off by %s at most.%s", percent, micron(t.Worst), doubt)
	case t.From < t.To:
		c.Text = fmt.Sprintf("The stop may be trusted for %s of the width from %s to %s only; beyond that it is off by up to %s.%s", percent, m.reading(t.From), m.reading(t.To), micron(t.Worst), doubt)
	default:
		c.Text = fmt.Sprintf("The stop cannot be trusted for %s of the width in these cuts: it is off by up to %s.%s", percent, micron(t.Worst), doubt)
	}
	return c
}

// outside counts the cuts that leave the tolerance somewhere. A share of the way
// would round the four cuts that spoil a dial to nothing.
func outside(cuts int) string {
	switch cuts {
	case 0:
		return "no cut outside"
	case 1:
		return "1 cut outside"
	}
	return fmt.Sprintf("%d cuts outside", cuts)
}

// spreadWords compares the plan with each way alone.
func (m *maker) spreadWords() Choice {
	s := &m.plan.Prediction.Spread
	c := Choice{Kind: "spread", First: s.StepTo, Last: s.StepTo, Value: s.Step}
	c.Text = fmt.Sprintf("Planned so, the width is %s, %s ±%.3g %%", between(1000*s.Width.Min, 1000*s.Width.Max, "µm"), outside(s.Out), 100*m.plan.Tolerance)
	if s.StepTo > 0 {
		c.Text += fmt.Sprintf("; its largest change between neighbours is %s, at cut %d", micron(s.Step), s.StepTo)
	}
	for i, o := range m.plan.Compared[:len(m.plan.Compared)-1] {
		lead := ", "
		if i == 0 {
			lead = ". Alone in the order of the job: "
		}
		c.Text += fmt.Sprintf("%s%s %s (%s)", lead, o.Name, between(1000*o.Width.Min, 1000*o.Width.Max, "µm"), outside(o.Out))
	}
	c.Text += "."
	return c
}

// warnings says what the plan cannot mend.
func (m *maker) warnings() []Choice {
	var out []Choice
	p := m.plan.Prediction
	for _, r := range []Reference{KeepClear, OverWindow, OverEdge} {
		first, last, n := 0, 0, 0
		for i := range p.Cuts {
			if p.Cuts[i].Reference != r {
				continue
			}
			if n == 0 {
				first = i + 1
			}
			last = i + 1
			n++
		}
		if n > 0 {
			out = append(out, Choice{Kind: "warning", First: first, Last: last, Value: float64(n),
				Text: fmt.Sprintf("In %s from cut %d to cut %d the foot comes %s.", plural(n, "cut"), first, last, overWords(r))})
		}
	}
	if s := p.Spread; s.Out > 0 {
		worst, most := 0, 0.0
		for i := range p.Cuts {
			k := &p.Cuts[i]
			if e := max(k.Width.Max-m.wished(k.Written-1), m.wished(k.Written-1)-k.Width.Min); k.Out > 0 && e > most {
				worst, most = i+1, e
			}
		}
		out = append(out, Choice{Kind: "warning", First: worst, Last: worst, Value: most,
			Text: fmt.Sprintf("%s still leave ±%.3g %% of the width somewhere, cut %d by the most: %s off.", plural(s.Out, "cut"), 100*m.plan.Tolerance, worst, micron(most))})
	}
	return out
}

func overWords(r Reference) string {
	switch r {
	case KeepClear:
		return "over ground that must stay unmarked, and leaves a burnished streak there"
	case OverWindow:
		return "over an open window, where it finds nothing to rest on"
	}
	return "over the edge of the work, where it finds nothing to rest on"
}

// reading says a reading of the stroke or the spindle.
func (m *task) reading(r float64) string {
	if m.scale.around > 0 {
		return fmt.Sprintf("%.4g° of the spindle", math.Mod(r*180/math.Pi, 360))
	}
	return fmt.Sprintf("%.4g mm on the stroke", r)
}

// micron says a small length: "1.8 µm", "12 µm".
func micron(mm float64) string {
	um := 1000 * mm
	switch a := math.Abs(um); {
	case a < 0.05:
		return "0 µm"
	case a < 9.95:
		return fmt.Sprintf("%.1f µm", um)
	}
	return fmt.Sprintf("%.0f µm", um)
}

// between says a range: "44.9 to 45.2 µm".
func between(low, high float64, unit string) string {
	if math.Abs(high-low) < 0.05 {
		return fmt.Sprintf("%.1f %s", (low+high)/2, unit)
	}
	return fmt.Sprintf("%.1f to %.1f %s", low, high, unit)
}

// plural says a count: "1 cut", "8 cuts".
func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
