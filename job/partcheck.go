package job

import (
	"io/fs"

	"brightcut/bar"
	"brightcut/cutter"
	"brightcut/depth"
	"brightcut/engine"
	"brightcut/fault"
)

// CheckPart reads the file of a part by itself and returns what is wrong with it,
// as far as that can be told without a job. kind is one of PartKinds.
func CheckPart(fsys fs.FS, kind, name string) fault.List {
	d, err := Open(fsys, kind+"s/"+name+extension)
	if err != nil {
		l, _ := err.(fault.List) // Open has no other errors
		return l
	}
	all := &reading{shop: &shop{fsys: fsys, dir: ".", files: map[string]*partFile{}}, places: map[string]place{}, edges: map[string]string{}, named: map[string]string{}}
	r := &reader{reading: all, src: d.src, units: Millimetre}
	switch kind {
	case "engine":
		var v engine.Engine
		if engineRecord.fill(r, d.root, "", &v); len(all.faults) == 0 {
			all.checked("", v.Check())
		}
	case "bar", "rosette":
		var v bar.Edge
		rec := barRecord
		if kind == "rosette" {
			rec = rosetteRecord
		}
		if rec.fill(r, d.root, "", &v); len(all.faults) == 0 {
			all.checked("", v.Check())
		}
	case "cutter":
		var v cutter.Cutter
		cutterRecord.fill(r, d.root, "", &v)
		all.checked("", v.Check())
	case "guide":
		var v depth.Guide
		guideRecord.fill(r, d.root, "", &v)
		all.checked("", v.Check())
	case "metal":
		var v cutter.Metal
		metalRecord.fill(r, d.root, "", &v)
		all.checked("", v.Check())
	}
	return all.list(d.src.name)
}
