package engine

import (
	"fmt"
	"math"
	"slices"

	"brightcut/bar"
	"brightcut/fault"
)

// What Check takes at most: beyond it lies no workshop, and arithmetic stays safe.
const (
	farthest    = 10_000.0   // mm of travel or stroke
	mostTeeth   = 100_000    // in a ratchet or circle
	mostWorm    = 10_000     // turns of a wheel for one of the work
	mostCircles = 1_000      // of an index wheel
	mostSeconds = 24 * 3600. // for one stroke
	mostRatio   = 100.0      // of a lever, a rocking or a pumping frame
	finestChord = 0.00001    // mm
)

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// checker gathers faults.
type checker struct{ faults fault.List }

func (c *checker) add(field, problem, mend string) {
	c.faults = append(c.faults, fault.Fault{Field: field, Problem: problem, Mend: mend})
}

// Check returns what keeps the engine from being worked. Fields are named as in
// a job file: "slide.pitch", "index.circles[2]", "stroke.from".
//
// A slide, a wheel or a bar shift with nothing set is one that the engine has
// not got.
func (e *Engine) Check() fault.List {
	c := &checker{}
	switch e.Kind {
	case StraightLine:
		c.screw("bar_shift", e.Shift)
		c.travel("stroke", "the stroke", e.StrokeMin, e.StrokeMax)
		c.ratio("lever", e.Lever)
		if e.Lever == 0 {
			c.add("lever", "a lever of 0 does not move the work", "give 1 for a touchpiece that moves the work directly")
		}
	case Rose:
		c.wheel("crossing", "teeth", e.Crossing)
		c.ratio("rocking", e.Rocking)
		c.ratio("pumping", e.Pumping)
	default:
		c.add("kind", "the kind of engine is not given", "give straight line or rose")
	}
	c.screw("slide", e.Slide)
	c.periodic("slide.error", e.Slide.Error, mostScrewError, "mm")
	c.periodic("index.error", e.Index.Error, mostWheelError, "rad")
	c.wheel("index", "circles", e.Index)
	c.wheel("chuck", "graduations", e.Chuck)
	if w := e.Swing; w != nil {
		if !(math.Abs(w.Axis) <= farthest) {
			c.add("swing.axis", fmt.Sprintf("an axis %g mm above the work cannot be reckoned with", w.Axis), "give its height above the highest place of the work, below 0 inside it")
		}
		if !(w.Min >= -math.Pi/2 && w.Max <= math.Pi/2 && w.Min < w.Max) {
			c.add("swing.to", "the slide assembly cannot swing so", "give the least and the greatest swing, within -90 and 90 deg")
		}
	}
	if e.Truing != nil {
		for _, f := range e.Truing.Check() {
			c.add("truing."+f.Field, f.Problem, f.Mend)
		}
	}
	if !(e.SecondsPerStroke >= 0 && e.SecondsPerStroke <= mostSeconds) {
		c.add("seconds_per_stroke", fmt.Sprintf("a stroke cannot take %g seconds", e.SecondsPerStroke), "give the usual time of one stroke, the settings included")
	}
	return c.faults
}

// The greatest errors that are still those of a screw or a wheel that works.
const (
	mostScrewError = 1.0  // mm
	mostWheelError = 0.05 // rad
)

func (c *checker) periodic(field string, p *Periodic, most float64, unit string) {
	if p == nil {
		return
	}
	for _, f := range p.check(most, unit) {
		c.add(field+"."+f.Field, f.Problem, f.Mend)
	}
}

func (c *checker) screw(field string, s Screw) {
	if s == (Screw{}) {
		return
	}
	if !(s.Pitch > 0 && s.Pitch <= farthest) {
		c.add(field+".pitch", fmt.Sprintf("a screw cannot have a pitch of %g mm", s.Pitch), "give the travel of one turn, above 0")
	}
	if s.Ratchet < 1 || s.Ratchet > mostTeeth {
		c.add(field+".ratchet", fmt.Sprintf("a ratchet cannot have %d teeth", s.Ratchet), fmt.Sprintf("give its teeth, 1 to %d", mostTeeth))
	}
	c.travel(field, "the travel", s.Min, s.Max)
}

func (c *checker) travel(field, what string, from, to float64) {
	far := func(v float64) bool { return !(v >= -farthest && v <= farthest) }
	switch {
	case far(from):
		c.add(field+".from", fmt.Sprintf("%s cannot begin at %g mm", what, from), "give its first reading, within 10 m of zero")
	case far(to):
		c.add(field+".to", fmt.Sprintf("%s cannot end at %g mm", what, to), "give its last reading, within 10 m of zero")
	case from >= to:
		c.add(field+".to", fmt.Sprintf("%s runs from %g to %g mm: there is none", what, from, to), "give an end greater than the beginning")
	}
}

func (c *checker) wheel(field, teeth string, w Wheel) {
	if len(w.Circles) == 0 {
		return
	}
	if len(w.Circles) > mostCircles {
		c.add(field+"."+teeth, fmt.Sprintf("a wheel cannot have %d circles", len(w.Circles)), fmt.Sprintf("give at most %d", mostCircles))
		return
	}
	for i, n := range w.Circles {
		if n < 1 || n > mostTeeth {
			f := field + "." + teeth
			if teeth == "circles" {
				f = fmt.Sprintf("%s[%d]", f, i)
			}
			c.add(f, fmt.Sprintf("a turn cannot be divided into %d", n), fmt.Sprintf("give 1 to %d", mostTeeth))
		}
	}
	if w.Worm < 1 || w.Worm > mostWorm {
		c.add(field+".worm", fmt.Sprintf("%d turns of the wheel cannot turn the work once", w.Worm), "give 1 for a wheel on the spindle, 40 for a worm of 40")
	}
}

