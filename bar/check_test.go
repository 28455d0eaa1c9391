package bar

import (
	"math"
	"strings"
	"testing"
)

func TestCheck(t *testing.T) {
	sine := Edge{Figure: Sine, Wave: 3, Amplitude: 0.25}
	rosette := Edge{Figure: Sine, Radius: 40, Count: 24, Amplitude: 0.5}
	trapezoid := Edge{Figure: Trapezoid, Wave: 3, Amplitude: 0.25, Crest: 0.2, Hollow: 0.3}
	zigzag := Edge{Figure: Zigzag, Wave: 3, Amplitude: 0.25, Nose: 0.2, Root: 0.1}
	arcs := Edge{Figure: Arcs, Wave: 3, Amplitude: 0.25}
	points := Edge{Figure: Points, Drawn: [][2]float64{{0, 0}, {1, 0.5}, {2, 0}}}
	round := Edge{Figure: Points, Radius: 20, Drawn: [][2]float64{{0, 0}, {1, 0.5}, {2 * math.Pi, 0}}}
	bumps := Edge{Figure: Bumps, Radius: 40, Count: 24, Heights: []float64{0.5, 0.2, 0.4}}
	for _, e := range []Edge{sine, rosette, trapezoid, zigzag, arcs, points, round, bumps, {Figure: Plain}, {Figure: Plain, Radius: 30}} {
		if l := e.Check(); len(l) > 0 {
			t.Errorf("%+v: %v", e, l)
		}
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name   string
		e      Edge
		spoil  func(*Edge)
		fields string
		says   string
	}{
		{"no figure", sine, func(e *Edge) { e.Figure = 0 }, "figure", "no such figure"},
		{"figure beyond", sine, func(e *Edge) { e.Figure = 99 }, "figure", "choose plain"},
		{"no wave", sine, func(e *Edge) { e.Wave = 0 }, "wave", "0 mm"},
		{"wave not a number", sine, func(e *Edge) { e.Wave = nan }, "wave", "NaN"},
		{"endless wave", sine, func(e *Edge) { e.Wave = inf }, "wave", "Inf"},
		{"flat", sine, func(e *Edge) { e.Amplitude = 0 }, "amplitude", "plain"},
		{"upside down", sine, func(e *Edge) { e.Amplitude = -1 }, "amplitude", "-1 mm"},
		{"too steep", sine, func(e *Edge) { e.Amplitude = 100 }, "amplitude", "89.7"},
		{"both wrong", sine, func(e *Edge) { e.Wave, e.Amplitude = -1, nan }, "wave", ""},
		{"count on a bar", sine, func(e *Edge) { e.Count = 3 }, "count", "only a rosette"},
		{"negative length", sine, func(e *Edge) { e.Length = -1 }, "length", "-1 mm"},
		{"endless length", sine, func(e *Edge) { e.Length = inf }, "length", "Inf"},
		{"no count", rosette, func(e *Edge) { e.Count = 0 }, "count", "number of its bumps"},
		{"negative count", rosette, func(e *Edge) { e.Count = -4 }, "count", "-4"},
		{"many bumps", rosette, func(e *Edge) { e.Count = 1 << 40 }, "count", "10000"},
		{"radius not a number", rosette, func(e *Edge) { e.Radius = nan }, "radius", "NaN"},
		{"negative radius", rosette, func(e *Edge) { e.Radius = -40 }, "radius", "-40"},
		{"rosette with a length", rosette, func(e *Edge) { e.Length = 20 }, "length", "no length"},
		{"through the middle", rosette, func(e *Edge) { e.Amplitude = 41; e.Count = 1 }, "amplitude", "middle"},
		{"no ramps", trapezoid, func(e *Edge) { e.Crest, e.Hollow = 0.5, 0.5 }, "crest", "ramps"},
		{"share beyond", trapezoid, func(e *Edge) { e.Hollow = 1.5 }, "hollow", "1.5"},
		{"share not a number", trapezoid, func(e *Edge) { e.Crest = nan }, "crest", "NaN"},
		{"steep ramps", trapezoid, func(e *Edge) { e.Crest, e.Hollow = 0.5, 0.49999 }, "amplitude", "89"},
		{"no room for noses", zigzag, func(e *Edge) { e.Nose, e.Root = 2, 1 }, "nose", "2.5 mm"},
		{"no room for roots", zigzag, func(e *Edge) { e.Nose, e.Root = 1, 2 }, "root", "2.5 mm"},
		{"negative nose", zigzag, func(e *Edge) { e.Nose = -1 }, "nose", "-1 mm"},
		{"tall zigzag with noses", zigzag, func(e *Edge) { e.Wave, e.Amplitude, e.Nose, e.Root = 0.5, 1, 0.25, 0.5 }, "amplitude", "90 deg"},
		{"upright arcs", arcs, func(e *Edge) { e.Amplitude = 0.75 }, "amplitude", "0.75 mm"},
		{"arcs too short", arcs, func(e *Edge) { e.Crest, e.Hollow = 0.2, 0.3 }, "crest", "add up to 1"},
		{"one point", points, func(e *Edge) { e.Drawn = e.Drawn[:1] }, "points", "two points"},
		{"backwards", points, func(e *Edge) { e.Drawn = [][2]float64{{0, 0}, {2, 0}, {1, 0}} }, "points[2]", "further along"},
		{"one place twice", points, func(e *Edge) { e.Drawn = [][2]float64{{0, 0}, {0, 1}} }, "points[1]", "further along"},
		{"place not a number", points, func(e *Edge) { e.Drawn = [][2]float64{{0, 0}, {nan, 1}} }, "points[1]", "NaN"},
		{"height not a number", points, func(e *Edge) { e.Drawn = [][2]float64{{0, nan}, {1, 1}} }, "points[0]", "NaN"},
		{"upright", points, func(e *Edge) { e.Drawn = [][2]float64{{0, 0}, {0.001, 1}} }, "points[1]", "89.9"},
		{"two wrong", points, func(e *Edge) { e.Drawn = [][2]float64{{0, inf}, {1, 1}, {1, 1}} }, "points[0] points[2]", ""},
		{"does not meet", points, func(e *Edge) { e.Repeats = true; e.Drawn = [][2]float64{{0, 0}, {1, 1}} }, "points[1]", "1 mm above"},
		{"not the whole bar", points, func(e *Edge) { e.Length = 4 }, "points", "from 0 mm to 2 mm"},
		{"not round", round, func(e *Edge) { e.Count = 2 }, "points", "360 deg"},
		{"points through the middle", round, func(e *Edge) { e.Drawn = [][2]float64{{0, 0}, {1, -20}, {2 * math.Pi, 0}} }, "points[1]", "middle"},
		{"swinging spline", points, func(e *Edge) {
			e.Spline = true
			e.Drawn = [][2]float64{{0, 0}, {1, 900}, {1.0001, 0}, {3, 0}}
		}, "points", "steeply"},
		{"no heights", bumps, func(e *Edge) { e.Heights = nil }, "heights", "no bumps"},
		{"uneven heights", bumps, func(e *Edge) { e.Count = 25 }, "heights", "evenly"},
		{"negative height", bumps, func(e *Edge) { e.Heights = []float64{1, -1} }, "heights[1]", "-1 mm"},
		{"all flat", bumps, func(e *Edge) { e.Heights = []float64{0, 0} }, "heights", "no height"},
		{"many heights", bumps, func(e *Edge) { e.Heights = make([]float64, 2000) }, "heights", "2000"},
	} {
		e := c.e
		c.spoil(&e)
		l := e.Check()
		var fields []string
		for _, f := range l {
			fields = append(fields, f.Field)
			if f.Problem == "" || f.Mend == "" {
				t.Errorf("%s: %+v says too little", c.name, f)
			}
		}
		if got := strings.Join(fields, " "); got != c.fields && c.name != "both wrong" {
			t.Errorf("%s: faults in %q, want %q", c.name, got, c.fields)
		}
		if !strings.Contains(l.Error(), c.says) {
			t.Errorf("%s: %q does not say %q", c.name, l.Error(), c.says)
		}
		if _, err := Follow(e, 0.3); err == nil {
			t.Errorf("%s: Follow took it", c.name)
		}
	}
}

