package job

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"
)

// record is the table of the keys of a mapping that fills a T.
type record[T any] struct {
	name   string // of what it describes, with its article: "a cutter"
	fields []field[T]
	flow   bool // written on one line
	units  bool // may carry units of its own
	// variant names the figure, shape or kind that v is, once the fields without
	// only have been read; "" while it is not known.
	variant func(r *reader, v *T) string
	// selector is the key that says the variant; "" when something outside the
	// mapping does.
	selector string
}

// field is one key of a record.
type field[T any] struct {
	key, doc string
	need     bool     // must be there, in each variant it belongs to
	needed   []string // the variants that must have it, where not all of only do
	only     []string // the variants it belongs to; none is all
	instead  string   // key to use in other variants, for the mend
	read     func(r *reader, n *yaml.Node, at string, v *T)
	write    func(w *writer, v *T) *yaml.Node
	absent   func(v *T) // gives the value meant when the key is left out
	schema   func(s *schemer) schema
}

// at makes a field whose value lives where get points. It is left out of what is
// written when it holds the zero value.
func at[T, F any](key, doc string, c codec[F], get func(*T) *F) field[T] {
	var none F
	return field[T]{
		key: key, doc: doc,
		read: func(r *reader, n *yaml.Node, at string, v *T) {
			if x, ok := c.read(r, n, at); ok {
				*get(v) = x
			}
		},
		write: func(w *writer, v *T) *yaml.Node {
			if x := *get(v); !reflect.DeepEqual(x, none) {
				return c.write(w, x)
			}
			return nil
		},
		schema: c.schema,
	}
}

// must makes a field that cannot be left out; it is always written.
func must[T, F any](key, doc string, c codec[F], get func(*T) *F) field[T] {
	f := at(key, doc, c, get)
	f.need = true
	f.write = func(w *writer, v *T) *yaml.Node { return c.write(w, *get(v)) }
	return f
}

// or makes a field that means usual when it is left out.
func or[T, F any](key, doc string, c codec[F], get func(*T) *F, usual F) field[T] {
	f := at(key, doc, c, get)
	f.absent = func(v *T) { *get(v) = usual }
	f.write = func(w *writer, v *T) *yaml.Node {
		if x := *get(v); !reflect.DeepEqual(x, usual) {
			return c.write(w, x)
		}
		return nil
	}
	return f
}

// of limits the field to some variants.
func (f field[T]) of(variants ...string) field[T] {
	f.only = variants
	return f
}

// otherwise names the key that other variants use instead.
func (f field[T]) otherwise(key string) field[T] {
	f.instead = key
	return f
}

// neededBy limits the need for the field to some of its variants.
func (f field[T]) neededBy(variants ...string) field[T] {
	f.needed = variants
	return f
}

// mustBe reports whether a mapping of the variant has to have the field.
func (f field[T]) mustBe(variant string) bool {
	return f.need && f.belongs(variant) && (len(f.needed) == 0 || slices.Contains(f.needed, variant)) &&
		(variant != "" || len(f.only) == 0)
}

func (f field[T]) belongs(variant string) bool {
	return len(f.only) == 0 || variant == "" || slices.Contains(f.only, variant)
}

// lift makes the fields of a part into fields of what contains it.
func lift[T, P any](fields []field[P], get func(*T) *P) []field[T] {
	var out []field[T]
	for _, f := range fields {
		g := field[T]{key: f.key, doc: f.doc, need: f.need, needed: f.needed, only: f.only, instead: f.instead, schema: f.schema,
			read:  func(r *reader, n *yaml.Node, at string, v *T) { f.read(r, n, at, get(v)) },
			write: func(w *writer, v *T) *yaml.Node { return f.write(w, get(v)) },
		}
		if f.absent != nil {
			g.absent = func(v *T) { f.absent(get(v)) }
		}
		out = append(out, g)
	}
	return out
}

// into makes a field whose mapping fills fields of the same T.
func into[T any](key, doc string, rec *record[T]) field[T] {
	return field[T]{
		key: key, doc: doc,
		read: func(r *reader, n *yaml.Node, at string, v *T) { rec.fill(r, n, at, v) },
		write: func(w *writer, v *T) *yaml.Node {
			if n := rec.node(w, v); len(n.Content) > 0 {
				return n
			}
			return nil
		},
		schema: rec.schema,
	}
}

// required marks a field made by into.
func (f field[T]) required() field[T] {
	f.need = true
	return f
}

// codec makes the record a value of its own.
func (rec *record[T]) codec() codec[T] {
	return codec[T]{
		read: func(r *reader, n *yaml.Node, at string) (v T, ok bool) {
			ok = rec.fill(r, n, at, &v)
			return v, ok
		},
		write:  func(w *writer, v T) *yaml.Node { return rec.node(w, &v) },
		schema: func(s *schemer) schema { return rec.schema(s) },
	}
}

