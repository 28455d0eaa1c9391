package job

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"brightcut/fault"
	"brightcut/internal/whole"
)

// KeptCalibration is one entry of a file in calibrations/.
type KeptCalibration struct {
	File                  string // its name in calibrations/, without .yaml
	Number                int    // in the file, from 1
	Cutter, Guide, Engine string // what it is of
	Counts                bool   // it is the one that jobs are read with
	Calibration
}

// Calibrations returns everything that was kept in a workshop's folder, file by
// file, the earliest first. Files that cannot be read are told in the error, a
// fault.List; the rest is returned all the same.
func Calibrations(fsys fs.FS) ([]KeptCalibration, error) {
	files, err := fs.Glob(fsys, "calibrations/*"+extension)
	if err != nil {
		return nil, err
	}
	slices.Sort(files)
	var out []KeptCalibration
	var wrong fault.List
	for _, name := range files {
		text, bad := readText(fsys, name)
		if bad != nil {
			wrong = append(wrong, fault.Fault{Origin: fault.Origin{File: name}, Problem: bad.problem, Mend: bad.mend})
			continue
		}
		c, err := readCalibrations(name, text)
		if err != nil {
			var l fault.List
			if errors.As(err, &l) {
				wrong = append(wrong, l...)
			}
			continue
		}
		counts := c.latest()
		for i := range c.all {
			out = append(out, KeptCalibration{strings.TrimSuffix(path.Base(name), extension), i + 1, c.cutter, c.guide, c.engine, counts == &c.all[i], c.all[i]})
		}
	}
	return out, wrong.Err()
}

// Withdraw marks entry number of a file in the folder's calibrations as counting
// no more from the day on, or with an empty day as counting again. Nothing is
// taken away and every other byte of the file stays.
func Withdraw(folder, file string, number int, day string) error {
	doing := func(err error) error { return fmt.Errorf("withdraw calibration %d of %s: %w", number, file, err) }
	if !validName(file) {
		return doing(errors.New("this is no name of a file in calibrations/"))
	}
	name := path.Join("calibrations", file+extension)
	d, err := Open(os.DirFS(folder), name)
	if err != nil {
		return doing(err)
	}
	before, err := readCalibrations(name, d.Text())
	if err != nil {
		return doing(err)
	}
	if number < 1 || number > len(before.all) {
		return doing(fmt.Errorf("the file holds calibrations 1 to %d", len(before.all)))
	}
	at := fmt.Sprintf("calibrations[%d].withdrawn", number-1)
	switch was := before.all[number-1].Withdrawn; {
	case day != "":
		err = d.Set(at, day)
	case was != "":
		err = d.Remove(at)
	}
	if err != nil {
		return doing(err)
	}
	after, err := readCalibrations(name, d.Text())
	if err != nil {
		return doing(err)
	}
	if after.all[number-1].Withdrawn != day {
		return doing(errors.New("the file cannot be changed in this place; write withdrawn: into it by hand"))
	}
	return whole.Write(filepath.Join(folder, filepath.FromSlash(name)), func(w io.Writer) error { _, err := w.Write(d.Text()); return err })
}

// KeepCorrection keeps what a finished piece told of the job's cutter and guide, or
// of its engine: what now counts of them in the workshop's folder, dated anew and
// changed. The job may be an old one, frozen when the piece was begun. It returns
// the file's path.
func (j *Job) KeepCorrection(folder, date, from string, ofEngine bool, change func(*Calibration)) (string, error) {
	var c Calibration
	if j.reading != nil {
		all, err := Calibrations(os.DirFS(folder))
		if err != nil {
			return "", fmt.Errorf("keep the correction:\n%w", err)
		}
		named := j.reading.named
		for _, k := range all {
			if k.Counts && (ofEngine && k.Engine == named["engine"] || !ofEngine && k.Cutter == named["cutter"] && k.Guide == named["guide"]) {
				c = k.Calibration
			}
		}
	}
	// A clock that is behind what was kept before must not make this one count less.
	c.Date, c.From, c.Cuts = max(date, c.Date), from, 0
	change(&c)
	return j.keep(folder, c)
}
