package job

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// Set writes value, a number or text as a person would write it in the file, at
// the path of a key: "depth", "sequence[0].do[1].step", "blank.outline.centre[1]".
// A key that a mapping does not have yet is put in beside the others, and so is the
// mapping itself, "start" for "start.slide". Every other byte stays as it was.
//
// Set knows nothing of what the value is for: Job tells. It refuses a path that
// leads nowhere or into a part's own file, a value that would take the place of a
// whole mapping or list or that stands on several lines; the document is then
// unchanged.
func (d *Document) Set(path, value string) error {
	steps, err := split(path)
	if err != nil {
		return fmt.Errorf("set %s: %w", path, err)
	}
	if last := len(steps) - 1; last > 0 && steps[last].key != "" && steps[last-1].key != "" {
		outer, err := find(d.root, steps[:last-1])
		if err == nil && outer.Kind == yaml.MappingNode && child(outer, steps[last-1]) == nil {
			return d.Put(written(steps[:last]), "{"+asScalar(steps[last].key, true)+": "+asScalar(value, true)+"}")
		}
	}
	text, err := d.with(steps, value)
	if err == nil {
		err = d.replace(text, steps, value)
	}
	if err != nil {
		return fmt.Errorf("set %s in %s: %w", path, d.src.name, err)
	}
	return nil
}

// step is a key, or a place in a list when key is "".
type step struct {
	key   string
	index int
}

func split(path string) ([]step, error) {
	var steps []step
	for rest := path; rest != ""; {
		if inner, ok := strings.CutPrefix(rest, "["); ok {
			number, after, closed := strings.Cut(inner, "]")
			i, err := strconv.Atoi(number)
			if !closed || err != nil || i < 0 {
				return nil, errors.New("a place in a list is written [0], [1] and so on")
			}
			steps, rest = append(steps, step{"", i}), strings.TrimPrefix(after, ".")
			continue
		}
		end := strings.IndexAny(rest, ".[")
		if end < 0 {
			end = len(rest)
		}
		if end == 0 {
			return nil, errors.New("a key is empty")
		}
		steps = append(steps, step{rest[:end], 0})
		rest = strings.TrimPrefix(rest[end:], ".")
	}
	if len(steps) == 0 {
		return nil, errors.New("the path is empty")
	}
	return steps, nil
}

// child returns where a step leads from n, or nil.
func child(n *yaml.Node, s step) *yaml.Node {
	switch {
	case n.Kind == yaml.SequenceNode && s.key == "" && s.index < len(n.Content):
		return n.Content[s.index]
	case n.Kind == yaml.MappingNode && s.key != "":
		for i := 0; i+1 < len(n.Content); i += 2 {
			if n.Content[i].Value == s.key {
				return n.Content[i+1]
			}
		}
	}
	return nil
}

// with returns the text in which value stands at the end of the steps.
func (d *Document) with(steps []step, value string) ([]byte, error) {
	n, flow := d.root, false
	for i, s := range steps {
		flow = flow || n.Style&yaml.FlowStyle != 0
		next := child(n, s)
		switch {
		case next == nil && n.Kind == yaml.ScalarNode:
			return nil, fmt.Errorf("%s names a part; change the part's own file", quoted(n.Value))
		case next == nil && i == len(steps)-1 && n.Kind == yaml.MappingNode && s.key != "":
			return d.insert(n, s.key, asScalar(value, flow))
		case next == nil:
			return nil, errors.New("there is no such place")
		}
		n = next
	}
	if n.Kind != yaml.ScalarNode {
		return nil, errors.New("a list or keys and values stand there; set one of them")
	}
	from, to, err := d.span(n)
	if err != nil {
		return nil, err
	}
	word := asScalar(value, flow)
	if from == to { // "depth:" with nothing behind it
		word = " " + word
	}
	return slices.Concat(d.src.text[:from], []byte(word), d.src.text[to:]), nil
}

// span returns the bytes of a scalar that stands on one line.
func (d *Document) span(n *yaml.Node) (from, to int, err error) {
	from = d.offset(n)
	line := d.src.text[from:d.src.ends[n.Line-1]]
	several := errors.New("a text of several lines stands there; change it in the file")
	switch {
	case n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0:
		return 0, 0, several
	case n.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle) != 0:
		quote := line[0]
		for i := 1; i < len(line); i++ {
			switch {
			case line[i] == '\\' && quote == '"':
				i++
			case line[i] == quote && quote == '\'' && i+1 < len(line) && line[i+1] == quote:
				i++
			case line[i] == quote:
				return from, from + i + 1, nil
			}
		}
		return 0, 0, several
	case !strings.HasPrefix(string(line), n.Value):
		return 0, 0, several
	}
	return from, from + len(n.Value), nil
}

