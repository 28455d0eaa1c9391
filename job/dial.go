package job

import (
	"fmt"
	"slices"

	"go.yaml.in/yaml/v4"

	"brightcut/engine"
	"brightcut/fault"
)

// dial says how a motion of one axis is written.
type dial struct {
	noun string
	bare engine.Unit // what a number without a unit counts
	dims []dimension
	word string // of a count
	such string
}

var (
	slideDial = dial{"the slide", engine.Length, []dimension{lengths, teeth}, "teeth", "0.156 mm or 16 teeth"}
	indexDial = dial{"the index wheel", engine.Angle, []dimension{turns, holes, teeth}, "holes", "1/360 turn, 1.5 deg or 3 holes"}
	barDial   = dial{"the bar", engine.Length, []dimension{lengths, teeth, waves}, "teeth", "75 teeth, 1.5 mm or 1/2 wave"}
	phaseDial = dial{"the rosette", engine.Angle, []dimension{turns, teeth, waves}, "teeth", "4 teeth, 7.5 deg or 1/2 wave"}
	chuckDial = dial{"the chuck", engine.Angle, []dimension{turns, divisions}, "divisions", "90 deg or 90 divisions"}
)

// shiftDial is that of the bar or of the rosette. While the engine is not known
// either will do.
func shiftDial(k engine.Kind) dial {
	switch k {
	case engine.StraightLine:
		return barDial
	case engine.Rose:
		return phaseDial
	}
	return dial{"the bar or rosette", engine.Length, []dimension{lengths, turns, teeth, waves}, "teeth", "75 teeth or 1/2 wave"}
}

func fixed(d dial) func(engine.Kind) dial { return func(engine.Kind) dial { return d } }

// amountOf reads a wish on an axis.
func amountOf(by func(engine.Kind) dial) codec[engine.Amount] {
	return codec[engine.Amount]{
		read: func(r *reader, n *yaml.Node, at string) (engine.Amount, bool) {
			d := by(r.kind)
			mend := "write an amount such as " + d.such
			t, ok := r.aScalar(n, at, mend)
			if !ok {
				return engine.Amount{}, false
			}
			a, dim, s := parseAmount(t, r.units, d.bare)
			switch {
			case s != nil:
				r.fault(n, at, s.problem, s.mend)
				return engine.Amount{}, false
			case !slices.Contains(d.dims, dim):
				r.fault(n, at, fmt.Sprintf("%s cannot be moved by %s", d.noun, quoted(t)), mend)
				return engine.Amount{}, false
			}
			return a, true
		},
		write: func(w *writer, a engine.Amount) *yaml.Node { return textNode(writeAmount(a, by(w.kind).word)) },
		schema: func(*schemer) schema {
			return schema{"anyOf": []any{
				schema{"type": "number"},
				schema{"type": "string", "pattern": pattern(`[+-]?`, by(0).dims, true)},
			}}
		},
	}
}

// axes are the keys of the dials that can be set to a reading.
var axes = []struct {
	axis     engine.Axis
	key, doc string
	amount   codec[engine.Amount]
}{
	{engine.SlideAxis, "slide", "Reading of the slide.", amountOf(fixed(slideDial))},
	{engine.ShiftAxis, "shift", "Reading of the bar shift or of the crossing wheel.", amountOf(shiftDial)},
	{engine.IndexAxis, "index", "Reading of the index wheel.", amountOf(fixed(indexDial))},
	{engine.ChuckAxis, "chuck", "Reading of the chuck.", amountOf(fixed(chuckDial))},
}

// readings is what start: and set: hold.
type readings []engine.Start

// readingsRecord is the table of start: and set:. Its order is that in which the
// readings are listed.
var readingsRecord = func() *record[readings] {
	rec := &record[readings]{name: "the readings", flow: true}
	for _, a := range axes {
		rec.fields = append(rec.fields, field[readings]{
			key: a.key, doc: a.doc, schema: a.amount.schema,
			read: func(r *reader, n *yaml.Node, at string, v *readings) {
				if m, ok := a.amount.read(r, n, at); ok {
					*v = append(*v, engine.Start{Axis: a.axis, Amount: m, Origin: r.origin(n)})
				}
			},
			write: func(w *writer, v *readings) *yaml.Node {
				for _, s := range *v {
					if s.Axis == a.axis {
						return a.amount.write(w, s.Amount)
					}
				}
				return nil
			},
		})
	}
	return rec
}()

func (r *reader) origin(n *yaml.Node) fault.Origin {
	return fault.Origin{File: r.src.name, Line: n.Line, Column: n.Column}
}

// limitsRecord is the table of limits:, readings of the stroke or, on a rose
// engine, of the spindle.
var limitsRecord = &record[engine.Limits]{
	name: "the limits", flow: true,
	fields: []field[engine.Limits]{
		must("from", "Reading at which the cutter enters the work.", reading1, func(l *engine.Limits) *float64 { return &l.From }),
		must("to", "Reading at which it leaves.", reading1, func(l *engine.Limits) *float64 { return &l.To }),
	},
}

// reading1 reads a place on the stroke scale or an angle of the spindle.
var reading1 = func() codec[float64] {
	stroke, spindle := lengthOf(anyValue), angleOf(anyValue)
	by := func(k engine.Kind) codec[float64] {
		if k == engine.Rose {
			return spindle
		}
		return stroke
	}
	return codec[float64]{
		read:  func(r *reader, n *yaml.Node, at string) (float64, bool) { return by(r.kind).read(r, n, at) },
		write: func(w *writer, v float64) *yaml.Node { return by(w.kind).write(w, v) },
		schema: func(*schemer) schema {
			return schema{"anyOf": []any{
				schema{"type": "number"},
				schema{"type": "string", "pattern": pattern(`[+-]?`, []dimension{lengths, turns}, true)},
			}}
		},
	}
}()

// cutRecord is the table of a cut with limits or a depth of its own.
var cutRecord = &record[engine.Item]{
	name: "a cut", flow: true,
	fields: []field[engine.Item]{
		limitField("from", "Reading at which the cutter enters the work; with to.", func(l *engine.Limits) *float64 { return &l.From }),
		limitField("to", "Reading at which it leaves; with from.", func(l *engine.Limits) *float64 { return &l.To }),
		at("depth", "Depth of this cut alone.", lengthOf(overZero), func(it *engine.Item) *float64 { return &it.Depth }),
	},
}

func limitField(key, doc string, get func(*engine.Limits) *float64) field[engine.Item] {
	return field[engine.Item]{
		key: key, doc: doc, schema: reading1.schema,
		read: func(r *reader, n *yaml.Node, at string, it *engine.Item) {
			if v, ok := reading1.read(r, n, at); ok {
				if it.Limits == nil {
					it.Limits = &engine.Limits{}
				}
				*get(it.Limits) = v
			}
		},
		write: func(w *writer, it *engine.Item) *yaml.Node {
			if it.Limits == nil {
				return nil
			}
			return reading1.write(w, *get(it.Limits))
		},
	}
}
