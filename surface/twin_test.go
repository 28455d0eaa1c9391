package surface

import (
	"context"
	"math"
	"testing"

	"brightcut/cutter"
	"brightcut/engine"

	"pgregory.net/rapid"
)

// heightAt is the definition, evaluated: the lowest of the stock at top and,
// over every segment of every path, the tip's height plus the rise of the flank
// at the distance t along the V, wherever the V on its way passes through (x, y).
func heightAt(cuts []engine.Cut, c cutter.Cutter, top, x, y float64) float64 {
	z := top
	for _, cut := range cuts {
		for _, p := range cut.Pieces {
			path := p.Path
			if p.Closed {
				path = append(path[:len(path):len(path)], path[0])
			}
			for i := 1; i < len(path); i++ {
				z = math.Min(z, segmentAt(path[i-1], path[i], c, x, y))
			}
		}
	}
	return z
}

func segmentAt(a, b engine.Vertex, c cutter.Cutter, x, y float64) float64 {
	turns := math.Remainder(b.Across-a.Across, 2*math.Pi)
	// off is the distance of (x, y) from the line of the V at s.
	off := func(s float64) (off, t float64) {
		sin, cos := math.Sincos(a.Across + s*turns)
		px, py := x-a.X-s*(b.X-a.X), y-a.Y-s*(b.Y-a.Y)
		return px*sin - py*cos, px*cos + py*sin
	}
	height := func(s float64) float64 {
		_, t := off(s)
		return a.Z + s*(b.Z-a.Z) + math.Max(0, math.Abs(t)-c.Flat/2)/math.Tan(c.Half())
	}
	best := math.Inf(1)
	reach := c.Flat/2 + math.Max(0, 0.05-math.Min(a.Z, b.Z))*math.Tan(c.Half()) + math.Hypot(b.X-a.X, b.Y-a.Y)
	if math.Hypot(x-a.X, y-a.Y) > reach { // stock in these tests stands up to 0.05
		return best
	}
	steps := 1
	if turns != 0 {
		steps = 8
	}
	for i := range steps {
		lo, hi := float64(i)/float64(steps), float64(i+1)/float64(steps)
		f, _ := off(lo)
		g, _ := off(hi)
		if math.Abs(f) < 1e-12 { // on the V at a place of the path, but for rounding
			best = math.Min(best, height(lo))
		}
		if math.Abs(g) < 1e-12 {
			best = math.Min(best, height(hi))
		}
		if f*g >= 0 {
			continue
		}
		for range 40 {
			m := (lo + hi) / 2
			if h, _ := off(m); h*f > 0 {
				lo = m
			} else {
				hi = m
			}
		}
		best = math.Min(best, height((lo+hi)/2))
	}
	return best
}

// nearEnd says how near (x, y) is to where a strip begins or ends across the V: a
// cell that near may fall to either side by rounding.
func nearEnd(cuts []engine.Cut, x, y, within float64) bool {
	for _, cut := range cuts {
		for _, p := range cut.Pieces {
			if p.Closed {
				continue
			}
			for _, v := range []engine.Vertex{p.Path[0], p.Path[len(p.Path)-1]} {
				sin, cos := math.Sincos(v.Across)
				if math.Abs((x-v.X)*sin-(y-v.Y)*cos) < within {
					return true
				}
			}
		}
	}
	return false
}

// drawCuts draws a few cuts of either engine, at any chuck angle, some of them
// varying in depth or rising out of the stock.
func drawCuts(t *rapid.T) (cuts []engine.Cut, turning bool) {
	num := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	turning = rapid.Bool().Draw(t, "rose engine")
	for i := range rapid.IntRange(1, 4).Draw(t, "cuts") {
		depth, rise := num(0.005, 0.12, "depth"), rapid.SampledFrom([]float64{0, 0, 0.02, 0.15}).Draw(t, "rise")
		amplitude, wave, phase := num(0, 0.3, "amplitude"), num(0.7, 4, "wave"), num(0, 6, "phase")
		angle := num(-4, 4, "angle")
		var path []engine.Vertex
		if turning {
			r, n := num(0.3, 3, "radius"), math.Floor(num(1, 9, "bumps"))
			span := num(0.5, 2*math.Pi, "span")
			cx := num(-0.2, 0.2, "off centre")
			path = sampled(angle, angle+span, 64, func(a float64) engine.Vertex {
				rr := r + 0.2*amplitude*math.Sin(n*a+phase)
				sin, cos := math.Sincos(a)
				return engine.Vertex{X: cx + rr*cos, Y: rr * sin, Z: -depth + rise*math.Sin(3*a+phase), Across: a}
			})
		} else {
			off, length := num(-2, 2, "offset"), num(0.3, 4, "length")
			sin, cos := math.Sincos(angle)
			path = sampled(-length, length, 7, func(s float64) engine.Vertex {
				x := off + amplitude*math.Sin(2*math.Pi*s/wave+phase)
				return engine.Vertex{X: x*cos - s*sin, Y: x*sin + s*cos, Z: -depth + rise*math.Sin(2*s+phase), Across: angle}
			})
		}
		cuts = append(cuts, engine.Cut{Number: i + 1, Pieces: []engine.Piece{{Path: path}}})
	}
	return cuts, turning
}

// The field equals the definition at every cell, on random jobs of both
// engines, for flat stock and stock that is not flat.
func TestCarveIsTheDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cuts, turning := drawCuts(t)
		c := cutter.Cutter{
			Included: rapid.Float64Range(0.6, 2.9).Draw(t, "included"),
			Flat:     rapid.SampledFrom([]float64{0, 0, 0.013, 0.07}).Draw(t, "flat"),
		}
		cell := rapid.Float64Range(0.04, 0.15).Draw(t, "cell")
		g := Grid{X0: rapid.Float64Range(-3, 0).Draw(t, "x0"), Y0: rapid.Float64Range(-3, 0).Draw(t, "y0"), Cell: cell, Nx: 37, Ny: 29}
		bow := rapid.SampledFrom([]float64{0, 0.01, -0.02}).Draw(t, "bow")
		k, err := NewCarver(cuts, c)
		if err != nil {
			t.Fatal(err)
		}
		f, err := NewField(g)
		if err != nil {
			t.Fatal(err)
		}
		stock := func(x, y float64) float64 { return bow * (1.1*x*x - 0.4*y) / 9 }
		for j := range g.Ny {
			for i := range g.Nx {
				x, y := g.At(i, j)
				f.Row(j)[i] = float32(stock(x, y))
			}
		}
		if err := k.Carve(context.Background(), f); err != nil {
			t.Fatal(err)
		}
		tolerance := 6e-8 // two roundings of float32 heights down to 0.27 mm
		if turning {
			tolerance = PlaneTolerance
		}
		for j := range g.Ny {
			for i := range g.Nx {
				x, y := g.At(i, j)
				want := heightAt(cuts, c, float64(float32(stock(x, y))), x, y)
				got := float64(f.Row(j)[i])
				if math.Abs(got-want) > tolerance && !nearEnd(cuts, x, y, 1e-6) {
					t.Fatalf("height at (%v, %v), cell (%d, %d): %v, by definition %v (off by %v)", x, y, i, j, got, want, got-want)
				}
			}
		}
	})
}