// offset returns where a node begins. YAML counts columns in characters.
func (d *Document) offset(n *yaml.Node) int {
	at := d.src.start(n.Line)
	for i := 1; i < n.Column && at < len(d.src.text); i++ {
		_, size := utf8.DecodeRune(d.src.text[at:])
		at += size
	}
	return at
}

// insert puts a key into a mapping: behind the last of its values that ends on
// its key's own line, or before the first key of a mapping in brackets.
func (d *Document) insert(n *yaml.Node, key, word string) ([]byte, error) {
	entry := asScalar(key, true) + ": " + word
	if n.Style&yaml.FlowStyle != 0 {
		at := d.offset(n) + 1
		if len(n.Content) > 0 {
			entry += ", "
		}
		return slices.Concat(d.src.text[:at], []byte(entry), d.src.text[at:]), nil
	}
	for i := len(n.Content) - 2; i >= 0; i -= 2 {
		k, v := n.Content[i], n.Content[i+1]
		if v.Line != k.Line || last(v) != k.Line || v.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0 {
			continue
		}
		at := d.src.ends[k.Line-1]
		line := strings.Repeat(" ", k.Column-1) + entry
		if d.src.text[at-1] == '\n' {
			line += "\n"
		} else {
			line = "\n" + line
		}
		return slices.Concat(d.src.text[:at], []byte(line), d.src.text[at:]), nil
	}
	return nil, fmt.Errorf("no line was found behind which %s could stand; write it in the file", quoted(key))
}

// last returns the last line on which a part of n begins.
func last(n *yaml.Node) int {
	line := n.Line
	for _, c := range n.Content {
		line = max(line, last(c))
	}
	return line
}

// asScalar writes a value without quotes where YAML reads it alike, in quotes
// otherwise.
func asScalar(value string, flow bool) string {
	probe := "- " + value
	if flow {
		probe = "[" + value + "]"
	}
	var doc yaml.Node
	if err := yaml.Load([]byte(probe), &doc); err == nil && len(doc.Content) == 1 && len(doc.Content[0].Content) == 1 {
		c := doc.Content[0].Content[0]
		if c.Kind == yaml.ScalarNode && c.Value == value && value != "" && c.ShortTag() != "!!merge" {
			return value
		}
	}
	return strconv.Quote(value)
}

// replace makes text the document's, when it says what was asked for and nothing
// else has changed.
func (d *Document) replace(text []byte, steps []step, value string) error {
	next := &Document{fsys: d.fsys, name: d.name, dir: d.dir}
	src := newSource(d.src.name, text)
	src.bom = d.src.bom
	if err := next.take(src); err != nil {
		return fmt.Errorf("the file would no longer read:\n%w", err)
	}
	n := next.root
	for _, s := range steps {
		if n = child(n, s); n == nil {
			return errors.New("the value cannot be put there; change it in the file")
		}
	}
	if n.Value != value || !alike(d.root, next.root, steps) {
		return errors.New("the value cannot be put there without changing another; change it in the file")
	}
	d.src, d.root = next.src, next.root
	return nil
}

// alike reports whether two trees say the same apart from what stands at the end
// of the steps.
func alike(a, b *yaml.Node, steps []step) bool {
	if steps != nil && len(steps) == 0 {
		return true
	}
	if a.Kind != b.Kind || a.Value != b.Value || a.ShortTag() != b.ShortTag() {
		return false
	}
	if a.Kind == yaml.MappingNode {
		return alikeKeys(a, b, steps)
	}
	if len(a.Content) != len(b.Content) {
		return false
	}
	for i := range a.Content {
		var inner []step
		if len(steps) > 0 && steps[0].key == "" && steps[0].index == i {
			inner = steps[1:]
		}
		if !alike(a.Content[i], b.Content[i], inner) {
			return false
		}
	}
	return true
}

func alikeKeys(a, b *yaml.Node, steps []step) bool {
	keys := func(n *yaml.Node) map[string]*yaml.Node {
		m := map[string]*yaml.Node{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			m[n.Content[i].Value] = n.Content[i+1]
		}
		return m
	}
	was, is := keys(a), keys(b)
	for key, x := range is {
		var inner []step
		if len(steps) > 0 && steps[0].key == key {
			if inner = steps[1:]; len(inner) == 0 {
				delete(was, key)
				continue
			}
		}
		if y, ok := was[key]; !ok || !alike(y, x, inner) {
			return false
		}
		delete(was, key)
	}
	return len(was) == 0
}
