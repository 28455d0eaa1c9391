package job

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"
)

// Insert puts value, YAML on one line as it would stand in the file ("cut",
// "{step: 0.2 mm}"), into a list before the place at the end of path:
// "sequence[0].do[2]". The place behind the last appends.
//
// Insert, Put, Remove, Move, Duplicate, Repeat and Unroll change the shape of a
// document as Set changes a value: comments and the lines beside stay as they
// were, what the values are for is not looked at, and where the change cannot be
// made an error says so and the document stays unchanged.
func (d *Document) Insert(path, value string) error {
	return d.edit("insert at "+path, func(next *Document) error {
		steps, err := inList(path)
		if err != nil {
			return err
		}
		n, err := parseValue(value)
		if err != nil {
			return err
		}
		return next.splice(steps, 0, entry{node: n})
	})
}

// Remove takes out an item of a list or a key of a mapping, with the comment
// lines above the item.
func (d *Document) Remove(path string) error {
	return d.edit("remove "+path, func(next *Document) error {
		steps, err := split(path)
		if err != nil {
			return err
		}
		if steps[len(steps)-1].key != "" {
			return next.removeKey(steps)
		}
		return next.splice(steps, 1)
	})
}

// Move takes an item of a list to before another place, in the same list or
// another; both paths are those before the move.
func (d *Document) Move(from, to string) error {
	return d.edit("move "+from+" to "+to, func(next *Document) error {
		source, err := inList(from)
		if err != nil {
			return err
		}
		target, err := inList(to)
		if err != nil {
			return err
		}
		last := len(source) - 1
		if len(target) > len(source) && slices.Equal(target[:len(source)], source) {
			return errors.New("an item cannot be put into itself")
		}
		item, err := next.entry(source)
		if err != nil {
			return err
		}
		if err := next.splice(source, 1); err != nil {
			return err
		}
		if len(target) > last && slices.Equal(target[:last], source[:last]) && target[last].key == "" && target[last].index > source[last].index {
			target[last].index--
		}
		return next.splice(target, 0, item)
	})
}

// Duplicate puts an item of a list once more behind itself.
func (d *Document) Duplicate(path string) error {
	return d.edit("duplicate "+path, func(next *Document) error {
		steps, err := inList(path)
		if err != nil {
			return err
		}
		item, err := next.entry(steps)
		if err != nil {
			return err
		}
		steps[len(steps)-1].index++
		return next.splice(steps, 0, item)
	})
}

// Repeat makes the count lines of a sequence from path on into one repeat of so
// many times.
func (d *Document) Repeat(path string, count, times int) error {
	return d.edit("repeat "+path, func(next *Document) error {
		steps, err := inList(path)
		if err != nil {
			return err
		}
		if count < 1 || times < 1 {
			return errors.New("a repeat takes one line or more, once or more")
		}
		body := &yaml.Node{Kind: yaml.SequenceNode, Tag: "!!seq"}
		lines := "- repeat: " + strconv.Itoa(times) + "\n  do:\n"
		whole := true
		at := slices.Clone(steps)
		for range count {
			item, err := next.entry(at)
			if err != nil {
				return err
			}
			body.Content = append(body.Content, item.node)
			whole = whole && item.lines != ""
			lines += indented(item.lines, 4)
			at[len(at)-1].index++
		}
		with := entry{node: &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Content: []*yaml.Node{
			textNode("repeat"), numberNode(strconv.Itoa(times)), textNode("do"), body}}}
		if whole {
			with.lines = lines
		}
		return next.splice(steps, count, with)
	})
}

