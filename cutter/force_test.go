package cutter

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func metal(t *testing.T, name string) Metal {
	t.Helper()
	for _, m := range Metals() {
		if m.Name == name {
			return m
		}
	}
	t.Fatalf("no metal %q", name)
	return Metal{}
}

// Constants of VDI 3323 groups 1, 21, 26, 27, 28: a toolmaker's turning
// catalogue of 2017, p. 558.
func TestMetals(t *testing.T) {
	for _, v := range []struct {
		name              string
		cutting, exponent float64
	}{
		{"brass", 700, 0.27}, {"leaded brass", 700, 0.27}, {"copper", 700, 0.27},
		{"aluminium", 700, 0.25}, {"steel", 1350, 0.21},
		{"silver", 0, 0}, {"fine gold", 0, 0}, {"nickel silver", 0, 0},
	} {
		if m := metal(t, v.name); m.Cutting != v.cutting || m.Exponent != v.exponent {
			t.Errorf("%s: %v, %v, want %v, %v", v.name, m.Cutting, m.Exponent, v.cutting, v.exponent)
		}
	}
	for _, m := range Metals() {
		if l := m.Check(); l != nil {
			t.Errorf("%s: %v", m.Name, l)
		}
	}
	Metals()[0].Name = "spoilt"
	if Metals()[0].Name == "spoilt" {
		t.Error("Metals gives away its own table")
	}
}

// 700·0.01^−0.27 = 2427 N/mm²: the law carried down to 10 µm.
func TestSpecificForce(t *testing.T) {
	near(t, "brass at 10 µm", metal(t, "brass").SpecificForce(0.01), 2427, 0.5)
	near(t, "brass at 1 mm", metal(t, "brass").SpecificForce(1), 700, 1e-9)
	near(t, "silver", metal(t, "silver").SpecificForce(0.01), 0, 0)
	near(t, "no chip", metal(t, "brass").SpecificForce(0), 0, 0)
}

// The table of a toolmaker's general catalogue 2020–21, p. 1650, for brass of
// 500 MPa by feed. Makers differ by a third: the law of the other catalogue has
// to stand within that of each figure, at the feeds up to 0.4 mm that both cover.
func TestSpreadBetweenMakers(t *testing.T) {
	for _, v := range []struct{ feed, kc float64 }{
		{0.1, 1090}, {0.15, 960}, {0.2, 877}, {0.3, 760}, {0.4, 680},
	} {
		k := metal(t, "brass").SpecificForce(v.feed)
		if v.kc < k*(1-Spread) || v.kc > k*(1+Spread) {
			t.Errorf("at %v mm one maker gives %v, the other %.0f N/mm²", v.feed, v.kc, k)
		}
	}
}

func TestForce(t *testing.T) {
	// A sharp 120° V, 0.1 mm deep in brass: area 0.01·tan 60° = 0.0173205 mm²,
	// chip 0.1·sin 60°/2 = 0.0433013 mm, k_c = 700·0.0433013^−0.27 = 1634.0 N/mm²:
	// 28.301 N by hand.
	c := Cutter{Included: 120 * deg, Clearance: 15 * deg}
	near(t, "area", c.ChipArea(0.1), 0.0173205, 5e-8)
	near(t, "chip", c.ChipThickness(0.1), 0.0433013, 5e-8)
	low, mid, high, known := c.Force(0.1, metal(t, "brass"))
	near(t, "force", mid, 28.301, 0.001)
	near(t, "low", low, mid*2/3, 1e-12)
	near(t, "high", high, mid*4/3, 1e-12)
	if !known || !c.Extrapolated(0.1) || c.Extrapolated(0.5) {
		t.Error("brass is known; 0.1 mm is below the tables, 0.5 mm is not")
	}
	if low, mid, high, known := c.Force(0.1, metal(t, "silver")); low != 0 || mid != 0 || high != 0 || known {
		t.Error("silver is unknown")
	}
	if _, mid, _, _ := c.Force(-1, metal(t, "brass")); mid != 0 {
		t.Errorf("a cutter clear of the work needs %v N", mid)
	}
}

// The mean distance of the chip's ground from the edge that takes it, by cutting
// the section into thin strips square to the edge, against ChipThickness.
func TestChipThicknessByStrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCutter(t)
		c.Flat = 0
		d := rapid.Float64Range(0.01, 1).Draw(t, "depth")
		sin, cos := math.Sincos(c.Half())
		// From a point a share u up one edge, square to it, until the surface or
		// the middle of the V, whichever is sooner.
		const strips = 2000
		var sum float64
		for i := range strips {
			up := (float64(i) + 0.5) / strips * d / cos
			sum += min((d-up*cos)/sin, up*sin/cos)
		}
		// Strips square to the edge leave out no ground and count none twice.
		if mean := sum / strips; math.Abs(mean-c.ChipThickness(d)) > 1e-3*mean {
			t.Fatalf("mean chip %v, ChipThickness %v", mean, c.ChipThickness(d))
		}
	})
	wide := Cutter{Included: 90 * deg, Flat: 2}
	near(t, "a planing tool", wide.ChipThickness(1e-4), 1e-4, 1e-7)
}

func TestForceGrowsWithDepth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCutter(t)
		m := rapid.SampledFrom([]Metal{{Cutting: 700, Exponent: 0.27}, {Cutting: 1350, Exponent: 0.21}}).Draw(t, "metal")
		d := rapid.Float64Range(0.001, 1).Draw(t, "depth")
		_, a, _, _ := c.Force(d, m)
		_, b, _, _ := c.Force(1.01*d, m)
		if !(b > a) {
			t.Fatalf("%v N at %v mm, %v N a hundredth deeper", a, d, b)
		}
	})
}

func TestMetalCheck(t *testing.T) {
	for _, m := range []Metal{{Cutting: -1}, {Cutting: math.NaN()}, {Cutting: 1e9}} {
		if l := m.Check(); len(l) != 1 || l[0].Field != "cutting_force" {
			t.Errorf("%+v: %v", m, l)
		}
	}
	for _, m := range []Metal{{Cutting: 700, Exponent: 2}, {Cutting: 700, Exponent: -0.1}, {Cutting: 700, Exponent: math.NaN()}} {
		if l := m.Check(); len(l) != 1 || l[0].Field != "exponent" {
			t.Errorf("%+v: %v", m, l)
		}
	}
}
