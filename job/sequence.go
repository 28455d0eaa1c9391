package job

import (
	"fmt"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"

	"brightcut/engine"
)

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
