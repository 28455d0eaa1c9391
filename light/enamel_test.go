package light

import (
	"math"
	"testing"
)

// What two layers pass is the product of what each passes (Beer and Lambert), and a
// mirror below it that faces the eye sends light through it twice.
func TestEnamelPasses(t *testing.T) {
	for _, e := range enamels {
		a := Enamel{e.name, 0.3}
		for w := 380.0; w <= 780; w += 50 {
			near1(t, e.name, a.passes(w, 0.2)*a.passes(w, 0.5), a.passes(w, 0.7), 1e-12)
			if p := a.passes(w, 0.6); !(p > 0 && p < 1) {
				t.Errorf("%s passes %v at %v nm", e.name, p, w)
			}
		}
		near1(t, "path", a.path(1), 0.6, 1e-12)
		// A mirror tilted 15° sends the ray up at 30°.
		near1(t, "path aslant", a.path(math.Cos(15*math.Pi/180)), 0.3*(1+1/math.Cos(30*math.Pi/180)), 1e-12)
		// Beyond the critical angle: cos = √(1 − 1/n²).
		near1(t, "steepest", a.path(0.5), 0.3*(1+1/math.Sqrt(1-1/2.25)), 1e-12)
	}
	near1(t, "clear", Enamel{"clear", 1}.passes(550, 2), math.Exp(-0.06), 1e-12)
}

// Through enamel of no thickness silver is silver met in glass, whose reflectance
// Fresnel's formula gives for the index of the metal over that of the glass.
func TestEnamelOverMetal(t *testing.T) {
	silver := metal(t, "silver")
	near1(t, "silver in glass", silver.reflectance(1.5, 548.6, 1), fresnel((0.06+3.586i)/1.5, 1), 1e-12)
	for name, is := range map[string]func(RGB) bool{
		"blue":  func(c RGB) bool { return c.B > 2*c.G && c.G > c.R },
		"green": func(c RGB) bool { return c.G > 2*c.B && c.G > 2*c.R },
		"red":   func(c RGB) bool { return c.R > 3*c.G && c.R > 3*c.B },
		"amber": func(c RGB) bool { return c.R > c.G && c.G > 2*c.B },
		"clear": func(c RGB) bool { return c.B > 0.9*c.R && c.B < c.R },
	} {
		e, err := EnamelNamed(name)
		if err != nil {
			t.Fatal(err)
		}
		if c := (Stuff{Metal: silver, Enamel: e}).Colour(1, Spectrum{}, Spectrum{}); !is(c) {
			t.Errorf("%s enamel over silver is %v", name, c)
		}
	}
	if _, err := EnamelNamed("mauve"); err == nil {
		t.Error("mauve enamel is known")
	}
	if e, err := EnamelNamed("none"); err != nil || e != (Enamel{}) {
		t.Errorf("none is %v, %v", e, err)
	}
}
