package cutter

import (
	"fmt"
	"math"

	"brightcut/fault"
)

// Bounds of what Check takes for a V-cutter (common practice, no source: bright
// work is cut at 120° to 150°, deep borders down to 60°).
const (
	minIncluded  = 10 * math.Pi / 180
	maxIncluded  = 175 * math.Pi / 180
	maxFlat      = 2.0 // mm
	maxClearance = 60 * math.Pi / 180
)

// Check returns what keeps the cutter from being used: fields "included",
// "flat" and "clearance".
func (c Cutter) Check() fault.List {
	var l fault.List
	add := func(field, problem, mend string) {
		l = append(l, fault.Fault{Field: field, Problem: problem, Mend: mend})
	}
	// Comparisons are written so that NaN fails them.
	if !(c.Included >= minIncluded && c.Included <= maxIncluded) {
		add("included", fmt.Sprintf("a V of %s cannot be used", degrees(c.Included)),
			"give the angle between the two flanks, from 10 deg to 175 deg; bright work is cut at about 130 deg")
	}
	if !(c.Flat >= 0 && c.Flat <= maxFlat) {
		add("flat", fmt.Sprintf("a flat of %s mm at the tip cannot be used", short(c.Flat)),
			"give the width of the flat at the tip from 0 (a sharp tip) to 2 mm")
	}
	if !(c.Clearance > 0 && c.Clearance <= maxClearance) {
		problem := fmt.Sprintf("a clearance of %s behind the edge cannot be used", degrees(c.Clearance))
		if c.Clearance <= 0 {
			problem = fmt.Sprintf("with a clearance of %s the flank rubs on every cut", degrees(c.Clearance))
		}
		add("clearance", problem,
			"give the angle behind the edge, square to the edge, above 0 deg and up to 60 deg; 15 deg is usual")
	}
	return l
}

func degrees(rad float64) string { return short(rad*180/math.Pi) + " deg" }

// short writes a number as a person would: six digits, no trailing zeros.
func short(v float64) string { return fmt.Sprintf("%.6g", v) }
