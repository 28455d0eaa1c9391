package depth

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"brightcut/fault"
	"pgregory.net/rapid"
)

func close(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }

const degree = math.Pi / 180

// truth is a bench whose values are known.
type truth struct {
	angle, flat, zero, compliance float64
}

func (b truth) width(extension, force float64) float64 {
	return b.flat + 2*math.Tan(b.angle/2)*(extension+b.zero+b.compliance*force)
}

var bench = truth{angle: 129 * degree, flat: 0.004, zero: -0.003, compliance: 0.0003}

// cuts makes test cuts of the bench at extensions and forces, with a scatter.
func (b truth) cuts(extensions, forces []float64, scatter func() float64) (cuts []TestCut) {
	for _, e := range extensions {
		for _, f := range forces {
			cuts = append(cuts, TestCut{Extension: e, Force: f, Width: b.width(e, f) + scatter()})
		}
	}
	return cuts
}

func none() float64 { return 0 }

// even is a fixed scatter of unit variance, nearly normal.
func even(seed uint64) func() float64 {
	return func() float64 {
		var sum float64
		for range 12 {
			seed = seed*6364136223846793005 + 1442695040888963407
			sum += float64(seed>>11) / (1 << 53)
		}
		return sum - 6
	}
}

// The GUM's example H.3 (JCGM 100:2008) is a straight line b = y₁ + y₂·(t − t₀);
// so is the width over the extension. Put into the place of widths (shifted so
// that they are widths, and counted in hundredths so that the angle is one of a
// cutter) it must give the GUM's slope, scatter and predicted value with its
// uncertainty: exact values recomputed from Table H.6.
func TestCalibrateTheThermometerOfTheGUM(t *testing.T) {
	f, err := os.Open("testdata/gum_h3_thermometer.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	const stretch, shift = 1000, 1.0 // 1000·b + slope 2.18 per degree; t in mm
	var cuts []TestCut
	for _, row := range rows[1:] {
		temperature, _ := strconv.ParseFloat(row[1], 64)
		b, _ := strconv.ParseFloat(row[2], 64)
		// Degrees from 24 become hundredths of a millimetre of extension.
		cuts = append(cuts, TestCut{Extension: (temperature - 24) / 100, Width: shift + stretch*(b+0.162)/100})
	}
	c, err := Calibrate(cuts, CalibrationOptions{})
	if err != nil {
		t.Fatal(err)
	}
	slope := 2 * math.Tan(c.Estimates[Angle].Value/2)
	if want := 0.00218269773989 * stretch; !close(slope, want, 1e-9*want) {
		t.Errorf("slope %.12g, want %.12g", slope, want)
	}
	tan := slope / 2
	if got, want := (1+tan*tan)*c.Estimates[Angle].Uncertainty, 0.000667938773228*stretch; !close(got, want, 1e-7*want) {
		t.Errorf("u(slope) %.12g, want %.12g", got, want)
	}
	if want := 0.00349756396 * stretch / 100; !close(c.Scatter, want, 1e-7*want) {
		t.Errorf("scatter %.12g, want %.12g", c.Scatter, want)
	}
	// The GUM's correction at 30 °C is −0.149376812732 ± 0.00413859575. The
	// width that belongs to it is set by the extension of 30 °C, uncertain by
	// that much over the slope.
	s, err := c.Extension(shift+stretch*(-0.149376812732+0.162)/100, "", 0)
	if err != nil {
		t.Fatal(err)
	}
	if !close(s.Extension, (30.0-24)/100, 1e-9) {
		t.Errorf("extension %.12g", s.Extension)
	}
	if want := 0.00413859575 * stretch / 100; !close(s.Width, want, 1e-6*want) {
		t.Errorf("width ± %.12g, want %.12g", s.Width, want)
	}
}

// Test cuts without scatter give the bench back, as far as they can.
func TestCalibrateFindsTheBench(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := truth{
			angle:      rapid.Float64Range(85, 150).Draw(t, "angle") * degree,
			flat:       rapid.Float64Range(0, 0.02).Draw(t, "flat"),
			zero:       rapid.Float64Range(-0.01, 0.01).Draw(t, "zero"),
			compliance: rapid.Float64Range(0.0001, 0.0006).Draw(t, "compliance"),
		}
		cuts := b.cuts([]float64{0.02, 0.04, 0.06}, []float64{5, 12, 20}, none)
		c, err := Calibrate(cuts, CalibrationOptions{Uncertainty: 0.001})
		if err != nil {
			t.Fatal(err)
		}
		e := c.Estimates
		if !e[Angle].Known || !close(e[Angle].Value, b.angle, 1e-9) || !e[Compliance].Known || !close(e[Compliance].Value, b.compliance, 1e-9) {
			t.Fatalf("%+v", e)
		}
		if e[Flat].Known || e[Zero].Known || !strings.Contains(e[Flat].Add, "microscope") || e[Flat].Value != 0 {
			t.Fatalf("flat and zero are told apart: %+v", e)
		}
		if len(c.Missing()) != 2 {
			t.Fatalf("%v", c.Missing())
		}
		// They enter as one, so the setting is known all the same.
		s, err := c.Extension(0.193, "", 12)
		if err != nil || !close(b.width(s.Extension, 12), 0.193, 1e-9) {
			t.Fatalf("%+v %v", s, err)
		}
		// With the flat measured, all is known.
		c, err = Calibrate(cuts, CalibrationOptions{Uncertainty: 0.001, Flat: &Known{b.flat, 0.001}})
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Missing()) != 0 || !close(c.Estimates[Zero].Value, b.zero, 1e-8) || !close(c.Estimates[Flat].Value, b.flat, 1e-8) {
			t.Fatalf("%+v", c.Estimates)
		}
		// The flat stays as uncertain as it was given: no cut bears on it alone.
		if !close(c.Estimates[Flat].Uncertainty, 0.001, 1e-9) {
			t.Fatalf("flat ± %v", c.Estimates[Flat].Uncertainty)
		}
	})
}

