package job

import (
	"errors"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"
)

// Put makes value, YAML on one line, a list or a mapping if need be, the value of
// the key at the end of path, as Insert does for lists.
func (d *Document) Put(path, value string) error {
	return d.edit("put "+path, func(next *Document) error {
		steps, err := split(path)
		if err != nil {
			return err
		}
		last := len(steps) - 1
		n, err := parseValue(value)
		if err != nil {
			return err
		}
		if steps[last].key == "" {
			return next.splice(steps, 1, entry{node: n})
		}
		parent, err := find(next.root, steps[:last])
		if err != nil {
			return err
		}
		if parent.Kind != yaml.MappingNode {
			return errors.New("there is no such place")
		}
		text, err := next.putKey(parent, steps[last], n)
		if err != nil {
			return err
		}
		want := clone(next.root)
		parent, _ = find(want, steps[:last])
		if i := slices.IndexFunc(parent.Content, isKey(parent, steps[last].key)); i >= 0 {
			parent.Content[i+1] = n
		} else {
			parent.Content = append(parent.Content, textNode(steps[last].key), n)
		}
		return next.become(text, want)
	})
}

// isKey finds a key among the content of a mapping, where keys and values
// take turns.
func isKey(n *yaml.Node, key string) func(*yaml.Node) bool {
	at := -1
	return func(c *yaml.Node) bool {
		at++
		return at%2 == 0 && c.Value == key
	}
}

func (d *Document) putKey(parent *yaml.Node, s step, n *yaml.Node) ([]byte, error) {
	word, err := onOneLine(n)
	if err != nil {
		return nil, err
	}
	old := child(parent, s)
	if old == nil {
		return d.insert(parent, s.key, word)
	}
	flow := parent.Style&yaml.FlowStyle != 0
	switch {
	case old.Kind == yaml.ScalarNode && old.Style&(yaml.LiteralStyle|yaml.FoldedStyle) == 0:
		from, to, err := d.span(old)
		if err != nil {
			return nil, err
		}
		if from == to {
			word = " " + word
		}
		return slices.Concat(d.src.text[:from], []byte(word), d.src.text[to:]), nil
	case old.Kind != yaml.ScalarNode && (flow || old.Style&yaml.FlowStyle != 0):
		from := d.offset(old)
		return slices.Concat(d.src.text[:from], []byte(word), d.src.text[d.flowEnd(from):]), nil
	}
	i := slices.IndexFunc(parent.Content, isKey(parent, s.key))
	from, to, err := d.keyLines(parent, i)
	if err != nil {
		return nil, err
	}
	key := string(d.src.text[from : d.offset(parent.Content[i])+len(parent.Content[i].Value)])
	return slices.Concat(d.src.text[:from], []byte(key+": "+word+"\n"), d.src.text[to:]), nil
}

// removeKey takes a key with its value out of a mapping.
func (d *Document) removeKey(steps []step) error {
	last := len(steps) - 1
	parent, err := find(d.root, steps[:last])
	if err != nil {
		return err
	}
	i := -1
	if parent.Kind == yaml.MappingNode {
		i = slices.IndexFunc(parent.Content, isKey(parent, steps[last].key))
	}
	if i < 0 {
		return errors.New("there is no such place")
	}
	if len(parent.Content) == 2 {
		return errors.New("nothing would be left beside it; remove what holds it")
	}
	var from, to int
	if parent.Style&yaml.FlowStyle == 0 {
		if from, to, err = d.keyLines(parent, i); err != nil {
			return err
		}
	} else {
		from = d.offset(parent.Content[i])
		if i+2 < len(parent.Content) {
			to = d.offset(parent.Content[i+2])
		} else {
			to = d.flowEnd(from)
			from = d.flowEnd(d.offset(parent.Content[i-2]))
		}
	}
	want := clone(d.root)
	parent, _ = find(want, steps[:last])
	parent.Content = slices.Delete(parent.Content, i, i+2)
	return d.become(slices.Concat(d.src.text[:from], d.src.text[to:]), want)
}

// keyLines returns the bytes of the lines of a key and its value in a mapping
// written on lines of its own.
func (d *Document) keyLines(parent *yaml.Node, i int) (from, to int, err error) {
	k := parent.Content[i]
	margin := k.Column - 1
	if indent(d.lineText(k.Line)) != margin {
		return 0, 0, errInFile // a dash stands before it
	}
	inner := margin
	if v := parent.Content[i+1]; v.Kind == yaml.SequenceNode && v.Style&yaml.FlowStyle == 0 && v.Column == k.Column {
		inner = margin - 1 // the dashes of its list stand under it
	}
	behind := k.Line + 1
	for line := behind; line <= len(d.src.ends); line++ {
		text := d.lineText(line)
		if strings.TrimSpace(text) == "" {
			continue
		}
		if indent(text) <= inner || inner < margin && indent(text) == margin && !strings.HasPrefix(text[margin:], "-") {
			break
		}
		behind = line + 1
	}
	return d.src.start(k.Line), d.src.ends[behind-2], nil
}

