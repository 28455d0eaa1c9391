package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"

	"brightcut/engine"
	"brightcut/job"
)

type cutsCommand struct {
	Job  string `arg:"" help:"Job file."`
	JSON bool   `name:"json" help:"Print the cuts as JSON (docs/json.md names the keys)."`
	From int    `default:"1" help:"First cut to list."`
	To   int    `help:"Last cut to list; all when it is not given."`
}

func (cutsCommand) Help() string {
	return `Settings are whole counts on the engine's dials; start and stop are readings of
the stroke in mm, or of the spindle in degrees. Examples:

  brightcut cuts barleycorn.yaml
  brightcut cuts barleycorn.yaml --from 10 --to 20
  brightcut cuts barleycorn.yaml --json`
}

var axisNames = map[engine.Axis]string{
	engine.SlideAxis: "slide", engine.IndexAxis: "index", engine.ShiftAxis: "shift", engine.ChuckAxis: "chuck",
}

// axisIsAngle says whether an axis turns: all but the slide and the shift of a bar.
func axisIsAngle(a engine.Axis, k engine.Kind) bool {
	return a == engine.IndexAxis || a == engine.ChuckAxis || a == engine.ShiftAxis && k == engine.Rose
}

func degrees(rad float64) float64 { return rad * 180 / math.Pi }

// cutsReport is what cuts --json prints.
type cutsReport struct {
	Job         string      `json:"job"`
	Digest      string      `json:"digest"`
	Engine      string      `json:"engine"`
	Kind        string      `json:"engine_kind"`
	ReadingUnit string      `json:"reading_unit"` // of start and stop: "mm" or "deg"
	Strokes     int         `json:"strokes"`
	IndexCircle int         `json:"index_circle,omitempty"`
	Cuts        []cutReport `json:"cuts"`
}

type cutReport struct {
	Number   int              `json:"number"`
	Settings settingsReport   `json:"settings"`
	SlideMM  float64          `json:"slide_mm"`
	TurnDeg  float64          `json:"turned_deg"`
	PhaseMM  *float64         `json:"phase_mm,omitempty"`
	PhaseDeg *float64         `json:"phase_deg,omitempty"`
	DepthMM  float64          `json:"depth_mm"`
	StrayMM  float64          `json:"slide_stray_mm,omitempty"`
	StrayDeg float64          `json:"turned_stray_deg,omitempty"`
	Start    float64          `json:"start"`
	Stop     float64          `json:"stop"`
	Pieces   []pieceReport    `json:"pieces"`
	Rounding []roundingReport `json:"rounding"`
	Line     int              `json:"line,omitempty"`
}

type settingsReport struct {
	Slide int    `json:"slide"`
	Index int    `json:"index"`
	Shift int    `json:"shift"`
	Chuck int    `json:"chuck"`
	Bar   string `json:"bar,omitempty"`
}

type pieceReport struct {
	Start  float64 `json:"start"`
	Stop   float64 `json:"stop"`
	Closed bool    `json:"closed,omitempty"`
}

type roundingReport struct {
	Axis    string   `json:"axis"`
	ThisMM  *float64 `json:"this_mm,omitempty"`
	SumMM   *float64 `json:"sum_mm,omitempty"`
	ThisDeg *float64 `json:"this_deg,omitempty"`
	SumDeg  *float64 `json:"sum_deg,omitempty"`
}

func (c cutsCommand) Run(b console) error {
	j, list, err := readCuts(b, c.Job)
	if err != nil {
		return err
	}
	to := c.To
	if to == 0 {
		to = len(list.Cuts)
	}
	if c.From < 1 || c.From > to || to > len(list.Cuts) {
		return usage("--from %d --to %d: the job has cuts 1 to %d; ask for a range within them", c.From, to, len(list.Cuts))
	}
	cuts := list.Cuts[c.From-1 : to]
	if c.JSON {
		return printJSON(b.out, newCutsReport(j, list, cuts))
	}
	return printCuts(b.out, j, cuts)
}

func newCutsReport(j *job.Job, list *engine.List, cuts []engine.Cut) cutsReport {
	kind := j.Setup.Engine.Kind
	r := cutsReport{
		Job: j.Title, Digest: j.Digest, Engine: j.Setup.Engine.Name, Kind: "straight line", ReadingUnit: "mm",
		Strokes: len(list.Cuts), IndexCircle: list.Circle, Cuts: make([]cutReport, 0, len(cuts)),
	}
	reading := func(v float64) float64 { return rounded(v, 1e6) }
	if kind == engine.Rose {
		r.Kind, r.ReadingUnit = "rose", "deg"
		reading = func(v float64) float64 { return rounded(degrees(v), 1e6) }
	}
	for i := range cuts {
		r.Cuts = append(r.Cuts, newCutReport(&cuts[i], kind, reading))
	}
	return r
}

