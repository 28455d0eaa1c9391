package job

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"go.yaml.in/yaml/v4"

	"brightcut/cutter"
	"brightcut/depth"
	"brightcut/engine"
	"brightcut/fault"
	"brightcut/internal/whole"
)

// Calibration is what test cuts, or the widths of a finished piece, told of a
// cutter and its guide, or of an engine, on one day. A value that they did not
// tell is nil, and that of the part's own file counts.
type Calibration struct {
	Date       string       // of the test cuts, as 2031-03-14
	From       string       // file of the test cuts
	Cuts       int          // how many there were
	Hand       string       // class of hand whose flex is part of Zero; "" when it is not
	Angle      *depth.Known // included angle of the cutter, rad
	Flat       *depth.Known // width of the flat at the tip, mm
	Zero       *depth.Known // what the extension really is, more than it is set to, mm
	Compliance *depth.Known // mm/N
	Scatter    float64      // standard uncertainty of one measured width, mm; 0 when it is not known
	Wear       *depth.Known // what the tip recedes for each metre that it cuts, mm

	// Of an engine: what its screw and its wheel were found to add.
	Slide, Index *engine.Periodic

	Withdrawn string // day from which it counts no more; "" while it does

	// Correlations of their uncertainties: angle with flat, zero and compliance,
	// flat with zero and compliance, zero with compliance.
	Correlation [6]float64
}

// NewCalibration keeps what was found from test cuts, rounded to a hundredth of
// its uncertainty.
func NewCalibration(c *depth.Calibration, date, from string) Calibration {
	k := Calibration{Date: date, From: from, Cuts: len(c.Residuals), Hand: c.ZeroAtUsual, Scatter: rounded(c.Scatter, c.Scatter/100)}
	to := []**depth.Known{depth.Angle: &k.Angle, depth.Flat: &k.Flat, depth.Zero: &k.Zero, depth.Compliance: &k.Compliance}
	n := 0
	for i := range to {
		if e := &c.Estimates[i]; e.Known && e.Uncertainty > 0 {
			unit := 1.0
			if i == depth.Angle {
				unit = math.Pi / 180 // so that the decimals are those of degrees
			}
			part := e.Uncertainty / 100 / unit
			*to[i] = &depth.Known{Value: rounded(e.Value/unit, part) * unit, Uncertainty: rounded(e.Uncertainty/unit, part) * unit}
		}
		for j := i + 1; j < len(to); j++ {
			k.Correlation[n] = math.Round(c.Correlation[i][j]*1e4) / 1e4
			n++
		}
	}
	if k.Flat != nil {
		k.Flat.Value = max(0, k.Flat.Value) // within its uncertainty; no flat is narrower than none
	}
	if k.Compliance != nil {
		k.Compliance.Value = max(0, k.Compliance.Value)
	}
	return k
}

// rounded keeps v to about the given part, in decimals.
func rounded(v, part float64) float64 {
	if !(part > 0) || v == 0 {
		return v
	}
	p := math.Pow(10, math.Ceil(-math.Log10(part)))
	return math.Round(v*p) / p
}

// Source says what told the calibration: "test cuts", or a "finished piece" when
// it was the widths of a run.
func (c *Calibration) Source() string {
	if strings.HasPrefix(c.From, RunsFolder) {
		return "finished piece"
	}
	return "test cuts"
}

// RunsFolder begins From of what was learned from a run.
const RunsFolder = "runs/"

// apply gives the cutter and the guide the values that the test cuts told. The
// guide's extension stays as it is set; see effective.
func (c *Calibration) apply(cut *cutter.Cutter, g *depth.Guide) {
	if c.Angle != nil {
		cut.Included = c.Angle.Value
	}
	if c.Flat != nil {
		cut.Flat = c.Flat.Value
	}
	if c.Compliance != nil && g != nil {
		g.Compliance = c.Compliance.Value
	}
}

// effective returns how far the cutter really stands out beyond the foot at no
// pressure. A zero found with a hand's flex in it has that flex taken out, so
// that the pressure brings it back once.
func (c *Calibration) effective(g *depth.Guide, p depth.Pressure) float64 {
	if c == nil || c.Zero == nil {
		return g.Extension
	}
	e := g.Extension + c.Zero.Value
	if c.Hand != "" {
		e -= g.Compliance * p.Force
	}
	return e
}

// known reads a value with its standard uncertainty.
func known(value, uncertainty codec[float64]) codec[*depth.Known] {
	return refer(pairOf(value, uncertainty, func(k *depth.Known) (*float64, *float64) { return &k.Value, &k.Uncertainty }))
}

