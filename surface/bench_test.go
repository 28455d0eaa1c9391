package surface

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"
)

// BenchmarkCarve carves each workload into a resident field. "fill" is the time
// to overwrite that field from as many goroutines, in the same run; "ratio" is
// carve ÷ fill; "Mupd/s" counts one cell touched by one cut as an update.
func BenchmarkCarve(b *testing.B) {
	for _, n := range []int{8192} {
		for _, w := range workloads {
			b.Run(fmt.Sprintf("%s/%d", w.name, n), func(b *testing.B) { benchmarkCarve(b, w, n) })
		}
	}
}

func benchmarkCarve(b *testing.B, w workload, n int) {
	ctx := context.Background()
	f, err := NewField(w.grid(n))
	if err != nil {
		b.Fatal(err)
	}
	k, err := NewCarver(w.cuts(), bright)
	if err != nil {
		b.Fatal(err)
	}
	best, fill := math.Inf(1), math.Inf(1)
	for b.Loop() {
		b.StopTimer()
		start := time.Now()
		level(ctx, f)
		fill = min(fill, time.Since(start).Seconds())
		b.StartTimer()
		start = time.Now()
		if err := k.Carve(ctx, f); err != nil {
			b.Fatal(err)
		}
		best = min(best, time.Since(start).Seconds())
	}
	sum := 0.0
	for j := range f.Ny {
		for _, z := range f.Row(j) {
			sum += float64(z)
		}
	}
	b.ReportMetric(fill*1e3, "fill-ms")
	b.ReportMetric(best*1e3, "best-ms")
	b.ReportMetric(best/fill, "ratio")
	b.ReportMetric(float64(len(k.strips)), "strips")
	b.ReportMetric(sum/float64(f.Nx*f.Ny)*1e3, "mean-um")
}

// level makes the field flat again.
func level(ctx context.Context, f *Field) {
	const rows = 8
	_ = each(ctx, (f.Ny+rows-1)/rows, func(i int) error {
		clear(f.Z[i*rows*f.Stride : min((i+1)*rows, f.Ny)*f.Stride])
		return nil
	})
}
