package job

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"

	"brightcut/fault"
)

// Limits of a file, refused before any memory is spent on it. The parser takes
// about 1 kB for a mark, so 100 000 marks stay below 100 MB; a drawn edge of
// 10 000 points has half of that.
const (
	mostBytes = 1 << 20 // of one file
	mostMarks = 100_000 // commas, brackets, colons, dashes and line ends
	mostDepth = 40      // of mappings and lists inside one another
	mostFault = 100     // told of one reading
)

// source is the text of one file.
type source struct {
	name string // as the user knows it
	text []byte // without a byte order mark
	bom  bool
	ends []int // offset behind each line's end
}

func newSource(name string, text []byte) *source {
	s := &source{name: name}
	s.text, s.bom = bytes.CutPrefix(text, []byte("\xef\xbb\xbf"))
	for i, c := range s.text {
		if c == '\n' {
			s.ends = append(s.ends, i+1)
		}
	}
	s.ends = append(s.ends, len(s.text))
	return s
}

// start returns the offset of a line, counted from 1.
func (s *source) start(line int) int {
	if line <= 1 {
		return 0
	}
	return s.ends[min(line-2, len(s.ends)-1)]
}

// line returns a line without its end, as it can be shown: control characters
// replaced, and of a long line the part about the column.
func (s *source) line(line, column int) string {
	if line < 1 || line > len(s.ends) {
		return ""
	}
	const most = 120
	from := max(0, column-1-most*3/4) // characters left out in front
	text := bytes.TrimRight(s.text[s.start(line):s.ends[line-1]], "\r\n")
	var b strings.Builder
	n := 0
	for i := 0; i < len(text); n++ {
		c, size := utf8.DecodeRune(text[i:])
		i += size
		switch {
		case n == from && from > 0, n == from+most-1 && i < len(text):
			b.WriteRune('…')
		case n >= from+most:
			return b.String()
		case n < from:
		case c != '\t' && !printable(c):
			b.WriteRune(utf8.RuneError)
		default:
			b.WriteRune(c)
		}
	}
	return b.String()
}

// at makes a fault of the file at a place; line 0 is the file as a whole.
func (s *source) at(line, column int, field, problem, mend string) fault.Fault {
	f := fault.Fault{Origin: fault.Origin{File: s.name}, Field: field, Problem: problem, Mend: mend}
	if line > 0 {
		f.Origin.Line, f.Origin.Column = line, max(column, 1)
		f.Line = s.line(line, column)
	}
	return f
}

// printable says which characters a job file may hold, tab and line ends apart.
// NEL, LS and PS are left out: readers differ on whether they end a line.
func printable(c rune) bool {
	switch {
	case c < 0x20, c == 0x7f, c >= 0x80 && c < 0xa0, c == 0x2028, c == 0x2029:
		return false
	case c == 0xfeff, c == 0xfffe, c == 0xffff:
		return false
	}
	return true
}

// tree parses the file into YAML nodes, or says why it cannot. The root is a
// mapping no deeper than mostDepth, without anchors, aliases, merges or tags.
func (s *source) tree() (*yaml.Node, fault.List) {
	if f := s.plain(); f != nil {
		return nil, fault.List{*f}
	}
	loader, err := yaml.NewLoader(bytes.NewReader(s.text))
	if err != nil {
		return nil, fault.List{s.syntax(err)}
	}
	var doc, more yaml.Node
	if err := loader.Load(&doc); err == io.EOF || err == nil && len(doc.Content) == 0 {
		return nil, fault.List{s.at(0, 0, "", "the file is empty", "write at least the keys that it must have")}
	} else if err != nil {
		return nil, fault.List{s.syntax(err)}
	}
	switch err := loader.Load(&more); {
	case err == nil:
		return nil, fault.List{s.at(second(&more), 1, "", "a second document begins here", "keep one document in a file: leave out the line of three dashes before it and what follows")}
	case err != io.EOF:
		return nil, fault.List{s.syntax(err)}
	}
	root := doc.Content[0]
	var l fault.List
	s.sound(root, 0, &l)
	if root.Kind != yaml.MappingNode && len(l) == 0 {
		l = append(l, s.at(root.Line, root.Column, "", "the file is not a list of keys and values", "write lines such as title: Barleycorn panel"))
	}
	return root, l
}

