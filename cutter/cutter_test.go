package cutter

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const deg = math.Pi / 180

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g ± %.2g", what, got, want, tolerance)
	}
}

// The widths that a given advance makes with the angles in use; the values are
// 2·tan(θ/2), computed apart from the program.
func TestSensitivity(t *testing.T) {
	for _, v := range []struct{ included, want float64 }{
		{90, 2.000}, {120, 3.464}, {130, 4.289}, {140, 5.495}, {150, 7.464},
	} {
		c := Cutter{Included: v.included * deg}
		near(t, "sensitivity", c.Sensitivity(), v.want, 0.0005)
		near(t, "width at 45 µm", c.Width(0.045), 0.045*v.want, 0.0005*0.045)
	}
}

// 120° V: depth over width tan(30°)/2 = 0.288675135; 140°: 0.181985117 (exact,
// 30 digits by mpmath).
func TestDepthOfWidth(t *testing.T) {
	near(t, "120°", Cutter{Included: 120 * deg}.Depth(1), 0.288675135, 5e-10)
	near(t, "140°", Cutter{Included: 140 * deg}.Depth(1), 0.181985117, 5e-10)
	near(t, "flat", Cutter{Included: 120 * deg, Flat: 0.2}.Depth(1.2), 0.288675135, 5e-10)
	near(t, "narrower than its flat", Cutter{Included: 120 * deg, Flat: 0.2}.Depth(0.1), 0, 0)
	near(t, "no depth", Cutter{Included: 120 * deg, Flat: 0.2}.Width(0), 0, 0)
}

func TestWidthAndDepthAreInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCutter(t)
		d := rapid.Float64Range(1e-6, 2).Draw(t, "depth")
		if got := c.Depth(c.Width(d)); math.Abs(got-d) > 1e-9*(1+c.Flat) {
			t.Fatalf("a groove %v deep is %v wide, which reads as %v deep", d, c.Width(d), got)
		}
	})
}

// The section square to a sloping path: the path's V is cut by a plane turned by
// psi, so that a step of s along the section is s·cos psi across the stroke.
func TestNormalHalf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCutter(t)
		psi := rapid.Float64Range(-1.5, 1.5).Draw(t, "psi")
		d := rapid.Float64Range(0.001, 1).Draw(t, "depth")
		// Where does a walk square to the path come to the surface? The tip runs on
		// x = y·tan psi; height above the tip is |x − y·tan psi|·cot α.
		sin, cos := math.Sincos(psi)
		rise := math.Abs(cos+sin*math.Tan(psi)) / math.Tan(c.Half()) // per unit walked
		if half := d / rise; math.Abs(half-d*math.Tan(c.NormalHalf(psi))) > 1e-9*half {
			t.Fatalf("half width %v square to the path, NormalHalf gives %v", half, d*math.Tan(c.NormalHalf(psi)))
		}
	})
	c := Cutter{Included: 130 * deg}
	near(t, "straight path", c.NormalHalf(0), 65*deg, 1e-15)
	near(t, "odd slope", c.NormalHalf(-0.3), c.NormalHalf(0.3), 0)
}

// drawCutter draws a cutter that Check takes.
func drawCutter(t *rapid.T) Cutter {
	c := Cutter{
		Included:  rapid.Float64Range(20, 170).Draw(t, "included") * deg,
		Flat:      rapid.SampledFrom([]float64{0, 0.01, 0.3}).Draw(t, "flat"),
		Clearance: rapid.Float64Range(1, 45).Draw(t, "clearance") * deg,
	}
	if l := c.Check(); len(l) > 0 {
		t.Fatal(l)
	}
	return c
}

func TestCheck(t *testing.T) {
	good := Cutter{Included: 130 * deg, Clearance: 15 * deg}
	if l := good.Check(); l != nil {
		t.Errorf("a good cutter: %v", l)
	}
	for _, v := range []struct {
		name    string
		spoil   func(*Cutter)
		fields  string
		problem string
	}{
		{"no angle", func(c *Cutter) { c.Included = 0 }, "included", "a V of 0 deg"},
		{"negative angle", func(c *Cutter) { c.Included = -2 }, "included", "cannot be used"},
		{"flat plate", func(c *Cutter) { c.Included = math.Pi }, "included", "a V of 180 deg"},
		{"angle not a number", func(c *Cutter) { c.Included = math.NaN() }, "included", "NaN"},
		{"endless angle", func(c *Cutter) { c.Included = math.Inf(1) }, "included", "Inf"},
		{"negative flat", func(c *Cutter) { c.Flat = -0.1 }, "flat", "-0.1 mm"},
		{"flat not a number", func(c *Cutter) { c.Flat = math.NaN() }, "flat", "NaN"},
		{"wide flat", func(c *Cutter) { c.Flat = 30 }, "flat", "30 mm"},
		{"no clearance", func(c *Cutter) { c.Clearance = 0 }, "clearance", "rubs on every cut"},
		{"steep clearance", func(c *Cutter) { c.Clearance = 80 * deg }, "clearance", "80 deg"},
		{"all wrong", func(c *Cutter) { *c = Cutter{Flat: -1} }, "included flat clearance", ""},
	} {
		c := good
		v.spoil(&c)
		l := c.Check()
		var fields []string
		for _, f := range l {
			fields = append(fields, f.Field)
			if f.Mend == "" {
				t.Errorf("%s: no mend", v.name)
			}
		}
		if got := strings.Join(fields, " "); got != v.fields || !strings.Contains(l.Error(), v.problem) {
			t.Errorf("%s: fields %q, want %q with %q\n%v", v.name, got, v.fields, v.problem, l)
		}
	}
}
