package surface

import (
	"math"
	"testing"

	"brightcut/engine"
)

// worstSlope compares the slopes of a cut with the true ones over a grid.
func worstSlope(t *testing.T, k *Carver, g Grid, truth func(x, y float64, side float64) (gx, gy float64)) float64 {
	z, facet := gather(t, k, g, true)
	worst, n := 0.0, 0
	for j := range g.Ny {
		for i := range g.Nx {
			id := facet[j*g.Nx+i]
			if id < 0 || z[j*g.Nx+i] == 0 {
				continue
			}
			x, y := g.At(i, j)
			gx, gy := k.Slope(id, x, y)
			wx, wy := truth(x, y, float64(id%3-1))
			worst = max(worst, math.Hypot(gx-wx, gy-wy))
			n++
		}
	}
	if n < 1000 {
		t.Fatalf("only %d cells were cut", n)
	}
	return worst
}

// Along a wave x = p(y) the flanks are z = −d ± (x − p(y))·cot α, so their
// slope is (±cot α, ∓p′·cot α). Straight segments are off by up to 0.0152.
func TestSlopeFollowsTheWave(t *testing.T) {
	k := carver(t, waves()[:1], bright)
	cot := 1 / math.Tan(bright.Half())
	worst := worstSlope(t, k, Grid{X0: -0.5, Y0: 0.3, Cell: 0.011, Nx: 90, Ny: 2200}, func(_, y, side float64) (float64, float64) {
		rise := 0.25 * 2 * math.Pi / 3 * math.Cos(2*math.Pi*y/3)
		return side * cot, -side * cot * rise
	})
	if worst > 0.0045 {
		t.Errorf("slopes are off by up to %v", worst)
	}
}

// Round a ring r = p(θ) the flanks are z = −d ± (r − p(θ))·cot α: slope ±cot α
// along the radius and ∓cot α·p′/r square to it. Straight segments are off by up
// to 0.043.
func TestSlopeFollowsTheRing(t *testing.T) {
	for _, i := range []int{0, 60} {
		k := carver(t, rings()[i:i+1], bright)
		cot := 1 / math.Tan(bright.Half())
		r := 2 + 0.1*float64(i)
		n := int(2*r/0.02) + 20
		worst := worstSlope(t, k, Grid{X0: -r - 0.2, Y0: -r - 0.2, Cell: 0.02, Nx: n, Ny: n}, func(x, y, side float64) (float64, float64) {
			a := math.Atan2(y, x)
			tangential := -side * cot * 0.08 * 24 * math.Cos(24*a+math.Pi*float64(i)) / math.Hypot(x, y)
			sin, cos := math.Sincos(a)
			return side*cot*cos - tangential*sin, side*cot*sin + tangential*cos
		})
		if worst > 0.019 {
			t.Errorf("ring %d: slopes are off by up to %v", i, worst)
		}
	}
}

// The slope is the derivative of the definition where the path is straight, the
// tip rises and the V turns.
func TestSlopeIsTheDerivative(t *testing.T) {
	a := engine.Vertex{X: 0.1, Y: -0.2, Z: -0.05, Across: 0.3}
	b := engine.Vertex{X: 0.15, Y: 0.4, Z: -0.03, Across: 0.36}
	cuts := []engine.Cut{cutOf(1, []engine.Vertex{a, b})}
	k := carver(t, cuts, bright)
	const h = 1e-6
	for _, p := range [][2]float64{{0.15, 0}, {0.08, 0.1}, {0.2, 0.2}, {0.1, 0.3}} {
		at := func(x, y float64) float64 { return segmentAt(a, b, bright, x, y) }
		wx := (at(p[0]+h, p[1]) - at(p[0]-h, p[1])) / (2 * h)
		wy := (at(p[0], p[1]+h) - at(p[0], p[1]-h)) / (2 * h)
		g := Grid{X0: p[0], Y0: p[1], Cell: 0.01, Nx: 1, Ny: 1}
		_, facet := gather(t, k, g, true)
		gx, gy := k.Slope(facet[0], p[0], p[1])
		within(t, "dz/dx", gx, wx, 1e-5)
		within(t, "dz/dy", gy, wy, 1e-5)
	}
}

// A closed ring whose last place repeats the first but for rounding bends on
// through its seam.
func TestSlopeThroughTheSeam(t *testing.T) {
	cot := 1 / math.Tan(bright.Half())
	for _, off := range []float64{0, 1e-15, -3e-13} {
		c := rings()[0]
		path := c.Pieces[0].Path
		path[len(path)-1].X, path[len(path)-1].Y = path[0].X, path[0].Y+off
		k := carver(t, []engine.Cut{c}, bright)
		_, before := k.Slope(int32(3*len(k.strips)-1), 2.03, -1e-7)
		_, after := k.Slope(2, 2.03, 1e-7)
		within(t, "jump of dz/dy at the seam", after, before, 1e-4)
		within(t, "dz/dy at the seam", after, -cot*0.08*24/2.03, 0.019)
	}
}

// At a true corner the flank turns at once.
func TestSlopeKeepsCorners(t *testing.T) {
	path := []engine.Vertex{{X: 0, Y: 0, Z: -0.04}, {X: 0.2, Y: 0.5, Z: -0.04}, {X: 0, Y: 1, Z: -0.04}}
	k := carver(t, []engine.Cut{cutOf(1, path)}, bright)
	cot := 1 / math.Tan(bright.Half())
	for _, c := range []struct {
		strip int32
		y     float64
		want  float64
	}{{0, 0.25, 0.4}, {0, 0.499, 0.4}, {1, 0.501, -0.4}, {1, 0.75, -0.4}} {
		gx, gy := k.Slope(3*c.strip+2, 0.25, c.y)
		within(t, "dz/dx", gx, cot, 1e-12)
		within(t, "dz/dy", gy, -cot*c.want, 1e-12)
	}
}
