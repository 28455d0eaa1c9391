package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"text/tabwriter"

	"brightcut/blank"
	"brightcut/job"
)

type trueCommand struct {
	Job      string `arg:"" help:"Job file: its blank, its stock and the truing chuck of its engine."`
	Readings string `placeholder:"FILE.csv" help:"Readings to go by, in place of those that the job names."`
	Worst    bool   `help:"Make the worst deviation over the field least, rather than the sum of squares."`
	Raise    bool   `help:"Bring the work to height 0 too; otherwise the height over the middle stays."`
	All      bool   `help:"List every reading to expect, not a few spread over the work."`
	JSON     bool   `name:"json" help:"Print what was found as JSON (docs/json.md names the keys)."`
}

func (trueCommand) Help() string {
	return `From indicator readings: how the work stands, how far to turn each screw of the
truing chuck, what the indicator should read afterwards, what bow and bumps no
turning takes out, and where one more reading would tell most. Readings are a
CSV of x,y,z or r,angle,z with their units in the header. Examples:

  brightcut true bowed-dial.yaml
  brightcut true bowed-dial.yaml --worst
  brightcut true bowed-dial.yaml --readings readings/bowed-dial.csv --json`
}

// trued is what readings came to.
type trued struct {
	job    *job.Job
	read   *blank.Readings
	truing *blank.Truing
	form   *blank.Residual // nil when the readings are too few
	less   string          // why there is no form
	advice *blank.Advice
	all    bool
}

func (c trueCommand) Run(b console) error {
	j, err := job.Read(c.Job)
	if err != nil {
		return err
	}
	t := trued{job: j, all: c.All}
	if t.read, err = c.readings(j); err != nil {
		return err
	}
	if j.Setup.Engine.Truing == nil {
		return fmt.Errorf("true the work of %s: its engine tells of no truing chuck\n    mend: write truing: {division: 16, screws: [{angle: 90 deg, radius: 32, pitch: 0.5}, …]} into the engine's file", c.Job)
	}
	opts := blank.TruingOptions{Chuck: *j.Setup.Engine.Truing, Nominal: j.Setup.Blank.Nominal, Field: j.Setup.Blank.Field(), Raise: c.Raise, Fit: blank.BySquares}
	residual := blank.ResidualOptions{Nominal: j.Setup.Blank.Nominal}
	if j.Stock != nil {
		opts.Reading, residual.Noise = j.Stock.Scatter, j.Stock.Scatter
	}
	if c.Worst {
		opts.Fit = blank.ByWorst
	}
	if t.truing, err = t.read.True(opts); err != nil {
		return err
	}
	if t.form, err = t.read.Residual(residual); err != nil {
		t.less = err.Error()
	} else if a, err := t.form.MostHelpful(opts.Field); err == nil {
		t.advice = &a
	}
	if c.JSON {
		return printJSON(b.out, newTrueReport(&t))
	}
	return printTrue(b.out, &t)
}

// readings are those of the file named, or of the job.
func (c trueCommand) readings(j *job.Job) (*blank.Readings, error) {
	if c.Readings == "" {
		if j.Stock == nil || j.Stock.Readings == nil {
			return nil, usage("%s names no readings: write stock: {form: flat, readings: NAME} into it, or give --readings FILE.csv", c.Job)
		}
		return j.Stock.Readings, nil
	}
	file, err := os.Open(c.Readings)
	if err != nil {
		return nil, fmt.Errorf("read the readings: %w", err)
	}
	defer file.Close()
	return blank.ReadReadings(file, c.Readings, blank.ReadingOptions{Blank: &j.Setup.Blank})
}

func printTrue(w io.Writer, t *trued) error {
	slope, doubt, rises := t.truing.Plane.Tilt()
	fit := "least squares"
	if t.truing.Fit == blank.ByWorst {
		fit = "least worst deviation"
	}
	fmt.Fprintf(w, "%s: %s, %d of them in the field (read as %s).\n", t.read.Name, count(len(t.read.Points), "place"), t.truing.Used, t.read.Units)
	if t.read.Repeats > 0 {
		fmt.Fprintf(w, "%s; a reading repeats to %.1f µm.\n", capital(count(t.read.Repeats, "repeat")), 1000*t.read.Scatter)
	}
	fmt.Fprintf(w, "\nThe work rises by %.1f ± %.1f µm in 10 mm towards %.0f° (%s).\n", 1e4*slope, 1e4*doubt, positive(rises), fit)
	fmt.Fprintln(w, "\nTurn:")
	for _, turn := range t.truing.Turns {
		fmt.Fprintf(w, "  %s\n", turn.Text)
	}
	left := math.Hypot(t.truing.Left.X, t.truing.Left.Y)
	fmt.Fprintf(w, "Whole parts of a turn leave %.1f µm in 10 mm.\n", 1e4*left)
	for _, r := range t.truing.Remarks {
		fmt.Fprintln(w, r)
	}

	shown := t.truing.Expect
	if !t.all {
		shown = spread(shown, 12)
	}
	fmt.Fprintln(w, "\nThe indicator then should read:")
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(table, "x mm\ty mm\tnow µm\tthen µm\t")
	for _, r := range shown {
		fmt.Fprintf(table, "%.2f\t%.2f\t%.1f\t%.1f\t\n", r.Place.X+0, r.Place.Y+0, 1000*(r.Z-t.truing.Change.At(r.Place)), 1000*r.Z)
	}
	if err := table.Flush(); err != nil {
		return err
	}
	if n := len(t.truing.Expect) - len(shown); n > 0 {
		fmt.Fprintf(w, "(%s more with --all)\n", count(n, "place"))
	}

	fmt.Fprintf(w, "\nOver the field the work stands %.1f µm from its highest to its lowest place now, %.1f µm then; no tilt takes out %.1f µm (root mean square %.1f µm).\n",
		1000*t.truing.Before.Total, 1000*t.truing.After.Total, 1000*t.truing.Best.Total, 1000*t.truing.Best.RMS)
	if t.form == nil {
		fmt.Fprintln(w, t.less)
		return nil
	}
	fmt.Fprintf(w, "The form that is left changes over %.0f mm; a reading is good to %.1f µm.\n", t.form.Length, 1000*t.form.Noise)
	if t.advice != nil {
		fmt.Fprintln(w, t.advice.Text)
	}
	return nil
}

