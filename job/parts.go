package job

import (
	"slices"

	"go.yaml.in/yaml/v4"

	"brightcut/cutter"
	"brightcut/depth"
	"brightcut/engine"
)

// The longest texts of a file, in bytes.
const (
	mostName  = 200
	mostNotes = 20_000
)

const (
	straightLine = "straight line"
	rose         = "rose"
)

// variantOf names an engine's kind as files do.
func variantOf(k engine.Kind) string {
	switch k {
	case engine.StraightLine:
		return straightLine
	case engine.Rose:
		return rose
	}
	return ""
}

// mostCount bounds teeth, holes and graduations.
const mostCount = 100_000

var screwRecord = &record[engine.Screw]{
	name: "a screw with its ratchet", flow: true,
	fields: []field[engine.Screw]{
		must("pitch", "Travel for one turn of the screw: a length, or threads to the inch as 14 tpi.", lengthOf(overZero), func(s *engine.Screw) *float64 { return &s.Pitch }),
		must("ratchet", "Teeth of the ratchet for one turn of the screw.", count(1, mostCount), func(s *engine.Screw) *int { return &s.Ratchet }),
		must("from", "Least reading of the travel.", lengthOf(anyValue), func(s *engine.Screw) *float64 { return &s.Min }),
		must("to", "Greatest reading of the travel.", lengthOf(anyValue), func(s *engine.Screw) *float64 { return &s.Max }),
	},
}

// slideRecord is the screw of the slide, whose periodic error may be known.
var slideRecord = &record[engine.Screw]{
	name: screwRecord.name, flow: true,
	fields: append(slices.Clone(screwRecord.fields),
		at("error", "Error of the screw that comes again with its turns; left out, none is known.", refer(periodicRecord(lengthOf(overZero)).codec()), func(s *engine.Screw) **engine.Periodic { return &s.Error })),
}

// periodicRecord reads a periodic error whose size is read by size.
func periodicRecord(size codec[float64]) *record[engine.Periodic] {
	return &record[engine.Periodic]{
		name: "a periodic error", flow: true,
		fields: []field[engine.Periodic]{
			must("size", "Greatest error to either side.", size, func(p *engine.Periodic) *float64 { return &p.Size }),
			or("turns", "Turns of the screw or the wheel after which it comes again; 1 for a wheel off its centre.", numberOf(overZero), func(p *engine.Periodic) *float64 { return &p.Turns }, 1),
			at("from", "Turns from the engine's zero at which it passes 0, rising.", numberOf(fromZero), func(p *engine.Periodic) *float64 { return &p.From }),
		},
	}
}

var indexRecord = &record[engine.Wheel]{
	name: "an index wheel", flow: true,
	fields: []field[engine.Wheel]{
		must("circles", "Holes in each circle of the wheel.", listOf(count(1, mostCount), 1, 1000, true), func(w *engine.Wheel) *[]int { return &w.Circles }),
		or("worm", "Turns of the wheel for one turn of the work; 1 when the wheel sits on the spindle.", count(1, mostCount), func(w *engine.Wheel) *int { return &w.Worm }, 1),
		at("error", "Error of the wheel that comes again as it turns, as an angle of the work; left out, none is known.", refer(periodicRecord(angleOf(overZero)).codec()), func(w *engine.Wheel) **engine.Periodic { return &w.Error }),
	},
}

// oneCircle is the table of a wheel that has a single circle of counts.
func oneCircle(name, key, doc string) *record[engine.Wheel] {
	c := count(1, mostCount)
	return &record[engine.Wheel]{
		name: name, flow: true,
		fields: []field[engine.Wheel]{{
			key: key, doc: doc, need: true, schema: c.schema,
			read: func(r *reader, n *yaml.Node, at string, w *engine.Wheel) {
				if v, ok := c.read(r, n, at); ok {
					*w = engine.Wheel{Circles: []int{v}, Worm: 1}
				}
			},
			write: func(w *writer, v *engine.Wheel) *yaml.Node {
				if len(v.Circles) == 0 {
					return nil
				}
				return c.write(w, v.Circles[0])
			},
		}},
	}
}

var chuckRecord = oneCircle("a chuck", "graduations", "Divisions of the round on the chuck.")

var crossingRecord = oneCircle("a crossing wheel", "teeth", "Teeth of the crossing wheel.")

var strokeRecord = &record[engine.Engine]{
	name: "a stroke", flow: true,
	fields: []field[engine.Engine]{
		must("from", "Least reading of the stroke scale; 0 is over the chuck's centre.", lengthOf(anyValue), func(e *engine.Engine) *float64 { return &e.StrokeMin }),
		must("to", "Greatest reading of the stroke scale.", lengthOf(anyValue), func(e *engine.Engine) *float64 { return &e.StrokeMax }),
	},
}

