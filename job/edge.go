package job

import (
	"brightcut/bar"
)

var figureWords = []string{"plain", "sine", "trapezoid", "arcs", "zigzag", "points", "bumps"}

var figures = []bar.Figure{bar.Plain, bar.Sine, bar.Trapezoid, bar.Arcs, bar.Zigzag, bar.Points, bar.Bumps}

func figureOf(_ *reader, e *bar.Edge) string {
	for i, f := range figures {
		if f == e.Figure {
			return figureWords[i]
		}
	}
	return ""
}

// Bounds of a drawn edge.
const (
	mostPoints = 20_000
	mostBumps  = 2_000
)

func drawn(across codec[float64]) codec[[][2]float64] {
	point := pairOf(across, lengthOf(anyValue), func(p *[2]float64) (*float64, *float64) { return &p[0], &p[1] })
	return listOf(point, 2, mostPoints, true)
}

// edgeFields are the keys that bars and rosettes share once it is known how
// long one wave is and along what the points are drawn.
func edgeFields(wave field[bar.Edge], along codec[float64]) []field[bar.Edge] {
	return []field[bar.Edge]{
		must("figure", "How the edge is drawn.", choice(figureWords, figures), func(e *bar.Edge) *bar.Figure { return &e.Figure }),
		wave,
		must("amplitude", "Half the height from hollow to crest.", lengthOf(overZero), func(e *bar.Edge) *float64 { return &e.Amplitude }).of("sine", "trapezoid", "arcs", "zigzag"),
		at("crest", "Flat on the crest, as a share of the wave; of arcs, the share that the bump takes.", numberOf(span{0, 1, false}), func(e *bar.Edge) *float64 { return &e.Crest }).of("trapezoid", "arcs"),
		at("hollow", "Flat in the hollow, as a share of the wave; of arcs, the share that the hollow takes.", numberOf(span{0, 1, false}), func(e *bar.Edge) *float64 { return &e.Hollow }).of("trapezoid", "arcs"),
		at("nose", "Radius on the crest of a zigzag; left out, it is sharp.", lengthOf(fromZero), func(e *bar.Edge) *float64 { return &e.Nose }).of("zigzag"),
		at("root", "Radius in the hollow of a zigzag; left out, it is sharp.", lengthOf(fromZero), func(e *bar.Edge) *float64 { return &e.Root }).of("zigzag"),
		must("points", "Places of the edge in order, each [along, height].", drawn(along), func(e *bar.Edge) *[][2]float64 { return &e.Drawn }).of("points"),
		at("spline", "Whether a smooth curve joins the points rather than straight lines.", yesNo, func(e *bar.Edge) *bool { return &e.Spline }).of("points"),
		must("heights", "Height of each bump, in order.", listOf(lengthOf(anyValue), 1, mostBumps, true), func(e *bar.Edge) *[]float64 { return &e.Heights }).of("bumps"),
	}
}

func edgeName() field[bar.Edge] {
	return at("name", "What the workshop calls it.", text(mostName), func(e *bar.Edge) *string { return &e.Name })
}

var barRecord = &record[bar.Edge]{
	name: "a bar", units: true, selector: "figure", variant: figureOf,
	fields: append(append([]field[bar.Edge]{edgeName()},
		edgeFields(
			must("wave", "Length of one wave along the bar.", lengthOf(overZero), func(e *bar.Edge) *float64 { return &e.Wave }).
				of("sine", "trapezoid", "arcs", "zigzag", "bumps"),
			lengthOf(anyValue))...),
		at("repeats", "Whether the drawn span repeats along the bar.", yesNo, func(e *bar.Edge) *bool { return &e.Repeats }).of("points"),
		at("length", "Length of the bar; left out, it is as long as the stroke needs.", lengthOf(overZero), func(e *bar.Edge) *float64 { return &e.Length })),
}

var rosetteRecord = &record[bar.Edge]{
	name: "a rosette", units: true, selector: "figure", variant: figureOf,
	fields: append([]field[bar.Edge]{
		edgeName(),
		must("radius", "Mean radius of the rosette.", lengthOf(overZero), func(e *bar.Edge) *float64 { return &e.Radius }),
	},
		edgeFields(
			at("count", "Bumps round the rosette; how often drawn points or heights repeat round it.", count(1, mostCount), func(e *bar.Edge) *int { return &e.Count }).
				required().of("sine", "trapezoid", "arcs", "zigzag", "points", "bumps").neededBy("sine", "trapezoid", "arcs", "zigzag"),
			angleOf(anyValue))...),
}
