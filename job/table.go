package job

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"

	"brightcut/bar"
	"brightcut/cutter"
	"brightcut/depth"
	"brightcut/engine"
)

// partOf reads a part that stands in the job or is named from the workshop.
// other finds parts that need no file; nil when there are none.
func partOf[T any](kind string, rec *record[T], name func(*T) *string, other func(string) (T, bool)) codec[T] {
	return codec[T]{
		read: func(r *reader, n *yaml.Node, at string) (v T, ok bool) {
			if n.Kind != yaml.ScalarNode {
				ok = rec.fill(r, n, at, &v)
				return v, ok
			}
			word, ok := text(mostName).read(r, n, at)
			if !ok {
				return v, false
			}
			f, bad := r.shop.part(kind, word)
			r.named[kind] = word
			if bad != nil && other != nil {
				if v, ok := other(word); ok {
					return v, true
				}
			}
			if bad != nil {
				r.fault(n, at, bad.problem, bad.mend)
				return v, false
			}
			ok = readPart(r, f, rec, at, &v)
			if *name(&v) == "" {
				*name(&v) = word
			}
			return v, ok
		},
		write: func(w *writer, v T) *yaml.Node { return rec.node(w, &v) },
		schema: func(s *schemer) schema {
			return schema{"anyOf": []any{
				schema{"type": "string", "minLength": 1, "maxLength": mostName},
				s.define(kind, func() schema { return rec.schema(s) }),
			}}
		},
	}
}

// readPart reads the file of a part into v.
func readPart[T any](r *reader, f *partFile, rec *record[T], at string, v *T) bool {
	if len(f.faults) > 0 {
		for _, g := range f.faults {
			r.faults = append(r.faults, finding{g, join(r.root, at), false, nil})
		}
		return false
	}
	inner := &reader{reading: r.reading, src: f.src, root: join(r.root, at), units: Millimetre}
	return rec.fill(inner, f.root, "", v)
}

var metalField = func() field[Job] {
	known := func(name string) (cutter.Metal, bool) {
		all := cutter.Metals()
		if i := slices.IndexFunc(all, func(m cutter.Metal) bool { return m.Name == name }); i >= 0 {
			return all[i], true
		}
		return cutter.Metal{}, false
	}
	f := must("metal", "Metal of the blank: a file in metals/, its keys, or a metal that the program knows.",
		partOf("metal", metalRecord, func(m *cutter.Metal) *string { return &m.Name }, known), func(j *Job) *cutter.Metal { return &j.Metal })
	read := f.read
	f.read = func(r *reader, n *yaml.Node, at string, j *Job) {
		read(r, n, at, j)
		j.Setup.Blank.Metal = j.Metal.Name
	}
	return f
}()

var engineField = func() field[Job] {
	f := must("engine", "Engine: a file in engines/ or its keys.",
		partOf("engine", engineRecord, func(e *engine.Engine) *string { return &e.Name }, nil), func(j *Job) *engine.Engine { return &j.Setup.Engine })
	read := f.read
	f.read = func(r *reader, n *yaml.Node, at string, j *Job) {
		read(r, n, at, j)
		r.kind = j.Setup.Engine.Kind
	}
	return f
}()

// edgeKind is what a job's bars are called and where they come from.
type edgeKind struct {
	kind  string // "bar" or "rosette"
	rec   *record[bar.Edge]
	shown string // its variant of the job
}

var (
	barKind     = edgeKind{"bar", barRecord, straightLine}
	rosetteKind = edgeKind{"rosette", rosetteRecord, rose}
)

func edgeNameOf(e *bar.Edge) *string { return &e.Name }

// put adds an edge to the job's, with the path where it stands. What cannot be
// read keeps its name, so that mentions of it are not faults of their own.
func (k edgeKind) put(r *reader, n *yaml.Node, at string, j *Job, name string, e bar.Edge) {
	if _, twice := r.edges[name]; twice {
		r.fault(n, at, fmt.Sprintf("the %s %s stands twice in the job", k.kind, quoted(name)), "give one of them another name")
		return
	}
	r.edges[name] = join(r.root, at)
	if j.Setup.Bars == nil {
		j.Setup.Bars = map[string]bar.Edge{}
	}
	j.Setup.Bars[name] = e
	if e.Other != nil {
		other := *e.Other
		if other.Name == "" {
			other.Name = e.Name + otherSide
		}
		k.put(r, n, join(at, "other_side"), j, name+otherSide, other)
	}
}

// otherSide ends the name by which a job calls the other edge of a bar.
const otherSide = " other side"