// spread picks n of the readings, evenly along their order.
func spread(all []blank.Reading, n int) []blank.Reading {
	if len(all) <= n {
		return all
	}
	out := make([]blank.Reading, n)
	for i := range out {
		out[i] = all[i*(len(all)-1)/(n-1)]
	}
	return out
}

// positive is a direction from 0 to 360 degrees.
func positive(rad float64) float64 { return math.Mod(degrees(rad)+360, 360) }

// trueReport is what true --json prints.
type trueReport struct {
	Readings string          `json:"readings"`
	Places   int             `json:"places"`
	Used     int             `json:"used"`
	Repeats  int             `json:"repeats"`
	Scatter  *float64        `json:"scatter_um,omitempty"`
	Fit      string          `json:"fit"`
	Lift     float64         `json:"lift_um"`
	SlopeX   float64         `json:"slope_x_um_per_mm"`
	SlopeY   float64         `json:"slope_y_um_per_mm"`
	Slope    float64         `json:"slope_um_per_mm"`
	Doubt    float64         `json:"slope_uncertainty_um_per_mm"`
	Rises    float64         `json:"rises_towards_deg"`
	Sure     bool            `json:"tilt_is_sure"`
	Turns    []turnReport    `json:"turns"`
	Left     float64         `json:"slope_left_um_per_mm"`
	Before   flatnessReport  `json:"before"`
	After    flatnessReport  `json:"after"`
	Best     flatnessReport  `json:"best"`
	Expect   []readingReport `json:"expect"`
	Form     *formReport     `json:"form,omitempty"`
	More     *moreReport     `json:"one_more_reading,omitempty"`
	Remarks  []string        `json:"remarks"`
}

type turnReport struct {
	Screw    string  `json:"screw"`
	Parts    int     `json:"parts"`
	Division int     `json:"division"`
	Rise     float64 `json:"rise_um"`
	Text     string  `json:"text"`
}

type flatnessReport struct {
	Total  float64 `json:"total_um"`
	Peak   float64 `json:"peak_um"`
	Valley float64 `json:"valley_um"`
	RMS    float64 `json:"rms_um"`
}

type readingReport struct {
	X   float64 `json:"x_mm"`
	Y   float64 `json:"y_mm"`
	Now float64 `json:"now_um"`
	Z   float64 `json:"then_um"`
}

type formReport struct {
	Length float64 `json:"length_mm"`
	Sigma  float64 `json:"sigma_um"`
	Noise  float64 `json:"reading_um"`
}

type moreReport struct {
	X      float64 `json:"x_mm"`
	Y      float64 `json:"y_mm"`
	Before float64 `json:"uncertainty_now_um"`
	After  float64 `json:"uncertainty_then_um"`
}

func newTrueReport(t *trued) trueReport {
	um := func(mm float64) float64 { return rounded(1000*mm, 1e6) }
	flat := func(f blank.Flatness) flatnessReport {
		return flatnessReport{um(f.Total), um(f.Peak), um(f.Valley), um(f.RMS)}
	}
	p := t.truing.Plane
	slope, doubt, rises := p.Tilt()
	r := trueReport{Readings: t.read.Name, Places: len(t.read.Points), Used: t.truing.Used, Repeats: t.read.Repeats, Fit: "least squares",
		Lift: um(p.Lift), SlopeX: um(p.Slope.X), SlopeY: um(p.Slope.Y), Slope: um(slope), Doubt: um(doubt), Rises: rounded(positive(rises), 1e3), Sure: t.truing.Sure,
		Turns: []turnReport{}, Left: um(math.Hypot(t.truing.Left.X, t.truing.Left.Y)), Before: flat(t.truing.Before), After: flat(t.truing.After), Best: flat(t.truing.Best),
		Remarks: append([]string{}, t.truing.Remarks...)}
	if t.truing.Fit == blank.ByWorst {
		r.Fit = "least worst deviation"
	}
	if t.read.Repeats > 0 {
		s := um(t.read.Scatter)
		r.Scatter = &s
	}
	for _, n := range t.truing.Turns {
		r.Turns = append(r.Turns, turnReport{n.Screw, n.Parts, t.job.Setup.Engine.Truing.Division, um(n.Rise), n.Text})
	}
	for _, e := range t.truing.Expect {
		r.Expect = append(r.Expect, readingReport{rounded(e.Place.X, 1e6), rounded(e.Place.Y, 1e6), um(e.Z - t.truing.Change.At(e.Place)), um(e.Z)})
	}
	if t.form != nil {
		r.Form = &formReport{rounded(t.form.Length, 1e6), um(t.form.Sigma), um(t.form.Noise)}
	} else {
		r.Remarks = append(r.Remarks, t.less)
	}
	if a := t.advice; a != nil {
		r.More = &moreReport{rounded(a.Place.X, 1e6), rounded(a.Place.Y, 1e6), um(a.Before), um(a.After)}
	}
	return r
}
