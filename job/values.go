package job

import (
	"path"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"

	"brightcut/fault"
)

// Value is one value of a file as it is written there.
type Value struct {
	Path string `json:"path"` // as Set takes it
	Text string `json:"text"`
}

// Values lists the values of the document in their order, at most most of them.
func (d *Document) Values(most int) []Value {
	out := []Value{}
	var walk func(n *yaml.Node, path string)
	walk = func(n *yaml.Node, path string) {
		switch {
		case len(out) >= most:
		case n.Kind == yaml.ScalarNode:
			out = append(out, Value{path, n.Value})
		case n.Kind == yaml.SequenceNode:
			for i, c := range n.Content {
				walk(c, item(path, i))
			}
		case n.Kind == yaml.MappingNode:
			for i := 0; i+1 < len(n.Content); i += 2 {
				if k := n.Content[i]; k.Kind == yaml.ScalarNode && !strings.ContainsAny(k.Value, ".[]") && k.Value != "" {
					walk(n.Content[i+1], join(path, k.Value))
				}
			}
		}
	}
	walk(d.root, "")
	return out
}

// Part says which part's own file a path of a job leads into: its kind ("bar"),
// the name of its file and the path in it. ok is false when the path stays in
// the job's file.
func (d *Document) Part(path string) (kind, name, field string, ok bool) {
	steps, err := split(path)
	if err != nil {
		return "", "", "", false
	}
	n := d.root
	for i, s := range steps {
		if n.Kind == yaml.ScalarNode {
			if kind = d.kindAt(steps[:i]); kind == "" {
				return "", "", "", false
			}
			return kind, n.Value, written(steps[i:]), true
		}
		if n = child(n, s); n == nil {
			return "", "", "", false
		}
	}
	return "", "", "", false
}

// Names lists the parts that the document names, with the path that does.
func (d *Document) Names() (parts []Named) {
	for _, v := range d.Values(mostMarks) {
		steps, err := split(v.Path)
		if err != nil {
			continue
		}
		if kind := d.kindAt(steps); kind != "" && validName(v.Text) {
			parts = append(parts, Named{kind, v.Text, v.Path})
		}
	}
	return parts
}

// Files lists the files of the workshop, by their paths in its folder, that the
// document's job reads where they are there: parts, readings and calibrations.
func (d *Document) Files() []string {
	var files []string
	names := map[string]string{}
	for _, n := range d.Names() {
		files = append(files, path.Join(path.Dir(d.name), n.Kind+"s", n.Name+extension))
		names[n.Path] = n.Name
	}
	if c := names["cutter"]; c != "" {
		files = append(files, path.Join(path.Dir(d.name), "calibrations", calibrationFile(c, names["guide"])+extension))
	}
	if e := names["engine"]; e != "" {
		files = append(files, path.Join(path.Dir(d.name), "calibrations", engineFile(e)+extension))
	}
	if n, err := find(d.root, []step{{key: "stock"}, {key: "readings"}}); err == nil && n.Kind == yaml.ScalarNode {
		if name := strings.TrimSuffix(n.Value, readingsExtension); validName(name) {
			files = append(files, path.Join(path.Dir(d.name), "readings", name+readingsExtension))
		}
	}
	return files
}

// Named is a part's kind and name with the path that names it.
type Named struct{ Kind, Name, Path string }

// kindAt is the kind of part that a scalar at the end of the steps names.
func (d *Document) kindAt(steps []step) string {
	switch {
	case len(steps) == 1 && steps[0].key == "pumping_rosette":
		return "rosette"
	case len(steps) == 1 && slices.Contains([]string{"engine", "bar", "rosette", "cutter", "guide"}, steps[0].key):
		return steps[0].key
	case len(steps) == 2 && steps[1].key == "" && (steps[0].key == "bars" || steps[0].key == "rosettes"):
		return strings.TrimSuffix(steps[0].key, "s")
	case len(steps) == 2 && steps[0].key == "blank" && steps[1].key == "metal":
		return "metal"
	}
	return ""
}

// written puts steps together into a path again.
func written(steps []step) string {
	path := ""
	for _, s := range steps {
		if s.key == "" {
			path = item(path, s.index)
		} else {
			path = join(path, s.key)
		}
	}
	return path
}

// ValidName says whether a job or a part of a workshop can have this name, which
// is that of its file without the extension.
func ValidName(name string) bool { return validName(name) }

// FileName makes a name that a job or part can have out of what a person calls
// it; "" when nothing is left.
func FileName(title string) string {
	name := strings.Trim(slug(title), "-")
	for strings.Contains(name, "--") {
		name = strings.ReplaceAll(name, "--", "-")
	}
	for len(name) > 60 {
		name = strings.TrimRight(strings.ToValidUTF8(name[:60], ""), ".-")
	}
	return name
}

// EdgeField is the path at which the job mentions or holds the bar or rosette
// that it calls by the name; "" when no file was read for it.
func (j *Job) EdgeField(name string) string {
	if j.reading == nil {
		return ""
	}
	return j.reading.edges[name]
}

// SequenceLines gives the path of each line of the sequence by where it stands,
// which the items read from it and the moves made for them tell as their Origin.
func (j *Job) SequenceLines() map[fault.Origin]string {
	lines := map[fault.Origin]string{}
	if j.reading == nil {
		return lines
	}
	for path, p := range j.reading.places {
		if strings.HasPrefix(path, "sequence[") && strings.HasSuffix(path, "]") && p.node.Kind != yaml.SequenceNode {
			lines[fault.Origin{File: p.src.name, Line: p.node.Line, Column: p.node.Column}] = path
		}
	}
	return lines
}

// CheckText returns what keeps a text from being the file of a job or a part, as
// far as it is plain YAML with one mapping: a fault.List. What its keys say is
// looked at by Read.
func CheckText(name string, text []byte) error {
	if len(text) > mostBytes {
		return fault.List{{Origin: fault.Origin{File: name}, Problem: tooLarge(int64(len(text))), Mend: "draw edges and outlines with fewer points"}}
	}
	_, faults := newSource(name, text).tree()
	return faults.Err()
}
