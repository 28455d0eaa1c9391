package surface

import (
	"math"
	"sort"

	"brightcut/engine"
)

// raysMeet returns the radius inside which the grooves of a sequence of rays
// leave no land: where the rays, Δ apart, are a groove's width w apart, r·Δ = w.
// ok is false for a sequence that is not made of evenly spaced rays.
func raysMeet(cuts []engine.Cut, width float64) (r float64, ok bool) {
	var angles []float64
	for i := range cuts {
		c := &cuts[i]
		if math.Abs(c.Position) > 1e-9 {
			return 0, false
		}
		var fore, back bool
		for j := range c.Pieces {
			if c.Pieces[j].Closed {
				return 0, false
			}
			fore = fore || c.Pieces[j].Stop > 0
			back = back || c.Pieces[j].Start < 0
		}
		if fore {
			angles = append(angles, wrap(c.Turned))
		}
		if back {
			angles = append(angles, wrap(c.Turned+math.Pi))
		}
	}
	sort.Float64s(angles)
	const one = 1e-7 // rad: two rays in one place
	rays := angles[:0]
	for _, a := range angles {
		if len(rays) == 0 || a-rays[len(rays)-1] > one {
			rays = append(rays, a)
		}
	}
	if n := len(rays); n > 1 && rays[0]+2*math.Pi-rays[n-1] <= one {
		rays = rays[:n-1]
	}
	if len(rays) < 3 {
		return 0, false
	}
	// One gap may be wider: that of a sector.
	least, wide := math.Inf(1), 0
	for i := range rays {
		least = min(least, gap(rays, i))
	}
	for i := range rays {
		if gap(rays, i) > least*1.001 {
			wide++
		}
	}
	if wide > 1 {
		return 0, false
	}
	return width / least, true
}

func gap(rays []float64, i int) float64 {
	if i == len(rays)-1 {
		return rays[0] + 2*math.Pi - rays[i]
	}
	return rays[i+1] - rays[i]
}

// wrap returns the angle within [0, 2π).
func wrap(a float64) float64 {
	a = math.Mod(a, 2*math.Pi)
	if a < 0 {
		a += 2 * math.Pi
	}
	return a
}
