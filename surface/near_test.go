package surface

import (
	"context"
	"testing"

	"brightcut/cutter"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// Cut by cut and near the cut only, the field is the same to the last bit.
func TestCarveNearIsCarve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cuts, _ := drawCuts(t)
		c := cutter.Cutter{Included: rapid.Float64Range(0.6, 2.9).Draw(t, "included"), Flat: rapid.SampledFrom([]float64{0, 0.03}).Draw(t, "flat")}
		g := Grid{X0: -2.2, Y0: -2.1, Cell: rapid.Float64Range(0.04, 0.15).Draw(t, "cell"), Nx: 37, Ny: 29}
		whole, err := NewField(g)
		if err != nil {
			t.Fatal(err)
		}
		near, _ := NewField(g)
		k, err := NewCarver(cuts, c)
		if err != nil {
			t.Fatal(err)
		}
		if err := k.Carve(context.Background(), whole); err != nil {
			t.Fatal(err)
		}
		for i := range cuts {
			one, err := NewCarver(cuts[i:i+1], c)
			if err != nil {
				t.Fatal(err)
			}
			one.CarveNear(near, func(_, _ r2.Vec) float64 { return 0 })
		}
		for i := range whole.Z {
			if whole.Z[i] != near.Z[i] {
				t.Fatalf("cell %d: %v at once, %v cut by cut", i, whole.Z[i], near.Z[i])
			}
		}
	})
}