// The stated uncertainties are those that come out over many sets of cuts.
func TestCalibrateUncertainty(t *testing.T) {
	const sets, scatter = 400, 0.0015
	var angle, compliance, setting, u2angle, u2compliance, u2setting float64
	for seed := range uint64(sets) {
		random := even(seed + 1)
		cuts := bench.cuts([]float64{0.02, 0.03, 0.045, 0.06}, []float64{5, 12, 20}, func() float64 { return scatter * random() })
		c, err := Calibrate(cuts, CalibrationOptions{Flat: &Known{bench.flat, 0.0005}})
		if err != nil {
			t.Fatal(err)
		}
		s, err := c.Extension(0.193, "", 12)
		if err != nil {
			t.Fatal(err)
		}
		e := c.Estimates
		angle += (e[Angle].Value - bench.angle) * (e[Angle].Value - bench.angle) / sets
		compliance += (e[Compliance].Value - bench.compliance) * (e[Compliance].Value - bench.compliance) / sets
		want := (0.193-bench.flat)/(2*math.Tan(bench.angle/2)) - bench.zero - bench.compliance*12
		setting += (s.Extension - want) * (s.Extension - want) / sets
		u2angle += e[Angle].Uncertainty * e[Angle].Uncertainty / sets
		u2compliance += e[Compliance].Uncertainty * e[Compliance].Uncertainty / sets
		u2setting += s.Uncertainty * s.Uncertainty / sets
	}
	for _, c := range []struct {
		what        string
		found, said float64
	}{{"angle", angle, u2angle}, {"compliance", compliance, u2compliance}, {"setting", setting, u2setting}} {
		if q := math.Sqrt(c.found / c.said); q < 0.88 || q > 1.12 {
			t.Errorf("%s: scatters %.2f times as much as its uncertainty says", c.what, q)
		}
	}
}

