package surface

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Section returns the heights, mm, that the cuts leave in flat stock at n places
// evenly along the straight line from a to b, both ends counted. Each is taken
// at its own place on the flanks, not from cells beside it.
func (k *Carver) Section(ctx context.Context, a, b r2.Vec, n int) ([]float64, error) {
	along := r2.Sub(b, a)
	length := r2.Norm(along)
	if !finite(a.X, a.Y, b.X, b.Y) || !(length > 0) || n < 2 || n > MaxSide {
		return nil, fmt.Errorf("surface: a section needs two places apart and 2 to %d heights between them, not %d from (%v, %v) to (%v, %v)",
			MaxSide, n, a.X, a.Y, b.X, b.Y)
	}
	f, err := NewField(Grid{Cell: length / float64(n-1), Nx: n, Ny: 1})
	if err != nil {
		return nil, err
	}
	// The line is one row of a grid when the work is turned to lie along it.
	if err := k.moved(a, r2.Scale(1/length, along)).Carve(ctx, f); err != nil {
		return nil, err
	}
	z := make([]float64, n)
	for i, h := range f.Row(0) {
		z[i] = float64(h)
	}
	return z, nil
}

// moved returns k with its paths seen from origin, with x along the unit vector x.
func (k *Carver) moved(origin, x r2.Vec) *Carver {
	turn := func(vx, vy float64) (float64, float64) {
		return float64(vx*x.X) + float64(vy*x.Y), float64(vy*x.X) - float64(vx*x.Y)
	}
	m := *k
	m.tips = make([]tip, len(k.tips))
	for i, t := range k.tips {
		t.x, t.y = turn(t.x-origin.X, t.y-origin.Y)
		t.ux, t.uy = turn(t.ux, t.uy)
		m.tips[i] = t
	}
	return &m
}

// deepest returns the depth of the lowest place of the tip below the nominal
// surface, mm; 0 when no tip is below it.
func (k *Carver) deepest() float64 {
	z := 0.0
	for _, t := range k.tips {
		z = math.Min(z, t.z)
	}
	return -z
}
