package job

import (
	"fmt"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"

	"brightcut/engine"
)

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