// Hands by name: what is told depends on what is known of them.
func TestHands(t *testing.T) {
	force := map[string]float64{"light": 6, "usual": 12, "firm": 21}
	var cuts []TestCut
	for _, e := range []float64{0.02, 0.04, 0.06} {
		for _, hand := range []string{"light", "usual", "firm"} {
			cuts = append(cuts, TestCut{Extension: e, Hand: hand, Width: bench.width(e, force[hand])})
		}
	}
	find := func(c *Calibration, name string) Estimate {
		for _, e := range c.Estimates {
			if strings.HasPrefix(e.Name, name) {
				return e
			}
		}
		t.Fatalf("no %s in %+v", name, c.Estimates)
		return Estimate{}
	}
	run := func(hands []Hand, zero *Known) *Calibration {
		c, err := Calibrate(cuts, CalibrationOptions{Uncertainty: 0.001, Flat: &Known{bench.flat, 0.0001}, Zero: zero, Hands: hands})
		if err != nil {
			t.Fatal(err)
		}
		for _, hand := range []string{"light", "usual", "firm"} {
			s, err := c.Extension(0.193, hand, 0)
			if err != nil || !close(bench.width(s.Extension, force[hand]), 0.193, 1e-8) {
				t.Errorf("%v: the setting for the %s hand gives %v: %v", hands, hand, bench.width(s.Extension, force[hand]), err)
			}
		}
		return c
	}
	// Nothing known: only the differences from the usual hand's flex.
	c := run(nil, nil)
	if c.ZeroAtUsual != "usual" || find(c, "compliance").Known || !strings.Contains(find(c, "compliance").Add, "newtons") {
		t.Errorf("%+v", c.Estimates)
	}
	if e := find(c, "flex of the firm hand, more than of the usual"); !close(e.Value, bench.compliance*9, 1e-8) {
		t.Errorf("%+v", e)
	}
	if e := find(c, "zero error, with the flex of the usual hand"); !close(e.Value, bench.zero+bench.compliance*12, 1e-8) {
		t.Errorf("%+v", e)
	}
	// A shared scale: the flex at the usual hand, but no compliance.
	c = run([]Hand{{Name: "light", Share: 0.5}, {Name: "usual", Share: 1}, {Name: "firm", Share: 1.75}}, nil)
	if e := find(c, "flex at the usual hand"); !e.Known || !close(e.Value, bench.compliance*12, 1e-8) || find(c, "compliance").Known || !close(find(c, "zero error").Value, bench.zero, 1e-8) {
		t.Errorf("%+v", c.Estimates)
	}
	// Newtons of two hands: everything, and the third hand's flex.
	c = run([]Hand{{Name: "light", Newtons: 6}, {Name: "usual", Newtons: 12}}, nil)
	if e := find(c, "flex of the firm hand"); !close(find(c, "compliance").Value, bench.compliance, 1e-8) || !close(e.Value, bench.compliance*21, 1e-8) {
		t.Errorf("%+v", c.Estimates)
	}
	// Newtons of one hand alone do not part compliance and zero error …
	c = run([]Hand{{Name: "usual", Newtons: 12}}, nil)
	if e := find(c, "compliance"); e.Known || !strings.Contains(e.Why, "zero error") || !strings.Contains(e.Add, "another hand") {
		t.Errorf("%+v", e)
	}
	// … until the zero is known.
	c = run([]Hand{{Name: "usual", Newtons: 12}}, &Known{bench.zero, 0.0001})
	if e := find(c, "compliance"); !e.Known || !close(e.Value, bench.compliance, 1e-7) {
		t.Errorf("%+v", e)
	}
	if _, err := c.Extension(0.193, "heavy", 0); err == nil || !strings.Contains(err.Error(), "no test cut was made with the heavy hand") {
		t.Errorf("%v", err)
	}
}

// An angle given by the maker counts as one more observation.
func TestKnownAngle(t *testing.T) {
	cuts := bench.cuts([]float64{0.02, 0.04, 0.06}, []float64{5, 20}, none)
	alone, err := Calibrate(cuts, CalibrationOptions{Uncertainty: 0.002})
	if err != nil {
		t.Fatal(err)
	}
	prior := Known{130 * degree, 1 * degree}
	both, err := Calibrate(cuts, CalibrationOptions{Uncertainty: 0.002, Angle: &prior})
	if err != nil {
		t.Fatal(err)
	}
	// The weighted mean of two values (JCGM 100 or any text on least squares).
	a, u := alone.Estimates[Angle].Value, alone.Estimates[Angle].Uncertainty
	w, v := 1/(u*u), 1/(prior.Uncertainty*prior.Uncertainty)
	if got, want := both.Estimates[Angle].Value, (a*w+prior.Value*v)/(w+v); !close(got, want, 2e-4) {
		t.Errorf("angle %v°, want %v°", got/degree, want/degree)
	}
	if got, want := both.Estimates[Angle].Uncertainty, math.Sqrt(1/(w+v)); !close(got, want, 0.02*want) {
		t.Errorf("± %v°, want %v°", got/degree, want/degree)
	}
}

