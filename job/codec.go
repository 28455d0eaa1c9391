package job

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"

	"brightcut/engine"
)

// codec knows one kind of value three ways: how it is read from a file, how it
// is written, and what a JSON Schema says of it. Every key of a job file has
// one codec, so that reader, writer and schema cannot disagree.
type codec[T any] struct {
	// read returns the value and whether it could be had; what is wrong has
	// been told to the reader.
	read func(r *reader, n *yaml.Node, at string) (T, bool)
	// write returns nil when there is nothing to write.
	write  func(w *writer, v T) *yaml.Node
	schema func(s *schemer) schema
}

// writer holds what writing depends on.
type writer struct {
	units Units
	kind  engine.Kind
}

func scalar(tag, value string) *yaml.Node {
	return &yaml.Node{Kind: yaml.ScalarNode, Tag: tag, Value: value}
}

func textNode(t string) *yaml.Node { return scalar("!!str", t) }

func numberNode(t string) *yaml.Node {
	if strings.ContainsAny(t, ".e") {
		return scalar("!!float", t)
	}
	return scalar("!!int", t)
}

// aScalar returns the text of a scalar that has one.
func (r *reader) aScalar(n *yaml.Node, at, mend string) (string, bool) {
	switch {
	case n.Kind == yaml.MappingNode:
		r.fault(n, at, "keys and values stand where one value is due", mend)
	case n.Kind == yaml.SequenceNode:
		r.fault(n, at, "a list stands where one value is due", mend)
	case n.ShortTag() == "!!null":
		r.fault(n, at, "there is no value", mend)
	default:
		return n.Value, true
	}
	return "", false
}

// text reads words of at most most characters. A number or a bool wants quotes,
// so that every YAML reader takes the file alike.
func text(most int) codec[string] {
	return codec[string]{
		read: func(r *reader, n *yaml.Node, at string) (string, bool) {
			t, ok := r.aScalar(n, at, "write a text")
			switch {
			case !ok:
			case n.ShortTag() != "!!str":
				r.fault(n, at, fmt.Sprintf("%s is not a text", quoted(t)), "put quotes round it: "+strconv.Quote(t))
			case len(t) > most:
				r.fault(n, at, fmt.Sprintf("a text of %d bytes is too long", len(t)), fmt.Sprintf("keep it within %d", most))
			case strings.ContainsFunc(t, func(c rune) bool { return c != '\n' && c != '\t' && !printable(c) }):
				r.fault(n, at, "the text holds a control character", "leave it out")
			default:
				return t, true
			}
			return "", false
		},
		write:  func(_ *writer, v string) *yaml.Node { return textNode(v) },
		schema: func(*schemer) schema { return schema{"type": "string", "maxLength": most} },
	}
}

// yesNo reads true or false.
var yesNo = codec[bool]{
	read: func(r *reader, n *yaml.Node, at string) (bool, bool) {
		t, ok := r.aScalar(n, at, "write true or false")
		if ok && (n.ShortTag() != "!!bool" || t != "true" && t != "false") {
			r.fault(n, at, quoted(t)+" is neither true nor false", "write true or false, without quotes")
			return false, false
		}
		return t == "true", ok
	},
	write:  func(_ *writer, v bool) *yaml.Node { return scalar("!!bool", strconv.FormatBool(v)) },
	schema: func(*schemer) schema { return schema{"type": "boolean"} },
}

// choice reads one of a few words.
func choice[T comparable](words []string, values []T) codec[T] {
	return codec[T]{
		read: func(r *reader, n *yaml.Node, at string) (T, bool) {
			var none T
			t, ok := r.aScalar(n, at, "write one of "+listed(words))
			if !ok {
				return none, false
			}
			for i, w := range words {
				if t == w {
					return values[i], true
				}
			}
			r.fault(n, at, quoted(t)+" is not one of its words", suggest(t, words, "write one of"))
			return none, false
		},
		write: func(_ *writer, v T) *yaml.Node {
			for i, x := range values {
				if x == v {
					return textNode(words[i])
				}
			}
			return nil
		},
		schema: func(*schemer) schema { return schema{"enum": words} },
	}
}

