package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"brightcut/depth"
	"brightcut/engine"
	"brightcut/fault"
	"brightcut/job"
)

type testcutsCommand struct {
	Cuts        string            `arg:"" help:"File of test cuts: a CSV with the columns extension and width, and hand, force, uncertainty or name."`
	Job         string            `placeholder:"JOB" help:"Job whose cutter and guide were tried; its hand and its depth count where nothing else is said."`
	Hand        map[string]string `placeholder:"CLASS=FORCE" help:"Force of a class of hand: newtons, or a multiple of the usual hand as 0.5x. May be given for each class."`
	Width       string            `placeholder:"WIDTH" help:"Width of groove to find the extension for; without it that of the job."`
	With        string            `placeholder:"CLASS" help:"Hand that is to cut it; without it that of the job, or the usual one."`
	Angle       string            `placeholder:"VALUE,±" help:"Included angle as known beforehand with its standard uncertainty, as '130 deg, 0.5 deg'."`
	Flat        string            `placeholder:"VALUE,±" help:"Tip flat as seen under the microscope, as '2 um, 1 um'."`
	Zero        string            `placeholder:"VALUE,±" help:"Zero error of the extension as found by touching off, as '0 um, 1 um'."`
	Compliance  string            `placeholder:"VALUE,±" help:"Give under the hand, as '0.3 um/N, 0.1 um/N'."`
	Uncertainty string            `placeholder:"LENGTH" help:"Standard uncertainty of one measured width; without it, it is told from the scatter."`
	Keep        bool              `help:"Keep what was found with the job's cutter and guide, in calibrations/ beside the job, for later jobs."`
	Date        string            `placeholder:"DAY" help:"Day of the test cuts, as 2031-03-14; today when it is not given."`
	JSON        bool              `name:"json" help:"Print what was found as JSON (docs/json.md names the keys)."`
}

func (testcutsCommand) Help() string {
	return `A few grooves cut on scrap at known extensions and pressures, measured under the
microscope, tell the cutter's true angle, its flat, how far the scale of the
extension is off and how much all gives under the hand. Tip flat and zero look
alike in the widths: measure one of them and say so. Examples:

  brightcut testcuts testcuts/bright-130-dial-foot.csv --flat '2 um, 1 um' --hand light=4 --hand usual=8 --hand firm=14
  brightcut testcuts testcuts/bright-130-dial-foot.csv --flat '2 um, 1 um' --hand light=4 --hand usual=8 --hand firm=14 --job bowed-dial.yaml --width '0.193 mm'
  brightcut testcuts testcuts/bright-130-dial-foot.csv --flat '2 um, 1 um' --hand light=4 --hand usual=8 --hand firm=14 --job bowed-dial.yaml --keep`
}

// tried is what a set of test cuts came to.
type tried struct {
	file    string
	job     *job.Job // nil when none was named
	cuts    []depth.TestCut
	found   *depth.Calibration
	width   float64 // wanted, mm; 0 when none is
	hand    string
	force   float64
	setting *depth.Setting
	why     fault.List // why there is no setting
	next    *depth.NextCut
	kept    string // file it was kept in
}

func (c testcutsCommand) Run(b console) error {
	t := tried{file: c.Cuts}
	opts, err := c.options(&t)
	if err != nil {
		return err
	}
	file, err := os.Open(c.Cuts)
	if err != nil {
		return fmt.Errorf("read the test cuts: %w", err)
	}
	defer file.Close()
	if t.cuts, err = depth.ReadTestCuts(file, c.Cuts); err != nil {
		return err
	}
	if t.found, err = depth.Calibrate(t.cuts, opts); err != nil {
		return err
	}
	aim := depth.Aim{}
	if t.width > 0 {
		s, err := t.found.Extension(t.width, t.hand, t.force)
		if list, ok := err.(fault.List); ok {
			t.why = list
		} else if err != nil {
			return err
		} else {
			t.setting, aim = &s, depth.Aim{Width: t.width, Hand: t.hand, Force: t.force}
		}
	}
	if n, err := t.found.Next(aim); err == nil {
		t.next = &n
	}
	if c.Keep {
		if t.kept, err = c.keep(&t); err != nil {
			return err
		}
	}
	if c.JSON {
		return printJSON(b.out, newTestcutsReport(&t))
	}
	return printTestcuts(b.out, &t)
}

