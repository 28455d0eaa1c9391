package light

import (
	"math"
	"strings"
	"testing"
)

func near1(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.9g, want %.9g ± %g", what, got, want, within)
	}
}

// Reflectance at normal incidence by Fresnel's formula, from the published n and
// k at the measured wavelengths (sources in data/constants.csv; the values were
// computed from them with another program). They guard the embedded table row by
// row against a slip of digits.
func TestNormalReflectance(t *testing.T) {
	for _, c := range []struct {
		metal            string
		wavelength, want float64
	}{
		{"gold", 548.6, 0.786916},
		{"gold", 616.8, 0.930978},
		{"silver", 548.6, 0.982836},
		{"copper", 548.6, 0.619450},
		{"copper", 616.8, 0.899683},
		{"nickel", 549, 0.643760},
		{"steel", 549, 0.512143},
		{"aluminium", 550, 0.915678},
		{"brass", 550, 0.788713},
	} {
		m := metal(t, c.metal)
		near1(t, c.metal, fresnel(m.at(c.wavelength), 1), c.want, 1e-6)
	}
}

// Oblique incidence, unpolarised: gold as above, and glass of n = 1.5, for which
// Fresnel's formulas give 0.089187 at 60° where Schlick's approximation has 0.07.
func TestObliqueReflectance(t *testing.T) {
	near1(t, "gold at 60°", fresnel(metal(t, "gold").at(616.8), 0.5), 0.925018, 1e-6)
	near1(t, "glass at 60°", fresnel(1.5, 0.5), 0.089187, 1e-6)
	near1(t, "glass at 0°", fresnel(1.5, 1), 0.04, 1e-12)
	// Brewster's angle, tan = n: the p component vanishes, so R = s²/2 with
	// s = (n²−1)/(n²+1).
	near1(t, "glass at Brewster's angle", fresnel(1.5, 1/math.Sqrt(1+2.25)), math.Pow(1.25/3.25, 2)/2, 1e-12)
	near1(t, "grazing", fresnel(metal(t, "copper").at(550), 1e-9), 1, 1e-6)
}

// CIE 15 gives D65 as x = 0.31272, y = 0.32903 and A as 0.44758, 0.40745
// (380 to 780 nm every 5 nm).
func TestIlluminants(t *testing.T) {
	for _, c := range []struct {
		name string
		x, y float64
	}{
		{"daylight", 0.3127205, 0.3290307},
		{"tungsten", 0.4475750, 0.4074457},
	} {
		s, err := SpectrumNamed(c.name)
		if err != nil {
			t.Fatal(err)
		}
		x, y, z := s.white()
		near1(t, c.name+" x", x/(x+y+z), c.x, 2e-6)
		near1(t, c.name+" y", y/(x+y+z), c.y, 2e-6)
	}
	// Whatever is white must look white: the matrix of IEC 61966-2-1 has four
	// digits.
	w := linear(Spectrum{}.white())
	for _, v := range []float64{w.R, w.G, w.B} {
		near1(t, "white", v, 1, 2e-3)
	}
}

// IEC 61966-2-1: worked values as in the tests of the colour-science library.
func TestSRGB(t *testing.T) {
	c := linear(0.20654008, 0.12197225, 0.05136952)
	near1(t, "R", encode(c.R), 0.70573936, 2e-5)
	near1(t, "G", encode(c.G), 0.19248266, 2e-4)
	near1(t, "B", encode(c.B), 0.22354169, 2e-4)
	near1(t, "0.18", encode(0.18), 0.4613561295, 1e-9)
	near1(t, "128/255", encode(0.2158605001), 128.0/255, 1e-9)
	for b := range 256 {
		// Decoding a byte (the inverse of encode, by hand) must give it back.
		v := float64(b) / 255
		l := v / 12.92
		if v > 0.04045 {
			l = math.Pow((v+0.055)/1.055, 2.4)
		}
		if got := levels()[int(l*(1<<16)+0.5)]; int(got) != b {
			t.Errorf("byte %d comes back as %d", b, got)
		}
	}
}

