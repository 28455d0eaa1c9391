package job

import (
	"fmt"
	"io/fs"
	"path"
	"strings"

	"go.yaml.in/yaml/v4"

	"brightcut/bar"
	"brightcut/fault"
)

// ReadEdge reads the file of a bar or a rosette by itself. Which it is the file
// tells: a rosette has a radius. What is wrong is a fault.List.
func ReadEdge(fsys fs.FS, name string) (bar.Edge, error) {
	d, err := Open(fsys, name)
	if err != nil {
		return bar.Edge{}, err
	}
	e, l := d.edge(fsys)
	return e, l.Err()
}

// edge reads the document as that of a bar or a rosette.
func (d *Document) edge(fsys fs.FS) (e bar.Edge, l fault.List) {
	dir := path.Dir(d.name)
	if folder := path.Base(dir); folder == "bars" || folder == "rosettes" {
		dir = path.Dir(dir) // the workshop, in which a blend finds its patterns
	}
	all := &reading{shop: &shop{fsys: fsys, dir: dir, files: map[string]*partFile{}}, places: map[string]place{}, edges: map[string]string{}, named: map[string]string{}}
	r := &reader{reading: all, src: d.src, units: Millimetre}
	rec := barRecord
	if child(d.root, step{key: "radius"}) != nil {
		rec = rosetteRecord
	}
	if rec.fill(r, d.root, "", &e); len(all.faults) == 0 {
		all.checked("", e.Check())
	}
	return e, all.list(d.src.name)
}

// MarshalEdge writes a bar or a rosette as the file of a part, in millimetres and
// degrees, with remarks at its head. What is written is read back before it is
// returned: an edge that no file can hold is an error.
func MarshalEdge(e bar.Edge, remarks ...string) ([]byte, error) {
	rec := barRecord
	if e.Radius > 0 {
		rec = rosetteRecord
	}
	body, err := yaml.Dump(rec.node(&writer{units: Millimetre}, &e))
	if err != nil {
		return nil, fmt.Errorf("write the edge %q: %w", e.Name, err)
	}
	var b strings.Builder
	for _, line := range remarks {
		b.WriteString("# " + strings.Join(strings.Fields(line), " ") + "\n")
	}
	b.Write(body)
	d := &Document{fsys: nowhere{}, name: "edge.yaml"}
	if err = d.take(newSource(d.name, []byte(b.String()))); err == nil {
		_, l := d.edge(nowhere{})
		err = l.Err()
	}
	if err != nil {
		return nil, fmt.Errorf("write the edge %q: no file can hold it:\n%w", e.Name, err)
	}
	return []byte(b.String()), nil
}
