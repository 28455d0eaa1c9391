package surface

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"

	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/fault"

	"pgregory.net/rapid"
)

func carved(t testing.TB, k *Carver, g Grid) *Field {
	t.Helper()
	f, err := NewField(g)
	if err != nil {
		t.Fatal(err)
	}
	if err := k.Carve(context.Background(), f); err != nil {
		t.Fatal(err)
	}
	return f
}

// Heights are the same bits on one core and on many, whole or by bands, with
// facets and without; facets and figures too.
func TestSameBytesOnAnyNumberOfCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, w := range workloads {
		t.Run(w.name, func(t *testing.T) {
			k := carver(t, w.cuts(), bright)
			g := w.grid(283)
			var heights [][]float32
			var facets [][]int32
			var surveys []Survey
			for _, cores := range []int{1, 2, 5} {
				runtime.GOMAXPROCS(cores)
				f := carved(t, k, g)
				var whole []float32
				for j := range g.Ny {
					whole = append(whole, f.Row(j)...)
				}
				heights = append(heights, whole)
				for _, mark := range []bool{false, true} {
					z, facet := gather(t, k, g, mark)
					heights = append(heights, z)
					if mark {
						facets = append(facets, facet)
					}
				}
				s, err := k.Survey(context.Background(), g, nil)
				if err != nil {
					t.Fatal(err)
				}
				surveys = append(surveys, s)
			}
			for i := range heights {
				if !slices.Equal(heights[i], heights[0]) {
					t.Errorf("heights of way %d differ", i)
				}
			}
			for i := range facets {
				if !slices.Equal(facets[i], facets[0]) {
					t.Errorf("facets of way %d differ", i)
				}
				if surveys[i] != surveys[0] {
					t.Errorf("figures differ: %+v and %+v", surveys[i], surveys[0])
				}
			}
		})
	}
}

