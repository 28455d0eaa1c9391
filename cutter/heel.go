package cutter

import "math"

// HeelLimit returns the steepest slope ψ of the path from the stroke, rad, at
// which the flank behind the edge still clears the wall of the groove:
// tan ψ = tan κ / cos α. Beyond it the heel rubs on one side.
//
// Square to the edge, the path falls away from the flank's own plane by
// tan ψ·cos α, and the clearance κ has to be more. (Derived; the test sweeps
// the tool's planes through the groove.)
func (c Cutter) HeelLimit() float64 {
	return math.Atan(math.Tan(c.Clearance) / math.Cos(c.Half()))
}