func (c testcutsCommand) keep(t *tried) (string, error) {
	if t.job == nil {
		return "", usage("--keep wants --job too: the cutter and the guide that were tried are those of a job")
	}
	date := c.Date
	if date == "" {
		date = time.Now().Format(time.DateOnly)
	}
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		return "", usage("--date %s: write year, month and day as 2031-03-14", date)
	}
	from := c.Cuts
	if within, err := filepath.Rel(filepath.Dir(c.Job), c.Cuts); err == nil && !strings.HasPrefix(within, "..") {
		from = filepath.ToSlash(within)
	} else {
		from = filepath.Base(from)
	}
	return t.job.KeepCalibration(job.NewCalibration(t.found, date, from))
}

// options gathers what is known besides the cuts.
func (c testcutsCommand) options(t *tried) (opts depth.CalibrationOptions, err error) {
	units := job.Millimetre
	if c.Job != "" {
		if t.job, err = job.Read(c.Job); err != nil {
			return opts, err
		}
		units, t.width = t.job.Units, t.job.Setup.Cutter.Width(t.job.Setup.Depth)
		if h := t.job.Hand; h.Hand != "" && h.Force > 0 {
			opts.Hands = append(opts.Hands, depth.Hand{Name: h.Hand, Newtons: h.Force})
		}
		t.hand, t.force = t.job.Hand.Hand, t.job.Hand.Force
	}
	length := func(text string) (float64, error) { return job.ParseLength(text, units) }
	for class, text := range c.Hand {
		h := depth.Hand{Name: class}
		number, share := strings.CutSuffix(text, "x")
		v, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(number, "N")), 64)
		if err != nil || !(v > 0) || math.IsInf(v, 0) {
			return opts, usage("--hand %s=%s: write its force in newtons, as %s=8, or as a multiple of the usual hand, as %s=0.5x", class, text, class, class)
		}
		if h.Newtons = v; share {
			h.Newtons, h.Share = 0, v
		}
		opts.Hands = put(opts.Hands, h)
	}
	if c.With != "" {
		t.hand, t.force = c.With, 0
	}
	for _, k := range []struct {
		flag, text string
		to         **depth.Known
		parse      func(string) (float64, error)
	}{
		{"angle", c.Angle, &opts.Angle, job.ParseAngle}, {"flat", c.Flat, &opts.Flat, length},
		{"zero", c.Zero, &opts.Zero, length}, {"compliance", c.Compliance, &opts.Compliance, job.ParseCompliance},
	} {
		if *k.to, err = knownOf(k.flag, k.text, k.parse); err != nil {
			return opts, err
		}
	}
	for _, k := range []struct {
		flag, text string
		to         *float64
	}{{"uncertainty", c.Uncertainty, &opts.Uncertainty}, {"width", c.Width, &t.width}} {
		if k.text == "" {
			continue
		}
		if *k.to, err = length(k.text); err != nil {
			return opts, usage("--%s %s: %v", k.flag, k.text, err)
		}
	}
	return opts, nil
}

// put adds a hand in the order of the names, in place of one of the same name.
func put(hands []depth.Hand, h depth.Hand) []depth.Hand {
	for i := range hands {
		if hands[i].Name == h.Name {
			hands[i] = h
			return hands
		}
		if hands[i].Name > h.Name {
			return append(hands[:i], append([]depth.Hand{h}, hands[i:]...)...)
		}
	}
	return append(hands, h)
}

// knownOf reads a value with its standard uncertainty; nil when nothing is given.
func knownOf(flag, text string, parse func(string) (float64, error)) (*depth.Known, error) {
	if text == "" {
		return nil, nil
	}
	value, doubt, both := strings.Cut(text, ",")
	if !both {
		return nil, usage("--%s %s: give the value and its standard uncertainty, parted by a comma; nothing is known exactly", flag, text)
	}
	v, err := parse(value)
	if err == nil {
		var u float64
		if u, err = parse(doubt); err == nil {
			return &depth.Known{Value: v, Uncertainty: u}, nil
		}
	}
	return nil, usage("--%s %s: %v", flag, text, err)
}

