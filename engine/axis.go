package engine

import (
	"fmt"
	"math"
	"math/big"
	"strings"
)

// axis is one dial of an engine: what a count of it gives, and its words.
type axis struct {
	which    Axis
	linear   bool     // counts give mm rather than a share of a turn
	count    *big.Rat // what one count gives: mm, or turns of the work
	num, den float64  // the same as floats: mm, or rad
	min, max float64  // travel of a linear axis, readings in mm
	name     string   // "cross slide"
	key      string   // of the axis in the job: "slide"
	one      string   // "tooth"
	many     string   // "teeth"
}

// axes returns the dials that the engine has, indexed by Axis; a zero entry is
// a dial it lacks. circle is that of the index wheel.
func (e *Engine) axes(circle int) [ChuckAxis + 1]axis {
	var a [ChuckAxis + 1]axis
	slide, shift := "slide", "crossing wheel"
	if e.Kind == StraightLine {
		slide, shift = "cross slide", "bar shift"
	}
	screw := func(which Axis, s Screw, name, key string) {
		if s.Ratchet > 0 && s.Pitch > 0 {
			a[which] = axis{
				which: which, linear: true, count: over(rational(s.Pitch), whole(int64(s.Ratchet))),
				min: s.Min, max: s.Max,
				name: name, key: key, one: "tooth", many: "teeth",
			}
		}
	}
	wheel := func(which Axis, w Wheel, circle int, name, key, one, many string) {
		if circle > 0 && w.Worm > 0 {
			a[which] = axis{
				which: which, count: new(big.Rat).SetFrac64(1, int64(circle)*int64(w.Worm)),
				name: name, key: key, one: one, many: many,
			}
		}
	}
	screw(SlideAxis, e.Slide, slide, "slide")
	wheel(IndexAxis, e.Index, circle, "index wheel", "index", "hole", "holes")
	wheel(ChuckAxis, e.Chuck, first(e.Chuck.Circles), "chuck", "chuck", "division", "divisions")
	if e.Kind == Rose {
		wheel(ShiftAxis, e.Crossing, first(e.Crossing.Circles), shift, "shift", "tooth", "teeth")
	} else {
		screw(ShiftAxis, e.Shift, shift, "shift")
	}
	for i := range a {
		if a[i].count == nil {
			continue
		}
		a[i].num, a[i].den = float(new(big.Rat).SetInt(a[i].count.Num())), float(new(big.Rat).SetInt(a[i].count.Denom()))
		if !a[i].linear {
			a[i].num *= 2 * math.Pi
		}
	}
	return a
}

func first(circles []int) int {
	if len(circles) == 0 {
		return 0
	}
	return circles[0]
}

// gives returns what n counts give: mm, or rad.
func (a *axis) gives(n *big.Rat) float64 {
	v := float(times(n, a.count))
	if !a.linear {
		v *= 2 * math.Pi
	}
	return v
}

// at returns the reading of n counts, mm or rad, without the cost of a fraction.
func (a *axis) at(n int) float64 { return float64(n) * a.num / a.den }

// counts says in words how many: "1 tooth", "16 teeth".
func (a *axis) counts(n int) string {
	if n == 1 || n == -1 {
		return fmt.Sprintf("%d %s", n, a.one)
	}
	return fmt.Sprintf("%d %s", n, a.many)
}

// worth says what n counts give: "0.16 mm", "1.5 deg".
func (a *axis) worth(n int) string {
	if a.linear {
		return millimetres(a.at(n))
	}
	return degrees(a.at(n))
}

// misfit says why an amount of this unit cannot be worked on the axis, and what
// can; "" when it can.
func (a *axis) misfit(u Unit) (problem, mend string) {
	var takes []string
	fits := false
	take := func(unit Unit, words string) {
		takes = append(takes, words)
		fits = fits || unit == u
	}
	take(Teeth, a.many)
	if a.linear {
		take(Length, "a length")
	} else {
		take(Angle, "an angle")
		take(Turns, "a share of a turn")
	}
	if a.which == ShiftAxis {
		take(Waves, "waves")
	}
	if fits {
		return "", ""
	}
	last := len(takes) - 1
	return fmt.Sprintf("the %s cannot be moved by %s", a.name, unitWords(u)),
		"give " + strings.Join(takes[:last], ", ") + " or " + takes[last]
}

func unitWords(u Unit) string {
	switch u {
	case Teeth:
		return "a count"
	case Length:
		return "a length"
	case Angle, Turns:
		return "an angle"
	case Waves:
		return "waves"
	}
	return "an amount without a unit"
}

// inCounts returns an amount as an exact number of the axis's counts. wave is
// the length of one wave in mm, or its share of a turn; nil when nothing waves.
func (a *axis) inCounts(m Amount, wave *big.Rat) *big.Rat {
	v := m.value()
	switch m.Unit {
	case Teeth:
		return v
	case Waves:
		return over(times(v, wave), a.count)
	}
	return over(v, a.count) // mm on a screw, turns on a wheel
}

func millimetres(v float64) string { return fmt.Sprintf("%.4g mm", v) }

func degrees(rad float64) string { return fmt.Sprintf("%.4g deg", rad*180/math.Pi) }

// words returns the amount as it was written, or as a number with its unit.
func (m Amount) words() string {
	if m.Text != "" {
		return m.Text
	}
	switch m.Unit {
	case Length:
		return millimetres(m.Value)
	case Angle:
		return degrees(m.Value)
	case Waves:
		return fmt.Sprintf("%.4g waves", m.Value)
	case Turns:
		return fmt.Sprintf("%.4g turn", m.Value)
	}
	return fmt.Sprintf("%.4g teeth", m.Value)
}
