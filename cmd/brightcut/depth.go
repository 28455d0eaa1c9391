package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"brightcut/depth"
	"brightcut/engine"
	"brightcut/internal/whole"
	"brightcut/job"
)

type depthCommand struct {
	Job         string    `arg:"" help:"Job file."`
	Way         string    `default:"plan" enum:"plan,guide,stop,fixed" help:"How the depth is held: as the plan chooses, or all by guide, by stop or at a fixed height."`
	Places      []float64 `placeholder:"READING,…" help:"Readings of the stroke in mm, or of the spindle in degrees, at which to tell depth and width of each cut."`
	From        int       `default:"1" help:"First cut to list."`
	To          int       `help:"Last cut to list; all when it is not given."`
	Each        bool      `help:"List every cut on a line of its own, not runs of like ones."`
	Sensitivity bool      `help:"Tell what a little more extension, hand, angle and stock do to the width."`
	Figure      string    `default:"map" enum:"map,widths,ground" help:"Figure to draw into --out: the work seen from above, the width of every cut, or the ground along one cut."`
	Cut         int       `default:"1" help:"Cut whose ground is drawn."`
	Out         string    `short:"o" placeholder:"FILE.svg" help:"Draw a figure into this file; nothing is listed then."`
	JSON        bool      `name:"json" help:"Print all of it as JSON (docs/json.md names the keys)."`
}

func (depthCommand) Help() string {
	return `The depth of every cut, predicted in the order of cutting on the ground that the
cuts before it left, and the plan that holds it: which way to advance, where to
begin, where the guide loses its ground and the stop takes over, how the stop is
set and how far it may be trusted. A job says what it knows in stock:, stop:,
hand: and plan:. Examples:

  brightcut depth bowed-dial.yaml
  brightcut depth bowed-dial.yaml --way guide
  brightcut depth bowed-dial.yaml --json --places 5,8,13
  brightcut depth bowed-dial.yaml --sensitivity
  brightcut depth bowed-dial.yaml --out map.svg
  brightcut depth bowed-dial.yaml --figure ground --cut 358 --way guide --out ground.svg`
}

// foretold is a job's depth, predicted.
type foretold struct {
	job        *job.Job
	list       *engine.List
	plan       *depth.Plan // nil at a fixed height
	prediction *depth.Prediction
	tolerance  float64
	influences []depth.Influence
	places     []float64      // mm or rad
	stances    []depth.Stance // on curved work, by number in the job
	each       bool           // cuts are listed one by one
}

func (c depthCommand) Run(b console) error {
	if c.Out != "" && !strings.EqualFold(filepath.Ext(c.Out), ".svg") {
		return usage("--out %s: figures are drawn as SVG; end the name in .svg", c.Out)
	}
	j, list, err := readCuts(b, c.Job)
	if err != nil {
		return err
	}
	if c.To == 0 {
		c.To = len(list.Cuts)
	}
	if c.From < 1 || c.From > c.To || c.To > len(list.Cuts) {
		return usage("--from %d --to %d: the job has cuts 1 to %d; ask for a range within them", c.From, c.To, len(list.Cuts))
	}
	t, err := c.foretell(b, j, list)
	if err != nil {
		return err
	}
	if c.Out != "" {
		return c.draw(t)
	}
	if c.JSON {
		return printJSON(b.out, newDepthReport(t, c.From, c.To))
	}
	t.each = c.Each || len(c.Places) > 0
	return printDepth(b.out, t, c.From, c.To)
}

