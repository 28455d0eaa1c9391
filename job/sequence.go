package job

import (
	"fmt"
	"slices"
	"strings"

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

// motion is one key of a line of the sequence.
type motion struct {
	key, doc string
	of       engine.Motion
	only     engine.Kind // the engine that has it; 0 is either
	read     func(r *reader, n *yaml.Node, at string) []engine.Item
	write    func(w *writer, it *engine.Item) *yaml.Node
	schema   func(s *schemer) schema
}

// mostNested bounds repeats and alternations inside one another.
const mostNested = 12

// mostRepeats bounds one repeat; the engine bounds their product.
const mostRepeats = 100_000

// motions is the table of the sequence, filled by init because repeats hold
// sequences.
var motions []motion

func init() {
	move := func(key, doc string, of engine.Motion, by func(engine.Kind) dial) motion {
		c := amountOf(by)
		return motion{key: key, doc: doc, of: of, schema: c.schema,
			read: func(r *reader, n *yaml.Node, at string) []engine.Item {
				a, ok := c.read(r, n, at)
				if !ok {
					return nil
				}
				return []engine.Item{{Motion: of, Amount: a}}
			},
			write: func(w *writer, it *engine.Item) *yaml.Node { return c.write(w, it.Amount) },
		}
	}
	swap := func(key, doc string, only engine.Kind) motion {
		c := text(mostName)
		return motion{key: key, doc: doc, of: engine.Swap, only: only, schema: c.schema,
			read: func(r *reader, n *yaml.Node, at string) []engine.Item {
				name, ok := c.read(r, n, at)
				if !ok {
					return nil
				}
				if known := r.edgeNames(); !slices.Contains(known, name) {
					mend := suggest(name, known, "the job names")
					if !strings.HasPrefix(mend, "did") {
						mend += fmt.Sprintf("; name it under %ss: too", key)
					}
					r.fault(n, at, fmt.Sprintf("the job has no %s %s", key, quoted(name)), mend)
					return nil
				}
				return []engine.Item{{Motion: engine.Swap, Name: name}}
			},
			write: func(_ *writer, it *engine.Item) *yaml.Node { return textNode(it.Name) },
		}
	}
	cut := motion{key: "cut", doc: "One stroke of the crank, or one turn of the spindle; alone, or with limits or a depth of its own.", of: engine.CutOne,
		schema: cutRecord.schema,
		read: func(r *reader, n *yaml.Node, at string) []engine.Item {
			it := engine.Item{Motion: engine.CutOne}
			if n.ShortTag() == "!!null" { // "- cut:" says no more than "- cut"
				return []engine.Item{it}
			}
			if !cutRecord.fill(r, n, at, &it) {
				return nil
			}
			if it.Limits != nil && (r.places[join(r.root, at+".from")].node == nil || r.places[join(r.root, at+".to")].node == nil) {
				r.fault(n, at, "one limit stands without the other", "write both from and to")
			}
			return []engine.Item{it}
		},
		write: func(w *writer, it *engine.Item) *yaml.Node {
			if n := cutRecord.node(w, it); len(n.Content) > 0 {
				return n
			}
			return nil
		},
	}
	set := motion{key: "set", doc: "Bring axes to absolute readings.", of: engine.Set, schema: readingsRecord.schema,
		read: func(r *reader, n *yaml.Node, at string) []engine.Item {
			var all readings
			if !readingsRecord.fill(r, n, at, &all) {
				return nil
			}
			if len(n.Content) == 0 {
				r.fault(n, at, "no axis is named", "write for example {slide: -10 mm, shift: 0}")
			}
			var items []engine.Item
			for _, s := range all {
				items = append(items, engine.Item{Motion: engine.Set, Axis: s.Axis, Amount: s.Amount})
			}
			return items
		},
		write: func(w *writer, it *engine.Item) *yaml.Node {
			return readingsRecord.node(w, &readings{{Axis: it.Axis, Amount: it.Amount}})
		},
	}
	depthCodec := lengthOf(overZero)
	depth := motion{key: "depth", doc: "Depth of the cuts that follow.", of: engine.SetDepth, schema: depthCodec.schema,
		read: func(r *reader, n *yaml.Node, at string) []engine.Item {
			v, _ := depthCodec.read(r, n, at)
			return []engine.Item{{Motion: engine.SetDepth, Depth: v}}
		},
		write: func(w *writer, it *engine.Item) *yaml.Node { return depthCodec.write(w, it.Depth) },
	}
	noteCodec := text(mostNotes)
	note := motion{key: "note", doc: "Words for the operator, told before the next cut.", of: engine.Note, schema: noteCodec.schema,
		read: func(r *reader, n *yaml.Node, at string) []engine.Item {
			t, _ := noteCodec.read(r, n, at)
			return []engine.Item{{Motion: engine.Note, Name: t}}
		},
		write: func(_ *writer, it *engine.Item) *yaml.Node { return textNode(it.Name) },
	}
	repeats := count(1, mostRepeats)
	repeat := motion{key: "repeat", doc: "How often the lines under do are worked.", of: engine.Repeat, schema: repeats.schema,
		read: func(r *reader, n *yaml.Node, at string) []engine.Item {
			v, _ := repeats.read(r, n, at)
			return []engine.Item{{Motion: engine.Repeat, Count: v}}
		},
		write: func(w *writer, it *engine.Item) *yaml.Node { return repeats.write(w, it.Count) },
	}
	alternate := motion{key: "alternate", doc: "The next of these each time it is reached; a choice may be a list of motions.", of: engine.Alternate,
		schema: alternateSchema, read: readAlternate, write: writeAlternate}
	motions = []motion{
		cut,
		move("step", "Move the slide: a length or teeth.", engine.Step, fixed(slideDial)),
		move("turn", "Turn the index wheel: a share of a turn, 360 round, degrees or holes.", engine.Turn, fixed(indexDial)),
		move("shift", "Shift the bar along the stroke (a length, teeth or waves), or the phase of the rosette (teeth of the crossing wheel, waves or degrees).", engine.Shift, shiftDial),
		move("chuck", "Turn the work in the chuck: degrees, a share of a turn or divisions.", engine.Chuck, fixed(chuckDial)),
		set,
		swap("bar", "Put on another bar of the job.", engine.StraightLine),
		swap("rosette", "Put on another rosette of the job.", engine.Rose),
		depth, note, repeat, alternate,
	}
}

func motionKeys(k engine.Kind) []string {
	var keys []string
	for _, m := range motions {
		if m.only == 0 || k == 0 || m.only == k {
			keys = append(keys, m.key)
		}
	}
	return keys
}

// sequenceCodec reads the lines of a sequence.
var sequenceCodec = codec[[]engine.Item]{
	read: func(r *reader, n *yaml.Node, at string) ([]engine.Item, bool) {
		items := r.sequence(n, at)
		return items, len(items) > 0
	},
	write:  func(w *writer, items []engine.Item) *yaml.Node { return w.sequence(items) },
	schema: func(s *schemer) schema { return s.define("sequence", func() schema { return sequenceSchema(s) }) },
}

func (r *reader) sequence(n *yaml.Node, at string) []engine.Item {
	r.mark(n, at)
	const mend = "write lines that begin with a dash, such as - cut and - step: 0.156 mm"
	switch {
	case n.Kind != yaml.SequenceNode:
		r.fault(n, at, "a list of motions is due here", mend)
		return nil
	case len(n.Content) == 0:
		r.fault(n, at, "the sequence is empty", mend)
		return nil
	case strings.Count(at, ".do")+strings.Count(at, ".alternate") > mostNested:
		r.fault(n, at, "repeats and alternations stand too deep inside one another", fmt.Sprintf("stay within %d levels", mostNested))
		return nil
	}
	var items []engine.Item
	for i, c := range n.Content {
		if r.full() {
			break
		}
		items = append(items, r.line(c, item(at, i))...)
	}
	return items
}

// line reads one line of the sequence. It gives more than one item when it sets
// several axes.
func (r *reader) line(n *yaml.Node, at string) []engine.Item {
	r.mark(n, at)
	if n.Kind == yaml.ScalarNode && n.Value == "cut" {
		return []engine.Item{{Motion: engine.CutOne, Origin: r.origin(n)}}
	}
	if n.Kind != yaml.MappingNode || len(n.Content) == 0 {
		mend := "write - cut, or a motion such as - step: 0.156 mm; motions are " + listed(motionKeys(r.kind))
		if n.Kind == yaml.ScalarNode {
			word, _, _ := strings.Cut(n.Value, ":")
			if s := suggest(word, motionKeys(r.kind), ""); strings.HasPrefix(s, "did") {
				mend = s
				if slices.Contains(motionKeys(r.kind), word) && word != "cut" {
					mend = "write a colon, a space and a value behind it"
				}
			}
		}
		r.fault(n, at, "this is not a motion", mend)
		return nil
	}
	var first *motion
	var value, body *yaml.Node
	for i := 0; i+1 < len(n.Content) && !r.full(); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		m := slices.IndexFunc(motions, func(m motion) bool { return m.key == k.Value })
		switch {
		case k.Kind != yaml.ScalarNode:
			r.fault(k, at, "a key is not one word", "motions are "+listed(motionKeys(r.kind)))
		case k.Value == "do" && body == nil:
			body = v
		case m < 0 || k.Value == "do":
			r.fault(k, join(at, cut(k.Value)), "the motion is not known", suggest(k.Value, append(motionKeys(r.kind), "do"), "motions are"))
		case motions[m].only != 0 && r.kind != 0 && motions[m].only != r.kind:
			other := map[string]string{"bar": "rosette", "rosette": "bar"}[k.Value]
			r.fault(k, join(at, k.Value), "it belongs to a "+variantOf(motions[m].only)+" engine, and this is a "+variantOf(r.kind)+" engine", "write "+other+" instead")
		case first != nil:
			r.fault(k, join(at, k.Value), "a line of the sequence holds one motion, and this is its second", "begin a new line with a dash for it")
		default:
			first, value = &motions[m], v
		}
	}
	if first == nil {
		if body != nil {
			r.fault(n, join(at, "do"), "do stands without repeat", "write repeat: and how often beside it")
			r.sequence(body, join(at, "do"))
		}
		return nil
	}
	path := join(at, first.key)
	r.mark(value, path)
	items := first.read(r, value, path)
	switch {
	case first.of == engine.Repeat && body == nil:
		r.fault(n, path, "repeat stands without do", "write the motions to be repeated under do:")
	case first.of == engine.Repeat:
		items[0].Body = r.sequence(body, join(at, "do"))
	case body != nil:
		r.fault(body, join(at, "do"), "do belongs to repeat", "write repeat: and how often beside it, or leave it out")
	}
	for i := range items {
		items[i].Origin = r.origin(n)
	}
	return items
}

