package job

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
	"brightcut/depth"
)

func bowedDial(t *testing.T, shop fstest.MapFS) *Job {
	t.Helper()
	j, err := ReadFS(shop, "dial.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func TestStockStopHandAndPlan(t *testing.T) {
	j := bowedDial(t, workshop(t, nil))
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12 {
			t.Errorf("%s is %v, want %v", what, got, want)
		}
	}
	if n := len(j.Stock.Readings.Points); n != 36 || !j.Stock.Untrued {
		t.Errorf("%d readings, untrued %v", n, j.Stock.Untrued)
	}
	near("scatter of a reading", j.Stock.Scatter, 0.001)
	near("the stop's give", j.Stop.Compliance, 0.0002)
	if want := (depth.Pressure{Hand: "usual", Force: 8, Scatter: 1}); j.Hand != want {
		t.Errorf("the hand is %+v, want %+v", j.Hand, want)
	}
	w := j.Wishes
	near("tolerance", w.Tolerance, 0.05)
	if w.Begin != 3 || w.Advance != depth.AsWritten || len(w.Hold) != 2 || w.Hold[0].By != depth.ByStop || *w.Hold[0].Reading != 9 || w.Hold[1].To != 0 {
		t.Errorf("the plan's wishes are %+v", w)
	}
	c := j.Setup.Engine.Truing
	if c.Division != 16 || len(c.Screws) != 3 || c.Screws[0].Name != "north" || !c.Screws[2].Lowers {
		t.Errorf("the truing chuck is %+v", c)
	}
	near("angle of a screw", c.Screws[1].Angle, 210*math.Pi/180)
}

// The latest day counts, wherever it stands in the file.
func TestLatestCalibrationCounts(t *testing.T) {
	j := bowedDial(t, workshop(t, nil))
	c := j.Calibration
	if c == nil || c.Date != "2031-03-14" || c.Cuts != 12 || c.Correlation != [6]float64{-0.61, -0.93, 0.1, 0.4, 0.02, -0.3} {
		t.Fatalf("the calibration is %+v", c)
	}
	if a := j.Setup.Cutter.Included * 180 / math.Pi; math.Abs(a-130.5) > 1e-9 || math.Abs(j.Setup.Cutter.Flat-0.003) > 1e-12 {
		t.Errorf("the cutter has %v° and a flat of %v mm", a, j.Setup.Cutter.Flat)
	}
	if math.Abs(j.Guide.Compliance-0.00025) > 1e-12 || j.Guide.Extension != 0.045 {
		t.Errorf("the guide is %+v: its extension stays as it is set", j.Guide)
	}
	list, err := j.Cuts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	w, err := j.Work(list)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(w.Guide.Extension-0.0465) > 1e-12 || j.Guide.Extension != 0.045 {
		t.Errorf("the cutter stands out %v mm, want 0.0465", w.Guide.Extension)
	}
	// 45 µm as set, 1.5 more by the zero, and 8 N at 0.25 µm/N.
	if set, gives := j.Extension(); math.Abs(gives-0.0485) > 1e-12 || math.Abs(set-0.0415) > 1e-12 {
		t.Errorf("the guide gives %v mm and is to be set to %v", gives, set)
	}
	// A zero that has a hand's flex in it: the pressure brings it back once.
	j.Calibration = &Calibration{Hand: depth.UsualHand, Zero: &depth.Known{Value: 0.004}}
	if e := j.Calibration.effective(j.Guide, j.Hand) + j.Guide.Compliance*j.Hand.Force; math.Abs(e-0.049) > 1e-12 {
		t.Errorf("under the hand the cutter stands out %v mm, want 0.049", e)
	}
}