// Unroll puts the lines of a repeat in its place, once.
func (d *Document) Unroll(path string) error {
	return d.edit("unroll "+path, func(next *Document) error {
		steps, err := inList(path)
		if err != nil {
			return err
		}
		outer, err := next.entry(steps)
		if err != nil {
			return err
		}
		body := child(outer.node, step{key: "do"})
		if body == nil || body.Kind != yaml.SequenceNode {
			return errors.New("this is not a repeat")
		}
		var with []entry
		for i := range body.Content {
			item, err := next.entry(append(slices.Clone(steps), step{key: "do"}, step{index: i}))
			if err != nil {
				return err
			}
			with = append(with, item)
		}
		if len(with) > 0 && with[0].lines != "" {
			with[0].lines = outer.comments() + with[0].lines
		}
		return next.splice(steps, 1, with...)
	})
}

// edit works on a copy of the document and takes it over when all went well.
func (d *Document) edit(what string, change func(next *Document) error) error {
	next := &Document{fsys: d.fsys, name: d.name, dir: d.dir, src: d.src, root: d.root}
	if err := change(next); err != nil {
		return fmt.Errorf("%s in %s: %w", what, d.src.name, err)
	}
	d.src, d.root = next.src, next.root
	return nil
}

// inList splits a path that ends at a place in a list.
func inList(path string) ([]step, error) {
	steps, err := split(path)
	if err == nil && steps[len(steps)-1].key != "" {
		err = errors.New("the path does not end at a place in a list, such as sequence[2]")
	}
	return steps, err
}

var errInFile = errors.New("it cannot be put there without changing something else; change it in the file")

// entry is an item of a list on its way: what it says and, from a list of
// lines, how it is written there with the comments above it, dash at the margin.
type entry struct {
	node  *yaml.Node
	lines string
}

// comments are the lines of comment above the item.
func (e entry) comments() string {
	at := 0
	for line := range strings.Lines(e.lines) {
		if !strings.HasPrefix(line, "#") {
			break
		}
		at += len(line)
	}
	return e.lines[:at]
}

// find returns what stands at the end of the steps.
func find(n *yaml.Node, steps []step) (*yaml.Node, error) {
	for _, s := range steps {
		if n.Kind == yaml.ScalarNode && n.Value != "" {
			return nil, fmt.Errorf("%s names a part; change the part's own file", quoted(n.Value))
		}
		if n = child(n, s); n == nil {
			return nil, errors.New("there is no such place")
		}
	}
	return n, nil
}

// entry copies the item at the end of the steps.
func (d *Document) entry(steps []step) (entry, error) {
	last := len(steps) - 1
	list, err := find(d.root, steps[:last])
	if err != nil {
		return entry{}, err
	}
	n := child(list, steps[last])
	if n == nil {
		return entry{}, errors.New("there is no such place")
	}
	e := entry{node: n}
	if list.Style&yaml.FlowStyle == 0 {
		from, to, err := d.itemLines(list, steps[last].index)
		if err != nil {
			return entry{}, err
		}
		margin := strings.Repeat(" ", list.Column-1)
		for line := range strings.Lines(string(d.src.text[from:to])) {
			e.lines += strings.TrimPrefix(line, margin)
		}
		if !strings.HasSuffix(e.lines, "\n") {
			e.lines += "\n"
		}
	}
	return e, nil
}

// splice puts entries in the place of n items of a list, from the place at the
// end of the steps on.
func (d *Document) splice(steps []step, n int, with ...entry) error {
	last := len(steps) - 1
	at := steps[last].index
	list, err := find(d.root, steps[:last])
	if err != nil {
		return err
	}
	if list.Kind != yaml.SequenceNode || at+n > len(list.Content) {
		return errors.New("there is no such place")
	}
	if len(with) == 0 && n == len(list.Content) {
		return errors.New("the list would be left empty; remove what holds it")
	}
	var text []byte
	if list.Style&yaml.FlowStyle != 0 {
		text, err = d.spliceFlow(list, at, n, with)
	} else {
		text, err = d.spliceLines(list, at, n, with)
	}
	if err != nil {
		return err
	}
	want := clone(d.root)
	list, _ = find(want, steps[:last])
	var nodes []*yaml.Node
	for _, e := range with {
		nodes = append(nodes, e.node)
	}
	list.Content = slices.Replace(list.Content, at, at+n, nodes...)
	return d.become(text, want)
}

