package light

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/surface"
)

// The three workloads every part of the program is timed on: a V of 130°,
// 0.045 mm deep, on silver.

const workDepth = 0.045

type workload struct {
	name  string
	blank *blank.Blank
	cuts  []engine.Cut
}

func workloads() []workload {
	disc := &blank.Blank{Thickness: 0.8, Outline: blank.Shape{Form: blank.Disc, Diameter: 36}}
	panel := &blank.Blank{Thickness: 0.8, Outline: blank.Shape{Form: blank.Rectangle, Width: 27, Height: 27, Corner: 1.5,
		Centre: r2.Vec{X: 12.4, Y: 12.5}}}
	return []workload{{"W1", panel, waves()}, {"W2", disc, sunburst()}, {"W3", disc, rings()}}
}

// cutAlong samples a path finely enough for any picture.
func cutAlong(number, steps int, from, to float64, p func(float64) engine.Vertex) engine.Cut {
	path := make([]engine.Vertex, steps+1)
	for i := range path {
		path[i] = p(from + (to-from)*float64(i)/float64(steps))
	}
	return engine.Cut{Number: number, Depth: workDepth, Pieces: []engine.Piece{{Path: path}}}
}

func waves() []engine.Cut {
	var cuts []engine.Cut
	for i := range 160 {
		cuts = append(cuts, cutAlong(i+1, 400, 0, 25, func(y float64) engine.Vertex {
			x := 0.156*float64(i) + 0.25*math.Sin(2*math.Pi*(y/3+float64(i)/2))
			return engine.Vertex{X: x, Y: y, Z: -workDepth}
		}))
	}
	return cuts
}

func sunburst() []engine.Cut {
	var cuts []engine.Cut
	for i := range 360 {
		a := 2 * math.Pi * float64(i) / 360
		sin, cos := math.Sincos(a)
		cuts = append(cuts, cutAlong(i+1, 1, 2, 17, func(r float64) engine.Vertex {
			return engine.Vertex{X: -r * sin, Y: r * cos, Z: -workDepth, Across: a}
		}))
	}
	return cuts
}

func rings() []engine.Cut {
	var cuts []engine.Cut
	for i := range 150 {
		c := cutAlong(i+1, 768, 0, 2*math.Pi, func(t float64) engine.Vertex {
			r := 2 + 0.1*float64(i) + 0.08*math.Sin(24*t+math.Pi*float64(i))
			sin, cos := math.Sincos(t)
			return engine.Vertex{X: r * cos, Y: r * sin, Z: -workDepth, Across: t}
		})
		c.Pieces[0].Closed = true
		cuts = append(cuts, c)
	}
	return cuts
}

func carved(t testing.TB, cuts []engine.Cut, included float64) *surface.Carver {
	t.Helper()
	k, err := surface.NewCarver(cuts, cutter.Cutter{Included: included * math.Pi / 180})
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func metal(t testing.TB, name string) Metal {
	t.Helper()
	m, err := MetalNamed(name)
	if err != nil {
		t.Fatal(err)
	}
	return m
}