// gather puts the bands of a grid together and sees that each row comes once.
func gather(t *testing.T, k *Carver, g Grid, facets bool) (z []float32, facet []int32) {
	z, facet = make([]float32, g.Nx*g.Ny), make([]int32, g.Nx*g.Ny)
	seen := make([]int, g.Ny)
	var mu sync.Mutex
	err := k.Bands(context.Background(), g, facets, func(b Band) error {
		if facets != (b.Facet != nil) || b.Grid != g {
			return fmt.Errorf("band of %+v with facets %v", b.Grid, b.Facet != nil)
		}
		for j := range b.Rows {
			copy(z[(b.Row+j)*g.Nx:][:g.Nx], b.Z[j*b.Stride:])
			if facets {
				copy(facet[(b.Row+j)*g.Nx:][:g.Nx], b.Facet[j*b.Stride:])
			}
			mu.Lock()
			seen[b.Row+j]++
			mu.Unlock()
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for j, n := range seen {
		if n != 1 {
			t.Fatalf("row %d came %d times", j, n)
		}
	}
	return z, facet
}

// The cut of a cell's facet is one whose own flank stands at the cell's height.
func TestFacetsBelongToTheirCuts(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	for _, w := range workloads {
		cuts := w.cuts()
		k := carver(t, cuts, bright)
		g := w.grid(401)
		z, facet := gather(t, k, g, true)
		for range 400 {
			i, j := r.IntN(g.Nx), r.IntN(g.Ny)
			h, id := float64(z[j*g.Nx+i]), facet[j*g.Nx+i]
			if id < 0 {
				if h != 0 {
					t.Fatalf("%s: cell (%d, %d) at %v has no facet", w.name, i, j, h)
				}
				continue
			}
			x, y := g.At(i, j)
			own := heightAt(cuts[k.Cut(id)-1:k.Cut(id)], bright, 0, x, y)
			if math.Abs(own-h) > PlaneTolerance {
				t.Fatalf("%s: cell (%d, %d) at %v belongs to cut %d, which stands at %v there", w.name, i, j, h, k.Cut(id), own)
			}
		}
	}
}

// A V that turns in its place makes a cone, and rings smaller than the V
// fold over their centre: still the definition.
func TestRingsWithinReachOfTheirCentre(t *testing.T) {
	for _, radius := range []float64{0, 1e-7, 0.02, 0.07} {
		for _, flat := range []float64{0, 0.03} {
			c := cutter.Cutter{Included: 2.2, Flat: flat}
			path := make([]engine.Vertex, 0, 200)
			for i := range 200 {
				a := 0.3 + 2*math.Pi*float64(i)/199
				path = append(path, engine.Vertex{X: 0.013 + radius*math.Cos(a), Y: radius * math.Sin(a), Z: -0.06, Across: a})
			}
			cuts := []engine.Cut{cutOf(1, path)}
			g := Grid{X0: -0.2, Y0: -0.2, Cell: 0.4 / 150, Nx: 151, Ny: 151}
			f := carved(t, carver(t, cuts, c), g)
			for j := range g.Ny {
				for i := range g.Nx {
					x, y := g.At(i, j)
					if d := math.Hypot(x-0.013, y); d < 1e-3 {
						continue // the centre itself is one place of every V
					}
					want := math.Min(0, -0.06+math.Max(0, math.Abs(math.Hypot(x-0.013, y)-radius)-flat/2)/math.Tan(c.Half()))
					got := float64(f.Row(j)[i])
					// The definition of a ring, but for its 199 sides: chord radius·(π/199)²/2.
					if math.Abs(got-want) > PlaneTolerance+radius*1.3e-4 {
						t.Fatalf("radius %v, flat %v: height at (%v, %v) is %v, want %v", radius, flat, x, y, got, want)
					}
				}
			}
		}
	}
}

// A cutter held along its path, a touch without travel, a path above the stock
// and no cuts at all leave the stock as it was.
func TestWhatCutsNothing(t *testing.T) {
	for name, path := range map[string][]engine.Vertex{
		"along its own face": {{X: 0, Y: 0.5, Z: -1}, {X: 1, Y: 0.5, Z: -1}},
		"a touch":            {{X: 0.5, Y: 0.5, Z: -1}},
		"standing still":     {{X: 0.5, Y: 0.5, Z: -1}, {X: 0.5, Y: 0.5, Z: -1}},
		"above the stock":    {{X: 0.5, Y: 0, Z: 0.1}, {X: 0.5, Y: 1, Z: 0}},
		"nowhere":            nil,
	} {
		k := carver(t, []engine.Cut{cutOf(1, path)}, bright)
		for _, z := range carved(t, k, Grid{Cell: 0.01, Nx: 101, Ny: 101}).Z {
			if z != 0 {
				t.Errorf("%s: metal is gone", name)
				break
			}
		}
	}
}

func TestWhatCannotBeCarved(t *testing.T) {
	for _, c := range []cutter.Cutter{
		{}, {Included: math.Pi}, {Included: -1}, {Included: math.NaN()},
		{Included: 2, Flat: -1}, {Included: 2, Flat: math.Inf(1)},
	} {
		var faults fault.List
		if _, err := NewCarver(nil, c); !errors.As(err, &faults) {
			t.Errorf("%+v: %v, want a fault.List", c, err)
		}
	}
	for _, v := range []engine.Vertex{{X: math.NaN()}, {Y: math.Inf(1)}, {Z: math.NaN()}, {Across: math.Inf(-1)}} {
		if _, err := NewCarver([]engine.Cut{cutOf(3, []engine.Vertex{{}, v})}, bright); err == nil {
			t.Errorf("%+v was taken", v)
		}
	}
	k := carver(t, waves()[:1], bright)
	for _, g := range []Grid{
		{}, {Cell: 1, Nx: -1, Ny: 4}, {Cell: math.NaN(), Nx: 1, Ny: 1}, {Cell: math.Inf(1), Nx: 1, Ny: 1},
		{Cell: 1, Nx: MaxSide + 1, Ny: 1}, {Cell: 1, Nx: 1, Ny: MaxSide + 1}, {Cell: 1, X0: math.Inf(1), Nx: 1, Ny: 1},
	} {
		if _, err := NewField(g); err == nil {
			t.Errorf("a field on %+v", g)
		}
		if err := k.Bands(context.Background(), g, false, func(Band) error { return nil }); err == nil {
			t.Errorf("bands on %+v", g)
		}
	}
	if _, err := NewField(Grid{Cell: 1, Nx: MaxSide, Ny: MaxSide}); err == nil {
		t.Error("a field of 10¹² cells")
	}
}

// Extreme but finite numbers neither panic nor leave NaN.
func TestExtremePaths(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		any := rapid.OneOf(rapid.Float64Range(-3, 3), rapid.SampledFrom([]float64{0, 1e-300, 1e5, -1e6, 1e-9, -1e308, 0.5}))
		var path []engine.Vertex
		for range rapid.IntRange(2, 5).Draw(t, "places") {
			path = append(path, engine.Vertex{X: any.Draw(t, "x"), Y: any.Draw(t, "y"), Z: any.Draw(t, "z"), Across: any.Draw(t, "across")})
		}
		c := cutter.Cutter{Included: rapid.SampledFrom([]float64{1e-9, 0.5, 2, math.Pi - 1e-9}).Draw(t, "included"), Flat: math.Abs(any.Draw(t, "flat"))}
		k, err := NewCarver([]engine.Cut{cutOf(1, path)}, c)
		if err != nil {
			return // refused
		}
		s, err := k.Survey(context.Background(), Grid{X0: -1, Y0: -1, Cell: 0.1, Nx: 21, Ny: 19}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if !finite(s.Lowest, s.Highest) {
			t.Fatalf("heights %v to %v", s.Lowest, s.Highest)
		}
	})
}

func TestCarvingStops(t *testing.T) {
	k := carver(t, waves(), bright)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	f, err := NewField(workloads[0].grid(300))
	if err != nil {
		t.Fatal(err)
	}
	if err := k.Carve(ctx, f); !errors.Is(err, context.Canceled) {
		t.Errorf("Carve with a cancelled context: %v", err)
	}
	enough := errors.New("enough")
	err = k.Bands(context.Background(), workloads[0].grid(3000), false, func(Band) error { return enough })
	if !errors.Is(err, enough) {
		t.Errorf("Bands did not hand back visit's error but %v", err)
	}
}

// Bands come with the same strips however few fit in one share of the bins.
func TestBinsInShares(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	const bands = 23
	var spans []span
	want := make([][]int32, bands)
	for n := range int32(60) {
		a, b := r.Int32N(bands), r.Int32N(bands)
		s := span{n, min(a, b), max(a, b)}
		spans = append(spans, s)
		for i := s.first; i <= s.last; i++ {
			want[i] = append(want[i], n)
		}
	}
	for _, most := range []int{1, 40, 100, 1 << 20} {
		from := 0
		for from < bands {
			b := bin(spans, from, bands, most)
			if b.len() < 1 || (b.len() > 1 && len(b.strip) > most) {
				t.Fatalf("a share of %d bands with %d strips, at most %d", b.len(), len(b.strip), most)
			}
			for i := range b.len() {
				if !slices.Equal(b.at(i), want[from+i]) {
					t.Fatalf("most %d: band %d has strips %v, want %v", most, from+i, b.at(i), want[from+i])
				}
			}
			from += b.len()
		}
	}
}

// Marking lowers to the same bits as plain carving, and both stay within a
// nanometre's tenth of the line.
func TestRamps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 3000).Draw(t, "cells")
		h := float32(rapid.Float64Range(-0.09, 0).Draw(t, "h"))
		g := float32(rapid.Float64Range(-0.09, 0).Draw(t, "fall") / 3000)
		z, m := make([]float32, n), make([]float32, n)
		id := make([]int32, n)
		for i := range z {
			z[i] = float32(-0.05 * float64(i%7) / 7)
			m[i] = z[i]
		}
		var runs []run
		for i := 0; i < n; {
			to := min(i+rapid.IntRange(1, longest).Draw(t, "run"), n)
			runs = append(runs, run{int32(i), int32(to), h + float32(i)*g})
			i = to
		}
		lower(z, runs, g)
		mark(m, id, runs, g, 5)
		if !slices.Equal(z, m) {
			t.Fatal("marking gives other heights")
		}
		for i := range z {
			before, line := -0.05*float64(i%7)/7, float64(h)+float64(i)*float64(g)
			if math.Abs(float64(z[i])-math.Min(before, line)) > 1e-7 {
				t.Fatalf("cell %d: %v, want %v or %v", i, z[i], before, line)
			}
			if lowered := id[i] == 5; lowered != (z[i] < float32(before)) {
				t.Fatalf("cell %d: marked %v at %v from %v", i, lowered, z[i], before)
			}
		}
	})
}