// dateCodec reads a day as 2031-03-14.
var dateCodec = codec[string]{
	read: func(r *reader, n *yaml.Node, at string) (string, bool) {
		const mend = "write year, month and day as 2031-03-14"
		t, ok := r.aScalar(n, at, mend)
		if !ok {
			return "", false
		}
		if _, err := time.Parse(time.DateOnly, t); err != nil {
			r.fault(n, at, quoted(t)+" is not a day", mend)
			return "", false
		}
		return t, true
	},
	write:  func(_ *writer, v string) *yaml.Node { return scalar("!!str", v) },
	schema: func(*schemer) schema { return schema{"type": "string", "pattern": `^[0-9]{4}-[0-9]{2}-[0-9]{2}`} },
}

var correlationRecord = func() *record[[6]float64] {
	rec := &record[[6]float64]{name: "the correlations", flow: true}
	for i, key := range []string{"angle_flat", "angle_zero", "angle_compliance", "flat_zero", "flat_compliance", "zero_compliance"} {
		a, b, _ := strings.Cut(key, "_")
		rec.fields = append(rec.fields, at(key, fmt.Sprintf("Correlation of the uncertainties of %s and %s.", a, b),
			numberOf(span{-1, 1, false}), func(c *[6]float64) *float64 { return &c[i] }))
	}
	return rec
}()

var calibrationRecord = &record[Calibration]{
	name: "a calibration",
	fields: []field[Calibration]{
		must("date", "Day of the test cuts, as 2031-03-14.", dateCodec, func(c *Calibration) *string { return &c.Date }),
		at("from", "File of the test cuts.", text(mostName), func(c *Calibration) *string { return &c.From }),
		at("cuts", "How many test cuts there were.", count(0, mostCount), func(c *Calibration) *int { return &c.Cuts }),
		at("angle", "Included angle of the cutter and its standard uncertainty, [130.4, 0.2].", known(angleOf(span{0, 180, true}), angleOf(fromZero)), func(c *Calibration) **depth.Known { return &c.Angle }),
		at("flat", "Flat at the tip and its standard uncertainty.", known(lengthOf(fromZero), lengthOf(fromZero)), func(c *Calibration) **depth.Known { return &c.Flat }),
		at("zero", "What the extension is more than it is set to, and its standard uncertainty.", known(lengthOf(anyValue), lengthOf(fromZero)), func(c *Calibration) **depth.Known { return &c.Zero }),
		at("hand", "Class of hand whose flex is part of zero; left out, none is.", choice(handWords, handWords), func(c *Calibration) *string { return &c.Hand }),
		at("compliance", "Give under the hand and its standard uncertainty, [0.3 um/N, 0.02 um/N].", known(giveOf(), giveOf()), func(c *Calibration) **depth.Known { return &c.Compliance }),
		at("scatter", "Standard uncertainty of one measured width.", lengthOf(fromZero), func(c *Calibration) *float64 { return &c.Scatter }),
		at("wear", "What the tip recedes for each metre that it cuts, and its standard uncertainty, [0.8 um, 0.1 um].", known(lengthOf(fromZero), lengthOf(fromZero)), func(c *Calibration) **depth.Known { return &c.Wear }),
		at("slide", "Of an engine: the periodic error of the slide's screw.", refer(periodicRecord(lengthOf(overZero)).codec()), func(c *Calibration) **engine.Periodic { return &c.Slide }),
		at("index", "Of an engine: the periodic error of the index wheel.", refer(periodicRecord(angleOf(overZero)).codec()), func(c *Calibration) **engine.Periodic { return &c.Index }),
		at("withdrawn", "Day from which it counts no more; the one before it counts again.", dateCodec, func(c *Calibration) *string { return &c.Withdrawn }),
		at("correlation", "Correlations of the uncertainties; those left out are 0.", correlationRecord.codec(), func(c *Calibration) *[6]float64 { return &c.Correlation }),
	},
}

// calibrations is a file of calibrations/: all that was found of one cutter with
// one guide, or of one engine, the earliest first.
type calibrations struct {
	cutter, guide, engine string
	all                   []Calibration
}

// mostCalibrations bounds a file: one a day for ten years.
const mostCalibrations = 4000