// second returns the line on which the content of a document begins.
func second(doc *yaml.Node) int {
	if len(doc.Content) == 0 {
		return max(doc.Line, 1)
	}
	return max(doc.Content[0].Line, 1)
}

// plain finds text that YAML or a terminal would stumble over.
func (s *source) plain() *fault.Fault {
	marks, line, begin := 0, 1, 0
	for i := 0; i < len(s.text); {
		c, n := utf8.DecodeRune(s.text[i:])
		switch {
		case c == '\n':
			line, begin = line+1, i+1
			marks++
		case c == '\r' && i+1 < len(s.text) && s.text[i+1] == '\n', c == '\t':
		case strings.ContainsRune(",[]{}:-?", c):
			marks++
		case c == utf8.RuneError && n <= 1:
			f := s.at(line, utf8.RuneCount(s.text[begin:i])+1, "", "the file is not UTF-8 text", "save it as UTF-8")
			return &f
		case !printable(c):
			f := s.at(line, utf8.RuneCount(s.text[begin:i])+1, "", fmt.Sprintf("a control character (%U) stands here", c), "delete it; end lines with a line feed")
			return &f
		}
		i += n
	}
	if marks > mostMarks {
		f := s.at(0, 0, "", fmt.Sprintf("the file holds about %d values, more than the %d allowed", marks, mostMarks), "draw edges and outlines with fewer points")
		return &f
	}
	return nil
}

// syntax turns an error of the YAML parser into a fault.
func (s *source) syntax(err error) fault.Fault {
	var e *yaml.LoadError
	if !errors.As(err, &e) {
		return s.at(0, 0, "", "the file cannot be read as YAML: "+err.Error(), "")
	}
	line, column := e.Mark.Line, e.Mark.Column
	if (line < 1 || s.line(line, 1) == "") && e.ContextMark.Line > 0 {
		line, column = e.ContextMark.Line, e.ContextMark.Column
	}
	line = min(line, len(s.ends))
	if lead := strings.TrimLeft(s.line(line, column), " "); strings.HasPrefix(lead, "\t") {
		return s.at(line, column, "", "a tab stands where YAML wants spaces", "set lines in with spaces, two for each level")
	}
	problem := "this is not YAML: " + strings.TrimPrefix(e.Message, "yaml: ")
	if e.ContextMsg != "" {
		problem += " " + e.ContextMsg
		if e.ContextMark.Line > 0 && e.ContextMark.Line != line {
			problem += fmt.Sprintf(" begun on line %d", e.ContextMark.Line)
		}
	}
	mend := "look for a missing bracket, quote, comma or colon here or on the line before"
	switch {
	case strings.Contains(e.Message, "mapping values are not allowed"):
		mend = "put quotes round a text that holds a colon, and set keys of one mapping in alike"
	case strings.Contains(e.Message, "unknown anchor"):
		problem, mend = "an alias (*name) stands here; files of a workshop use none", "write the value out; put quotes round a text that begins with *"
	case strings.Contains(e.Message, "depth"):
		problem, mend = "mappings and lists stand too deep inside one another", fmt.Sprintf("stay within %d levels", mostDepth)
	}
	return s.at(max(line, 1), column, "", problem, mend)
}

// sound refuses what YAML allows and a job file does not, and what is nested
// too deep for the walk that follows.
func (s *source) sound(n *yaml.Node, depth int, l *fault.List) {
	if len(*l) > mostFault {
		return
	}
	add := func(problem, mend string) { *l = append(*l, s.at(n.Line, n.Column, "", problem, mend)) }
	switch {
	case depth > mostDepth:
		add("mappings and lists stand too deep inside one another", fmt.Sprintf("stay within %d levels", mostDepth))
		return
	case n.Kind == yaml.AliasNode:
		add("an alias (*name) stands here; files of a workshop use none", "write the value out; put quotes round a text that begins with *")
		return
	case n.Anchor != "":
		add("an anchor (&name) stands here; files of a workshop use none", "leave it out; put quotes round a text that begins with &")
	case n.Style&yaml.TaggedStyle != 0:
		add("a tag (!name) stands here; files of a workshop use none", "leave it out; put quotes round a text that begins with !")
	case n.Tag == "!!merge":
		add("a merge key (<<) stands here; files of a workshop use none", "write the keys out")
	}
	for _, c := range n.Content {
		s.sound(c, depth+1, l)
	}
}