// Untrued, the best plane counts with the form: here 2 µm in a millimetre.
func TestWorkKnowsItsStock(t *testing.T) {
	j := bowedDial(t, workshop(t, nil))
	list, err := j.Cuts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	rise := func() float64 {
		w, err := j.Work(list)
		if err != nil {
			t.Fatal(err)
		}
		a, _, in := w.Stock.Height(r2.Vec{X: 12})
		b, _, _ := w.Stock.Height(r2.Vec{X: -12})
		if !in {
			t.Error("a place between readings is not known")
		}
		return a - b
	}
	tilted := rise()
	j.Stock.Untrued = false
	if level := rise(); math.Abs(tilted-0.048) > 0.002 || math.Abs(level) > 0.002 {
		t.Errorf("12 mm to either side the stock differs by %v mm, trued by %v", tilted, level)
	}
}

func TestDigestCoversReadingsAndCalibrations(t *testing.T) {
	shop := workshop(t, nil)
	first := bowedDial(t, shop).Digest
	for _, file := range []string{"readings/bowed.csv", "calibrations/tried-130-right-foot.yaml"} {
		old := shop[file].Data
		shop[file] = &fstest.MapFile{Data: append([]byte("# one more line\n"), old...)}
		if bowedDial(t, shop).Digest == first {
			t.Errorf("%s can change and the digest stays", file)
		}
		shop[file] = &fstest.MapFile{Data: old}
	}
	if bowedDial(t, shop).Digest != first {
		t.Error("the same files have another digest")
	}
}