func newCutReport(c *engine.Cut, kind engine.Kind, reading func(float64) float64) cutReport {
	r := cutReport{
		Number:   c.Number,
		Settings: settingsReport(c.Settings),
		SlideMM:  tidy(c.Position), TurnDeg: tidy(degrees(c.Turned)), DepthMM: tidy(c.Depth),
		StrayMM: tidy(c.Stray.Position), StrayDeg: tidy(degrees(c.Stray.Turned)),
		Pieces: make([]pieceReport, 0, len(c.Pieces)), Rounding: []roundingReport{}, Line: c.Origin.Line,
	}
	phase := tidy(c.Phase)
	if kind == engine.Rose {
		phase = tidy(degrees(c.Phase))
		r.PhaseDeg = &phase
	} else {
		r.PhaseMM = &phase
	}
	for _, p := range c.Pieces {
		r.Pieces = append(r.Pieces, pieceReport{reading(p.Start), reading(p.Stop), p.Closed})
	}
	if n := len(r.Pieces); n > 0 {
		r.Start, r.Stop = r.Pieces[0].Start, r.Pieces[n-1].Stop
	}
	for _, e := range c.Rounding {
		one := roundingReport{Axis: axisNames[e.Axis]}
		if axisIsAngle(e.Axis, kind) {
			this, sum := tidy(degrees(e.This)), tidy(degrees(e.Sum))
			one.ThisDeg, one.SumDeg = &this, &sum
		} else {
			this, sum := tidy(e.This), tidy(e.Sum)
			one.ThisMM, one.SumMM = &this, &sum
		}
		r.Rounding = append(r.Rounding, one)
	}
	return r
}

// tidy drops the digits below a picometre, which are only rounding of the machine.
func tidy(v float64) float64 { return rounded(v, 1e9) }

// rounded keeps as many parts of one as a figure deserves: a start or a stop is
// found to a nanometre, so 1e6.
func rounded(v, parts float64) float64 {
	v = math.Round(v*parts) / parts
	if v == 0 {
		return 0 // no minus zero
	}
	return v
}

func printCuts(w io.Writer, j *job.Job, cuts []engine.Cut) error {
	inch := j.Units == job.Inch
	rose := j.Setup.Engine.Kind == engine.Rose
	length := func(v float64) string {
		if inch {
			return strconv.FormatFloat(v/25.4, 'f', 4, 64)
		}
		return strconv.FormatFloat(v, 'f', 3, 64)
	}
	angle := func(v float64) string { return strconv.FormatFloat(degrees(v), 'f', 3, 64) }
	unit, reading, phase := "mm", length, length
	if inch {
		unit = "in"
	}
	readingUnit, phaseUnit := unit, unit
	if rose {
		reading, readingUnit, phase, phaseUnit = angle, "deg", angle, "deg"
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(t, "cut\tslide\t%s\tindex\tchuck\tturned deg\tshift\t%s\tbar\tpieces: start to stop, %s\trounding so far\t\n", unit, phaseUnit, readingUnit)
	for _, c := range cuts {
		var pieces, rounding []string
		for _, p := range c.Pieces {
			pieces = append(pieces, reading(p.Start)+" to "+reading(p.Stop))
		}
		for _, e := range c.Rounding {
			if e.Sum == 0 {
				continue
			}
			if axisIsAngle(e.Axis, j.Setup.Engine.Kind) {
				rounding = append(rounding, axisNames[e.Axis]+" "+angle(e.Sum)+" deg")
			} else {
				rounding = append(rounding, axisNames[e.Axis]+" "+length(e.Sum)+" "+unit)
			}
		}
		if len(rounding) == 0 {
			rounding = []string{"none"}
		}
		fmt.Fprintf(t, "%d\t%d\t%s\t%d\t%d\t%s\t%d\t%s\t%s\t%s\t%s\t\n", c.Number, c.Settings.Slide, length(c.Position),
			c.Settings.Index, c.Settings.Chuck, angle(c.Turned), c.Settings.Shift, phase(c.Phase), c.Settings.Bar,
			strings.Join(pieces, ", "), strings.Join(rounding, ", "))
	}
	return t.Flush()
}