// Colours under D65, from the same constants by another program: XYZ of gold,
// and linear sRGB.
func TestMetalColours(t *testing.T) {
	gold := metal(t, "gold")
	x, y, z := Spectrum{}.xyz(func(wavelength float64) float64 { return fresnel(gold.at(wavelength), 1) })
	near1(t, "gold X", x, 0.754138, 1e-5)
	near1(t, "gold Y", y, 0.767848, 1e-5)
	near1(t, "gold Z", z, 0.453343, 1e-5)
	for _, c := range []struct {
		metal string
		want  RGB
	}{
		{"gold", RGB{1.0375, 0.7284, 0.3646}},
		{"silver", RGB{0.9892, 0.9840, 0.9778}},
		{"copper", RGB{0.9316, 0.6227, 0.5223}},
		{"nickel", RGB{0.6970, 0.6405, 0.5632}},
		{"steel", RGB{0.5296, 0.5132, 0.4942}},
		{"palladium", RGB{0.7326, 0.6969, 0.6524}},
		{"aluminium", RGB{0.9061, 0.9162, 0.9225}},
		{"brass", RGB{0.9096, 0.7783, 0.4228}},
		{"gilding metal", RGB{0.9124, 0.7142, 0.4199}},
		{"platinum", RGB{0.9549, 0.9346, 0.8344}},
		{"stainless steel", RGB{0.6693, 0.6389, 0.5984}},
	} {
		got := metal(t, c.metal).Colour(1, Spectrum{}, Spectrum{})
		near1(t, c.metal+" R", got.R, c.want.R, 3e-4)
		near1(t, c.metal+" G", got.G, c.want.G, 3e-4)
		near1(t, c.metal+" B", got.B, c.want.B, 3e-4)
	}
}

// Gold lies outside sRGB (R = 1.0375 for a perfect mirror of gold). The rule: its
// largest component is brought below 1 and the others keep their ratio to it;
// nothing is cut off by itself.
func TestGoldStaysGold(t *testing.T) {
	gold := metal(t, "gold").Colour(1, Spectrum{}, Spectrum{})
	if gold.R <= 1 {
		t.Fatalf("gold has R = %v; it should be outside sRGB", gold.R)
	}
	for _, bright := range []float64{0.1, 0.5, 0.9, 1, 1.3} {
		in := gold.scale(bright)
		out := tone(in)
		if m := max(out.R, out.G, out.B); m > 1 || min(out.R, out.G, out.B) < 0 {
			t.Errorf("at %v: %v is outside the screen's range", bright, out)
		}
		near1(t, "G/R", out.G/out.R, in.G/in.R, 0.02)
		near1(t, "B/R", out.B/out.R, in.B/in.R, 0.05)
	}
	last := 0.0
	for l := 0.0; l < 40; l += 0.01 {
		c := tone(gold.scale(l))
		// Luminance by IEC 61966-2-1.
		if y := 0.2126*c.R + 0.7152*c.G + 0.0722*c.B; y < last {
			t.Fatalf("tone falls at a radiance of %v", l)
		} else {
			last = y
		}
	}
}

func TestGlance(t *testing.T) {
	for _, m := range Metals() {
		g := Stuff{Metal: m}.glance(Spectrum{}, Spectrum{})
		for c := math.Cos(75 * math.Pi / 180); c <= 1; c += 0.007 {
			want, got := m.Colour(c, Spectrum{}, Spectrum{}), g.at(c)
			if d := max(math.Abs(got.R-want.R), math.Abs(got.G-want.G), math.Abs(got.B-want.B)); d > 0.002 {
				t.Fatalf("%s at a cosine of %v: %v, want %v", m.Name, c, got, want)
			}
		}
	}
}

func TestMetalNamed(t *testing.T) {
	for in, want := range map[string]string{
		"silver": "silver", " Fine  Gold": "gold", "sterling silver": "silver", "leaded brass": "brass",
		"nickel silver": "nickel silver", "mild steel": "steel", "old stainless steel": "stainless steel",
	} {
		if m, err := MetalNamed(in); err != nil || m.Name != want {
			t.Errorf("%q is %q, %v; want %q", in, m.Name, err, want)
		}
	}
	for in, want := range map[string]string{
		"sliver": "silver", "cooper": "copper", "bras": "brass", "aluminum": "aluminium", "wood": "known are silver, gold",
		"": "known are", strings.Repeat("gold", 1000): "known are",
	} {
		if _, err := MetalNamed(in); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v does not offer %q", in[:min(len(in), 20)], err, want)
		}
	}
}
