package job

import (
	"io/fs"
	"path"

	"go.yaml.in/yaml/v4"

	"brightcut/fault"
)

// Document is the text of a job file with the folder it stands in. Set changes
// one value and leaves every other byte, comments among them, as it was.
type Document struct {
	fsys fs.FS
	name string // path in fsys
	dir  string // put before the names of parts in messages
	src  *source
	root *yaml.Node
}

// Open reads the text of a job file. Faults of the text itself, before any of its
// keys, are a fault.List.
func Open(fsys fs.FS, name string) (*Document, error) {
	dir := path.Dir(name) + "/"
	if dir == "./" {
		dir = ""
	}
	return open(fsys, name, name, dir)
}

func open(fsys fs.FS, name, shown, dir string) (*Document, error) {
	if !fs.ValidPath(name) {
		return nil, fault.List{{Origin: fault.Origin{File: shown}, Problem: "this is not a path of the workshop", Mend: "name a file in the workshop's folder"}}
	}
	text, bad := readText(fsys, name)
	if bad != nil {
		return nil, fault.List{{Origin: fault.Origin{File: shown}, Problem: bad.problem, Mend: bad.mend}}
	}
	d := &Document{fsys: fsys, name: name, dir: dir}
	return d, d.take(newSource(shown, text))
}

// take makes src the document's text.
func (d *Document) take(src *source) error {
	root, faults := src.tree()
	if len(faults) > 0 {
		return faults
	}
	d.src, d.root = src, root
	return nil
}

// Text returns the file as it now stands.
func (d *Document) Text() []byte {
	if d.src.bom {
		return append([]byte("\xef\xbb\xbf"), d.src.text...)
	}
	return append([]byte(nil), d.src.text...)
}

// Job reads the document with the parts it names, as Read does.
func (d *Document) Job() (*Job, error) {
	j, faults := d.read()
	if len(faults) > 0 {
		return nil, faults
	}
	return j, nil
}
