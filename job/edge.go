package job

import (
	"slices"

	"brightcut/bar"
)

var figureWords = []string{"plain", "sine", "trapezoid", "arcs", "zigzag", "points", "bumps", "harmonics", "blend"}

var figures = []bar.Figure{bar.Plain, bar.Sine, bar.Trapezoid, bar.Arcs, bar.Zigzag, bar.Points, bar.Bumps, bar.Harmonics, bar.Blend}

// simple is how many of the figures are made of no others; they stand first.
var simple = len(figures) - 1

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
// long one wave is and along what the points are drawn; n figures may be chosen.
func edgeFields(n int, wave field[bar.Edge], along codec[float64]) []field[bar.Edge] {
	return []field[bar.Edge]{
		must("figure", "How the edge is drawn.", choice(figureWords[:n], figures[:n]), func(e *bar.Edge) *bar.Figure { return &e.Figure }),
		wave,
		must("amplitude", "Half the height from hollow to crest.", lengthOf(overZero), func(e *bar.Edge) *float64 { return &e.Amplitude }).of("sine", "trapezoid", "arcs", "zigzag"),
		at("crest", "Flat on the crest, as a share of the wave; of arcs, the share that the bump takes.", numberOf(span{0, 1, false}), func(e *bar.Edge) *float64 { return &e.Crest }).of("trapezoid", "arcs"),
		at("hollow", "Flat in the hollow, as a share of the wave; of arcs, the share that the hollow takes.", numberOf(span{0, 1, false}), func(e *bar.Edge) *float64 { return &e.Hollow }).of("trapezoid", "arcs"),
		at("nose", "Radius on the crest of a zigzag; left out, it is sharp.", lengthOf(fromZero), func(e *bar.Edge) *float64 { return &e.Nose }).of("zigzag"),
		at("root", "Radius in the hollow of a zigzag; left out, it is sharp.", lengthOf(fromZero), func(e *bar.Edge) *float64 { return &e.Root }).of("zigzag"),
		must("points", "Places of the edge in order, each [along, height].", drawn(along), func(e *bar.Edge) *[][2]float64 { return &e.Drawn }).of("points"),
		at("spline", "Whether a smooth curve joins the points rather than straight lines.", yesNo, func(e *bar.Edge) *bool { return &e.Spline }).of("points"),
		at("mirror", "Whether the points are followed by their mirror image about the last of them.", yesNo, func(e *bar.Edge) *bool { return &e.Mirror }).of("points"),
		at("joint", "Length along the edge, on each side, over which a step between the last point and the next first is made good; left out, there must be none.", along, func(e *bar.Edge) *float64 { return &e.Joint }).of("points"),
		must("sines", "Sines of which the edge is the sum.", listOf(sineRecord.codec(), 1, bar.MaxSines, false), func(e *bar.Edge) *[]bar.Harmonic { return &e.Sines }).of("harmonics"),
		must("heights", "Height of each bump, in order.", listOf(lengthOf(anyValue), 1, mostBumps, true), func(e *bar.Edge) *[]float64 { return &e.Heights }).of("bumps"),
	}
}

// sineRecord reads one sine of a sum.
var sineRecord = &record[bar.Harmonic]{
	name: "a sine", flow: true,
	fields: []field[bar.Harmonic]{
		must("order", "How often the sine goes into the wave; 0 raises the whole edge by amplitude times the sine of the phase.", count(0, bar.MaxHarmonics), func(h *bar.Harmonic) *int { return &h.Order }),
		must("amplitude", "Half its height from hollow to crest.", lengthOf(fromZero), func(h *bar.Harmonic) *float64 { return &h.Amplitude }),
		at("phase", "Its phase at the start of the wave; at 0 it rises through the datum there.", angleOf(anyValue), func(h *bar.Harmonic) *float64 { return &h.Phase }),
	},
}

