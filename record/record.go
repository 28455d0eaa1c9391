package record

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"io/fs"
	"math"
	"time"

	"brightcut/bench"
	"brightcut/inspect"
	"brightcut/light"
	"brightcut/sheet"
	"brightcut/surface"
)

// Record is the record of a run before it is set in type.
type Record struct {
	Title    string
	Run      string // its ID
	Digest   string // of the frozen job, its first eight characters
	Zone     string // in which the times stand, "UTC" or "+02:00"
	Summary  []string
	Sections []Section
	Picture  image.Image // nil when there is none
	Pixel    float64     // of the picture, mm on the work
	Files    []File      // of the frozen job
	Archive  []byte      // the run as one file, that a PDF carries along
}

// Section is a part of the record under one heading.
type Section struct {
	Name  string
	Text  []string // paragraphs
	List  []string // one line each
	Table *Table
	Chart *Chart
}

// Table is a table of words.
type Table struct {
	Head []string
	Rows [][]string
}

// File is a file that the job was read from.
type File struct {
	Name string
	Text string
}

// Options are what a record may be told besides the run.
type Options struct {
	Zone    *time.Location  // nil is UTC
	Pixels  int             // of the longer side of the picture; 0 makes none
	Found   *inspect.Report // of the widths, in the order in which they were measured; nil is none
	More    []Section       // put behind the widths: costs
	Archive []byte
}

// mostFile is how much of one file is printed; readings may be long.
const mostFile = 64 << 10

// New makes the record of a run from its log.
func New(ctx context.Context, run *bench.Run, events []bench.Event, o Options) (*Record, error) {
	if o.Zone == nil {
		o.Zone = time.UTC
	}
	p, err := run.Plan(ctx)
	if err != nil {
		return nil, fmt.Errorf("make the record: %w", err)
	}
	k := &keeper{run: run, program: p, events: events, zone: o.Zone}
	r := &Record{Title: run.Title, Run: run.ID, Digest: first(run.Frozen.Digest, 8), Zone: k.zoneName(), Archive: o.Archive}
	r.Summary = k.summary()
	add := func(s Section) {
		if len(s.Text)+len(s.List) > 0 || s.Table != nil || s.Chart != nil {
			r.Sections = append(r.Sections, s)
		}
	}
	add(Section{Name: "Set-up", List: sentences(p.Sheet.Setup)})
	add(Section{Name: "Depth", List: sentences(p.Sheet.Depth)})
	add(Section{Name: "What was done", List: k.told()})
	add(k.widths(o.Found))
	add(causes(o.Found))
	for _, s := range o.More {
		add(s)
	}
	add(Section{Name: "Warnings of the set-up", List: sentences(p.Sheet.Warnings)})
	add(Section{Name: "Notes of the job", Text: p.Sheet.Notes})
	if o.Pixels > 0 {
		if err := r.picture(ctx, p, o.Pixels); err != nil {
			return nil, fmt.Errorf("make the record's picture: %w", err)
		}
	}
	r.Files, err = files(run.Frozen.FS())
	return r, err
}

// picture lights the piece as it was planned, with the cuts that were left out
// left out.
func (r *Record) picture(ctx context.Context, p *bench.Program, pixels int) error {
	scene, _ := p.Job.Scene() // of silver, where the look of the metal is not known
	carver, err := surface.NewCarver(p.List.Cuts, p.Job.Setup.Cutter)
	if err != nil {
		return err
	}
	view := light.Whole(&p.Job.Setup.Blank, pixels)
	view.Samples = 4
	img, err := light.Render(ctx, view, carver, &p.Job.Setup.Blank, scene, nil)
	if err != nil {
		return err
	}
	r.Picture, r.Pixel = img, view.Pixel()
	return nil
}

// files lists the frozen files with their text, in the order of their names.
func files(fsys fs.FS) ([]File, error) {
	var out []File
	err := fs.WalkDir(fsys, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(fsys, name)
		if err != nil {
			return err
		}
		if len(text) > mostFile {
			cut := bytes.LastIndexByte(text[:mostFile], '\n') + 1
			text = append(bytes.Clone(text[:cut]), fmt.Sprintf("… and %d bytes more, in the run's file", len(text)-cut)...)
		}
		out = append(out, File{name, string(text)})
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("print the job's files: %w", err)
	}
	return out, nil
}

func sentences(all []sheet.Sentence) []string {
	var out []string
	for _, s := range all {
		out = append(out, s.String())
	}
	return out
}

func first(s string, n int) string {
	if len(s) > n {
		return s[:n]
	}
	return s
}

func many(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// lasting tells a time.
func lasting(d time.Duration) string {
	m := int(math.Round(d.Minutes()))
	switch {
	case d < 90*time.Second:
		return fmt.Sprintf("%.0f s", d.Seconds())
	case m < 60:
		return fmt.Sprintf("%d min", m)
	case m < 48*60:
		return fmt.Sprintf("%d h %02d min", m/60, m%60)
	}
	return many(m/(24*60), "day")
}