var calibrationsRecord = &record[calibrations]{
	name: "the calibrations", units: true,
	fields: []field[calibrations]{
		at("cutter", "Name of the cutter's file; left out, it is of an engine.", text(mostName), func(c *calibrations) *string { return &c.cutter }),
		at("guide", "Name of the guide's file; left out, it was cut without one.", text(mostName), func(c *calibrations) *string { return &c.guide }),
		at("engine", "Name of the engine's file, for what was found of its screw and its wheel.", text(mostName), func(c *calibrations) *string { return &c.engine }),
		must("calibrations", "What was found, dated; the latest counts.", listOf(calibrationRecord.codec(), 1, mostCalibrations, false), func(c *calibrations) *[]Calibration { return &c.all }),
	},
}

// calibrationFile is the name of the file for a cutter and a guide.
func calibrationFile(cutter, guide string) string {
	if guide == "" {
		return cutter
	}
	return cutter + "-" + guide
}

// engineFile is the name of the file for an engine.
func engineFile(engine string) string { return "engine-" + engine }

// latest returns the last of those with the latest date that were not withdrawn;
// nil of none.
func (c *calibrations) latest() *Calibration {
	var best *Calibration
	for i := range c.all {
		if c.all[i].Withdrawn == "" && (best == nil || c.all[i].Date >= best.Date) {
			best = &c.all[i]
		}
	}
	return best
}

// calibrated finds the calibration of the cutter and guide that the job names,
// when it has none of its own, and applies it.
func (r *reader) calibrated(j *Job) {
	cutterName, guideName := r.named["cutter"], r.named["guide"]
	if j.Guide != nil && guideName == "" {
		guideName, cutterName = "", "" // its guide stands in the job: nothing was kept of it
	}
	if j.Calibration == nil && validName(cutterName) {
		j.Calibration = r.kept(calibrationFile(cutterName, guideName), calibrations{cutter: cutterName, guide: guideName})
	}
	if j.Calibration != nil {
		j.Calibration.apply(&j.Setup.Cutter, j.Guide)
	}
	if name := r.named["engine"]; validName(name) {
		if c := r.kept(engineFile(name), calibrations{engine: name}); c != nil {
			if c.Slide != nil {
				j.Setup.Engine.Slide.Error = c.Slide
			}
			if c.Index != nil {
				j.Setup.Engine.Index.Error = c.Index
			}
		}
	}
}

// kept returns what counts of a file of calibrations that should be of the named
// cutter and guide, or engine; nil when there is none.
func (r *reader) kept(file string, of calibrations) *Calibration {
	if !slices.Contains(r.shop.parts("calibration"), file) {
		return nil
	}
	c, ok := r.calibrationsOf(file)
	if !ok {
		return nil
	}
	if c.cutter != of.cutter || c.guide != of.guide || c.engine != of.engine {
		r.faults = append(r.faults, finding{fault.Fault{Origin: fault.Origin{File: r.shop.shown + "calibrations/" + file + extension},
			Problem: fmt.Sprintf("it is of %s, not of %s", c.whose(), of.whose()),
			Mend:    "give the file the name of its cutter and guide, or engine- and the name of its engine"}, "calibration", false, nil})
	}
	return c.latest()
}

// whose says what the file is of.
func (c *calibrations) whose() string {
	switch {
	case c.engine != "" && c.cutter == "":
		return "the engine " + quoted(c.engine)
	case c.guide == "":
		return "the cutter " + quoted(c.cutter)
	}
	return fmt.Sprintf("the cutter %s and the guide %s", quoted(c.cutter), quoted(c.guide))
}

func (r *reader) calibrationsOf(file string) (c calibrations, ok bool) {
	f, bad := r.shop.part("calibration", file)
	if bad != nil {
		r.faults = append(r.faults, finding{fault.Fault{Origin: fault.Origin{File: r.src.name}, Field: "cutter", Problem: bad.problem, Mend: bad.mend}, "calibration", false, nil})
		return c, false
	}
	if !readPart(r, f, calibrationsRecord, "calibration", &c) {
		return c, false
	}
	var wrong fault.List
	if errors.As(c.check(r.shop.shown+"calibrations/"+file+extension), &wrong) {
		r.faults = append(r.faults, finding{wrong[0], "calibration", false, nil})
		return c, false
	}
	return c, true
}

// KeepCalibration writes a calibration behind those already kept of the job's
// cutter and guide, or of its engine when it tells of a screw or a wheel, in the
// folder calibrations beside the job, and returns the file's path. What stands in
// the file is left as it was. Cutter and guide, or the engine, must be named from
// the workshop's files.
func (j *Job) KeepCalibration(c Calibration) (string, error) {
	return j.keep(filepath.Dir(j.File), c)
}