// What was kept before stays, byte for byte, comments with it; the new one counts.
func TestKeepCalibration(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("testdata/shop")); err != nil {
		t.Fatal(err)
	}
	kept := filepath.Join(dir, "calibrations", "tried-130-right-foot.yaml")
	before, err := os.ReadFile(kept)
	if err != nil {
		t.Fatal(err)
	}
	j, err := Read(filepath.Join(dir, "dial.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	c := Calibration{Date: "2031-06-01", From: "testcuts/june.csv", Cuts: 9, Angle: &depth.Known{Value: 131 * math.Pi / 180, Uncertainty: 0.002}, Zero: &depth.Known{Value: 0.002, Uncertainty: 0.0004}}
	for n := range 3 {
		c.Cuts++
		file, err := j.KeepCalibration(c)
		if err != nil || file != kept {
			t.Fatalf("%s, %v", file, err)
		}
		text, _ := os.ReadFile(kept)
		if !strings.HasPrefix(string(text), string(before)) {
			t.Fatalf("what was kept has changed:\n%s", text)
		}
		before = text
		again, err := Read(filepath.Join(dir, "dial.yaml"))
		if err != nil || again.Calibration.Cuts != 10+n || math.Abs(again.Setup.Cutter.Included-c.Angle.Value) > 1e-12 {
			t.Fatalf("%v: %+v", err, again.Calibration)
		}
	}
	// A file of its own is begun where there was none.
	rest := filepath.Join(dir, "calibrations", "bright-130-right-foot.yaml")
	b, err := Read(filepath.Join(dir, "barleycorn.yaml"))
	if err != nil || b.Calibration != nil {
		t.Fatal(err, b.Calibration)
	}
	if file, err := b.KeepCalibration(c); err != nil || file != rest {
		t.Fatal(file, err)
	}
	if b, err = Read(filepath.Join(dir, "barleycorn.yaml")); err != nil || b.Calibration.Cuts != c.Cuts {
		t.Fatal(err)
	}
	// A file that cannot be read is left alone, and parts that stand in the job
	// have no name to keep it by.
	if err := os.WriteFile(rest, []byte("cutter: [\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := b.KeepCalibration(c); err == nil {
		t.Error("a file with a fault was written to")
	}
	d, err := Read(filepath.Join(dir, "domed.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := d.KeepCalibration(c); err == nil || !strings.Contains(err.Error(), "cutters/") {
		t.Errorf("got %v", err)
	}
}

// What test cuts told is kept to a hundredth of its uncertainty.
func TestNewCalibration(t *testing.T) {
	var cuts []depth.TestCut
	for i, e := range []float64{0.02, 0.03, 0.04, 0.05, 0.06, 0.07} {
		force := 4 + 4*float64(i%3)
		cuts = append(cuts, depth.TestCut{Name: "a", Extension: e, Force: force, Width: 2*math.Tan(65*math.Pi/180)*(e+0.002+0.0003*force) + 0.0005*math.Sin(float64(7*i))})
	}
	found, err := depth.Calibrate(cuts, depth.CalibrationOptions{Flat: &depth.Known{Uncertainty: 0.001}})
	if err != nil {
		t.Fatal(err)
	}
	c := NewCalibration(found, "2031-03-14", "march.csv")
	if c.Angle == nil || c.Flat == nil || c.Zero == nil || c.Compliance == nil || c.Cuts != 6 || c.Hand != "" {
		t.Fatalf("%+v", c)
	}
	for i, k := range []*depth.Known{c.Angle, c.Flat, c.Zero, c.Compliance} {
		e := found.Estimates[i]
		if want := max(e.Value, 0); i != depth.Zero && math.Abs(k.Value-want) > e.Uncertainty/100 || math.Abs(k.Uncertainty-e.Uncertainty) > e.Uncertainty/100 {
			t.Errorf("%s kept as %+v, found %v ± %v", e.Name, k, e.Value, e.Uncertainty)
		}
	}
	if got, want := c.Correlation[1], found.Correlation[depth.Angle][depth.Zero]; math.Abs(got-want) > 1e-4 || got == 0 {
		t.Errorf("angle and zero are kept with a correlation of %v, found %v", got, want)
	}
}

// A job of curved work comes to cuts and a plan like any other.
func TestDomedWorkIsPlanned(t *testing.T) {
	shop := workshop(t, nil)
	j, err := ReadFS(shop, "domed.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if j.Setup.Blank.Nominal.Figure != blank.Dome || j.Setup.Blank.Nominal.Radius != 80 || len(j.Stock.Readings.Points) != 6 || j.Stock.Readings.Repeats != 1 {
		t.Fatalf("%+v, %+v", j.Setup.Blank.Nominal, j.Stock.Readings)
	}
	list, err := j.Cuts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	p, _, err := j.Plan(t.Context(), list)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Cuts) != 2 || p.Holds[len(p.Holds)-1].By != depth.ByStop {
		t.Errorf("%d cuts held by %v", len(p.Cuts), p.Holds)
	}
}

// A guide that leaves its extension open is set for the depth of the job, less
// what the hand adds.
func TestOpenExtension(t *testing.T) {
	const text = `title: Open
blank: {metal: silver, thickness: 1, outline: {shape: disc, diameter: 30}}
engine: {kind: straight line, stroke: {from: -20, to: 20}, slide: {pitch: 1, ratchet: 100, from: -20, to: 20}}
cutter: {included: 120, clearance: 15}
guide: {offset: 0.5, side: left, foot_radius: 1, compliance: 0.5 um/N}
depth: 40 um
hand: {force: FORCE}
sequence: [cut]
`
	for _, c := range []struct {
		force string
		set   float64
	}{{"0 N", 0.040}, {"8 N", 0.036}} {
		j, err := ReadFS(fstest.MapFS{"open.yaml": {Data: []byte(strings.Replace(text, "FORCE", c.force, 1))}}, "open.yaml")
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(j.Guide.Extension-c.set) > 1e-12 {
			t.Errorf("under %s it is set to %v mm, want %v", c.force, j.Guide.Extension, c.set)
		}
	}
	_, err := ReadFS(fstest.MapFS{"open.yaml": {Data: []byte(strings.Replace(text, "FORCE", "90 N", 1))}}, "open.yaml")
	if err == nil || !strings.Contains(err.Error(), "open.yaml:5:8: guide.extension: the hand alone bends the cutter deeper") {
		t.Errorf("a hand too heavy: %v", err)
	}
}
