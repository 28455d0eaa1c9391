package light

import (
	"math"
	"testing"
)

func spectrum(t testing.TB, name string) Spectrum {
	t.Helper()
	s, err := SpectrumNamed(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Chromaticities of the lights: D65 and A computed from the CIE's tables at 5 nm from
// 380 to 780 nm; D50 and F11 as CIE 15 gives them to four digits (from memory).
func TestLights(t *testing.T) {
	for _, c := range []struct {
		name string
		x, y float64
		to   float64
	}{
		{"daylight", 0.3127205, 0.3290307, 2e-6},
		{"tungsten", 0.4475750, 0.4074457, 2e-6},
		{"sunlit window", 0.3457, 0.3585, 1e-4},
		{"fluorescent", 0.3805, 0.3769, 1e-4},
	} {
		x, y, z := spectrum(t, c.name).white()
		near1(t, c.name+" x", x/(x+y+z), c.x, c.to)
		near1(t, c.name+" y", y/(x+y+z), c.y, c.to)
		near1(t, c.name+" Y", y, 1, 1e-12)
	}
	// The LED is a model. It should be a white of some 4000 K: by McCamy's formula for
	// the colour temperature (Color Research and Application 17:142, 1992; constants
	// from memory), and near the colour of a black body there, 0.3805, 0.3768.
	x, y, z := spectrum(t, "LED").white()
	x, y = x/(x+y+z), y/(x+y+z)
	n := (x - 0.3320) / (0.1858 - y)
	kelvin := ((449*n+3525)*n+6823.3)*n + 5520.33
	t.Logf("LED: x %.4f, y %.4f, %.0f K", x, y, kelvin)
	near1(t, "colour temperature of the LED", kelvin, 4000, 200)
	if d := math.Hypot(x-0.3805, y-0.3768); d > 0.012 {
		t.Errorf("the LED is %.4f from a black body's white", d)
	}
}

// An eye that takes a light for white sees a perfect mirror white in it (Bradford's
// method, ICC.1 annex E), and one used to daylight sees tungsten light orange.
func TestAdaptation(t *testing.T) {
	for _, s := range Spectra() {
		x, y, z := s.white()
		w := seenBy(s, x, y, z)
		for _, v := range []float64{w.R, w.G, w.B} {
			near1(t, "white in "+s.Name, v, 1, 2e-3) // the matrix of sRGB has four digits
		}
		c := seenBy(Spectrum{}, x, y, z)
		if s.Name == "tungsten" && !(c.R > 1.3 && c.B < 0.4) {
			t.Errorf("tungsten light is %v to an eye used to daylight", c)
		}
	}
	for i := range 3 {
		for j := range 3 {
			var v float64
			for k := range 3 {
				v += bradford[i][k] * cones[k][j]
			}
			want := 0.0
			if i == j {
				want = 1
			}
			near1(t, "Bradford's matrix times its inverse", v, want, 2e-6)
		}
	}
}

func TestSpectrumNamed(t *testing.T) {
	if s := spectrum(t, " Tungsten "); s.Name != "tungsten" {
		t.Errorf("tungsten is %q", s.Name)
	}
	if _, err := SpectrumNamed("candle"); err == nil {
		t.Error("a candle's light is known")
	}
}
