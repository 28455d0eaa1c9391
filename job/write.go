package job

import (
	"fmt"
	"io/fs"

	"go.yaml.in/yaml/v4"
)

// Marshal writes the job as one file that needs no other: every part stands in
// it. Bare numbers are in the job's units, as short as they can be while reading
// them gives the same float64. Set's readings come one axis a line; File, Digest
// and Setup.Chord are no part of a file.
//
// What is written is read back before it is returned: a job that no file can
// hold is an error, with the faults that reading it would show.
func (j *Job) Marshal() ([]byte, error) {
	if j.Units == 0 {
		own := *j
		own.Units = Millimetre
		j = &own
	}
	node := jobRecord.node(&writer{units: j.Units, kind: j.Setup.Engine.Kind}, j)
	text, err := yaml.Dump(node)
	if err != nil {
		return nil, fmt.Errorf("write the job %q: %w", j.Title, err)
	}
	d := &Document{fsys: nowhere{}, name: "job.yaml"}
	err = d.take(newSource(d.name, text))
	if err == nil {
		_, err = d.Job()
	}
	if err != nil {
		return nil, fmt.Errorf("write the job %q: no file can hold it:\n%w", j.Title, err)
	}
	return text, nil
}

// nowhere is a workshop without parts.
type nowhere struct{}

func (nowhere) Open(name string) (fs.File, error) {
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
}
