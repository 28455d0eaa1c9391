package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"text/tabwriter"

	"brightcut/engine"
	"brightcut/inspect"
	"brightcut/internal/whole"
	"brightcut/job"
)

type inspectCommand struct {
	Job           string `arg:"" help:"Job file of the piece."`
	Widths        string `arg:"" help:"File of measured widths: a CSV with the columns cut, width and place, angle or x and y; and pitch, after, time or note."`
	Repeatability string `placeholder:"LENGTH" help:"What the same width is read with again, as 1.5 um (one standard deviation); without it, it is told by places that were read more than once, or taken as 1.5 µm."`
	Largest       int    `default:"8" help:"How many of the widths that are farthest off to list."`
	Chart         string `placeholder:"FILE.svg" help:"Draw the widths by cut into this file."`
	Map           string `placeholder:"FILE.svg" help:"Draw the widths over the work into this file."`
	JSON          bool   `name:"json" help:"Print what was found as JSON (docs/json.md names the keys)."`
}

func (inspectCommand) Help() string {
	return `Widths measured under the microscope against those that the plan foretells, and
what can be the cause of the difference: how large, how sure, what to do at the
bench, and what to measure where two causes look alike. Examples:

  brightcut inspect barleycorn.yaml widths/barleycorn.csv
  brightcut inspect barleycorn.yaml widths/barleycorn.csv --chart chart.svg --map map.svg`
}

func (c inspectCommand) Run(b console) error {
	for _, name := range []string{c.Chart, c.Map} {
		if name != "" && !strings.HasSuffix(strings.ToLower(name), ".svg") {
			return usage("%s: figures are drawn as SVG; end the name in .svg", name)
		}
	}
	if c.Largest < 0 {
		return usage("--largest %d: give a number from 0 on", c.Largest)
	}
	var o inspect.Options
	if c.Repeatability != "" {
		v, err := job.ParseLength(c.Repeatability, job.Millimetre)
		if err != nil || !(v > 0) {
			return usage("--repeatability %s: give a length above 0 with its unit, as '1.5 um'", c.Repeatability)
		}
		o.Repeatability = v
	}
	j, list, plan, err := readPlanned(b, c.Job)
	if err != nil {
		return err
	}
	file, err := os.Open(c.Widths)
	if err != nil {
		return fmt.Errorf("read the widths: %w", err)
	}
	defer file.Close()
	readings, err := inspect.ReadWidths(file, c.Widths)
	if err != nil {
		return err
	}
	r, err := inspect.Look(b, inspect.Piece{Job: j, List: list, Plan: plan}, readings, o)
	if err != nil {
		return err
	}
	for _, f := range []struct {
		name string
		draw func(io.Writer) error
	}{{c.Chart, r.Chart}, {c.Map, func(w io.Writer) error { return r.Map(w, &j.Setup.Blank) }}} {
		if f.name == "" {
			continue
		}
		if err := whole.Write(f.name, f.draw); err != nil {
			return err
		}
	}
	if c.JSON {
		return printJSON(b.out, r)
	}
	return printInspection(b.out, r, j, c.Largest)
}

func printInspection(w io.Writer, r *inspect.Report, j *job.Job, largest int) error {
	fmt.Fprintf(w, "%s: %s, each known to %.1f µm, %s.\n", j.Title, count(len(r.Residuals), "width"), 1000*r.Repeatability, r.Basis)
	fmt.Fprintf(w, "%.0f %% are out of the tolerance of %.3g %%; they are %.1f µm off the plan (root mean square).\n", 100*r.Out, 100*r.Tolerance, 1000*r.Off)
	if n := min(largest, len(r.Residuals)); n > 0 {
		fmt.Fprintln(w, "\nFarthest off:")
		table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
		fmt.Fprintln(table, "cut\tplace\tmeasured, µm\tplanned, µm\toff, µm\t")
		for _, q := range r.Largest()[:n] {
			fmt.Fprintf(table, "%d\t%s\t%.1f\t%.1f\t%+.1f\t  %s\n", q.Cut, placeOf(q.Place, j.Setup.Engine.Kind), 1000*q.Width, 1000*q.Planned, 1000*q.Off, q.Note)
		}
		if err := table.Flush(); err != nil {
			return err
		}
	}
	for _, m := range r.Misread {
		fmt.Fprintf(w, "\n%s\n", m.Text)
	}
	if len(r.Causes) == 0 {
		fmt.Fprintln(w, "\nNothing is found that the scatter of the readings does not explain.")
	}
	for i, c := range r.Causes {
		fmt.Fprintf(w, "\n%d. %s\n   Evidence: %s (%.0f).\n   %s\n", i+1, c.Text, c.Words, c.Evidence, c.Bench)
		if c.Caution != "" {
			fmt.Fprintf(w, "   %s\n", c.Caution)
		}
		for _, v := range c.Rivals {
			fmt.Fprintf(w, "   Or: %s\n", v.Text)
		}
		if c.Undecided != "" {
			fmt.Fprintf(w, "   %s\n", c.Undecided)
		}
	}
	if len(r.Causes) > 0 {
		fmt.Fprintf(w, "\nWith that the readings lie %.1f µm off (root mean square).\n", 1000*r.Left)
	}
	for _, t := range r.Remarks {
		fmt.Fprintln(w, t)
	}
	return nil
}

func placeOf(v float64, k engine.Kind) string {
	if k == engine.Rose {
		return fmt.Sprintf("%.1f°", v*180/math.Pi)
	}
	return fmt.Sprintf("%.2f mm", v)
}
