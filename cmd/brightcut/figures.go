package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"brightcut/job"
	"brightcut/surface"
)

type figuresCommand struct {
	Job  string `arg:"" help:"Job file."`
	JSON bool   `name:"json" help:"Print the figures as JSON (docs/json.md names the keys)."`
}

func (figuresCommand) Help() string {
	return `What the surface will be, measured on the carved surface itself: groove width,
land left, crests, texture after ISO 21920-2 and ISO 25178-2, heel margin, force.
Examples:

  brightcut figures barleycorn.yaml
  brightcut figures barleycorn.yaml --json`
}

func (c figuresCommand) Run(b console) error {
	j, list, _, err := readPlanned(b, c.Job)
	if err != nil {
		return err
	}
	f, err := surface.Measure(b, list, &j.Setup, j.Metal)
	if err != nil {
		return err
	}
	if c.JSON {
		return printJSON(b.out, f)
	}
	return printFigures(b.out, j, &f)
}

func printFigures(w io.Writer, j *job.Job, f *surface.Figures) error {
	unit, scale, digits := "mm", 1.0, 3
	if j.Units == job.Inch {
		unit, scale, digits = "in", 1/25.4, 4
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	line := func(name, format string, values ...any) { fmt.Fprintf(t, name+"\t"+format+"\n", values...) }
	length := func(mm float64) string { return fmt.Sprintf("%.*f %s", digits, mm*scale, unit) }

	fmt.Fprintf(w, "%s\n\n", j.Title)
	line("Groove", "%s wide at %.1f µm deep", length(f.GrooveWidth), 1000*f.GrooveDepth)
	if f.GrooveDepthLeast != f.GrooveDepthGreatest {
		line("Depths asked for", "%.1f to %.1f µm", 1000*f.GrooveDepthLeast, 1000*f.GrooveDepthGreatest)
	}
	line("Width gained for 1 µm of depth", "%.2f µm", f.WidthSensitivity)
	line("Land left in the field", "%.1f %%", 100*f.LandShare)
	if f.LandsVanish != nil {
		line("Lands vanish inside radius", "%s", length(*f.LandsVanish))
	}
	if f.CrestBelow != nil {
		line("Crests below the surface", "%.1f µm (%.1f to %.1f)", *f.CrestBelow, *f.CrestBelowLeast, *f.CrestBelowGreatest)
	}
	line("Steepest path", "%.1f° of the heel's %.1f°, %.1f° to spare", f.SteepestSlope, f.HeelLimit, f.HeelMargin)
	line("Flanks flash under a lamp", "%.0f° off the vertical", f.FlashAngle)
	line("Work", "%s, %.2f m cut, about %s", count(f.Strokes, "stroke"), f.LengthCut/1000, roughTime(f.Seconds))
	line("Chip", "%.0f µm²", f.ChipArea)
	switch {
	case f.CuttingForce == nil:
		line("Cutting force", "not known for this metal")
	case f.ForceExtrapolated:
		line("Cutting force", "about %.1f N (%.1f to %.1f), far below the chips that the tables were made for", *f.CuttingForce, *f.CuttingForceLow, *f.CuttingForceHigh)
	default:
		line("Cutting force", "about %.1f N (%.1f to %.1f)", *f.CuttingForce, *f.CuttingForceLow, *f.CuttingForceHigh)
	}
	line("Across the cuts (ISO 21920-2)", "Ra %.2f  Rq %.2f  Rz %.2f µm  Rsk %.2f  Rku %.2f, over %.1f mm", f.Ra, f.Rq, f.Rz, f.Rsk, f.Rku, f.ProfileLength)
	line("Over the field (ISO 25178-2)", "Sa %.2f  Sq %.2f  Sz %.2f µm  Ssk %.2f  Sku %.2f  Sdq %.3f  Sdr %.1f %%", f.Sa, f.Sq, f.Sz, f.Ssk, f.Sku, f.Sdq, 100*f.Sdr)
	line("Counted in cells of", "%.1f µm", f.Cell)
	return t.Flush()
}
