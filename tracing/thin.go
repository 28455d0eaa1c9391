package tracing

import (
	"math"

	"brightcut/bar"
)

// thin leaves out points such that straight lines between the rest pass within
// tolerance of every point left out, measured upright. What is joined by straight
// lines before and after differs most at one of the points, so that the bound holds
// everywhere. From each point kept it takes the furthest that a wedge through all
// the points between still lets through, in time linear in the points.
func (c *heights) thin(tolerance float64) heights {
	var out heights
	n := len(c.x)
	for i := 0; i < n; {
		out.add(c.x[i], c.h[i])
		if i == n-1 {
			break
		}
		low, high := math.Inf(-1), math.Inf(1)
		next := i + 1
		for k := i + 1; k < n; k++ {
			d := c.x[k] - c.x[i]
			slope := (c.h[k] - c.h[i]) / d
			if slope >= low && slope <= high {
				next = k
			}
			low, high = max(low, slope-tolerance/d), min(high, slope+tolerance/d)
			if low > high {
				break
			}
		}
		i = next
	}
	return out
}

// thinSpline picks points through which bar's spline passes within tolerance of all
// points of c. It begins with few and adds the worst one between each two until it
// does; ok is false when that took more than most. make builds the edge.
func (c *heights) thinSpline(tolerance float64, most int, make func(heights) bar.Edge) (out heights, ok bool) {
	n := len(c.x)
	keep := map[int]bool{0: true, n - 1: true}
	for k := 1; k < 8; k++ {
		keep[k*(n-1)/8] = true
	}
	for {
		out = heights{}
		var at []int
		for i := range n {
			if keep[i] {
				out.add(c.x[i], c.h[i])
				at = append(at, i)
			}
		}
		p, err := make(out).Profile()
		more := false
		for k := 1; k < len(at); k++ {
			worst, off := -1, tolerance
			for i := at[k-1] + 1; i < at[k]; i++ {
				if err != nil { // it swings too steeply: halve
					worst = (at[k-1] + at[k]) / 2
					break
				}
				h, _ := p.Height(c.x[i])
				if d := math.Abs(h - c.h[i]); d > off {
					worst, off = i, d
				}
			}
			if worst >= 0 {
				keep[worst] = true
				more = true
			}
		}
		if !more {
			return out, err == nil
		}
		if len(keep) > most {
			return out, false
		}
	}
}
