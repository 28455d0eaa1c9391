package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"brightcut/depth"
	"brightcut/engine"
	"brightcut/fault"
	"brightcut/job"
)

type checkCommand struct {
	Jobs []string `arg:"" name:"job" help:"Job files."`
	JSON bool     `name:"json" help:"Print the report as JSON."`
}

func (checkCommand) Help() string {
	return `Every fault of a file is told at once, with its line and what would mend it.
Example:

  brightcut check barleycorn.yaml`
}

// checkReport is what check --json prints for one job.
type checkReport struct {
	File     string          `json:"file"`
	Title    string          `json:"title,omitempty"`
	Digest   string          `json:"digest,omitempty"`
	Strokes  int             `json:"strokes"`
	Faults   []faultReport   `json:"faults"`
	Warnings []warningReport `json:"warnings"`
	Closures []closureReport `json:"closures"`
}

type faultReport struct {
	File    string `json:"file"`
	Line    int    `json:"line,omitempty"`
	Column  int    `json:"column,omitempty"`
	Field   string `json:"field,omitempty"`
	Problem string `json:"problem"`
	Mend    string `json:"mend,omitempty"`
}

type warningReport struct {
	Kind     string `json:"kind"`
	FirstCut int    `json:"first_cut,omitempty"`
	LastCut  int    `json:"last_cut,omitempty"`
	Line     int    `json:"line,omitempty"`
	Text     string `json:"text"`
}

type closureReport struct {
	Axis   string   `json:"axis"`
	Cuts   int      `json:"cuts"`
	Closes bool     `json:"closes"`
	GapDeg *float64 `json:"gap_deg,omitempty"`
	GapMM  *float64 `json:"gap_mm,omitempty"`
	Offers []string `json:"offers"`
}

func (c checkCommand) Run(b console) error {
	var reports []checkReport
	wrong := false
	for _, path := range c.Jobs {
		j, list, err := readCuts(b, path)
		var faults fault.List
		if err != nil && !errors.As(err, &faults) {
			return err
		}
		wrong = wrong || err != nil
		if c.JSON {
			reports = append(reports, newCheckReport(path, j, list, faults))
			continue
		}
		if err != nil {
			report(b, err)
			continue
		}
		if err := printCheck(b.out, path, j, list); err != nil {
			return err
		}
	}
	if c.JSON {
		if err := printJSON(b.out, reports); err != nil {
			return err
		}
	}
	if wrong {
		return errReported
	}
	return nil
}

func printCheck(w io.Writer, path string, j *job.Job, list *engine.List) error {
	text := fmt.Sprintf("%s: %s: %s, nothing wrong.\n", path, j.Title, count(len(list.Cuts), "cut"))
	for _, warning := range list.Warnings {
		text += fmt.Sprintf("  note: %s\n", warning.Text)
	}
	_, err := io.WriteString(w, text)
	return err
}

func newCheckReport(path string, j *job.Job, list *engine.List, faults fault.List) checkReport {
	r := checkReport{File: path, Faults: []faultReport{}, Warnings: []warningReport{}, Closures: []closureReport{}}
	if j != nil {
		r.Title, r.Digest = j.Title, j.Digest
	}
	for _, f := range faults {
		r.Faults = append(r.Faults, faultReport{f.Origin.File, f.Origin.Line, f.Origin.Column, f.Field, f.Problem, f.Mend})
	}
	if list == nil {
		return r
	}
	r.Strokes = len(list.Cuts)
	for _, w := range list.Warnings {
		r.Warnings = append(r.Warnings, warningReport{w.Kind, w.First, w.Last, w.Origin.Line, w.Text})
	}
	for _, c := range list.Closures {
		one := closureReport{Axis: axisNames[c.Axis], Cuts: c.Cuts, Closes: c.Closes, Offers: []string{}}
		if gap := c.Gap; axisIsAngle(c.Axis, j.Setup.Engine.Kind) {
			gap = degrees(gap)
			one.GapDeg = &gap
		} else {
			one.GapMM = &gap
		}
		for _, o := range c.Offers {
			one.Offers = append(one.Offers, o.Text)
		}
		r.Closures = append(r.Closures, one)
	}
	return r
}

// readCuts takes a job from its file to its cuts. A job whose cuts are impossible
// comes back with the faults, for its title.
func readCuts(b console, path string) (*job.Job, *engine.List, error) {
	j, err := job.Read(path)
	if err != nil {
		return nil, nil, err
	}
	list, err := j.Cuts(b)
	if err != nil {
		return j, nil, err
	}
	if _, err := j.Stances(list); err != nil {
		return j, nil, err
	}
	return j, list, nil
}

// readPlanned takes a job from its file to its cuts and, when it tells enough for
// its depth to be planned, to the plan; the cuts are then the plan's, as deep as
// it predicts them.
func readPlanned(b console, path string) (*job.Job, *engine.List, *depth.Plan, error) {
	j, list, err := readCuts(b, path)
	if err != nil || !j.Planned() {
		return j, list, nil, err
	}
	plan, _, err := j.Plan(b, list)
	if err != nil {
		return j, nil, nil, err
	}
	return j, plan.List(list), plan, nil
}

func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}