// scaled writes a value in the unit people use for it.
func scaled(unit string) (factor float64, shown, key string) {
	switch unit {
	case "rad":
		return 180 / math.Pi, "°", "deg"
	case "mm/N":
		return 1000, " µm/N", "um_per_n"
	}
	return 1000, " µm", "um"
}

// digits is how many decimals a value with this uncertainty deserves: two digits
// of the uncertainty.
func digits(uncertainty float64) int {
	if !(uncertainty > 0) {
		return 3
	}
	return min(6, max(0, 1-int(math.Floor(math.Log10(uncertainty)))))
}

func printTestcuts(w io.Writer, t *tried) error {
	c := t.found
	how := "as given"
	if c.Estimated {
		how = "told from their scatter"
	}
	fmt.Fprintf(w, "%s: %s; a width is known to %.2f µm, %s.\n\n", t.file, count(len(t.cuts), "test cut"), 1000*c.Scatter, how)
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	var open []depth.Estimate
	for _, e := range c.Estimates {
		if !e.Known {
			fmt.Fprintf(table, "%s\tnot told\n", capital(e.Name))
			open = append(open, e)
			continue
		}
		f, unit, _ := scaled(e.Unit)
		n := digits(f * e.Uncertainty)
		fmt.Fprintf(table, "%s\t%.*f%s\t± %.*f%s\n", capital(e.Name), n, f*e.Value, unit, n, f*e.Uncertainty, unit)
	}
	if err := table.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(w, "(± is one standard uncertainty)")
	for _, e := range open {
		fmt.Fprintf(w, "\nThe %s is not told: %s.\n  To tell it, %s.\n", e.Name, e.Why, e.Add)
	}
	if told := correlations(c); len(told) > 0 {
		fmt.Fprintf(w, "\nTaken together: %s (correlations).\n", strings.Join(told, ", "))
	}
	fmt.Fprintln(w)
	for _, o := range c.Outliers {
		fmt.Fprintf(w, "%s does not agree with the others: %+.1f µm off, %.1f times its scatter, where %.1f would be chance. Look at it again, or leave it out.\n",
			capital(o.Name), 1000*o.Residual, math.Abs(o.Studentised), o.Limit)
	}
	if len(c.Outliers) == 0 {
		fmt.Fprintln(w, "Every cut agrees with the others.")
	}
	for _, r := range c.Remarks {
		fmt.Fprintln(w, r)
	}
	if s := t.setting; s != nil {
		with := "the " + orUsual(t.hand) + " hand"
		if t.force > 0 {
			with += fmt.Sprintf(" of %.3g N", t.force)
		}
		fmt.Fprintf(w, "For a groove %.4f mm wide with %s set the extension to %.1f ± %.1f µm; the width then is within ± %.1f µm, besides the scatter of the hand.\n",
			t.width, with, 1000*s.Extension, 1000*s.Uncertainty, 1000*s.Width)
	}
	for _, f := range t.why {
		fmt.Fprintf(w, "The extension for a groove %.4f mm wide cannot be told: %s.\n  To tell it, %s.\n", t.width, f.Problem, f.Mend)
	}
	if t.next != nil {
		fmt.Fprintln(w, t.next.Text)
	}
	if t.kept != "" {
		fmt.Fprintf(w, "Kept in %s; jobs with this cutter and guide use it from now on.\n", t.kept)
	}
	return nil
}

// correlations names the pairs whose uncertainties hang together.
func correlations(c *depth.Calibration) (out []string) {
	for i := range c.Estimates {
		for j := i + 1; j < len(c.Estimates); j++ {
			if r := c.Correlation[i][j]; math.Abs(r) >= 0.5 {
				out = append(out, fmt.Sprintf("%s with %s %+.2f", c.Estimates[i].Name, c.Estimates[j].Name, r))
			}
		}
	}
	return out
}

func orUsual(hand string) string {
	if hand == "" {
		return depth.UsualHand
	}
	return hand
}

func capital(text string) string { return strings.ToUpper(text[:1]) + text[1:] }

// readingText tells a place on the stroke, or of the spindle, for people.
func readingText(v float64, k engine.Kind) string {
	if k == engine.Rose {
		return fmt.Sprintf("%.4g°", degrees(v))
	}
	return fmt.Sprintf("%.4g mm", v)
}