func TestOutlier(t *testing.T) {
	random := even(4)
	cuts := bench.cuts([]float64{0.02, 0.03, 0.04, 0.05}, []float64{5, 12, 20}, func() float64 { return 0.001 * random() })
	clean, err := Calibrate(cuts, CalibrationOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(clean.Outliers) != 0 {
		t.Errorf("outliers in clean cuts: %+v", clean.Outliers)
	}
	cuts[7].Width += 0.012
	cuts[7].Name = "the one with a chip"
	for _, uncertainty := range []float64{0, 0.001} {
		c, err := Calibrate(cuts, CalibrationOptions{Uncertainty: uncertainty})
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Outliers) != 1 || c.Outliers[0].Name != "the one with a chip" || c.Outliers[0].Index != 7 || !(c.Outliers[0].Studentised > c.Outliers[0].Limit) {
			t.Errorf("%v: %+v", uncertainty, c.Outliers)
		}
	}
}

// The cut advised does what it promises, and no other that was tried does better.
func TestNext(t *testing.T) {
	cuts := bench.cuts([]float64{0.03, 0.04, 0.05}, []float64{10, 12}, none)
	opts := CalibrationOptions{Uncertainty: 0.001}
	c, err := Calibrate(cuts, opts)
	if err != nil {
		t.Fatal(err)
	}
	aim := Aim{Width: 0.3, Force: 20}
	next, err := c.Next(aim)
	if err != nil {
		t.Fatal(err)
	}
	uncertainty := func(e, f float64) float64 {
		more, err := Calibrate(append(append([]TestCut(nil), cuts...), TestCut{Extension: e, Force: f, Width: bench.width(e, f)}), opts)
		if err != nil {
			t.Fatal(err)
		}
		s, err := more.Extension(aim.Width, "", aim.Force)
		if err != nil {
			t.Fatal(err)
		}
		return s.Uncertainty
	}
	got := uncertainty(next.Extension, next.Force)
	if !close(got, next.After, 1e-6) || !(next.After < next.Before) {
		t.Errorf("promised ± %v, got ± %v, before ± %v", next.After, got, next.Before)
	}
	for _, e := range []float64{0.015, 0.03, 0.045, 0.06, 0.075} {
		for _, f := range []float64{10, 12} {
			if u := uncertainty(e, f); u < got-1e-9 {
				t.Errorf("%v mm with %v N leaves ± %v, the cut advised ± %v", e, f, u, got)
			}
		}
	}
	if !strings.Contains(next.Text, "µm with 10 N") && !strings.Contains(next.Text, "µm with 12 N") {
		t.Errorf("%q", next.Text)
	}
	// One hand alone: the cut that parts compliance and zero comes first.
	one, err := Calibrate(bench.cuts([]float64{0.03, 0.04, 0.05}, []float64{12}, none), CalibrationOptions{Uncertainty: 0.001, Hands: []Hand{{Name: "firm", Newtons: 20}}})
	if err != nil {
		t.Fatal(err)
	}
	if next, err := one.Next(Aim{}); err != nil || !next.Settles || next.Hand != "firm" {
		t.Errorf("%+v %v", next, err)
	}
}

// A setting that the cuts do not determine is refused, and doubtful results are
// remarked upon.
func TestSettingRefusedAndDoubts(t *testing.T) {
	cuts := bench.cuts([]float64{0.02, 0.04, 0.06}, []float64{12}, none)
	c, err := Calibrate(cuts, CalibrationOptions{Uncertainty: 0.001})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := c.Extension(0.193, "", 12); err != nil {
		t.Errorf("the hand that was tried: %v", err)
	}
	if s, err := c.Extension(0.193, "", 20); err == nil || !strings.Contains(err.Error(), "do not determine the setting") || !strings.Contains(err.Error(), "another hand") {
		t.Errorf("a hand of 20 N: %+v %v", s, err)
	}
	if _, err := c.Next(Aim{Width: 0.193, Force: 20}); err == nil {
		t.Error("a cut was advised for an aim that is not determined")
	}
	below, err := Calibrate(cuts, CalibrationOptions{Uncertainty: 0.001, Zero: &Known{0.02, 0.0001}, Compliance: &Known{0.0003, 0.00001}})
	if err != nil {
		t.Fatal(err)
	}
	if len(below.Remarks) != 1 || !strings.Contains(below.Remarks[0], "tip flat comes out below nothing") {
		t.Errorf("%v", below.Remarks)
	}
	random := even(3)
	loud, err := Calibrate(bench.cuts([]float64{0.02, 0.03, 0.04, 0.06}, []float64{5, 12}, func() float64 { return 0.003 * random() }), CalibrationOptions{Uncertainty: 0.0005})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(strings.Join(loud.Remarks, " "), "times as much as their stated uncertainty") {
		t.Errorf("%v %v", loud.Birge, loud.Remarks)
	}
}

