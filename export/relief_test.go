package export

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"brightcut/cutter"
	"brightcut/engine"
)

var writers = map[string]func(context.Context, io.Writer, Solid) (SolidSummary, error){"STL": STL, "3MF": ThreeMF, "OBJ": OBJ}

var bright = cutter.Cutter{Name: "bright", Included: 130 * math.Pi / 180}

// straight is a groove from a to b, the V square across it.
func straight(a, b r2.Vec, depth float64) engine.Cut {
	d := r2.Sub(b, a)
	across := math.Atan2(d.Y, d.X) - math.Pi/2
	return engine.Cut{Depth: depth, Pieces: []engine.Piece{{Path: []engine.Vertex{{X: a.X, Y: a.Y, Z: -depth, Across: across}, {X: b.X, Y: b.Y, Z: -depth, Across: across}}}}}
}

// wave is a groove along y in chords of 10 µm, the V along x.
func wave(x, amp, length, from, to, depth float64) engine.Cut {
	var path []engine.Vertex
	for y := from; y <= to; y += 0.01 {
		path = append(path, engine.Vertex{X: x + amp*math.Sin(2*math.Pi*y/length), Y: y, Z: -depth})
	}
	return engine.Cut{Depth: depth, Pieces: []engine.Piece{{Path: path}}}
}

func box(x0, y0, x1, y1 float64) r2.Box {
	return r2.Box{Min: r2.Vec{X: x0, Y: y0}, Max: r2.Vec{X: x1, Y: y1}}
}