func (c *checker) ratio(field string, v float64) {
	if !(v >= -mostRatio && v <= mostRatio) {
		c.add(field, fmt.Sprintf("a ratio of %g cannot be made", v), fmt.Sprintf("give a ratio within %g", mostRatio))
	}
}

// Check returns what does not fit together in the set-up, apart from its
// sequence. Fields are named as in a job file. The bars, the blank and the
// cutter have checks of their own.
func (s *Setup) Check() fault.List {
	c := &checker{}
	for _, f := range s.Engine.Check() {
		f.Field = "engine." + f.Field
		c.faults = append(c.faults, f)
	}
	rose := s.Engine.Kind == Rose
	field, touch := "bar", "touchpiece"
	if rose {
		field, touch = "rosette", "rubber"
	}
	c.bar(s, field, s.Bar, field)
	if s.Pump != "" {
		c.bar(s, "pumping_rosette", s.Pump, "pumping rosette")
		switch {
		case !rose:
			c.add("pumping_rosette", "a straight line engine does not pump", "leave it out, or name a rose engine")
		case s.Engine.Pumping == 0:
			c.add("pumping_rosette", "the engine does not pump: its pumping is 0", "give the engine's pumping, or leave the rosette out")
		}
	}
	if !(s.Touch >= 0 && s.Touch <= 1000) {
		c.add(touch, fmt.Sprintf("a nose cannot have a radius of %g mm", s.Touch), "give the radius of the nose that bears on the "+field)
	}
	if problem, mend := s.depthFault(s.Depth); problem != "" {
		c.add("depth", problem, mend)
	}
	if s.Limits != nil {
		for _, f := range s.limitFaults(*s.Limits) {
			f.Field = "limits." + f.Field
			c.faults = append(c.faults, f)
		}
	}
	if s.Circle != 0 && !slices.Contains(s.Engine.Index.Circles, s.Circle) {
		if len(s.Engine.Index.Circles) == 0 {
			c.add("index_circle", "the engine has no index wheel", "leave it out")
		} else {
			c.add("index_circle", fmt.Sprintf("the index wheel has no circle of %d", s.Circle), "name one of its circles: "+numbers(s.Engine.Index.Circles))
		}
	}
	return c.faults
}

// bar checks that the named bar is there and belongs on this kind of engine.
func (c *checker) bar(s *Setup, field, name, word string) {
	if name == "" {
		return
	}
	e, ok := s.Bars[name]
	if !ok {
		c.add(field, fmt.Sprintf("there is no %s %q in this job", word, name), "name one that the workshop has")
		return
	}
	if problem, mend := s.barFault(e); problem != "" {
		c.add(field, fmt.Sprintf("%q %s", name, problem), mend)
	}
}

func (s *Setup) barFault(e bar.Edge) (problem, mend string) {
	switch {
	case s.Engine.Kind == Rose && e.Radius == 0:
		return "is a pattern bar, and a rose engine takes rosettes", "name a rosette, or give it a radius"
	case s.Engine.Kind == StraightLine && e.Radius != 0:
		return "is a rosette, and a straight line engine takes pattern bars", "name a pattern bar"
	}
	return "", ""
}

func (s *Setup) depthFault(depth float64) (problem, mend string) {
	switch {
	case !(depth > 0 && finite(depth)):
		return fmt.Sprintf("at a depth of %g mm the cutter does not cut", depth), "give a depth above 0"
	case depth >= s.Blank.Thickness:
		return fmt.Sprintf("%g mm is as deep as the blank is thick, %g mm, or deeper", depth, s.Blank.Thickness), "give a depth less than the thickness"
	}
	return "", ""
}

// limitFaults checks readings of the stroke or the spindle; fields are "from"
// and "to".
func (s *Setup) limitFaults(l Limits) fault.List {
	c := &checker{}
	if !finite(l.From) || !finite(l.To) {
		c.add("from", "the limits are not numbers", "give two readings")
		return c.faults
	}
	if s.Engine.Kind == Rose {
		switch turn := 2 * math.Pi; {
		case math.Abs(l.From) > 2*turn || math.Abs(l.To) > 2*turn:
			c.add("to", "the limits are more than two turns of the spindle", "give readings from 0 to 360 deg")
		case l.From == l.To:
			c.add("to", "the limits leave nothing to cut", "leave them out for a whole turn")
		case l.To-l.From > turn+1e-9:
			c.add("to", "the limits are more than a whole turn apart", "leave them out for a whole turn")
		}
		return c.faults
	}
	e := &s.Engine
	if l.From >= l.To {
		c.add("to", fmt.Sprintf("the limits run from %g to %g mm: they leave nothing to cut", l.From, l.To), "give an end greater than the beginning")
		return c.faults
	}
	stroke := fmt.Sprintf("the stroke runs from %g to %g mm", e.StrokeMin, e.StrokeMax)
	if !within(l.From, e.StrokeMin, e.StrokeMax) {
		c.add("from", fmt.Sprintf("%g mm is past the engine: %s", l.From, stroke), "give a reading within the stroke")
	}
	if !within(l.To, e.StrokeMin, e.StrokeMax) {
		c.add("to", fmt.Sprintf("%g mm is past the engine: %s", l.To, stroke), "give a reading within the stroke")
	}
	return c.faults
}
