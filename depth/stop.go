package depth

import "brightcut/fault"

// Stop is the stop on the cutter's slide: it fixes the height of the cutter in
// the machine, whatever the work does.
type Stop struct {
	Compliance float64 // c, give of stop, slides and work under the hand, mm/N
}

// Check returns what keeps the stop from being used: field "compliance".
func (s *Stop) Check() fault.List { return checkCompliance(s.Compliance) }

// Lift returns how far above the bottom of the last good groove the stop is
// set, mm, so that the flex under the given force, N, brings the tip down to it:
// compliance × force.
func (s *Stop) Lift(force float64) float64 { return s.Compliance * force }
