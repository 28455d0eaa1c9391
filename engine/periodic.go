package engine

import (
	"fmt"
	"math"

	"brightcut/fault"
)

// Periodic is an error of a screw or a wheel that comes again with every turn, or
// every few turns or part of one: a drunken thread, a ratchet or an index wheel
// set off its centre. Where the counts say L, the slide or the work stands at
//
//	L + Size·sin(2π·(turns − From)/Turns)
//
// turns being those of the screw or the wheel since the engine's zero.
// (Common practice, no source: the first harmonic is what eccentric mounting
// leaves.)
type Periodic struct {
	Size  float64 // greatest error, mm of a slide, rad of the work on a wheel; above 0
	Turns float64 // turns after which it comes again; 1 for a wheel off its centre
	From  float64 // turns at which the error passes 0 rising, 0 ≤ From < Turns
}

// at returns the error after a number of turns.
func (p *Periodic) at(turns float64) float64 {
	if p == nil {
		return 0
	}
	return p.Size * math.Sin(2*math.Pi*math.Remainder((turns-p.From)/p.Turns, 1))
}

func (p *Periodic) check(most float64, unit string) (l fault.List) {
	if !(p.Size > 0 && p.Size <= most) {
		l = append(l, fault.Fault{Field: "size", Problem: "this is no size of a periodic error", Mend: fmt.Sprintf("give one above 0 and up to %g %s, or leave the error out", most, unit)})
	}
	if !(p.Turns >= 1e-3 && p.Turns <= 1000) {
		l = append(l, fault.Fault{Field: "turns", Problem: "an error cannot come again after so many turns", Mend: "give 0.001 to 1000 turns; 1 for a wheel off its centre"})
	}
	if !(p.From >= 0 && p.From < max(p.Turns, 1e-3)) {
		l = append(l, fault.Fault{Field: "from", Problem: "the error has come round by then", Mend: "give the turns from 0 up to those after which it comes again"})
	}
	return l
}

// Stray is how far the slide stands beyond Length by the screw's known error, mm.
func (s Screw) Stray(teeth int) float64 { return s.Error.at(float64(teeth) / float64(s.Ratchet)) }

// Stray is how far the work is turned beyond Angle by the wheel's known error,
// rad.
func (w Wheel) Stray(holes, circle int) float64 {
	if w.Error == nil || circle == 0 {
		return 0
	}
	return w.Error.at(float64(holes) / float64(circle))
}