func (c depthCommand) foretell(b console, j *job.Job, list *engine.List) (*foretold, error) {
	t := &foretold{job: j, list: list, places: slices.Clone(c.Places)}
	var err error
	if t.stances, err = j.Stances(list); err != nil {
		return nil, err
	}
	if j.Setup.Engine.Kind == engine.Rose {
		for i := range t.places {
			t.places[i] *= math.Pi / 180
		}
	}
	if t.tolerance, err = j.Tolerance(b, list); err != nil {
		return nil, err
	}
	switch c.Way {
	case "guide", "stop":
		if c.Way == "guide" && j.Guide == nil {
			return nil, fmt.Errorf("hold the depth of %s by the guide: the job names none", c.Job)
		}
		if c.Way == "stop" && j.Stop == nil {
			return nil, fmt.Errorf("hold the depth of %s by the stop: the job tells of none; write stop: {compliance: 0.2 um/N}", c.Job)
		}
		alone := *j
		alone.Wishes = &depth.Wishes{Tolerance: t.tolerance, Begin: 1, Advance: depth.AsWritten,
			Hold: []depth.Override{{From: 1, To: len(list.Cuts), By: map[string]depth.Way{"guide": depth.ByGuide, "stop": depth.ByStop}[c.Way]}}}
		p, _, err := alone.Plan(b, list)
		if err != nil {
			return nil, err
		}
		t.plan, t.prediction = p, p.Prediction
		// A way of its own is no plan: what the job did not ask for is not told as
		// its choice.
		p.Choices = slices.DeleteFunc(p.Choices, func(c depth.Choice) bool { return c.Kind != "warning" })
		p.Compared = slices.DeleteFunc(p.Compared, func(s depth.Spread) bool { return s.Name == p.Prediction.Spread.Name })
	case "fixed":
		w, err := j.Work(list)
		if err != nil {
			return nil, err
		}
		t.prediction, err = depth.Predict(b, w, []depth.Hold{{First: 1, Last: len(list.Cuts), By: depth.Fixed}}, t.tolerance)
		if err != nil {
			return nil, err
		}
		t.prediction.Spread.Name = "fixed height"
	default:
		p, _, err := j.Plan(b, list)
		if err != nil {
			return nil, err
		}
		t.plan, t.prediction = p, p.Prediction
	}
	if c.Sensitivity {
		if t.plan == nil {
			return nil, usage("--sensitivity goes with the plan, the guide or the stop")
		}
		if t.influences, err = t.plan.Sensitivity(b); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// draw writes the figure that was asked for.
func (c depthCommand) draw(t *foretold) error {
	switch {
	case c.Figure == "ground" && (c.Cut < 1 || c.Cut > len(t.list.Cuts)):
		return usage("--cut %d: the job has cuts 1 to %d", c.Cut, len(t.list.Cuts))
	case c.Figure == "ground":
		return whole.Write(c.Out, func(w io.Writer) error { return t.prediction.GroundFigure(w, c.Cut) })
	case t.plan == nil:
		return usage("--figure %s goes with the plan, the guide or the stop; at a fixed height only the ground is drawn", c.Figure)
	case c.Figure == "widths":
		return whole.Write(c.Out, t.plan.WidthFigure)
	}
	return whole.Write(c.Out, t.plan.MapFigure)
}

func printDepth(w io.Writer, t *foretold, from, to int) error {
	fmt.Fprintf(w, "%s: %s, wished %.1f µm deep and %.1f µm wide.\n", t.job.Title, count(len(t.list.Cuts), "cut"),
		1000*t.job.Setup.Depth, 1000*t.job.Setup.Cutter.Width(t.job.Setup.Depth))
	if c := t.job.Calibration; c != nil {
		fmt.Fprintf(w, "Cutter and guide are taken as the test cuts of %s found them.\n", c.Date)
	}
	if set, gives := t.job.Extension(); t.job.Guide != nil && math.Abs(gives-t.job.Setup.Depth) > 0.2*t.tolerance*t.job.Setup.Depth {
		fmt.Fprintf(w, "Beware: as it is set the guide gives %.1f µm on flat ground; for the depth wished set its extension to %.1f µm, not %.1f.\n", 1000*gives, 1000*set, 1000*t.job.Guide.Extension)
	}
	fmt.Fprintln(w)
	if t.plan != nil {
		for _, c := range t.plan.Choices {
			fmt.Fprintf(w, "%s%s\n", map[bool]string{true: "Beware: "}[c.Kind == "warning"], c.Text)
		}
		if len(t.plan.Choices) > 0 {
			fmt.Fprintln(w)
		}
		if err := printCompared(w, t.plan.Compared); err != nil {
			return err
		}
	} else if err := printCompared(w, []depth.Spread{t.prediction.Spread}); err != nil {
		return err
	}
	if len(t.influences) > 0 {
		fmt.Fprintln(w)
		if err := printInfluences(w, t.influences); err != nil {
			return err
		}
	}
	if len(t.stances) > 0 {
		fmt.Fprintln(w)
		if err := printStances(w, t, from, to); err != nil {
			return err
		}
	}
	fmt.Fprintln(w)
	return printCutDepths(w, t, from, to)
}

// printStances lists how the slide assembly stands, a dozen cuts of those asked
// for or each.
func printStances(w io.Writer, t *foretold, from, to int) error {
	step := max(1, (to-from)/12)
	if t.each {
		step = 1
	}
	fmt.Fprintln(w, "The cutter stands square to the work so:")
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(table, "cut\talong the surface mm\tswing\tcross slide mm\tadvance mm\tdeeper under the guide µm\t")
	for i := from; i <= to; i += step {
		s := &t.stances[t.prediction.Cuts[i-1].Written-1]
		fmt.Fprintf(table, "%d\t%.3f\t%.2f°\t%.3f\t%.3f\t%.1f\t\n", i, s.Along, degrees(s.Swing), s.Slide, s.Advance, 1000*s.GuideError)
	}
	return table.Flush()
}

func printCompared(w io.Writer, spreads []depth.Spread) error {
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(table, "held by\twidth µm, least\tmean\tgreatest\tlargest step µm\tat cut\twithin\tcuts outside\t")
	for _, s := range spreads {
		fmt.Fprintf(table, "%s\t%.1f\t%.1f\t%.1f\t%.1f\t%d\t%.1f %%\t%d\t\n", s.Name, 1000*s.Width.Min, 1000*s.Width.Mean, 1000*s.Width.Max, 1000*s.Step, s.StepTo, 100*s.Within, s.Out)
	}
	return table.Flush()
}

func printInfluences(w io.Writer, all []depth.Influence) error {
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(table, "more\theld by\twidth µm\tat most\tof the width\t")
	for _, f := range all {
		fmt.Fprintf(table, "%g %s of %s\t%s\t%+.2f\t%+.2f\t%+.1f %%\t\n", f.Change, f.Unit, f.Of, f.By, 1000*f.Width, 1000*f.Most, 100*f.Share)
	}
	return table.Flush()
}

// stretch is a run of cuts that are told as one line.
type stretch struct{ first, last int }

// stretches joins cuts that are held alike on like ground.
func stretches(cuts []depth.CutDepth, from, to int, each bool) (out []stretch) {
	like := func(a, b *depth.CutDepth) bool {
		return !each && a.By == b.By && a.Reference == b.Reference && math.Abs(a.Lowered-b.Lowered) < 0.0005
	}
	for i := from; i <= to; i++ {
		if n := len(out); n > 0 && like(&cuts[out[n-1].last-1], &cuts[i-1]) {
			out[n-1].last = i
			continue
		}
		out = append(out, stretch{i, i})
	}
	return out
}

func printCutDepths(w io.Writer, t *foretold, from, to int) error {
	cuts := t.prediction.Cuts
	kind := t.job.Setup.Engine.Kind
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	head := "cut\tof the job\theld by\tdepth µm\twidth µm\tfoot on\tstep µm\t"
	for _, r := range t.places {
		head += fmt.Sprintf("at %s: depth, width µm\t", readingText(r, kind))
	}
	fmt.Fprintln(table, head)
	for _, s := range stretches(cuts, from, to, t.each) {
		d := &cuts[s.first-1]
		number, written := fmt.Sprint(s.first), fmt.Sprint(d.Written)
		if s.last > s.first {
			number += fmt.Sprintf("–%d", s.last)
			written += fmt.Sprintf("–%d", cuts[s.last-1].Written)
		}
		depths, widths, step, low := d.Depth, d.Width, 0.0, 0.0
		for i := s.first; i <= s.last; i++ {
			k := &cuts[i-1]
			depths = depth.Range{Min: min(depths.Min, k.Depth.Min), Max: max(depths.Max, k.Depth.Max)}
			widths = depth.Range{Min: min(widths.Min, k.Width.Min), Max: max(widths.Max, k.Width.Max)}
			step, low = max(step, k.Step), max(low, k.Lowered)
		}
		foot := d.Reference.String()
		if low > 0.00005 {
			foot += fmt.Sprintf(", %.1f µm low", 1000*low)
		}
		line := fmt.Sprintf("%s\t%s\t%s\t%.1f–%.1f\t%.1f–%.1f\t%s\t%.1f\t", number, written, d.By, 1000*depths.Min, 1000*depths.Max, 1000*widths.Min, 1000*widths.Max, foot, 1000*step)
		for _, r := range t.places {
			if q, ok := t.prediction.At(s.first, r); ok {
				line += fmt.Sprintf("%.1f, %.1f\t", 1000*q.Depth, 1000*q.Width)
			} else {
				line += "not cut\t"
			}
		}
		fmt.Fprintln(table, line)
	}
	return table.Flush()
}
