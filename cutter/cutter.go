package cutter

import "math"

// Cutter is a V-cutter whose face stands square to the stroke. Its section is
// symmetric about the z axis.
type Cutter struct {
	Name      string
	Included  float64 // included angle θ between the flanks, rad
	Flat      float64 // width f of the tip flat, mm; 0 is a sharp tip
	Clearance float64 // κ behind the edge, measured square to the edge, rad
}

// Half returns the half-angle α = θ/2 from the z axis, rad.
func (c Cutter) Half() float64 { return c.Included / 2 }

// Width returns the width across the stroke, mm, of a groove of the given
// depth in flat stock: w = f + 2·d·tan α. A depth of zero or less cuts nothing.
func (c Cutter) Width(depth float64) float64 {
	if depth <= 0 {
		return 0
	}
	return c.Flat + 2*depth*math.Tan(c.Half())
}