// blendFields are the keys of a blend of two edges that part reads.
func blendFields(part codec[*bar.Edge], along codec[float64]) []field[bar.Edge] {
	return []field[bar.Edge]{
		must("from", "Pattern up to the first change, and again after each second one: the name of a file or its keys.", part, func(e *bar.Edge) **bar.Edge { return &e.First }).of("blend"),
		must("into", "Pattern after the first change: the name of a file or its keys.", part, func(e *bar.Edge) **bar.Edge { return &e.Second }).of("blend"),
		must("changes", "Middles of the passages from one pattern into the other, in order; a rosette needs an even number.", listOf(along, 1, bar.MaxChanges, true), func(e *bar.Edge) *[]float64 { return &e.Changes }).of("blend"),
		must("over", "Length of each passage, along the bar or round the rosette.", along, func(e *bar.Edge) *float64 { return &e.Over }).of("blend"),
	}
}

// edgeIn reads an edge that is part of another: the name of a file or its keys.
func edgeIn(kind string, rec *record[bar.Edge]) codec[*bar.Edge] {
	c := partOf(kind, rec, edgeNameOf, nil)
	c.schema = func(s *schemer) schema {
		return schema{"anyOf": []any{
			schema{"type": "string", "minLength": 1, "maxLength": mostName},
			s.define("simple_"+kind, func() schema { return rec.schema(s) }),
		}}
	}
	return refer(c)
}

func edgeName() field[bar.Edge] {
	return at("name", "What the workshop calls it.", text(mostName), func(e *bar.Edge) *string { return &e.Name })
}

func barFields(figures int) []field[bar.Edge] {
	return append(append([]field[bar.Edge]{edgeName()},
		edgeFields(figures,
			must("wave", "Length of one wave along the bar.", lengthOf(overZero), func(e *bar.Edge) *float64 { return &e.Wave }).
				of("sine", "trapezoid", "arcs", "zigzag", "bumps", "harmonics"),
			lengthOf(anyValue))...),
		at("repeats", "Whether the drawn span repeats along the bar.", yesNo, func(e *bar.Edge) *bool { return &e.Repeats }).of("points"),
		at("length", "Length of the bar; left out, it is as long as the stroke needs. A blend needs it.", lengthOf(overZero), func(e *bar.Edge) *float64 { return &e.Length }))
}

func rosetteFields(figures int) []field[bar.Edge] {
	return append([]field[bar.Edge]{
		edgeName(),
		must("radius", "Mean radius of the rosette.", lengthOf(overZero), func(e *bar.Edge) *float64 { return &e.Radius }),
	},
		edgeFields(figures,
			at("count", "Bumps round the rosette; how often drawn points or heights repeat round it.", count(1, mostCount), func(e *bar.Edge) *int { return &e.Count }).
				required().of("sine", "trapezoid", "arcs", "zigzag", "points", "bumps", "harmonics").neededBy("sine", "trapezoid", "arcs", "zigzag", "harmonics"),
			angleOf(anyValue))...)
}

// edgeRecord is the table of an edge that stands alone or within another.
func edgeRecord(name string, fields ...[]field[bar.Edge]) *record[bar.Edge] {
	return &record[bar.Edge]{name: name, units: true, selector: "figure", variant: figureOf, fields: slices.Concat(fields...)}
}

var (
	simpleBar     = edgeRecord("a bar", barFields(simple))
	simpleRosette = edgeRecord("a rosette", rosetteFields(simple))

	barRecord = edgeRecord("a bar", barFields(len(figures)), blendFields(edgeIn("bar", simpleBar), lengthOf(anyValue)),
		[]field[bar.Edge]{at("other_side", "Other edge of a bar cut on both, as it lies when the bar is turned half round to use it: the name of a file or its keys. A job calls it by the bar's name and the words other side.",
			edgeIn("bar", simpleBar), func(e *bar.Edge) **bar.Edge { return &e.Other })})
	rosetteRecord = edgeRecord("a rosette", rosetteFields(len(figures)), blendFields(edgeIn("rosette", simpleRosette), angleOf(anyValue)))
)