// keep writes a calibration in a workshop's folder.
func (j *Job) keep(folder string, c Calibration) (string, error) {
	var of calibrations
	if j.reading != nil {
		of = calibrations{cutter: j.reading.named["cutter"], guide: j.reading.named["guide"]}
		if c.ofEngine() {
			of = calibrations{engine: j.reading.named["engine"]}
		}
	}
	name := calibrationFile(of.cutter, of.guide)
	switch {
	case c.ofEngine() && of.engine == "":
		return "", fmt.Errorf("keep the calibration: the engine stands in %s itself; write it to a file in engines/ and name it in the job", j.File)
	case c.ofEngine():
		name = engineFile(of.engine)
	case of.cutter == "" || j.Guide != nil && of.guide == "":
		return "", fmt.Errorf("keep the calibration: the cutter or the guide stands in %s itself; write it to a file in cutters/ or guides/ and name it in the job", j.File)
	}
	of.all = []Calibration{c}
	dir := filepath.Join(folder, "calibrations")
	file := filepath.Join(dir, name+extension)
	old, err := os.ReadFile(file)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", fmt.Errorf("keep the calibration: %w", err)
	}
	text, err := addCalibration(file, old, of)
	if err != nil {
		return "", fmt.Errorf("keep the calibration:\n%w", err)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", fmt.Errorf("keep the calibration: %w", err)
	}
	return file, whole.Write(file, func(w io.Writer) error { _, err := w.Write(text); return err })
}

// addCalibration returns the text of a file with one more calibration at its
// end, read back to make sure that it says so.
func addCalibration(name string, old []byte, one calibrations) ([]byte, error) {
	w := &writer{units: Millimetre}
	if err := one.check(name); err != nil {
		return nil, err
	}
	if len(bytes.TrimSpace(old)) == 0 {
		head := "# What was found of " + strings.ReplaceAll(one.whose(), `"`, "")
		body, err := yaml.Dump(calibrationsRecord.node(w, &one))
		if err != nil {
			return nil, err
		}
		text := append([]byte(head+".\n# The latest that was not withdrawn counts; none is taken away.\n"), body...)
		_, err = readCalibrations(name, text)
		return text, err
	}
	before, err := readCalibrations(name, old)
	if err != nil {
		return nil, err
	}
	body, err := yaml.Dump(&yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{calibrationRecord.node(w, &one.all[0])}})
	if err != nil {
		return nil, err
	}
	for _, indent := range []string{"  ", "", "    "} { // as the file sets its list in
		text := append(bytes.TrimRight(bytes.Clone(old), "\n "), '\n')
		for line := range strings.Lines(string(body)) {
			text = append(text, indent+line...)
		}
		if after, err := readCalibrations(name, text); err == nil && len(after.all) == len(before.all)+1 {
			return text, nil
		}
	}
	return nil, fault.List{{Origin: fault.Origin{File: name}, Problem: "a further calibration cannot be written at the end of this file", Mend: "let the list calibrations: stand last in it, each entry as a line of its own behind a dash"}}
}

// readCalibrations reads the text of a file of calibrations.
func readCalibrations(name string, text []byte) (c calibrations, err error) {
	src := newSource(name, text)
	root, faults := src.tree()
	if len(faults) > 0 {
		return c, faults
	}
	all := &reading{shop: &shop{fsys: nowhere{}}, places: map[string]place{}}
	r := &reader{reading: all, src: src, units: Millimetre}
	calibrationsRecord.fill(r, root, "", &c)
	if l := all.list(name); len(l) > 0 {
		return c, l
	}
	return c, c.check(name)
}

// ofEngine says whether the calibration tells of an engine.
func (c *Calibration) ofEngine() bool { return c.Slide != nil || c.Index != nil }

// check returns what keeps a file from being of one thing.
func (c *calibrations) check(name string) error {
	bad := func(problem, mend string) error {
		return fault.List{{Origin: fault.Origin{File: name}, Problem: problem, Mend: mend}}
	}
	if (c.cutter == "") == (c.engine == "") || c.engine != "" && c.guide != "" {
		return bad("it is not of one cutter with its guide, nor of one engine", "name the cutter:, and the guide: if there is one, or the engine:")
	}
	for i := range c.all {
		k := &c.all[i]
		if k.ofEngine() && (c.engine == "" || k.Angle != nil || k.Flat != nil || k.Zero != nil || k.Compliance != nil || k.Wear != nil) {
			return bad(fmt.Sprintf("the calibration of %s tells of the engine and of the cutter at once", k.Date), "write slide: and index: to the engine's file, the rest to the cutter's")
		}
	}
	return nil
}
