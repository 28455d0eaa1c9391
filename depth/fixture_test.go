package depth

import (
	"math"

	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/engine"

	"gonum.org/v1/gonum/spatial/r2"
)

const deg = math.Pi / 180

// bright is the cutter of the check values: 130°, sharp.
var bright = cutter.Cutter{Included: 130 * deg, Clearance: 15 * deg}

// sunburst is n straight rays from one radius to another, the work turned so that
// the cuts go round by turn after each; readings are those of the stroke.
func sunburst(n int, from, to, turn float64) []engine.Cut {
	cuts := make([]engine.Cut, n)
	for i := range cuts {
		a := turn * float64(i)
		sin, cos := math.Sincos(a)
		at := func(r float64) engine.Vertex {
			return engine.Vertex{X: -r * sin, Y: r * cos, Z: -0.045, Across: a}
		}
		cuts[i] = engine.Cut{
			Number: i + 1, Turned: a, Depth: 0.045, Settings: engine.Settings{Index: int(math.Round(a / (2 * math.Pi) * float64(n)))},
			Pieces: []engine.Piece{{Start: from, Stop: to, Path: []engine.Vertex{at(from), at(to)}, Readings: []float64{from, to}}},
		}
		if i > 0 {
			cuts[i].Moves = []engine.Move{{Motion: engine.Turn, Axis: engine.IndexAxis, Count: int(math.Copysign(1, turn)), Exact: turn, Reading: cuts[i].Settings.Index}}
		}
	}
	return cuts
}

// dial is the work of the check values: a disc of 36 mm, a round foot of 0.8 mm
// radius 0.6 mm to the given side, 45 µm of extension.
func dial(cuts []engine.Cut, side Side) *Work {
	return &Work{
		List:   &engine.List{Cuts: cuts},
		Cutter: bright,
		Blank:  &blank.Blank{Thickness: 0.8, Outline: blank.Shape{Form: blank.Disc, Diameter: 36}},
		Guide:  &Guide{Offset: 0.6, Side: side, FootRadius: 0.8, Extension: 0.045},
		Stop:   &Stop{},
	}
}

// bowed is the stock of a blank that reads as part of a cylinder of the given
// radius, level along y, taken at 60 places.
func bowed(b *blank.Blank, radius float64) *Stock { return bowedAlong(b, radius, 0) }

// bowedAlong is level square to the given direction.
func bowedAlong(b *blank.Blank, radius, direction float64) *Stock {
	rs := &blank.Readings{Name: "bow.csv"}
	const golden = 2.39996322972865332
	sin, cos := math.Sincos(direction)
	for i := range 60 {
		r, a := 17.5*math.Sqrt((float64(i)+0.5)/60), golden*float64(i)
		p := r2.Vec{X: r * math.Cos(a), Y: r * math.Sin(a)}
		u := p.X*cos + p.Y*sin
		rs.Points = append(rs.Points, blank.Reading{Place: p, Z: -u * u / (2 * radius)})
	}
	residual, err := rs.Residual(blank.ResidualOptions{Noise: 0.0003})
	if err != nil {
		panic(err)
	}
	s, err := NewStock(b, blank.Nominal{}, residual, false)
	if err != nil {
		panic(err)
	}
	return s
}
