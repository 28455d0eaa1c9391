package polyline

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

func TestSimplify(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coordinate := rapid.Float64Range(-50, 50)
		var points []r2.Vec
		for range rapid.IntRange(0, 40).Draw(t, "n") {
			points = append(points, r2.Vec{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y")})
		}
		tolerance := rapid.Float64Range(0, 20).Draw(t, "tolerance")
		out := Simplify(points, tolerance, Off)
		if len(points) == 0 {
			return
		}
		if out[0] != points[0] || out[len(out)-1] != points[len(points)-1] {
			t.Fatal("the ends moved")
		}
		// Points left out stand between two kept ones, within the tolerance of them.
		next := 0
		for _, p := range points {
			if next < len(out) && p == out[next] {
				next++
				continue
			}
			if d := Off(p, out[next-1], out[next]); d > tolerance {
				t.Fatalf("%v stands %v off", p, d)
			}
		}
	})
}
