package depth

import (
	"context"
	"math"
	"runtime"
	"testing"
	"time"

	"brightcut/engine"
	"brightcut/surface"
)

// BenchmarkPlan plans 360 radial cuts with 750 places each on a disc of 36 mm,
// ground of 10 µm, all ways compared. "carve-ms" is the time to carve the planned
// cuts into a fresh field of the same cells, in the same run, and "ratio" plan ÷
// carve; "fields" is the memory allocated over the size of that field.
func BenchmarkPlan(b *testing.B) {
	for _, v := range []struct {
		name string
		work func() *Work
	}{
		{"flat/ahead", func() *Work { return dial(sunburst(360, 2, 17, 2*math.Pi/360), Left) }},
		{"flat/behind", func() *Work { return dial(sunburst(360, 2, 17, 2*math.Pi/360), Right) }},
		{"bowed/ahead", func() *Work {
			w := dial(sunburst(360, 2, 17, 2*math.Pi/360), Left)
			w.Stock = bowed(w.Blank, 4000)
			return w
		}},
	} {
		b.Run(v.name, func(b *testing.B) {
			w := v.work()
			ctx := context.Background()
			var p *Plan
			b.ReportAllocs()
			best := math.Inf(1)
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			n := 0
			for b.Loop() {
				start := time.Now()
				var err error
				if p, err = MakePlan(ctx, w, Wishes{}); err != nil {
					b.Fatal(err)
				}
				best = min(best, time.Since(start).Seconds())
				n++
			}
			runtime.ReadMemStats(&after)
			carve := carveTime(b, p.Cuts, w, p.Prediction.Cell)
			field := 3.6e3 * 3.6e3 * 4
			b.ReportMetric(best*1e3, "best-ms")
			b.ReportMetric(carve*1e3, "carve-ms")
			b.ReportMetric(best/carve, "ratio")
			b.ReportMetric(float64(after.TotalAlloc-before.TotalAlloc)/float64(n)/field, "fields")
			b.ReportMetric(float64(p.Prediction.start[360])/360, "places/cut")
			b.ReportMetric(p.Prediction.Spread.Width.Mean*1e3, "mean-um")
		})
	}
}

// carveTime carves cuts into a resident field of the given cell.
func carveTime(b *testing.B, cuts []engine.Cut, w *Work, cell float64) float64 {
	b.Helper()
	n := int(math.Ceil(36 / cell))
	f, err := surface.NewField(surface.Grid{X0: -18 + cell/2, Y0: -18 + cell/2, Cell: cell, Nx: n, Ny: n})
	if err != nil {
		b.Fatal(err)
	}
	best := math.Inf(1)
	for range 5 {
		clear(f.Z)
		start := time.Now()
		k, err := surface.NewCarver(cuts, w.Cutter)
		if err != nil {
			b.Fatal(err)
		}
		if err := k.Carve(context.Background(), f); err != nil {
			b.Fatal(err)
		}
		best = min(best, time.Since(start).Seconds())
	}
	return best
}