// isOtherSide reports whether the name is that of the other edge of a bar that the
// job has.
func isOtherSide(j *Job, name string) bool {
	bar, turned := strings.CutSuffix(name, otherSide)
	return turned && j.Setup.Bars[bar].Other != nil
}

// one reads the name of an edge or its keys, adds it to the job and returns the
// name by which the job has it.
func (k edgeKind) one(r *reader, n *yaml.Node, at string, j *Job) string {
	c := partOf(k.kind, k.rec, edgeNameOf, nil)
	if n.Kind == yaml.ScalarNode && n.ShortTag() == "!!str" {
		if _, there := r.edges[n.Value]; there {
			return n.Value
		}
		if name, turned := strings.CutSuffix(n.Value, otherSide); turned && validName(name) {
			if bad := k.turnedRound(r, n, at, j, name); bad {
				return ""
			}
			return n.Value
		}
		e, _ := c.read(r, n, at)
		k.put(r, n, at, j, n.Value, e)
		return n.Value
	}
	e, ok := c.read(r, n, at)
	if !ok {
		return ""
	}
	name := slug(e.Name)
	if name == "" {
		name = k.kind
	}
	k.put(r, n, at, j, name, e)
	return name
}

// turnedRound reads the bar of which the other edge is meant, and reports whether it
// has none.
func (k edgeKind) turnedRound(r *reader, n *yaml.Node, at string, j *Job, name string) bool {
	if _, there := r.edges[name]; !there {
		bar := *n
		bar.Value = name
		e, ok := partOf(k.kind, k.rec, edgeNameOf, nil).read(r, &bar, at)
		if !ok {
			return true
		}
		k.put(r, n, at, j, name, e)
	}
	if j.Setup.Bars[name].Other == nil {
		r.fault(n, at, fmt.Sprintf("the %s %s has no other side", k.kind, quoted(name)), "name the "+k.kind+" alone, or give it an other_side")
		return true
	}
	return false
}

// slug makes the name by which a job mentions a part out of its display name.
func slug(name string) string {
	var b strings.Builder
	for _, c := range strings.ToLower(name) {
		if c == ' ' || c == '_' {
			c = '-'
		}
		if validName(string(c)) || c == '.' && b.Len() > 0 {
			b.WriteRune(c)
		}
	}
	return strings.TrimRight(b.String(), ".-")
}

// list reads further edges: a list of names, or names with their keys.
func (k edgeKind) list(doc string) field[Job] {
	plural := k.kind + "s"
	return field[Job]{
		key: plural, doc: doc,
		read: func(r *reader, n *yaml.Node, at string, j *Job) {
			switch n.Kind {
			case yaml.SequenceNode:
				for i, c := range n.Content {
					r.mark(c, item(at, i))
					if c.Kind != yaml.ScalarNode {
						r.fault(c, item(at, i), "a name is due here", fmt.Sprintf("name a file in %s/, or write %s: {name: {figure: …}}", plural, plural))
						continue
					}
					k.one(r, c, item(at, i), j)
				}
			case yaml.MappingNode:
				for i := 0; i+1 < len(n.Content); i += 2 {
					key, v := n.Content[i], n.Content[i+1]
					path := join(at, cut(key.Value))
					r.mark(v, path)
					if key.Kind != yaml.ScalarNode || key.ShortTag() != "!!str" || !validName(key.Value) {
						r.fault(key, path, fmt.Sprintf("%s is not a name of a %s", quoted(key.Value), k.kind), "write a name without / or :, in quotes if it is a number")
						continue
					}
					var e bar.Edge
					k.rec.fill(r, v, path, &e)
					k.put(r, key, path, j, key.Value, e)
				}
			default:
				r.fault(n, at, fmt.Sprintf("%s are due here", plural), fmt.Sprintf("write a list of names of files in %s/, or names with their keys", plural))
			}
		},
		write: func(w *writer, j *Job) *yaml.Node {
			n := &yaml.Node{Kind: yaml.MappingNode}
			for _, name := range slices.Sorted(maps.Keys(j.Setup.Bars)) {
				e := j.Setup.Bars[name]
				if isOtherSide(j, name) {
					continue // it stands with its bar
				}
				n.Content = append(n.Content, textNode(name), k.rec.node(w, &e))
			}
			if len(n.Content) == 0 {
				return nil
			}
			return n
		},
		schema: func(s *schemer) schema {
			return schema{"anyOf": []any{
				schema{"type": "array", "items": schema{"type": "string", "minLength": 1, "maxLength": mostName}},
				schema{"type": "object", "additionalProperties": s.define(k.kind, func() schema { return k.rec.schema(s) })},
			}}
		},
	}.of(k.shown)
}

