package depth

import (
	"fmt"

	"brightcut/fault"
)

// Pressure is what the operator's hand puts on the cutter's slide while cutting.
type Pressure struct {
	Hand    string  // class of hand as the workshop names it: "light", "usual", "firm"; "" when newtons were given
	Force   float64 // N; 0 when it is not known: the extension then counts with the flex in it
	Scatter float64 // standard deviation of the force, N; 0 when it is not known
}

const mostForce = 500 // N

// Check returns what keeps the pressure from being used: fields "force" and
// "scatter".
func (p Pressure) Check() fault.List {
	var l fault.List
	if !(p.Force >= 0 && p.Force <= mostForce) {
		l = append(l, fault.Fault{Field: "force", Problem: fmt.Sprintf("%s N is no force of a hand", short(p.Force)), Mend: "give it in newtons, from 0 to 500; some ten are usual"})
	}
	if !(p.Scatter >= 0 && p.Scatter <= mostForce) {
		l = append(l, fault.Fault{Field: "scatter", Problem: fmt.Sprintf("%s N is no scatter of a hand's force", short(p.Scatter)), Mend: "give its standard deviation in newtons, 0 or more"})
	}
	return l
}

// short writes a number as a person would: six digits, no trailing zeros.
func short(v float64) string { return fmt.Sprintf("%.6g", v) }