// spliceFlow changes a list in brackets.
func (d *Document) spliceFlow(list *yaml.Node, at, n int, with []entry) ([]byte, error) {
	var words []string
	for _, e := range with {
		word, err := onOneLine(e.node)
		if err != nil {
			return nil, err
		}
		words = append(words, word)
	}
	middle := strings.Join(words, ", ")
	count := len(list.Content)
	start := func(i int) int { return d.offset(list.Content[i]) }
	end := func(i int) int { return d.flowEnd(start(i)) }
	var from, to int
	switch {
	case n > 0 && len(with) > 0:
		from, to = start(at), end(at+n-1)
	case n > 0 && at+n < count:
		from, to = start(at), start(at+n)
	case n > 0:
		from, to = end(at-1), end(at+n-1)
	case len(with) == 0:
		return d.src.text, nil
	case at < count:
		from, to = start(at), start(at)
		middle += ", "
	case count > 0:
		from, to = end(count-1), end(count-1)
		middle = ", " + middle
	default:
		from = d.offset(list) + 1
		to = from
	}
	if from > to {
		return nil, errInFile
	}
	return slices.Concat(d.src.text[:from], []byte(middle), d.src.text[to:]), nil
}

// flowEnd returns where a value inside brackets that begins at from ends. It
// knows quotes, comments and brackets; that it was right is seen when the text
// is read again.
func (d *Document) flowEnd(from int) int {
	text := d.src.text
	depth, behind := 0, from
	fresh := true // a quote here would open one
	for i := from; i < len(text); i++ {
		c := text[i]
		switch {
		case (c == '"' || c == '\'') && fresh:
			for i++; i < len(text) && text[i] != c; i++ {
				if c == '"' && text[i] == '\\' {
					i++
				}
			}
			behind, fresh = min(i+1, len(text)), false
		case c == '#' && i > 0 && strings.IndexByte(" \t\n", text[i-1]) >= 0:
			for i < len(text) && text[i] != '\n' {
				i++
			}
		case c == ' ' || c == '\n' || c == '\r' || c == '\t':
		case c == '[' || c == '{':
			depth++
			behind, fresh = i+1, true
		case c == ']' || c == '}':
			if depth == 0 {
				return behind
			}
			depth--
			behind, fresh = i+1, false
			if depth == 0 && (text[from] == '[' || text[from] == '{') {
				return behind
			}
		case c == ',' && depth == 0:
			return behind
		default:
			behind, fresh = i+1, c == ',' || c == ':'
		}
	}
	return behind
}

// onOneLine writes a node as it stands inside brackets.
func onOneLine(n *yaml.Node) (string, error) {
	n = clone(n)
	flatten(n)
	b, err := yaml.Dump(&yaml.Node{Kind: yaml.SequenceNode, Style: yaml.FlowStyle, Content: []*yaml.Node{n}}, yaml.WithLineWidth(-1))
	if err != nil {
		return "", errInFile
	}
	word := strings.TrimSuffix(string(b), "\n")
	if strings.Contains(word, "\n") || len(word) < 2 {
		return "", errors.New("a text of several lines cannot stand there; change it in the file")
	}
	return word[1 : len(word)-1], nil
}

func flatten(n *yaml.Node) {
	n.HeadComment, n.LineComment, n.FootComment = "", "", ""
	if n.Kind == yaml.ScalarNode {
		if n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0 {
			n.Style = yaml.DoubleQuotedStyle
		}
		return
	}
	n.Style = yaml.FlowStyle
	for _, c := range n.Content {
		flatten(c)
	}
}

// parseValue reads YAML on one line.
func parseValue(value string) (*yaml.Node, error) {
	bad := errors.New("the value is not YAML on one line, such as cut or {step: 0.2 mm}")
	if strings.ContainsAny(value, "\r\n") || strings.TrimSpace(value) == "" || len(value) > mostBytes/2 {
		return nil, bad
	}
	src := newSource("value", []byte("value: ["+value+"\n  ]\n"))
	root, faults := src.tree()
	if len(faults) > 0 || len(root.Content) != 2 || root.Content[1].Kind != yaml.SequenceNode || len(root.Content[1].Content) != 1 {
		return nil, bad
	}
	return root.Content[1].Content[0], nil
}