func relief(t testing.TB, cuts []engine.Cut, c cutter.Cutter, w r2.Box, tol, base float64) *Relief {
	t.Helper()
	r, err := NewRelief(context.Background(), cuts, c, ReliefOptions{Name: "relief", Window: w, Tolerance: tol, Base: base})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Parallel grooves right through the window: each takes d²·tan(half) a length.
func TestReliefOfParallelGrooves(t *testing.T) {
	const d = 0.06
	var cuts []engine.Cut
	for i := range 4 {
		x := 0.31 + 0.4*float64(i)
		cuts = append(cuts, straight(r2.Vec{X: x, Y: -1}, r2.Vec{X: x, Y: 3}, d))
	}
	r := relief(t, cuts, bright, box(0, 0, 2, 1.3), 0.004, 0.5)
	sum := closed(t, r)
	w, h := sum.hi[0]-sum.lo[0], sum.hi[1]-sum.lo[1]
	near(t, "volume", sum.volume, w*h*0.5-4*d*d*math.Tan(bright.Half())*h, 4e-4*w*h*0.5*0.5)
	near(t, "width", w, 2, 1e-6)
	near(t, "underside", sum.lo[2], -0.5, 1e-6)
	near(t, "upper side", sum.hi[2], 0, 1e-9)
	if _, n := r.counts(); n > 2*r.mesh.nx*r.mesh.ny/4 {
		t.Errorf("%d triangles for %d cells: nothing was saved on the flanks and lands", n, r.mesh.nx*r.mesh.ny)
	}
}

// offMost samples the upper side of a relief at random places of its triangles
// against the carver's sections, which know nothing of the grid.
func offMost(t testing.TB, r *Relief, samples int, rnd *rand.Rand) float64 {
	t.Helper()
	var tops []facet
	total := 0.0
	if err := r.facets(context.Background(), func(f facet) error {
		if len(tops) < r.surface {
			tops = append(tops, f)
			total++
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	for range samples {
		f := tops[rnd.IntN(len(tops))]
		// A line across the triangle, sampled 40 times.
		a, b := rnd.Float64(), rnd.Float64()
		at := func(i int, s float64) (p r2.Vec, z float64) {
			u, v := f[i], f[(i+1)%3]
			l := func(k int) float64 { return float64(u[k]) + s*(float64(v[k])-float64(u[k])) }
			return r2.Vec{X: l(0), Y: l(1)}, l(2)
		}
		p, zp := at(0, a)
		q, zq := at(1, b)
		if r2.Norm(r2.Sub(p, q)) < 1e-5 {
			continue
		}
		const n = 40
		z, err := r.carver.Section(context.Background(), p, q, n)
		if err != nil {
			t.Fatal(err)
		}
		for i, h := range z {
			s := float64(i) / (n - 1)
			worst = max(worst, math.Abs(h-(zp+s*(zq-zp))))
		}
	}
	return worst
}

func TestReliefWithinTolerance(t *testing.T) {
	for _, c := range []struct {
		name string
		cut  cutter.Cutter
		cuts func() []engine.Cut
		tol  float64
	}{
		{"waves", bright, func() (cuts []engine.Cut) {
			for i := range 12 {
				cuts = append(cuts, wave(-0.2+0.156*float64(i), 0.25, 3, -1, 3, 0.045))
			}
			return cuts
		}, 0.005},
		{"hobnail", cutter.Cutter{Included: math.Pi / 2, Flat: 0.02}, func() (cuts []engine.Cut) {
			for i := range 16 {
				s := float64(i)*0.2 - 0.7
				cuts = append(cuts, straight(r2.Vec{X: -3, Y: s - 3}, r2.Vec{X: 3, Y: s + 3}, 0.08), straight(r2.Vec{X: -3, Y: s + 3}, r2.Vec{X: 3, Y: s - 3}, 0.08))
			}
			return cuts
		}, 0.005},
		{"fine", cutter.Cutter{Included: 160 * math.Pi / 180}, func() (cuts []engine.Cut) {
			for i := range 12 {
				cuts = append(cuts, wave(-0.2+0.156*float64(i), 0.25, 3, -1, 3, 0.02))
			}
			return cuts
		}, 0.001},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := relief(t, c.cuts(), c.cut, box(0.113, 0.071, 0.9, 0.8), c.tol, 0.4)
			if b := r.Bound(); b > c.tol*(1+1e-9) {
				t.Errorf("bound %v beyond the tolerance %v", b, c.tol)
			}
			closed(t, r)
			const seed = 7
			worst := offMost(t, r, 600, rand.New(rand.NewPCG(seed, 2)))
			if worst > r.Bound()+0.0002 { // planes of the flanks, PlaneTolerance, and float32
				t.Errorf("off by %.3f um, bound %.3f um (seed %d)", worst*1000, r.Bound()*1000, seed)
			}
			_, n := r.counts()
			t.Logf("%d triangles, cell %.2f um, worst %.3f of %.3f um", n, r.grid.Cell*1000, worst*1000, c.tol*1000)
		})
	}
}

// The share of a triangle that a plane leaves of a cone of slope 1: no weighting of
// its corners is further from them than 1/√2.
func TestSlackOfHalfACell(t *testing.T) {
	worst := 0.0
	for i := range 401 {
		for j := range 401 - i {
			x, y := float64(i)/400, float64(j)/400
			worst = max(worst, (1-x-y)*math.Hypot(x, y)+x*math.Hypot(1-x, y)+y*math.Hypot(x, 1-y))
		}
	}
	near(t, "slack", worst, 1/math.Sqrt2, 1e-9)
}

func TestReliefOfRandomCuts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		var cuts []engine.Cut
		for range rapid.IntRange(0, 12).Draw(t, "cuts") {
			at := func() r2.Vec { return r2.Vec{X: rnd.Float64()*3 - 1, Y: rnd.Float64()*3 - 1} }
			cuts = append(cuts, straight(at(), at(), 0.01+0.05*rnd.Float64()))
		}
		w := rapid.Float64Range(0.01, 0.9).Draw(t, "width")
		h := rapid.Float64Range(0.01, 0.9).Draw(t, "height")
		c := cutter.Cutter{Included: rapid.Float64Range(1.2, 2.9).Draw(t, "angle"), Flat: rapid.SampledFrom([]float64{0, 0.01}).Draw(t, "flat")}
		r, err := NewRelief(context.Background(), cuts, c, ReliefOptions{Name: "r", Window: box(0, 0, w, h), Tolerance: 0.012, Base: 0.2})
		if err != nil {
			t.Fatal(err)
		}
		sum := closed(t, r)
		if flat := w * (sum.hi[1] - sum.lo[1]) * 0.2; sum.volume > flat*(1+1e-6) || sum.volume < flat*0.6 {
			t.Fatalf("volume %v of %v", sum.volume, flat)
		}
	})
}

