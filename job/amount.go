package job

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"

	"brightcut/engine"
	"brightcut/fault"
)

// ParseAmount reads a wish: "16 teeth", "0.156 mm", "half a wave", "1/360 turn",
// "360 round" (one of 360 to the round). A number without a unit counts what
// bare says: engine.Length in the given units, engine.Angle in degrees,
// engine.Teeth, engine.Waves or engine.Turns.
//
// Angles come back as engine.Turns, so that 1 deg is exactly 1/360. Num/Den is
// the exact value, or 0/0 where it does not fit. Text is what was written, with
// its unit. A text that cannot be used is a fault.List of one.
func ParseAmount(text string, units Units, bare engine.Unit) (engine.Amount, error) {
	a, _, s := parseAmount(text, units, bare)
	if s != nil {
		return engine.Amount{}, fault.List{{Problem: s.problem, Mend: s.mend}}
	}
	return a, nil
}

// farthest bounds a wish in mm, turns, teeth or waves.
const farthest = 1e6

func parseAmount(text string, units Units, unit engine.Unit) (engine.Amount, dimension, *snag) {
	q, s := parseQuantity(text)
	if s != nil {
		return engine.Amount{}, bare, s
	}
	text = strings.Join(strings.Fields(text), " ")
	if q.dim == bare {
		switch unit {
		case engine.Length:
			q.dim = lengths
			q.value.Mul(q.value, units.scale().of)
			text += " " + units.scale().name
		case engine.Angle:
			q.dim = turns
			q.value.Mul(q.value, big.NewRat(1, 360))
			text += " deg"
		case engine.Turns:
			q.dim = turns
			text += " turns"
		case engine.Waves:
			q.dim = waves
			text += " waves"
		case engine.Teeth:
			q.dim = teeth
			text += " teeth"
		default:
			panic("job: ParseAmount: no such unit")
		}
	}
	a := engine.Amount{Text: text}
	switch q.dim {
	case lengths:
		a.Unit = engine.Length
	case turns:
		a.Unit = engine.Turns
	case waves:
		a.Unit = engine.Waves
	case teeth, holes, divisions:
		a.Unit = engine.Teeth
		if !q.value.IsInt() {
			return engine.Amount{}, q.dim, &snag{fmt.Sprintf("%s are not whole", quoted(text)), "a detent holds only whole ones: write a whole number"}
		}
	case give, force, share:
		return engine.Amount{}, q.dim, &snag{quoted(text) + " is no motion", "write a length, an angle or a count"}
	}
	a.Value, _ = q.value.Float64()
	if math.Abs(a.Value) > farthest {
		return engine.Amount{}, q.dim, &snag{fmt.Sprintf("%s is more than any engine moves", quoted(text)), fmt.Sprintf("write less than %.0f", farthest)}
	}
	if q.value.Num().IsInt64() && q.value.Denom().IsInt64() {
		a.Num, a.Den = q.value.Num().Int64(), q.value.Denom().Int64()
	}
	return a, q.dim, nil
}

// writeAmount returns text that reads as a, its own when that still does. Counts
// are of the named thing: teeth, holes or divisions.
func writeAmount(a engine.Amount, count string) string {
	if b, _, s := parseAmount(a.Text, Millimetre, engine.Length); s == nil && b == a {
		return a.Text
	}
	number := decimal(a.Value)
	if a.Den > 0 {
		number = strconv.FormatInt(a.Num, 10)
		if a.Den != 1 {
			number += "/" + strconv.FormatInt(a.Den, 10)
		}
	}
	switch a.Unit {
	case engine.Teeth:
		return number + " " + count
	case engine.Length:
		return number + " mm"
	case engine.Waves:
		return number + " waves"
	case engine.Turns:
		return number + " turns"
	case engine.Angle:
		return degreeScale.write(a.Value) + " deg"
	}
	return "no amount" // which the reader refuses
}

// decimal is the shortest text of v, without an exponent where one can do
// without.
func decimal(v float64) string {
	if m := math.Abs(v); m != 0 && (m < 1e-12 || m >= 1e15) {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
