package cutter

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestHeelLimit(t *testing.T) {
	for _, v := range []struct{ half, clearance, want float64 }{
		{60, 15, 28.187}, {45, 10, 14.002}, {70, 20, 46.781},
	} {
		c := Cutter{Included: 2 * v.half * deg, Clearance: v.clearance * deg}
		near(t, "heel limit, deg", c.HeelLimit()/deg, v.want, 0.0005)
	}
}

// heelRubs builds the body of the tool behind its face and looks whether any of
// it stands in metal that the edge left when it ran on a straight path of slope
// psi. Nothing of HeelLimit is used.
func heelRubs(c Cutter, psi float64) bool {
	sinA, cosA := math.Sincos(c.Half())
	sinK, cosK := math.Sincos(c.Clearance)
	for _, side := range []float64{1, -1} {
		// The edge runs up from the tip along (±sin α, 0, cos α); square to it in
		// the face, towards the tool's axis, lies (∓cos α, 0, sin α). The flank
		// falls back from the edge, away from the face and κ inwards.
		for _, up := range []float64{0.5, 1, 2} {
			for _, back := range []float64{1e-3, 1e-2, 0.1} {
				x := side * (up*sinA - back*sinK*cosA)
				y := -back * cosK
				z := up*cosA + back*sinK*sinA
				// The groove where this point stands: its tip ran through the
				// origin, the V square to the stroke.
				floor := math.Abs(x-y*math.Tan(psi)) * cosA / sinA
				if z < floor-1e-12 {
					return true
				}
			}
		}
	}
	return false
}

func TestHeelLimitAgainstTheToolSwept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCutter(t)
		limit := c.HeelLimit()
		if limit < 89*deg {
			for _, sign := range []float64{1, -1} {
				if !heelRubs(c, sign*(limit+0.001*(math.Pi/2-limit))) {
					t.Fatalf("%+v clears beyond its limit of %v deg", c, limit/deg)
				}
			}
		}
		if heelRubs(c, 0.999*limit) || heelRubs(c, -0.999*limit) {
			t.Fatalf("%+v rubs below its limit of %v deg", c, limit/deg)
		}
	})
}