func TestCalibrateFaults(t *testing.T) {
	good := bench.cuts([]float64{0.02, 0.04, 0.06}, []float64{5, 12}, none)
	for _, c := range []struct {
		cuts []TestCut
		opts CalibrationOptions
		want string
	}{
		{nil, CalibrationOptions{}, "there are no test cuts"},
		{good[:1], CalibrationOptions{Uncertainty: 0.001}, "included angle: it is not determined"},
		{bench.cuts([]float64{0.04}, []float64{5, 12, 20}, none), CalibrationOptions{Uncertainty: 0.001}, "add a test cut at another extension"},
		{bench.cuts([]float64{0.02, 0.04}, []float64{12}, none), CalibrationOptions{}, "nothing to tell the scatter of the widths by"},
		{[]TestCut{{Extension: 0.02, Width: 0.2}, {Extension: 0.04, Width: 0.1}}, CalibrationOptions{}, "do not grow with the extension"},
		{[]TestCut{{Extension: 45, Width: 0.2}}, CalibrationOptions{}, "cuts[0].extension: 45 mm is no extension"},
		{[]TestCut{{Extension: 0.04, Width: math.NaN()}}, CalibrationOptions{}, "cuts[0].width: NaN mm is no width"},
		{[]TestCut{{Extension: 0.00004, Width: 0.08}, {Extension: 0.00006, Width: 0.16}}, CalibrationOptions{Uncertainty: 0.001}, "would need an included angle of 179."},
		{good, CalibrationOptions{Angle: &Known{130, 1}}, "angle: 130 is out of all bounds"},
		{good, CalibrationOptions{Flat: &Known{0, 0}}, "nothing is known exactly"},
		{good, CalibrationOptions{Hands: []Hand{{Name: "x", Newtons: math.Inf(1)}}}, "hands[0]"},
	} {
		_, err := Calibrate(c.cuts, c.opts)
		var list fault.List
		if !errors.As(err, &list) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("want %q in %v", c.want, err)
		}
	}
}

func TestReadTestCuts(t *testing.T) {
	cuts, err := ReadTestCuts(strings.NewReader("name;extension um;width mm;hand;force N\nA1;45;0,193;firm;\nA2;30;0,131;;12,5\n"), "cuts.csv")
	if err != nil {
		t.Fatal(err)
	}
	if a := cuts[0]; a.Name != "A1" || !close(a.Extension, 0.045, 1e-15) || a.Width != 0.193 || a.Hand != "firm" || a.Force != 0 || a.Origin.Line != 2 {
		t.Errorf("%+v", a)
	}
	if b := cuts[1]; b.Force != 12.5 || b.Hand != "" {
		t.Errorf("%+v", b)
	}
	for text, want := range map[string]string{
		"extension,width\n45,193\n":                "gives no unit for extension",
		"extension mm,width mm\n45,0.193\n":        "cuts.csv:2:1: extension: 45 mm is no extension of a cutter",
		"extension um,width um\n45,0\n":            "cuts.csv:2:1: width: 0 mm is no width of a groove",
		"extension um,hand\n45,firm\n":             "names no column width",
		"extension um,width um,force N\n45,1,-3\n": "force: -3 N is no force of a hand",
	} {
		if _, err := ReadTestCuts(strings.NewReader(text), "cuts.csv"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: want %q in %v", text, want, err)
		}
	}
}

func BenchmarkCalibrate(b *testing.B) {
	random := even(8)
	cuts := bench.cuts([]float64{0.02, 0.03, 0.04, 0.05, 0.06}, []float64{5, 12, 20}, func() float64 { return 0.001 * random() })
	var angle float64
	for b.Loop() {
		c, err := Calibrate(cuts, CalibrationOptions{Flat: &Known{0.004, 0.001}})
		if err != nil {
			b.Fatal(err)
		}
		angle = c.Estimates[Angle].Value
	}
	b.ReportMetric(angle/degree, "degrees")
	b.ReportMetric(15*float64(b.N)/b.Elapsed().Seconds(), "cuts/s")
}
