package examples_test

import (
	"io/fs"
	"math"
	"path"
	"testing"

	"brightcut/depth"
	"brightcut/examples"
)

// The bowed dial is there to show three things: by the guide alone the width
// fails in the closing cuts and nowhere else; by the stop alone it fails on the
// bow; planned, it stays within a twentieth. (That a full circle of rays loses the
// guide at a handful of closing cuts is common practice, no source.)
func TestBowedDial(t *testing.T) {
	j, list := read(t, "bowed-dial")
	if n := len(j.Stock.Readings.Points); n != 60 {
		t.Fatalf("the blank was read at %d places, want 60", n)
	}
	if j.Calibration == nil || j.Calibration.Date != "2031-03-14" {
		t.Fatalf("the test cuts of its cutter and guide are not used: %+v", j.Calibration)
	}
	form, err := j.Form()
	if err != nil {
		t.Fatal(err)
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range list.Cuts {
		for _, p := range c.Pieces {
			for _, v := range p.Path {
				z, _, in := form.At(vec(v))
				if !in {
					t.Fatalf("cut %d leaves the readings", c.Number)
				}
				low, high = min(low, z), max(high, z)
			}
		}
	}
	if bow := high - low; bow < 0.08 || bow > 0.11 {
		t.Errorf("the blank is bowed by %.3f mm, about 0.1 is due", bow)
	}
	plan, work, err := j.Plan(t.Context(), list)
	if err != nil {
		t.Fatal(err)
	}
	spread := map[string]depth.Spread{}
	for _, s := range plan.Compared {
		spread[s.Name] = s
	}
	wish := j.Setup.Cutter.Width(j.Setup.Depth)
	off := func(s depth.Spread) float64 { return max(s.Width.Max-wish, wish-s.Width.Min) / wish }

	guided, err := depth.Predict(t.Context(), work, []depth.Hold{{First: 1, Last: 360, By: depth.ByGuide}}, plan.Tolerance)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range guided.Cuts {
		if fails := c.Out > 0; fails != (c.Number > 356) {
			t.Errorf("by the guide alone cut %d is %.1f to %.1f µm wide, %.1f wished", c.Number, 1000*c.Width.Min, 1000*c.Width.Max, 1000*wish)
		}
	}
	if g := spread["guide only"]; g.Out != 4 || off(g) < 0.2 {
		t.Errorf("by the guide alone %d cuts fail, by up to %.0f %%", g.Out, 100*off(g))
	}
	if s := spread["stop only"]; s.Out < 300 || off(s) < 0.5 {
		t.Errorf("by the stop alone %d cuts fail, by up to %.0f %%", s.Out, 100*off(s))
	}
	if p := spread["plan"]; p.Out != 0 || off(p) > 0.05 {
		t.Errorf("planned, %d cuts fail, the width is off by %.1f %%", p.Out, 100*off(p))
	}
	if n := len(plan.Holds); n != 2 || plan.Holds[0].By != depth.ByGuide || plan.Holds[1].By != depth.ByStop || plan.Holds[1].Last-plan.Holds[1].First > 12 {
		t.Errorf("the plan holds %v", plan.Holds)
	}
	// Guide and stop meet without a step that would show as one.
	if s := plan.Prediction.Spread; s.Step > 0.004 {
		t.Errorf("neighbours differ by %.1f µm at cut %d", 1000*s.Step, s.StepTo)
	}
}

// What was kept of a cutter and a guide is what its test cuts tell.
func TestTestCutsTellWhatWasKept(t *testing.T) {
	j, _ := read(t, "bowed-dial")
	files, err := fs.Glob(examples.Workshop, "testcuts/*.csv")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	f, err := examples.Workshop.Open(j.Calibration.From)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	cuts, err := depth.ReadTestCuts(f, path.Base(j.Calibration.From))
	if err != nil {
		t.Fatal(err)
	}
	found, err := depth.Calibrate(cuts, depth.CalibrationOptions{
		Hands: []depth.Hand{{Name: "light", Newtons: 4}, {Name: "usual", Newtons: 8}, {Name: "firm", Newtons: 14}}, Flat: &depth.Known{Value: 0.002, Uncertainty: 0.001}})
	if err != nil {
		t.Fatal(err)
	}
	for i, kept := range []*depth.Known{j.Calibration.Angle, j.Calibration.Flat, j.Calibration.Zero, j.Calibration.Compliance} {
		if e := found.Estimates[i]; math.Abs(kept.Value-e.Value) > e.Uncertainty/50 {
			t.Errorf("%s: kept %v, found %v ± %v", e.Name, kept.Value, e.Value, e.Uncertainty)
		}
	}
	// They were made with 130.3°, a zero 1.5 µm off and 0.28 µm/N; three standard
	// uncertainties hold all but one in 370.
	for i, truth := range []float64{130.3 * deg, 0.002, 0.0015, 0.00028} {
		if e := found.Estimates[i]; math.Abs(e.Value-truth) > 3*e.Uncertainty {
			t.Errorf("%s: %v ± %v, made with %v", e.Name, e.Value, e.Uncertainty, truth)
		}
	}
	// The guide is set as they say.
	s, err := found.Extension(j.Setup.Cutter.Width(j.Setup.Depth), "usual", 0)
	if err != nil || math.Abs(s.Extension-j.Guide.Extension) > 0.0003 {
		t.Errorf("the extension to set is %v mm, the guide has %v: %v", s.Extension, j.Guide.Extension, err)
	}
}