func TestUnfitTouchpiece(t *testing.T) {
	for _, c := range []struct {
		e          Edge
		ρ          float64
		field, say string
	}{
		{Edge{Figure: Sine, Wave: 3, Amplitude: 0.25}, -1, "touchpiece", "-1 mm"},
		{Edge{Figure: Sine, Wave: 3, Amplitude: 0.25}, math.NaN(), "touchpiece", "NaN"},
		{Edge{Figure: Sine, Wave: 3, Amplitude: 0.25}, math.Inf(1), "touchpiece", "Inf"},
		{Edge{Figure: Sine, Radius: 5, Count: 4, Amplitude: 1}, 3, "rubber", "least radius is 4 mm"},
		{Edge{Figure: Sine, Radius: 20, Count: 40, Amplitude: 5}, 1.3, "rubber", "give a rubber of 1.11 mm"},
	} {
		_, err := Follow(c.e, c.ρ)
		if err == nil || !strings.HasPrefix(err.Error(), c.field+": ") || !strings.Contains(err.Error(), c.say) {
			t.Errorf("ρ = %v: %v", c.ρ, err)
		}
	}
	// The radius the fault offers is taken.
	if _, err := Follow(Edge{Figure: Sine, Radius: 5, Count: 4, Amplitude: 1}, 1.77); err != nil {
		t.Error(err)
	}
}