// become makes text the document's when it says what is wanted and no more.
func (d *Document) become(text []byte, want *yaml.Node) error {
	next := &Document{fsys: d.fsys, name: d.name, dir: d.dir}
	src := newSource(d.src.name, text)
	src.bom = d.src.bom
	if len(text) > mostBytes {
		return errors.New(tooLarge(int64(len(text))))
	}
	if err := next.take(src); err != nil || !alike(want, next.root, nil) {
		return errInFile
	}
	d.src, d.root = next.src, next.root
	return nil
}

func clone(n *yaml.Node) *yaml.Node {
	c := *n
	c.Content = make([]*yaml.Node, len(n.Content))
	for i, x := range n.Content {
		c.Content[i] = clone(x)
	}
	return &c
}

// spliceLines changes a list of lines that begin with a dash.
func (d *Document) spliceLines(list *yaml.Node, at, n int, with []entry) ([]byte, error) {
	var from, to int
	for i := at; i < at+n; i++ {
		a, b, err := d.itemLines(list, i)
		if err != nil {
			return nil, err
		}
		if i == at {
			from = a
		}
		to = b
	}
	if n == 0 {
		var err error
		if at < len(list.Content) {
			from, _, err = d.itemLines(list, at)
		} else {
			_, from, err = d.itemLines(list, at-1)
		}
		if err != nil {
			return nil, err
		}
		to = from
	}
	var b strings.Builder
	if from > 0 && d.src.text[from-1] != '\n' {
		b.WriteByte('\n')
	}
	for _, e := range with {
		lines := e.lines
		if lines == "" {
			var err error
			if lines, err = dashed(e.node); err != nil {
				return nil, err
			}
		}
		b.WriteString(indented(lines, list.Column-1))
	}
	return slices.Concat(d.src.text[:from], []byte(b.String()), d.src.text[to:]), nil
}

// itemLines returns the bytes of the lines of an item and of the comments
// directly above it.
func (d *Document) itemLines(list *yaml.Node, i int) (from, to int, err error) {
	margin := list.Column - 1
	line := list.Content[i].Line // 1 is the first
	for ; line >= list.Line; line-- {
		text := d.lineText(line)
		if indent(text) == margin && strings.HasPrefix(text[margin:], "-") {
			break
		}
		if line == list.Content[i].Line && indent(text) < margin {
			return 0, 0, errInFile
		}
	}
	if line < list.Line {
		return 0, 0, errInFile // the dash shares its line with something else
	}
	first := line
	for first > 1 && indent(d.lineText(first-1)) == margin && strings.HasPrefix(d.lineText(first - 1)[margin:], "#") {
		first--
	}
	end := line + 1
	behind := end
	for ; end <= len(d.src.ends); end++ {
		text := d.lineText(end)
		if strings.TrimSpace(text) == "" {
			continue
		}
		if indent(text) <= margin {
			break
		}
		behind = end + 1
	}
	return d.src.start(first), d.src.ends[behind-2], nil
}

// lineText returns a line without its end.
func (d *Document) lineText(line int) string {
	return strings.TrimRight(string(d.src.text[d.src.start(line):d.src.ends[line-1]]), "\r\n")
}

func indent(line string) int { return len(line) - len(strings.TrimLeft(line, " ")) }

func indented(lines string, by int) string {
	margin := strings.Repeat(" ", by)
	var b strings.Builder
	for line := range strings.Lines(lines) {
		if strings.TrimSpace(line) != "" {
			b.WriteString(margin)
		}
		b.WriteString(line)
	}
	return b.String()
}

// dashed writes a node as an item of a list of lines.
func dashed(n *yaml.Node) (string, error) {
	b, err := yaml.Dump(&yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{n}}, yaml.WithLineWidth(-1))
	if err != nil {
		return "", errInFile
	}
	return string(b), nil
}