// count reads a whole number from lo to hi.
func count(lo, hi int) codec[int] {
	mend := fmt.Sprintf("write a whole number from %d to %d", lo, hi)
	return codec[int]{
		read: func(r *reader, n *yaml.Node, at string) (int, bool) {
			t, ok := r.aScalar(n, at, mend)
			if !ok {
				return 0, false
			}
			q, s := parseQuantity(t)
			switch {
			case s != nil:
				r.fault(n, at, s.problem, mend)
			case n.ShortTag() != "!!int" || q.dim != bare || !q.value.IsInt():
				r.fault(n, at, quoted(t)+" is not a whole number", mend)
			case q.value.Cmp(big.NewRat(int64(lo), 1)) < 0 || q.value.Cmp(big.NewRat(int64(hi), 1)) > 0:
				r.fault(n, at, t+" is out of range", mend)
			default:
				return int(q.value.Num().Int64()), true
			}
			return 0, false
		},
		write:  func(_ *writer, v int) *yaml.Node { return numberNode(strconv.Itoa(v)) },
		schema: func(*schemer) schema { return schema{"type": "integer", "minimum": lo, "maximum": hi} },
	}
}

// span bounds a number; lo itself is left out when open.
type span struct {
	lo, hi float64
	open   bool
}

var (
	anyValue = span{lo: math.Inf(-1), hi: math.Inf(1)}
	fromZero = span{lo: 0, hi: math.Inf(1)}
	overZero = span{lo: 0, hi: math.Inf(1), open: true}
)

// largest is the greatest length or plain number that a file may hold: 10 m.
const largest = 10_000.0

func (s span) holds(v float64) bool {
	return v <= min(s.hi, largest) && v >= max(s.lo, -largest) && !(s.open && v == s.lo)
}

// number reads what of describes. words are the units it may carry, dim their
// dimension; the scale is that of a bare number.
type number struct {
	span
	dim   dimension
	noun  string // "a length", with its article
	such  string // an example of text with a unit
	bare  bool   // whether a number without a unit will do
	scale func(Units) scale
}

func lengthOf(s span) codec[float64] {
	return number{s, lengths, "a length", "0.2 mm", true, Units.scale}.codec()
}

func angleOf(s span) codec[float64] {
	return number{s, turns, "an angle", "30 deg", true, func(Units) scale { return degreeScale }}.codec()
}

func numberOf(s span) codec[float64] {
	return number{s, bare, "a number", "0.27", true, func(Units) scale { return plainScale }}.codec()
}

// giveOf reads the give under the hand. Its unit must be written: a bare number
// would be taken for microns by one reader and for millimetres by the next.
func giveOf() codec[float64] {
	return number{fromZero, give, "a give", "0.3 um/N", false, func(Units) scale { return giveScale }}.codec()
}

func (k number) codec() codec[float64] {
	mend := "write " + k.noun + " such as " + k.such
	inside := func(v float64, u Units) bool {
		if k.dim == turns { // the bounds of an angle are degrees
			v = v * 180 / math.Pi
		}
		return k.holds(v)
	}
	return codec[float64]{
		read: func(r *reader, n *yaml.Node, at string) (float64, bool) {
			t, ok := r.aScalar(n, at, mend)
			if !ok {
				return 0, false
			}
			q, s := parseQuantity(t)
			var v float64
			switch {
			case s != nil:
				r.fault(n, at, s.problem, s.mend)
				return 0, false
			case q.dim == bare && !k.bare:
				r.fault(n, at, quoted(t)+" has no unit", mend)
				return 0, false
			case q.dim == bare:
				v = k.scale(r.units).float(q.value)
			case q.dim != k.dim:
				r.fault(n, at, fmt.Sprintf("%s is not %s", quoted(t), k.noun), mend)
				return 0, false
			case k.dim == turns:
				v = scale{of: twoPi}.float(q.value)
			default:
				v, _ = q.value.Float64()
			}
			if !inside(v, r.units) {
				r.find(n, at, fmt.Sprintf("%s is out of range", t), "write "+k.noun+k.span.words(k.dim), true)
			}
			return v, true
		},
		write: func(w *writer, v float64) *yaml.Node {
			s := k.scale(w.units)
			if !k.bare {
				return textNode(s.write(v) + " " + s.name)
			}
			return numberNode(s.write(v))
		},
		schema: func(*schemer) schema { return k.asSchema() },
	}
}