// mention reads a key that names one edge or holds its keys.
func (k edgeKind) mention(key, doc string, get func(*Job) *string) field[Job] {
	return field[Job]{
		key: key, doc: doc,
		read: func(r *reader, n *yaml.Node, at string, j *Job) { *get(j) = k.one(r, n, at, j) },
		write: func(_ *writer, j *Job) *yaml.Node {
			if name := *get(j); name != "" {
				return textNode(name)
			}
			return nil
		},
		schema: partOf(k.kind, k.rec, edgeNameOf, nil).schema,
	}.of(k.shown)
}

// edgeNames lists the bars or rosettes read so far.
func (r *reading) edgeNames() []string { return slices.Sorted(maps.Keys(r.edges)) }

func startOf(j *Job) *readings { return (*readings)(&j.Setup.Starts) }

// jobRecord is the table of a job file: every key, in the order in which a job
// is written and read. The engine comes early because the rest hangs on its
// kind; bars come before what mentions them.
var jobRecord = &record[Job]{
	name:    "a job",
	variant: func(r *reader, _ *Job) string { return variantOf(r.kind) },
}

func init() {
	jobRecord.fields = []field[Job]{
		must("title", "What the piece is called.", text(mostName), func(j *Job) *string { return &j.Title }),
		or("units", "Units of bare lengths in this file: mm (usual) or inch.", unitsCodec, func(j *Job) *Units { return &j.Units }, Millimetre),
		into("blank", "The piece of metal before cutting.", blankRecord).required(),
		stockField,
		finishField,
		engineField,
		barKind.list("Further bars that the sequence may put on: names of files in bars/, or names with their keys."),
		rosetteKind.list("Further rosettes that the sequence may put on: names of files in rosettes/, or names with their keys."),
		barKind.mention("bar", "Pattern bar on the engine at the start: a file in bars/ or its keys; left out, the stroke is straight.", func(j *Job) *string { return &j.Setup.Bar }).otherwise("rosette"),
		rosetteKind.mention("rosette", "Rosette on the spindle at the start: a file in rosettes/ or its keys; left out, rings are round.", func(j *Job) *string { return &j.Setup.Bar }).otherwise("bar"),
		rosetteKind.mention("pumping_rosette", "Rosette that moves the spindle endwise.", func(j *Job) *string { return &j.Setup.Pump }),
		at("touchpiece", "Nose radius of the touchpiece on the bar.", lengthOf(fromZero), touchOf).of(straightLine).otherwise("rubber"),
		at("rubber", "Nose radius of the rubber on the rosette.", lengthOf(fromZero), touchOf).of(rose).otherwise("touchpiece"),
		must("cutter", "Cutter: a file in cutters/ or its keys.", partOf("cutter", cutterRecord, func(c *cutter.Cutter) *string { return &c.Name }, nil), func(j *Job) *cutter.Cutter { return &j.Setup.Cutter }),
		at("guide", "Guide beside the cutter: a file in guides/ or its keys; left out, there is none.",
			refer(partOf("guide", guideRecord, func(g *depth.Guide) *string { return &g.Name }, nil)), func(j *Job) **depth.Guide { return &j.Guide }),
		at("calibration", "What test cuts told of cutter and guide; left out, the latest in calibrations/ counts.",
			refer(calibrationRecord.codec()), func(j *Job) **Calibration { return &j.Calibration }),
		must("depth", "Depth of the cuts below the nominal surface.", lengthOf(overZero), func(j *Job) *float64 { return &j.Setup.Depth }),
		holdFields[0], holdFields[1], holdFields[2],
		at("limits", "Readings of the stroke, or of the spindle on a rose engine, between which the cutter is in the work; left out, all of it.",
			refer(limitsRecord.codec()), func(j *Job) **engine.Limits { return &j.Setup.Limits }),
		at("index_circle", "Circle of the index wheel to count on; left out, the program chooses the one that suits the wishes.", count(1, mostCount), func(j *Job) *int { return &j.Setup.Circle }),
		at("start", "Readings before the first cut; an axis left out stands at 0.", readingsRecord.codec(), startOf),
		must("sequence", "Motions in the order of the work.", sequenceCodec, func(j *Job) *[]engine.Item { return &j.Setup.Sequence }),
		at("notes", "Free words for the workshop.", text(mostNotes), func(j *Job) *string { return &j.Notes }),
	}
	u := &jobRecord.fields[1]
	read := u.read
	u.read = func(r *reader, n *yaml.Node, at string, j *Job) {
		read(r, n, at, j)
		if j.Units != 0 {
			r.units = j.Units
		}
	}
	u.write = func(_ *writer, j *Job) *yaml.Node { return textNode(j.Units.String()) }
}

func touchOf(j *Job) *float64 { return &j.Setup.Touch }
