package depth

import (
	"math"
	"strings"
	"testing"

	"brightcut/blank"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

func swinging(form blank.Nominal, axis float64) *Curved {
	return &Curved{Form: form, Assembly: Assembly{Axis: axis, Min: -40 * deg, Max: 40 * deg},
		Guide: &Guide{Offset: 0.6, FootRadius: 0.8, Extension: 0.045, Side: Right}}
}

// Closed forms: with the assembly's axis in the centre of curvature nothing but
// the swing moves, φ = s/R; bow of sagitta h over chord c is R = c²/(8h), and
// c = 30, h = 0.10 → 1125 mm, the guide's error g²/(2R) = 0.16 µm.
func TestCylinderAndDome(t *testing.T) {
	const R = 30 * 30 / (8 * 0.10)
	if R != 1125 {
		t.Fatal(R)
	}
	for _, form := range []blank.Nominal{
		{Figure: blank.Cylinder, Radius: R, Axis: math.Pi / 2},
		{Figure: blank.Dome, Radius: R},
	} {
		c := swinging(form, -R)
		all, err := c.Steps(-12, 0.156, 150)
		if err != nil {
			t.Fatal(err)
		}
		for i, s := range all {
			along := -12 + 0.156*float64(i)
			for _, v := range []struct {
				what            string
				got, want, hair float64
			}{
				{"distance along", s.Along, along, 1e-9},
				{"swing", s.Swing, along / R, 1e-12},
				{"place", s.X, R * math.Sin(along/R), 1e-9},
				{"height", s.Z, R * (math.Cos(along/R) - 1), 1e-9},
				{"advance", s.Advance, -R, 1e-8},
				{"slide", s.Slide, 0, 1e-8},
				{"guide", s.GuideError, 0.00016, 1e-8},
				{"lean", s.Lean, 0, 1e-12},
			} {
				if math.Abs(v.got-v.want) > v.hair {
					t.Fatalf("cut %d: %s %v, want %v", i+1, v.what, v.got, v.want)
				}
			}
		}
	}
	// An axis elsewhere: 40 mm above a dome of 80 mm.
	c := swinging(blank.Nominal{Figure: blank.Dome, Radius: 80}, 40)
	s, ok := c.At(80 * math.Sin(20*deg))
	// (40 + 80·(1 − cos 20°))/cos 20° and 80·sin 20° + that·sin 20°
	if a := (40 + 80*(1-math.Cos(20*deg))) / math.Cos(20*deg); !ok || math.Abs(s.Advance-a) > 1e-9 || math.Abs(s.Slide-(80+a)*math.Sin(20*deg)) > 1e-9 {
		t.Errorf("%+v, want an advance of %v", s, a)
	}
	if from, to := c.Reach(); math.Abs(to-80*40*deg) > 1e-3 || math.Abs(from+80*40*deg) > 1e-3 {
		t.Errorf("a swing of 40° reaches from %v to %v mm of an 80 mm dome, want ±%v", from, to, 80*40*deg)
	}
	if _, err := c.Steps(50, 1, 10); err == nil || !strings.Contains(err.Error(), "cut 7") || !strings.Contains(err.Error(), "55.85") {
		t.Errorf("past the swing: %v", err)
	}
}

func TestCone(t *testing.T) {
	fall := 12 * deg
	c := swinging(blank.Nominal{Figure: blank.Cone, Fall: fall}, 25)
	all, err := c.Steps(5, 0.2, 40)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range all {
		if math.Abs(s.Swing-fall) > 1e-12 || math.Abs(s.GuideError) > 1e-12 {
			t.Fatalf("%+v", s)
		}
		if i > 0 && math.Abs(s.Slide-all[i-1].Slide-0.2/math.Cos(fall)) > 1e-9 {
			t.Fatalf("a step of 0.2 mm along the cone moves the slide by %v, want %v", s.Slide-all[i-1].Slide, 0.2/math.Cos(fall))
		}
	}
	if l := swinging(blank.Nominal{Figure: blank.Cone, Fall: math.NaN()}, 25).Check(); len(l) != 1 || l[0].Field != "form.fall" {
		t.Error(l)
	}
}

// At any stance the tip touches the surface and the cutter is square to it, by
// the definition: place = axis − advance·(sin φ, cos φ), seen from the work.
func TestStance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		form := blank.Nominal{Figure: rapid.SampledFrom([]blank.Figure{blank.Flat, blank.Cylinder, blank.Dome, blank.Cone, blank.Turned}).Draw(t, "figure"),
			Radius: num(20, 500, "radius"), Fall: num(-30, 30, "fall") * deg, Axis: math.Pi / 2,
			Profile: []r2.Vec{{X: 0, Y: 0}, {X: 4, Y: -0.2}, {X: 9, Y: -1}, {X: 14, Y: -2.2}}}
		if rapid.Bool().Draw(t, "hollow") {
			form.Radius = -form.Radius
		}
		c := swinging(form, num(-60, 60, "axis"))
		x := num(-12, 12, "x")
		s, ok := c.At(x)
		if !ok {
			t.Skip()
		}
		if px := s.Slide - s.Advance*math.Sin(s.Swing); math.Abs(px-x) > 1e-9 {
			t.Fatalf("the tip stands at %v on the work, want %v", px, x)
		}
		if pz := c.Assembly.Axis - s.Advance*math.Cos(s.Swing); math.Abs(pz-s.Z) > 1e-9 {
			t.Fatalf("the tip stands at height %v, the surface at %v", pz, s.Z)
		}
		// Square: the surface a little to either side falls by the swing.
		const h = 1e-4
		a, okA := c.At(x - h)
		b, okB := c.At(x + h)
		if okA && okB && math.Abs(x) > h && math.Abs(math.Atan((a.Z-b.Z)/(2*h))-s.Swing) > 1e-5 {
			t.Fatalf("the surface falls by %v, the cutter leans by %v", math.Atan((a.Z-b.Z)/(2*h)), s.Swing)
		}
		// Distances along the surface are those of the chord, in the small.
		if okA && okB && math.Abs(b.Along-a.Along-math.Hypot(2*h, b.Z-a.Z)) > 1e-7 && math.Abs(x) > h {
			t.Fatalf("2h along is %v", b.Along-a.Along)
		}
	})
}