// words names the bounds for a message.
func (s span) words(d dimension) string {
	unit := map[dimension]string{lengths: " mm", turns: " deg"}[d]
	say := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) + unit }
	lo, hi := max(s.lo, -largest), min(s.hi, largest)
	if s.open {
		return " above " + say(lo) + ", up to " + say(hi)
	}
	return " from " + say(lo) + " to " + say(hi)
}

// asSchema bounds bare numbers as far as the bound does not hang on the file's
// units, and gives the pattern of text.
func (k number) asSchema() schema {
	bounded := schema{"type": "number"}
	if k.lo == 0 && k.open {
		bounded["exclusiveMinimum"] = 0
	} else if k.lo == 0 {
		bounded["minimum"] = 0
	}
	if k.dim != lengths && !math.IsInf(k.hi, 0) {
		bounded["maximum"] = k.hi
	}
	sign := `[+-]?`
	if k.lo >= 0 {
		sign = `\+?`
	}
	words := schema{"type": "string", "pattern": pattern(sign, []dimension{k.dim}, k.bare)}
	if !k.bare {
		return words
	}
	return schema{"anyOf": []any{bounded, words}}
}

// pattern is the regular expression of text with one of the units of the dimensions.
func pattern(sign string, dims []dimension, bareToo bool) string {
	var words []string
	for _, u := range unitTable {
		for _, d := range dims {
			if u.dim == d {
				words = append(words, u.words...)
			}
		}
	}
	if len(words) == 0 {
		return `^` + sign + anyNumber + `$`
	}
	unit := ` ?(` + strings.Join(words, "|") + `)`
	if bareToo {
		unit = `(` + unit + `)?`
	}
	var spoken []string
	for _, w := range numberWords {
		spoken = append(spoken, w.words)
	}
	return `^(` + sign + anyNumber + unit + `|(` + strings.Join(spoken, "|") + `) (` + strings.Join(words, "|") + `))$`
}

// listOf reads a list of at most most values.
func listOf[T any](of codec[T], least, most int, flow bool) codec[[]T] {
	return codec[[]T]{
		read: func(r *reader, n *yaml.Node, at string) ([]T, bool) {
			if n.Kind != yaml.SequenceNode {
				r.fault(n, at, "a list is due here", "write [one, two] or lines that begin with a dash")
				return nil, false
			}
			if len(n.Content) < least || len(n.Content) > most {
				r.fault(n, at, fmt.Sprintf("the list has %d values", len(n.Content)), fmt.Sprintf("write from %d to %d", least, most))
				return nil, false
			}
			var l []T
			all := true
			for i, c := range n.Content {
				r.mark(c, item(at, i))
				v, ok := of.read(r, c, item(at, i))
				if all = all && ok; ok {
					l = append(l, v)
				}
			}
			return l, all
		},
		write: func(w *writer, v []T) *yaml.Node {
			if len(v) == 0 {
				return nil
			}
			n := &yaml.Node{Kind: yaml.SequenceNode}
			if flow {
				n.Style = yaml.FlowStyle
			}
			for _, x := range v {
				n.Content = append(n.Content, of.write(w, x))
			}
			return n
		},
		schema: func(s *schemer) schema {
			return schema{"type": "array", "items": of.schema(s), "minItems": least, "maxItems": most}
		},
	}
}

// pairOf reads two values that belong together, such as [x, y], into a T.
func pairOf[T any](a, b codec[float64], get func(*T) (*float64, *float64)) codec[T] {
	const mend = "write two values in brackets, such as [0, 6]"
	return codec[T]{
		read: func(r *reader, n *yaml.Node, at string) (v T, ok bool) {
			if n.Kind != yaml.SequenceNode || len(n.Content) != 2 {
				r.fault(n, at, "a pair of values is due here", mend)
				return v, false
			}
			x, y := get(&v)
			var okX, okY bool
			*x, okX = a.read(r, n.Content[0], item(at, 0))
			*y, okY = b.read(r, n.Content[1], item(at, 1))
			return v, okX && okY
		},
		write: func(w *writer, v T) *yaml.Node {
			x, y := get(&v)
			return &yaml.Node{Kind: yaml.SequenceNode, Style: yaml.FlowStyle, Content: []*yaml.Node{a.write(w, *x), b.write(w, *y)}}
		},
		schema: func(s *schemer) schema {
			return schema{"type": "array", "prefixItems": []any{a.schema(s), b.schema(s)}, "minItems": 2, "maxItems": 2}
		},
	}
}
