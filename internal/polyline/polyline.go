// Package polyline is about lines drawn through points.
package polyline

import (
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Simplify leaves out the points of a line that stand within tolerance of the
// stretch that replaces them (Ramer 1972, Douglas and Peucker 1973, from memory). Off
// tells how far a point p is off the stretch from a to b.
func Simplify[P any](points []P, tolerance float64, off func(p, a, b P) float64) []P {
	if len(points) < 3 {
		return points
	}
	keep := make([]bool, len(points))
	keep[0], keep[len(points)-1] = true, true
	stack := [][2]int{{0, len(points) - 1}}
	for len(stack) > 0 {
		a, b := stack[len(stack)-1][0], stack[len(stack)-1][1]
		stack = stack[:len(stack)-1]
		worst, at := tolerance, 0
		for i := a + 1; i < b; i++ {
			if d := off(points[i], points[a], points[b]); d > worst {
				worst, at = d, i
			}
		}
		if at > 0 {
			keep[at] = true
			stack = append(stack, [2]int{a, at}, [2]int{at, b})
		}
	}
	out := make([]P, 0, len(points))
	for i, p := range points {
		if keep[i] {
			out = append(out, p)
		}
	}
	return out
}

// Off returns the distance of p from the stretch ab.
func Off(p, a, b r2.Vec) float64 {
	ab, ap := r2.Sub(b, a), r2.Sub(p, a)
	t := 0.0
	if n := r2.Norm2(ab); n > 0 {
		t = min(1, max(0, r2.Dot(ap, ab)/n))
	}
	return r2.Norm(r2.Sub(ap, r2.Scale(t, ab)))
}

// Off3 is Off in space.
func Off3(p, a, b r3.Vec) float64 {
	ab, ap := r3.Sub(b, a), r3.Sub(p, a)
	t := 0.0
	if n := r3.Norm2(ab); n > 0 {
		t = min(1, max(0, r3.Dot(ap, ab)/n))
	}
	return r3.Norm(r3.Sub(ap, r3.Scale(t, ab)))
}
