package cutter

import "math"

// ChipArea returns the section of the chip taken by a groove of the given depth
// in ground not cut before, mm²: A = f·d + d²·tan α.
func (c Cutter) ChipArea(depth float64) float64 {
	if depth <= 0 {
		return 0
	}
	return c.Flat*depth + depth*depth*math.Tan(c.Half())
}

// ChipThickness returns the thickness of chip that the cutting force law is
// entered with, mm: the section of the chip over the length of edge that cuts
// it, h = A/b with b = f + 2·d/cos α. (This mean is the equivalent chip
// thickness of the machining texts; from memory.)
//
// For a sharp tip it is d·sin α/2: each flank's chip is a triangle whose height
// above the edge is d·sin α, and the mean height of a triangle is half of it.
// For a flat wide against the depth it is d, as for a planing tool.
func (c Cutter) ChipThickness(depth float64) float64 {
	if depth <= 0 {
		return 0
	}
	return c.ChipArea(depth) / (c.Flat + 2*depth/math.Cos(c.Half()))
}

// ThinnestChip is the thinnest chip, mm, in the published feed tables that the
// cutting force law is checked against. Below it the law is extrapolated, and
// an engraver's chip nearly always is.
const ThinnestChip = 0.1

// Spread is the share by which makers' figures for one metal differ.
const Spread = 1.0 / 3

// SpecificForce returns the specific cutting force of the Kienzle law, N/mm²,
// k_c = kc1.1·h^(−mc), for a chip h mm thick: 0 when the metal's constants are
// unknown or there is no chip. The law is drawn from turned and milled chips;
// see ThinnestChip.
func (m Metal) SpecificForce(h float64) float64 {
	if m.Cutting <= 0 || h <= 0 {
		return 0
	}
	return m.Cutting * math.Pow(h, -m.Exponent)
}

// Force returns the force along the stroke, N, that a groove of the given depth
// in ground not cut before needs in the metal: k_c·A, with low and high a third
// below and above. known is false, and the forces 0, when the metal has no
// published constants. See Extrapolated for how far to trust it.
func (c Cutter) Force(depth float64, m Metal) (low, mid, high float64, known bool) {
	if m.Cutting <= 0 {
		return 0, 0, 0, false
	}
	mid = m.SpecificForce(c.ChipThickness(depth)) * c.ChipArea(depth)
	return mid * (1 - Spread), mid, mid * (1 + Spread), true
}

// Extrapolated says that the chip of a groove of the given depth is thinner than
// those the cutting force law was drawn from.
func (c Cutter) Extrapolated(depth float64) bool { return c.ChipThickness(depth) < ThinnestChip }
