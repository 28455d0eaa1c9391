package job

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"brightcut/depth"
	"brightcut/engine"
	"brightcut/fault"
)

// Read reads the job file at path with the parts it names, which stand in the
// folders engines, bars, rosettes, cutters, guides and metals beside it, with its
// readings in the folder readings and what test cuts told in calibrations. What is
// wrong with any of these files comes back as one fault.List.
func Read(path string) (*Job, error) {
	dir, name := filepath.Split(filepath.Clean(path))
	folder := dir
	if folder == "" {
		folder = "."
	}
	root, err := os.OpenRoot(folder) // no link leads out of the workshop
	if err != nil {
		return nil, fault.List{{Origin: fault.Origin{File: path}, Problem: "the folder cannot be read: " + cause(err), Mend: "look at the name and the folder"}}
	}
	defer root.Close()
	if name == "" || name == "." || name == ".." {
		return nil, fault.List{{Origin: fault.Origin{File: path}, Problem: "this is a folder, not a file", Mend: "name a job file in it"}}
	}
	d, err := open(root.FS(), name, path, dir)
	if err != nil {
		return nil, err
	}
	return d.Job()
}

// ReadFS reads the job file name, a slash-separated path within fsys, as Read
// does.
func ReadFS(fsys fs.FS, name string) (*Job, error) {
	d, err := Open(fsys, name)
	if err != nil {
		return nil, err
	}
	return d.Job()
}

// read fills a job from the document's tree.
func (d *Document) read() (*Job, fault.List) {
	s := &shop{fsys: d.fsys, dir: path.Dir(d.name), shown: d.dir, files: map[string]*partFile{}}
	all := &reading{shop: s, places: map[string]place{}, edges: map[string]string{}, named: map[string]string{}}
	r := &reader{reading: all, src: d.src, units: Millimetre}
	j := &Job{File: d.src.name}
	jobRecord.fill(r, d.root, "", j)
	r.calibrated(j)
	all.checked("cutter", j.Setup.Cutter.Check())
	for _, f := range j.Setup.Blank.Check() {
		of := "blank"
		if field, ok := strings.CutPrefix(f.Field, "nominal."); ok {
			of, f.Field = "stock", field
		}
		all.checked(of, fault.List{f})
	}
	if j.Guide != nil {
		all.checked("guide", j.setGuide())
	}
	if j.Stop != nil {
		all.checked("stop", j.Stop.Check())
	}
	all.checked("hand", j.Hand.Check())
	all.checked("plan", j.checkWishes(0))
	for _, name := range all.edgeNames() {
		all.checked(all.edges[name], j.Setup.Bars[name].Check())
	}
	together := j.Setup.Check()
	if all.refused("engine") || all.refused("blank.thickness") { // then only the engine's own faults are sure
		together = slices.DeleteFunc(together, func(f fault.Fault) bool { return !within(f.Field, "engine") })
	}
	all.checked("", together)
	if l := all.list(d.src.name); len(l) > 0 {
		return nil, l
	}
	j.Digest = s.digest(d.src.text)
	j.reading = all
	return j, nil
}

// Cuts works the job's sequence out. What keeps the engine from working it is a
// fault.List with the places in the job's files.
func (j *Job) Cuts(ctx context.Context) (*engine.List, error) {
	list, err := j.Setup.Cuts(ctx)
	var found fault.List
	if errors.As(err, &found) {
		return nil, j.place(found)
	}
	if err != nil {
		return nil, fmt.Errorf("work out the cuts of %s: %w", j.File, err)
	}
	if found = j.checkWishes(len(list.Cuts)); len(found) > 0 {
		for i := range found {
			found[i].Field = "plan." + found[i].Field
		}
		return nil, j.place(found)
	}
	return list, nil
}

// checkWishes finds what the plan cannot keep to in a job of n cuts, or of a
// number not known yet when n is 0. Fields are relative to plan.
func (j *Job) checkWishes(n int) fault.List {
	if j.Wishes == nil {
		return nil
	}
	l := j.Wishes.Check(n)
	for i, h := range j.Wishes.Hold {
		field := fmt.Sprintf("hold[%d].by", i)
		switch {
		case h.By == depth.ByGuide && j.Guide == nil:
			l = append(l, fault.Fault{Field: field, Problem: "the job names no guide", Mend: "name a guide, or hold by stop or hand"})
		case h.By == depth.ByStop && j.Stop == nil:
			l = append(l, fault.Fault{Field: field, Problem: "the job tells of no stop", Mend: "write stop: {compliance: …}, or hold by guide or hand"})
		}
	}
	return l
}

// place gives the faults of the engine their lines.
func (j *Job) place(found fault.List) fault.List {
	if j.reading == nil { // a job that no file was read for
		return found
	}
	out := make(fault.List, len(found))
	for i, f := range found {
		out[i] = f
		if f.Origin.Line == 0 {
			out[i] = j.reading.placed(f.Field, f)
			continue
		}
		if p, ok := j.reading.places[""]; ok && f.Line == "" && f.Origin.File == p.src.name {
			out[i].Line = p.src.line(f.Origin.Line, f.Origin.Column)
		}
	}
	slices.SortStableFunc(out, inFile)
	return out
}
