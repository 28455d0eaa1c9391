package sheet

import "brightcut/engine"

// What the count at the engine shows of one cut.

// Scale is a dial that the sequence moves.
type Scale struct {
	Axis engine.Axis
	Name string // "cross slide"
	Unit string // "teeth", "holes", "divisions"
}

// Scales lists the dials that the sequence moves, in the order of Dials.
func (s *Sheet) Scales() []Scale {
	var out []Scale
	for _, a := range s.axes {
		_, unit, _ := s.voice.axis(a)
		out = append(out, Scale{a, s.voice.dial(a), unit})
	}
	return out
}

// At tells what the dials show at a cut and where it starts and stops.
func (s *Sheet) At(c *engine.Cut) Reading {
	r := Reading{First: c.Number, Last: c.Number}
	for _, d := range s.axes {
		text, exact := s.voice.show(d, counts(c.Settings, d))
		r.Dials = append(r.Dials, text+" ("+exact+")")
	}
	for _, p := range c.Pieces {
		if finite(p.Start, p.Stop) {
			r.Spans = append(r.Spans, Span{Start: s.voice.span(p.Start), Stop: s.voice.span(p.Stop), Ring: p.Closed})
		}
	}
	return r
}

// Change is what interrupts the rhythm before a cut: words of the job, another
// bar, another depth, another hold. It is empty before most.
func (s *Sheet) Change(c *engine.Cut) string {
	var out []engine.Move
	for _, m := range s.doneFor(c) {
		switch m.Motion {
		case engine.Note, engine.Swap, engine.SetDepth:
			out = append(out, m)
		}
	}
	return s.voice.action(out)
}

// Closing is what to do after the last cut, as short as can be called out. It is
// empty when nothing is left to do.
func (s *Sheet) Closing() string { return s.voice.action(s.list.After) }
