package light

import (
	_ "embed"
	"math"
	"strings"
	"testing"
)

//go:embed testdata/metals_xyz.csv
var xyzTable string

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

// Whatever is white must look white: the matrix of IEC 61966-2-1 has four digits.
func TestWhite(t *testing.T) {
	w := linear(Spectrum{}.white())
	for _, v := range []float64{w.R, w.G, w.B} {
		near1(t, "white", v, 1, 2e-3)
	}
}

// XYZ under D65 and A of the metals, computed from the same constants by another
// program (testdata/metals_xyz.csv).
func TestMetalXYZ(t *testing.T) {
	names := map[string]string{"Au": "gold", "Ag": "silver", "Cu": "copper", "Ni": "nickel", "Fe": "steel", "Cr": "chromium", "Ti": "titanium",
		"Pd": "palladium", "Rh": "rhodium plate", "Pt": "platinum", "brass Cu70Zn30": "brass", "brass Cu85Zn15": "gilding metal"}
	n := 0
	for _, f := range csvRows(xyzTable) {
		light := spectrum(t, map[string]string{"D65": "daylight", "A": "tungsten"}[f[1]])
		m := metal(t, names[f[0]])
		x, y, z := light.xyz(func(wavelength float64) float64 { return m.reflectance(1, wavelength, 1) })
		for q, v := range floats(f[2:5]) {
			near1(t, f[0]+" under "+f[1]+" "+"XYZ"[q:q+1], 100*[3]float64{x, y, z}[q], v, 1e-3)
		}
		n++
	}
	if n != 24 {
		t.Errorf("%d rows of metals", n)
	}
}

// The rule for alloys against one whose constants were measured: half gold and half
// silver by atoms (Rioux 2014). Its error is stated in the documentation.
func TestAlloys(t *testing.T) {
	rule := Metal{spectrum: mixed([]ingredient{{"Au", 0.5}, {"Ag", 0.5}})}.Colour(1, Spectrum{}, Spectrum{})
	real := Metal{spectrum: constants()["Au50Ag50"]}.Colour(1, Spectrum{}, Spectrum{})
	t.Logf("half gold, half silver: by the rule %.3f, measured %.3f", rule, real)
	for q, d := range []float64{rule.R - real.R, rule.G - real.G, rule.B - real.B} {
		if math.Abs(d) > 0.07 {
			t.Errorf("component %d is off by %.3f", q, d)
		}
	}
	// A mixture of one metal with itself is that metal.
	a, b := Metal{spectrum: mixed([]ingredient{{"Cu", 0.4}, {"Cu", 0.6}})}, metal(t, "copper")
	near1(t, "copper in copper", a.reflectance(1, 600, 0.8), b.reflectance(1, 600, 0.8), 1e-9)
	// Less gold is paler: fine, 18 and 14 carat.
	last := 0.0
	for _, name := range []string{"gold", "18 carat gold", "14 carat gold", "silver"} {
		c := metal(t, name).Colour(1, Spectrum{}, Spectrum{})
		if c.B/c.R <= last {
			t.Errorf("%s is no paler than richer gold: %v", name, c)
		}
		last = c.B / c.R
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
		"18ct yellow gold": "18 carat gold", "Gold 585": "14 carat gold", "18 carat red gold": "18 carat gold", "22 ct gold": "gold",
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
