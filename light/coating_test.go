package light

import (
	"math"
	"testing"
)

// A film of no thickness is bare metal; one of the metal's own index too.
func TestNoFilm(t *testing.T) {
	for _, c := range []float64{1, 0.7, 0.3} {
		for _, m := range []complex128{2.9 + 3.1i, 0.06 + 3.6i} {
			near1(t, "no thickness", film{2.4, 0}.reflectance(1, m, 550, c), fresnel(m, c), 1e-12)
			near1(t, "the same metal", film{m, 40}.reflectance(1, m, 550, c), fresnel(m, c), 1e-12)
			near1(t, "no thickness, under glass", film{2.4, 0}.reflectance(1.5, m, 550, c), fresnel(m/1.5, c), 1e-12)
		}
	}
}

// A quarter of a wave of index √n on glass of index n throws nothing back; of index
// n₁ it throws back ((n₁² − n)/(n₁² + n))² (Born and Wolf, 1.6.4; the classical
// coating of magnesium fluoride, 1.38 on 1.52, gives 1.26 %). Half a wave does nothing.
func TestQuarterWave(t *testing.T) {
	quarter := func(n float64) float64 { return 550 / (4 * n) }
	n := math.Sqrt(1.52)
	near1(t, "√n", film{complex(n, 0), quarter(n)}.reflectance(1, 1.52, 550, 1), 0, 1e-12)
	near1(t, "1.38", film{1.38, quarter(1.38)}.reflectance(1, 1.52, 550, 1), math.Pow((1.38*1.38-1.52)/(1.38*1.38+1.52), 2), 1e-12)
	near1(t, "half a wave", film{1.38, 2 * quarter(1.38)}.reflectance(1, 1.52, 550, 1), fresnel(1.52, 1), 1e-12)
}

// No film throws back more than it gets, and a thick dark one hides the metal.
func TestFilmEnergy(t *testing.T) {
	for _, m := range Metals() {
		for w := 380.0; w <= 780; w += 20 {
			for _, c := range []float64{1e-3, 0.2, 0.6, 1} {
				for _, n := range []float64{1, EnamelIndex} {
					if r := m.reflectance(n, w, c); !(r >= 0 && r <= 1+1e-12) {
						t.Fatalf("%s at %v nm, cosine %v: reflectance %v", m.Name, w, c, r)
					}
				}
			}
		}
	}
	dark := film{2.3 + 0.6i, 3000}
	near1(t, "thick", dark.reflectance(1, 0.06+3.6i, 550, 1), fresnel(2.3+0.6i, 1), 1e-4)
}

// Steel that is heated goes from straw over purple to blue as its oxide grows
// (common practice, no source).
func TestTemperColours(t *testing.T) {
	c := func(name string) RGB { return metal(t, name).Colour(1, Spectrum{}, Spectrum{}) }
	straw, blue, black := c("straw steel"), c("blued steel"), c("blackened steel")
	if !(straw.R > straw.G && straw.G > 1.3*straw.B) {
		t.Errorf("straw is %v", straw)
	}
	if !(blue.B > 2*blue.G && blue.G > blue.R) {
		t.Errorf("blue is %v", blue)
	}
	if max(black.R, black.G, black.B) > 0.25 || black.R/black.B > 1.05 || black.B/black.R > 1.05 {
		t.Errorf("black is %v", black)
	}
	purple := Metal{Name: "purple", spectrum: constants()["Fe"], film: film{magnetite, 40}}.Colour(1, Spectrum{}, Spectrum{})
	if !(purple.G < purple.R && purple.G < purple.B) {
		t.Errorf("between straw and blue lies %v", purple)
	}
	if ti := c("blue titanium"); !(ti.B > ti.G && ti.G > ti.R) {
		t.Errorf("blue titanium is %v", ti)
	}
}
