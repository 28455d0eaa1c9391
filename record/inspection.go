package record

import (
	"context"
	"fmt"
	"math"
	"strings"

	"brightcut/bench"
	"brightcut/inspect"
	"brightcut/job"
)

// Readings are the widths measured in a run, each with when its cut was made.
func Readings(events []bench.Event) []inspect.Reading {
	made := map[int]float64{} // hours since the first count, by cut
	var begun *bench.Event
	counted := 0
	var out []inspect.Reading
	for i := range events {
		switch e := &events[i]; e.Kind {
		case bench.Done:
			if begun == nil {
				begun = e
			}
			if _, twice := made[e.Cut]; !twice {
				counted = max(counted, e.Cut)
			}
			made[e.Cut] = e.At.Sub(begun.At).Hours()
		case bench.Measured:
			out = append(out, inspect.Reading{Cut: e.Cut, Place: e.Reading, Width: e.Width, After: max(counted, e.Cut), Hours: math.NaN(), Note: e.Place})
		}
	}
	for i := range out {
		if h, ok := made[out[i].Cut]; ok {
			out[i].Hours = h
		}
	}
	return out
}

// Inspect compares the widths measured in a run with its plan, and looks for the
// causes; nil when none was measured.
func Inspect(ctx context.Context, run *bench.Run, events []bench.Event, o inspect.Options) (*inspect.Report, *job.Job, error) {
	j, err := run.Frozen.Job()
	if err != nil {
		return nil, nil, err
	}
	readings := Readings(events)
	if len(readings) == 0 {
		return nil, j, nil
	}
	p, err := inspect.Planned(ctx, j)
	if err != nil {
		return nil, nil, err
	}
	r, err := inspect.Look(ctx, p, readings, o)
	return r, j, err
}

// causes tells what an inspection found.
func causes(r *inspect.Report) Section {
	s := Section{Name: "What the widths say"}
	if r == nil {
		return s
	}
	s.Text = append(s.Text, fmt.Sprintf("The widths are %.1f µm off the plan (root mean square), %.0f %% of them by more than the tolerance of %.0f %%; one width is read to %.1f µm (%s).",
		1000*r.Off, 100*r.Out, 100*r.Tolerance, 1000*r.Repeatability, r.Basis))
	if len(r.Causes) == 0 {
		s.Text = append(s.Text, "Nothing but the scatter of the readings is needed to explain them.")
	}
	for _, c := range r.Causes {
		s.List = append(s.List, strings.Join([]string{c.Text, "Evidence: " + c.Words + ".", c.Undecided, c.Bench, c.Caution}, " "))
	}
	for _, m := range r.Misread {
		s.List = append(s.List, m.Text)
	}
	s.Text = append(s.Text, r.Remarks...)
	for i := range s.List {
		s.List[i] = strings.Join(strings.Fields(s.List[i]), " ")
	}
	return s
}

// Keep keeps what a cause corrects of the workshop, dated, so that later jobs are
// planned with it. The error says why nothing can be kept: a cause of this piece
// alone, or parts that stand in the job's own file. It returns the file's path.
func Keep(folder, date string, run *bench.Run, j *job.Job, of *inspect.Correction) (string, error) {
	if of == nil {
		return "", fmt.Errorf("this was of the piece, not of the workshop: nothing is kept of it")
	}
	return j.KeepCorrection(folder, date, job.RunsFolder+run.ID, of.Slide != nil || of.Index != nil, func(c *job.Calibration) {
		switch {
		case of.Slide != nil:
			c.Slide = of.Slide
		case of.Index != nil:
			c.Index = of.Index
		case of.Angle != nil:
			c.Angle = of.Angle
		case of.Flat != nil:
			c.Flat = of.Flat
		case of.Zero != nil:
			c.Zero = of.Zero
		case of.Compliance != nil:
			c.Compliance = of.Compliance
		case of.Wear != nil:
			c.Wear = of.Wear
		}
	})
}
