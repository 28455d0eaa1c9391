//go:build unix

package surface

import (
	"context"
	"fmt"
	"math"
	"sync/atomic"
	"testing"
	"time"
)

// BenchmarkCarve carves each workload into a resident field of 8192² cells.
// "fill" is the time to overwrite that field from as many goroutines, in the same
// run; "ratio" is the best carve ÷ the best fill, in seconds of the cores, which
// other work on the machine disturbs less than the clock's; an update is one cell
// touched by one cut.
func BenchmarkCarve(b *testing.B) {
	for _, w := range workloads {
		b.Run(w.name, func(b *testing.B) {
			ctx := context.Background()
			f, err := NewField(w.grid(8192))
			if err != nil {
				b.Fatal(err)
			}
			k, err := NewCarver(w.cuts(), bright)
			if err != nil {
				b.Fatal(err)
			}
			best, fill, bestCPU, fillCPU := math.Inf(1), math.Inf(1), math.Inf(1), math.Inf(1)
			for b.Loop() {
				start, startCPU := time.Now(), cpuSeconds()
				level(ctx, f)
				middle, middleCPU := time.Now(), cpuSeconds()
				if err := k.Carve(ctx, f); err != nil {
					b.Fatal(err)
				}
				fill, fillCPU = min(fill, middle.Sub(start).Seconds()), min(fillCPU, middleCPU-startCPU)
				best, bestCPU = min(best, time.Since(middle).Seconds()), min(bestCPU, cpuSeconds()-middleCPU)
			}
			sum := 0.0
			for j := range f.Ny {
				sum += pairwise(f.Row(j), func(v float32) float64 { return float64(v) })
			}
			b.ReportMetric(0, "ns/op")
			b.ReportMetric(fill*1e3, "fill-ms")
			b.ReportMetric(best*1e3, "carve-ms")
			b.ReportMetric(bestCPU*1e3, "carve-cpu-ms")
			b.ReportMetric(bestCPU/fillCPU, "ratio")
			b.ReportMetric(k.updates(f.Cell)/best/1e6, "Mupdates/s")
			b.ReportMetric(sum/float64(f.Nx)/float64(f.Ny)*1e3, "mean-um")
		})
	}
}

// level makes the field flat again.
func level(ctx context.Context, f *Field) {
	const rows = 8
	_ = each(ctx, (f.Ny+rows-1)/rows, func(i int) error {
		clear(f.Z[i*rows*f.Stride : min((i+1)*rows, f.Ny)*f.Stride])
		return nil
	})
}

// updates returns how many cells the strips cover, each counted as often as it
// is covered.
func (k *Carver) updates(cell float64) float64 {
	sum := 0.0
	for _, s := range k.strips {
		a, b := k.tips[s.first], k.tips[s.first+1]
		mx, my := turn(a, b, 0.5)
		sum += math.Abs((b.x-a.x)*my-(b.y-a.y)*mx) * (k.vee.reach(a.z, 0) + k.vee.reach(b.z, 0) + 2*k.vee.half)
	}
	return sum / (cell * cell)
}

// BenchmarkBands streams W1 over ever finer grids, to 10⁹ cells: the time a cell
// takes must not grow, nor the memory.
func BenchmarkBands(b *testing.B) {
	k, err := NewCarver(waves(), bright)
	if err != nil {
		b.Fatal(err)
	}
	for _, n := range []int{2048, 8192, 31623} {
		for _, facets := range []bool{false, true} {
			b.Run(fmt.Sprintf("%d/facets=%v", n, facets), func(b *testing.B) {
				b.ReportAllocs()
				g := workloads[0].grid(n)
				var cells atomic.Int64
				for b.Loop() {
					if err := k.Bands(context.Background(), g, facets, func(band Band) error {
						cells.Add(int64(band.Rows) * int64(band.Grid.Nx))
						return nil
					}); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(cells.Load())/b.Elapsed().Seconds()/1e6, "Mcells/s")
			})
		}
	}
}

// BenchmarkSurvey measures each workload on 2048² cells.
func BenchmarkSurvey(b *testing.B) {
	for _, w := range workloads {
		b.Run(w.name, func(b *testing.B) {
			b.ReportAllocs()
			k, err := NewCarver(w.cuts(), bright)
			if err != nil {
				b.Fatal(err)
			}
			g := w.grid(2048)
			var s Survey
			for b.Loop() {
				if s, err = k.Survey(context.Background(), g, nil); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(s.Texture.Sa*1e3, "sa-um")
		})
	}
}

// BenchmarkSlope asks for the slope of one cell after another along a row.
func BenchmarkSlope(b *testing.B) {
	for _, w := range workloads {
		b.Run(w.name, func(b *testing.B) {
			k, err := NewCarver(w.cuts(), bright)
			if err != nil {
				b.Fatal(err)
			}
			n := len(k.strips)
			sum, i := 0.0, 0
			for b.Loop() {
				s := int32(i*7%n) * 3
				t := k.tips[k.strips[s/3].first]
				gx, gy := k.Slope(s, t.x+0.01, t.y+0.01)
				sum += gx + gy
				i++
			}
			b.ReportMetric(sum/float64(i), "mean-slope")
		})
	}
}