func readAlternate(r *reader, n *yaml.Node, at string) []engine.Item {
	if n.Kind != yaml.SequenceNode || len(n.Content) < 2 {
		r.fault(n, at, "two choices or more are due here", "write a list such as [{shift: 1/2 wave}, {shift: -1/2 wave}]")
		return nil
	}
	it := engine.Item{Motion: engine.Alternate}
	for i, c := range n.Content {
		var choice []engine.Item
		if c.Kind == yaml.SequenceNode {
			choice = r.sequence(c, item(at, i))
		} else {
			choice = r.line(c, item(at, i))
		}
		it.Choices = append(it.Choices, choice)
	}
	return []engine.Item{it}
}

// sequence writes the lines of a sequence.
func (w *writer) sequence(items []engine.Item) *yaml.Node {
	n := &yaml.Node{Kind: yaml.SequenceNode}
	for i := range items {
		n.Content = append(n.Content, w.line(&items[i]))
	}
	return n
}

// line writes one item of a sequence.
func (w *writer) line(it *engine.Item) *yaml.Node {
	for _, m := range motions {
		if m.of != it.Motion || m.only != 0 && m.only != w.kind {
			continue
		}
		v := m.write(w, it)
		if v == nil {
			return textNode(m.key)
		}
		n := &yaml.Node{Kind: yaml.MappingNode, Content: []*yaml.Node{textNode(m.key), v}}
		if it.Motion == engine.Repeat {
			n.Content = append(n.Content, textNode("do"), w.sequence(it.Body))
		}
		return n
	}
	return textNode("no motion") // which the reader refuses
}