func TestReliefOnAnyNumberOfCores(t *testing.T) {
	var cuts []engine.Cut
	for i := range 12 {
		cuts = append(cuts, wave(-0.2+0.156*float64(i), 0.25, 3, -1, 4, 0.045))
	}
	var first [2][]byte
	for _, n := range []int{1, 5} {
		old := runtime.GOMAXPROCS(n)
		r := relief(t, cuts, bright, box(0, 0, 1.5, 2.5), 0.006, 0.4)
		var b, p bytes.Buffer
		_, err := STL(context.Background(), &b, r)
		_, err2 := Heights(context.Background(), &p, cuts, bright, HeightsOptions{Name: "h", Window: box(0, 0, 1.5, 2.5), Pixel: 0.005})
		runtime.GOMAXPROCS(old)
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if first[0] == nil {
			first = [2][]byte{b.Bytes(), p.Bytes()}
		} else if !bytes.Equal(first[0], b.Bytes()) || !bytes.Equal(first[1], p.Bytes()) {
			t.Error("other bytes on five cores than on one")
		}
	}
}

func TestReliefRefuses(t *testing.T) {
	cuts := []engine.Cut{straight(r2.Vec{X: -1}, r2.Vec{X: 1}, 0.05)}
	for _, o := range []ReliefOptions{
		{Window: box(0, 0, 0, 1), Tolerance: 0.005, Base: 1},
		{Window: box(0, 0, math.NaN(), 1), Tolerance: 0.005, Base: 1},
		{Window: box(0, 0, 1, 1), Tolerance: 0, Base: 1},
		{Window: box(0, 0, 1, 1), Tolerance: math.NaN(), Base: 1},
		{Window: box(0, 0, 1, 1), Tolerance: 0.005, Base: 0.05},
		{Window: box(0, 0, 900, 900), Tolerance: 0.0002, Base: 1},
	} {
		if _, err := NewRelief(context.Background(), cuts, bright, o); err == nil {
			t.Errorf("%+v was taken", o)
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := NewRelief(ctx, cuts, bright, ReliefOptions{Window: box(0, 0, 1, 1), Tolerance: 0.005, Base: 1}); err == nil {
		t.Error("a context that has ended works on")
	}
}

// BenchmarkRelief writes 10 × 10 mm of waves at 5 µm, the format's own workload.
func BenchmarkRelief(b *testing.B) {
	var cuts []engine.Cut
	for i := range 70 {
		cuts = append(cuts, wave(-0.4+0.156*float64(i), 0.25, 3, -1, 11, 0.045))
	}
	for _, tol := range []float64{0.02, 0.005, 0.002} {
		b.Run(fmt.Sprintf("%gum", tol*1000), func(b *testing.B) {
			var peak, n int
			for b.Loop() {
				r := relief(b, cuts, bright, box(0, 0, 10, 10), tol, 0.8)
				w := &heapWatcher{}
				s, err := STL(context.Background(), w, r)
				if err != nil {
					b.Fatal(err)
				}
				peak, n = max(peak, w.peak), s.Triangles
			}
			b.ReportMetric(float64(n), "facets")
			b.ReportMetric(float64(peak)/1e6, "MB-heap")
		})
	}
}

// heapWatcher looks at the heap now and then while it is written to.
type heapWatcher struct{ n, peak int }

func (w *heapWatcher) Write(p []byte) (int, error) {
	if w.n++; w.n%16 == 0 {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		w.peak = max(w.peak, int(m.HeapInuse))
	}
	return len(p), nil
}
