package depth

import (
	"math"
	"testing"

	"brightcut/engine"
)

// With a tip that recedes by w for each mm cut, the guide's cut k of length L is
// shallower by w·(k−1)·L; a stop that is set in the groove before takes what was
// worn by then with it.
func TestWear(t *testing.T) {
	const n, length, wear = 40, 10.0, 1.7e-6
	cuts := make([]engine.Cut, n)
	for i := range cuts {
		x := -16 + 0.8*float64(i)
		at := func(y float64) engine.Vertex { return engine.Vertex{X: x, Y: y, Z: -0.045} }
		cuts[i] = engine.Cut{Number: i + 1, Depth: 0.045, Position: x, Pieces: []engine.Piece{{Start: -5, Stop: 5, Path: []engine.Vertex{at(-5), at(5)}, Readings: []float64{-5, 5}}}}
	}
	w := dial(cuts, Left)
	w.Stock = bowed(w.Blank, 1e9)
	w.Guide.Offset = 0.4
	w.Wear = wear
	const first = 21
	p := predicted(t, w, Hold{First: first, Last: n, By: ByStop, Groove: first - 1})
	for k := 1; k <= n; k++ {
		want := 0.045 - wear*length*float64(k-1)
		if k >= first { // the stop repeats the groove it was set in, and wears on from there
			want = 0.045 - wear*length*float64(first-2) - wear*length*float64(k-first)
		}
		if d := depthAt(t, p, k, 1); math.Abs(d-want) > 2e-6 {
			t.Errorf("cut %d is %.3f µm deep, want %.3f", k, 1000*d, 1000*want)
		}
	}
	w.Wear = -1
	if len(w.Check()) != 1 {
		t.Error("a tip that grows is taken")
	}
}
