package main

import (
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	_ "embed"

	"brightcut/depth"
	"brightcut/examples"
	"brightcut/internal/whole"
	"brightcut/job"
	"brightcut/light"
	"brightcut/sheet"
	"brightcut/surface"
)

type demoCommand struct {
	Dir    string `arg:"" optional:"" default:"brightcut-demo" help:"Folder to write (${default})."`
	Pixels int    `default:"1200" help:"Pixels along the longer side of each picture (${default})."`
}

func (demoCommand) Help() string {
	return `Writes the example workshop and, for each job in it, a picture, the cut sheet and
the figures; index.html shows them all. A workshop file that you have changed is
kept as you left it. Example:

  brightcut demo
  brightcut demo ~/lantern-yard`
}

// demoMark is the file by which a folder is known to be the demo's own.
const demoMark = "made-by-brightcut-demo.txt"

// demoPiece is what the demo made of one job, for its index page.
type demoPiece struct {
	Name, Title, Told string
	Planned           bool // its depth was planned
}

func (c demoCommand) Run(b console) error {
	began := time.Now()
	if err := openDemo(c.Dir); err != nil {
		return err
	}
	workshop := filepath.Join(c.Dir, "workshop")
	if err := writeWorkshop(b, workshop); err != nil {
		return err
	}
	jobs, err := job.Jobs(workshop)
	if err != nil {
		return err
	}
	var pieces []demoPiece
	for _, path := range jobs {
		piece, err := c.piece(b, path)
		if err != nil {
			if b.Err() != nil {
				return b.Err()
			}
			report(b, err)
			continue
		}
		fmt.Fprintf(b.out, "%-22s %s\n", piece.Name, piece.Told)
		pieces = append(pieces, piece)
	}
	index := filepath.Join(c.Dir, "index.html")
	if err := whole.Write(index, func(w io.Writer) error { return demoPage.Execute(w, pieces) }); err != nil {
		return err
	}
	fmt.Fprintf(b.out, "\n%d of %d jobs done in %.1f s. Look at %s;\nthe jobs are in %s, their pictures, sheets and figures beside it.\n",
		len(pieces), len(jobs), time.Since(began).Seconds(), index, workshop)
	if len(pieces) < len(jobs) {
		return errReported
	}
	return nil
}

// openDemo makes the folder, or makes sure that it is one the demo made before.
func openDemo(dir string) error {
	mark := filepath.Join(dir, demoMark)
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return fmt.Errorf("open the demo's folder: %w", err)
	case len(entries) > 0:
		if _, err := os.Stat(mark); err != nil {
			return fmt.Errorf("%s is not empty and was not made by the demo; name an empty or a new folder: brightcut demo FOLDER", dir)
		}
	}
	for _, sub := range []string{"workshop", "pictures", "sheets", "figures"} {
		if err := os.MkdirAll(filepath.Join(dir, sub), 0o755); err != nil {
			return fmt.Errorf("make the demo's folder: %w", err)
		}
	}
	return whole.Write(mark, func(w io.Writer) error {
		_, err := io.WriteString(w, "brightcut demo writes into this folder. Delete it whenever you like.\n")
		return err
	})
}

// writeWorkshop writes the example workshop, but keeps a file that has been changed.
func writeWorkshop(b console, dir string) error {
	return fs.WalkDir(examples.Workshop, ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		to := filepath.Join(dir, filepath.FromSlash(name))
		if entry.IsDir() {
			return os.MkdirAll(to, 0o755)
		}
		text, err := fs.ReadFile(examples.Workshop, name)
		if err != nil {
			return err
		}
		if old, err := os.ReadFile(to); err == nil {
			if !bytes.Equal(old, text) {
				fmt.Fprintf(b.out, "kept as you changed it: %s\n", to)
			}
			return nil
		}
		return whole.Write(to, func(w io.Writer) error { _, err := w.Write(text); return err })
	})
}

// piece takes one job from its file to its picture, cut sheet and figures.
func (c demoCommand) piece(b console, path string) (demoPiece, error) {
	name := strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
	j, list, plan, err := readPlanned(b, path)
	if err != nil {
		return demoPiece{}, err
	}
	scene, err := j.Scene()
	if err != nil {
		return demoPiece{}, err
	}
	view := light.Whole(&j.Setup.Blank, c.Pixels)
	img, err := render(b, j, list, view, scene, name)
	if err != nil {
		return demoPiece{}, err
	}
	figures, err := surface.Measure(b, list, &j.Setup, j.Metal)
	if err != nil {
		return demoPiece{}, err
	}
	s := sheet.NewPlanned(j, list, plan)
	if s.Look, err = lookOf(img, view, scene); err != nil {
		return demoPiece{}, err
	}
	type output struct {
		file string
		fill func(io.Writer) error
	}
	outputs := []output{
		{"pictures/" + name + ".png", func(w io.Writer) error { return light.WritePNG(w, img, view.Pixel(), scene.String()) }},
		{"sheets/" + name + ".pdf", func(w io.Writer) error { return sheet.WritePDF(w, s, sheet.A4) }},
		{"sheets/" + name + ".html", func(w io.Writer) error { return sheet.WriteHTML(w, s) }},
		{"sheets/" + name + ".txt", func(w io.Writer) error { return sheet.WriteText(w, s) }},
		{"figures/" + name + ".json", func(w io.Writer) error { return printJSON(w, figures) }},
		{"figures/" + name + "-cuts.json", func(w io.Writer) error { return printJSON(w, newCutsReport(j, list, list.Cuts)) }},
	}
	if plan != nil {
		t := &foretold{job: j, list: list, plan: plan, prediction: plan.Prediction, tolerance: plan.Tolerance}
		outputs = append(outputs,
			output{"figures/" + name + "-depth.json", func(w io.Writer) error { return printJSON(w, newDepthReport(t, 1, len(list.Cuts))) }},
			output{"figures/" + name + "-map.svg", plan.MapFigure},
			output{"figures/" + name + "-widths.svg", plan.WidthFigure})
	}
	for _, one := range outputs {
		if err := whole.Write(filepath.Join(c.Dir, filepath.FromSlash(one.file)), one.fill); err != nil {
			return demoPiece{}, err
		}
	}
	told := fmt.Sprintf("%4d cuts, %6.2f m of groove %.3f mm wide, land %4.1f %%, %s", len(list.Cuts),
		list.LengthCut()/1000, figures.GrooveWidth, 100*figures.LandShare, roughTime(list.Seconds()))
	if plan != nil {
		told += ", " + spreadText(plan)
	}
	if n := len(list.Warnings); n > 0 {
		told += ", " + count(n, "warning")
	}
	return demoPiece{name, j.Title, told, plan != nil}, nil
}

// spreadText tells what the plan makes of the width, and each way alone.
func spreadText(p *depth.Plan) string {
	var ways []string
	for _, s := range p.Compared {
		if s.Name != "fixed height" {
			ways = append(ways, fmt.Sprintf("%s %.0f to %.0f", s.Name, 1000*s.Width.Min, 1000*s.Width.Max))
		}
	}
	return "width in µm: " + strings.Join(ways, "; ")
}

// roughTime tells a working time as one would say it.
func roughTime(seconds float64) string {
	if seconds < 5400 {
		return fmt.Sprintf("%.0f min", seconds/60)
	}
	return fmt.Sprintf("%.1f h", seconds/3600)
}

//go:embed demo.html
var demoPageText string

var demoPage = template.Must(template.New("demo").Parse(demoPageText))
