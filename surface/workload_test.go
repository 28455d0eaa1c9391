package surface

import (
	"math"

	"brightcut/cutter"
	"brightcut/engine"
)

// The three workloads every part of the program is timed on: a V of 130°,
// 0.045 mm deep.

var bright = cutter.Cutter{Included: 130 * math.Pi / 180}

const workDepth = 0.045

// sampled returns the path of p over [from, to] in segments that stay within
// the engine's chord of the true path.
func sampled(from, to float64, steps int, p func(float64) engine.Vertex) []engine.Vertex {
	path := []engine.Vertex{p(from)}
	var split func(a, b float64, va, vb engine.Vertex, depth int)
	split = func(a, b float64, va, vb engine.Vertex, depth int) {
		m := p((a + b) / 2)
		dx, dy := vb.X-va.X, vb.Y-va.Y
		off := math.Abs((m.X-va.X)*dy-(m.Y-va.Y)*dx) / math.Hypot(dx, dy)
		if off > engine.DefaultChord && depth < 20 {
			split(a, (a+b)/2, va, m, depth+1)
			split((a+b)/2, b, m, vb, depth+1)
			return
		}
		path = append(path, vb)
	}
	for i := range steps {
		a := from + (to-from)*float64(i)/float64(steps)
		b := from + (to-from)*float64(i+1)/float64(steps)
		split(a, b, p(a), p(b), 0)
	}
	return path
}

func cutOf(number int, path []engine.Vertex) engine.Cut {
	return engine.Cut{Number: number, Depth: workDepth, Pieces: []engine.Piece{{Path: path}}}
}

// waves is W1: 160 waves along y, alternating by half a wave, on 25 × 25 mm.
func waves() []engine.Cut {
	var cuts []engine.Cut
	for i := range 160 {
		cuts = append(cuts, cutOf(i+1, sampled(0, 25, 100, func(y float64) engine.Vertex {
			x := 0.156*float64(i) + 0.25*math.Sin(2*math.Pi*(y/3+float64(i)/2))
			return engine.Vertex{X: x, Y: y, Z: -workDepth}
		})))
	}
	return cuts
}

// sunburst is W2: 360 straight rays from r = 2 to r = 17 on a disc of 36 mm.
func sunburst() []engine.Cut {
	var cuts []engine.Cut
	for i := range 360 {
		a := 2 * math.Pi * float64(i) / 360
		sin, cos := math.Sincos(a)
		ray := func(r float64) engine.Vertex {
			return engine.Vertex{X: -r * sin, Y: r * cos, Z: -workDepth, Across: a}
		}
		cuts = append(cuts, cutOf(i+1, []engine.Vertex{ray(2), ray(17)}))
	}
	return cuts
}

// rings is W3: 150 waved rings, alternating by half a wave, on a disc of 36 mm.
func rings() []engine.Cut {
	var cuts []engine.Cut
	for i := range 150 {
		c := cutOf(i+1, sampled(0, 2*math.Pi, 96, func(t float64) engine.Vertex {
			r := 2 + 0.1*float64(i) + 0.08*math.Sin(24*t+math.Pi*float64(i))
			sin, cos := math.Sincos(t)
			return engine.Vertex{X: r * cos, Y: r * sin, Z: -workDepth, Across: t}
		}))
		c.Pieces[0].Closed = true
		cuts = append(cuts, c)
	}
	return cuts
}

type workload struct {
	name string
	cuts func() []engine.Cut
	x0   float64 // left and lower edge, mm
	size float64 // of the square, mm
}

var workloads = []workload{
	{"W1", waves, 0, 25},
	{"W2", sunburst, -18, 36},
	{"W3", rings, -18, 36},
}

// grid lays n × n cells over the workload.
func (w workload) grid(n int) Grid {
	cell := w.size / float64(n)
	return Grid{X0: w.x0 + cell/2, Y0: w.x0 + cell/2, Cell: cell, Nx: n, Ny: n}
}