var engineRecord = &record[engine.Engine]{
	name: "an engine", units: true, selector: "kind",
	variant: func(_ *reader, e *engine.Engine) string { return variantOf(e.Kind) },
	fields: []field[engine.Engine]{
		at("name", "What the workshop calls the engine.", text(mostName), func(e *engine.Engine) *string { return &e.Name }),
		must("kind", "Straight line or rose.", choice([]string{straightLine, rose}, []engine.Kind{engine.StraightLine, engine.Rose}), func(e *engine.Engine) *engine.Kind { return &e.Kind }),
		into("stroke", "Readings of the stroke scale between which the slide travels.", strokeRecord).required().of(straightLine),
		or("lever", "Motion of the work for one of the touchpiece; below 0 it turns the motion round.", numberOf(anyValue), func(e *engine.Engine) *float64 { return &e.Lever }, 1).of(straightLine),
		or("rocking", "Motion of the spindle across for one of the rubber.", numberOf(anyValue), func(e *engine.Engine) *float64 { return &e.Rocking }, 1).of(rose),
		at("pumping", "Motion of the spindle endwise for one of its rubber; left out, the spindle does not pump.", numberOf(anyValue), func(e *engine.Engine) *float64 { return &e.Pumping }).of(rose),
		must("slide", "Screw and ratchet of the slide that steps from cut to cut.", slideRecord.codec(), func(e *engine.Engine) *engine.Screw { return &e.Slide }),
		at("index", "Index wheel under the chuck.", indexRecord.codec(), func(e *engine.Engine) *engine.Wheel { return &e.Index }),
		at("bar_shift", "Screw and ratchet that shift the bar along the stroke.", screwRecord.codec(), func(e *engine.Engine) *engine.Screw { return &e.Shift }).of(straightLine).otherwise("crossing"),
		at("crossing", "Crossing wheel that turns the rosettes against the work.", crossingRecord.codec(), func(e *engine.Engine) *engine.Wheel { return &e.Crossing }).of(rose).otherwise("bar_shift"),
		at("chuck", "Graduations by which the chuck turns the work, apart from the index.", chuckRecord.codec(), func(e *engine.Engine) *engine.Wheel { return &e.Chuck }),
		truingField,
		swingField,
		at("seconds_per_stroke", "Time for one cut at the usual pace, the return and the settings included.", numberOf(fromZero), func(e *engine.Engine) *float64 { return &e.SecondsPerStroke }),
	},
}

var cutterRecord = &record[cutter.Cutter]{
	name: "a cutter", units: true,
	fields: []field[cutter.Cutter]{
		at("name", "What the workshop calls the cutter.", text(mostName), func(c *cutter.Cutter) *string { return &c.Name }),
		must("included", "Angle between the two flanks.", angleOf(span{0, 180, true}), func(c *cutter.Cutter) *float64 { return &c.Included }),
		at("flat", "Width of the flat at the tip; left out, the tip is sharp.", lengthOf(fromZero), func(c *cutter.Cutter) *float64 { return &c.Flat }),
		must("clearance", "Angle behind the edge, measured square to the edge.", angleOf(span{0, 90, true}), func(c *cutter.Cutter) *float64 { return &c.Clearance }),
	},
}

var guideRecord = &record[depth.Guide]{
	name: "a guide", units: true,
	fields: []field[depth.Guide]{
		at("name", "What the workshop calls the guide.", text(mostName), func(g *depth.Guide) *string { return &g.Name }),
		must("offset", "From the cutter's tip to the foot's contact, across the stroke.", lengthOf(fromZero), func(g *depth.Guide) *float64 { return &g.Offset }),
		must("side", "Side of the cutter on which the foot rests, seen from above with the stroke running away.", choice([]string{"right", "left"}, []depth.Side{depth.Right, depth.Left}), func(g *depth.Guide) *depth.Side { return &g.Side }),
		at("foot_radius", "Radius of a round foot.", lengthOf(overZero), func(g *depth.Guide) *float64 { return &g.FootRadius }),
		at("foot_width", "Width of a flat foot.", lengthOf(overZero), func(g *depth.Guide) *float64 { return &g.FootWidth }),
		at("extension", "How far the cutter stands out beyond the foot; left out, it is set for the depth of each job.", lengthOf(overZero), func(g *depth.Guide) *float64 { return &g.Extension }),
		at("compliance", "Give under the hand, with its unit, as 0.3 um/N.", giveOf(), func(g *depth.Guide) *float64 { return &g.Compliance }),
	},
}

var metalRecord = &record[cutter.Metal]{
	name: "a metal",
	fields: []field[cutter.Metal]{
		at("name", "What the workshop calls the metal.", text(mostName), func(m *cutter.Metal) *string { return &m.Name }),
		at("colour", "Metal that it looks like in a picture, such as silver, gold or brass.", text(mostName), func(m *cutter.Metal) *string { return &m.Colour }),
		at("cutting_force", "Specific cutting force kc1.1 at a chip 1 mm thick, N/mm2; left out, it is not known.", numberOf(fromZero), func(m *cutter.Metal) *float64 { return &m.Cutting }),
		at("exponent", "Exponent mc of the Kienzle law.", numberOf(span{0, 1, false}), func(m *cutter.Metal) *float64 { return &m.Exponent }),
		at("density", "Density, grams to the cubic centimetre, for the weight of a blank; left out, it is not known.", numberOf(fromZero), func(m *cutter.Metal) *float64 { return &m.Density }),
	},
}