func writeAlternate(w *writer, it *engine.Item) *yaml.Node {
	n := &yaml.Node{Kind: yaml.SequenceNode}
	for _, choice := range it.Choices {
		c := w.sequence(choice)
		if len(c.Content) == 1 {
			c = c.Content[0]
		}
		if c.Kind != yaml.ScalarNode {
			c.Style = yaml.FlowStyle
		}
		n.Content = append(n.Content, c)
	}
	return n
}

func sequenceSchema(s *schemer) schema {
	lines := []any{schema{"const": "cut"}}
	for _, m := range motions {
		value := map[string]any{}
		for k, v := range m.schema(s) {
			value[k] = v
		}
		value["description"] = m.doc
		if m.of == engine.CutOne {
			value["type"] = []string{"object", "null"}
		}
		one := schema{"type": "object", "properties": schema{m.key: value}, "required": []string{m.key}, "additionalProperties": false}
		if m.of == engine.Repeat {
			one["properties"].(schema)["do"] = schema{"$ref": "#/$defs/sequence", "description": "The lines to be repeated."}
			one["required"] = []string{m.key, "do"}
		}
		lines = append(lines, one)
	}
	s.define("line", func() schema { return schema{"anyOf": lines} })
	return schema{"type": "array", "minItems": 1, "items": schema{"$ref": "#/$defs/line"}}
}

func alternateSchema(s *schemer) schema {
	return schema{"type": "array", "minItems": 2, "items": schema{"anyOf": []any{
		schema{"$ref": "#/$defs/line"}, schema{"$ref": "#/$defs/sequence"},
	}}}
}