// refer makes a codec of a pointer, nil being absent.
func refer[T any](c codec[T]) codec[*T] {
	return codec[*T]{
		read: func(r *reader, n *yaml.Node, at string) (*T, bool) {
			v, ok := c.read(r, n, at)
			return &v, ok
		},
		write:  func(w *writer, v *T) *yaml.Node { return c.write(w, *v) },
		schema: c.schema,
	}
}

// unitsCodec reads the units of a file or part.
var unitsCodec = choice([]string{"mm", "inch"}, []Units{Millimetre, Inch})

// fill reads the mapping n into v, telling the reader of every fault. It
// returns false when n is no mapping at all.
func (rec *record[T]) fill(r *reader, n *yaml.Node, at string, v *T) bool {
	r.mark(n, at)
	if n.Kind != yaml.MappingNode {
		r.fault(n, at, "keys and values are due here", "write "+rec.name+" as {key: value} or as lines of key: value; its keys are "+listed(rec.keys("")))
		return false
	}
	found := rec.entries(r, n, at)
	if u, ok := found["units"]; ok && rec.units {
		if units, ok := unitsCodec.read(r, u[1], join(at, "units")); ok {
			own := *r // lengths below here are in these units
			own.units = units
			r = &own
		}
	}
	variant := ""
	settle := func() {
		if rec.variant != nil {
			variant = rec.variant(r, v)
		}
	}
	for i := range rec.fields {
		f := &rec.fields[i]
		if len(f.only) > 0 && variant == "" {
			settle()
		}
		pair, there := found[f.key]
		path := join(at, f.key)
		switch {
		case there && !f.belongs(variant):
			mend := "leave it out"
			if f.instead != "" {
				mend = "write " + f.instead + " instead"
			}
			r.fault(pair[0], path, "it belongs to "+rec.among(f.only)+", and this is "+rec.among([]string{variant}), mend)
		case there:
			r.mark(pair[1], path)
			f.read(r, pair[1], path, v)
		case f.mustBe(variant):
			r.fault(n, path, rec.name+" needs it", "add "+f.key+": … ("+strings.ToLower(f.doc[:1])+strings.TrimSuffix(f.doc[1:], ".")+")")
		case f.absent != nil && f.belongs(variant):
			f.absent(v)
		}
	}
	return true
}

// among names variants: "figure: sine or zigzag".
func (rec *record[T]) among(variants []string) string {
	names := strings.Join(variants, " or ")
	if rec.selector == "" {
		return "a " + names + " engine"
	}
	return rec.selector + ": " + names
}

// entries pairs the keys of a mapping with their values and refuses keys that
// are unknown or stand twice.
func (rec *record[T]) entries(r *reader, n *yaml.Node, at string) map[string][2]*yaml.Node {
	found := map[string][2]*yaml.Node{}
	for i := 0; i+1 < len(n.Content) && !r.full(); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		first, twice := found[k.Value]
		switch {
		case k.Kind != yaml.ScalarNode:
			r.fault(k, at, "a key is not one word", "write key: value; keys are "+listed(rec.keys("")))
		case twice:
			r.fault(k, join(at, k.Value), "the key stands twice", fmt.Sprintf("keep it here or on line %d", first[0].Line))
		case rec.known(k.Value):
			found[k.Value] = [2]*yaml.Node{k, v}
		case k.ShortTag() == "!!int" && v.ShortTag() == "!!null":
			r.fault(k, at, "a comma parts this number from the value before it", "write a decimal point")
		default:
			r.fault(k, join(at, cut(k.Value)), "the key is not known", suggest(k.Value, rec.keys(""), "keys of "+rec.name+" are"))
		}
	}
	return found
}

// cut keeps a path readable.
func cut(key string) string {
	if len(key) > 40 || strings.ContainsAny(key, ".[] \n") || key == "" {
		return strings.Trim(quoted(key), "\n")
	}
	return key
}

func (rec *record[T]) known(key string) bool {
	return rec.units && key == "units" || slices.ContainsFunc(rec.fields, func(f field[T]) bool { return f.key == key })
}

// keys lists the keys of a variant, or all of them.
func (rec *record[T]) keys(variant string) []string {
	var keys []string
	if rec.units {
		keys = append(keys, "units")
	}
	for _, f := range rec.fields {
		if f.belongs(variant) && !slices.Contains(keys, f.key) {
			keys = append(keys, f.key)
		}
	}
	return keys
}

// node writes v as a mapping.
func (rec *record[T]) node(w *writer, v *T) *yaml.Node {
	n := &yaml.Node{Kind: yaml.MappingNode}
	if rec.flow {
		n.Style = yaml.FlowStyle
	}
	variant := ""
	if rec.variant != nil {
		variant = rec.variant(&reader{reading: &reading{kind: w.kind}}, v)
	}
	for _, f := range rec.fields {
		if !f.belongs(variant) {
			continue
		}
		if x := f.write(w, v); x != nil {
			n.Content = append(n.Content, textNode(f.key), x)
		}
	}
	return n
}
