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

// Depth returns the depth, mm, of a groove of the given width across the
// stroke in flat stock: d = (w − f)/(2·tan α), the inverse of Width. A groove
// no wider than the tip's flat tells nothing of its depth; Depth returns 0.
func (c Cutter) Depth(width float64) float64 {
	if width <= c.Flat {
		return 0
	}
	return (width - c.Flat) / c.Sensitivity()
}

// Sensitivity returns dw/dd = 2·tan α: how much wider the groove grows for an
// advance of the cutter. It does not depend on the depth or on the flat.
func (c Cutter) Sensitivity() float64 { return 2 * math.Tan(c.Half()) }

// NormalHalf returns the half-angle α_n of the groove's own section, rad, where
// the path slopes by psi from the stroke: tan α_n = tan α·cos ψ. There the
// groove's own width is Width·cos ψ. It is even in psi, and 0 at ψ = 90°, where
// the path runs in the V's own plane and leaves no section.
func (c Cutter) NormalHalf(psi float64) float64 {
	return math.Atan(math.Tan(c.Half()) * math.Abs(math.Cos(psi)))
}
