package engine

import (
	"math"
	"strings"
	"testing"

	"brightcut/bar"
)

// offset is how far the bar has carried a cut from its slide at a reading.
func offset(s *Setup, c *Cut, reading float64) float64 {
	v := truth(s, c, reading)
	if s.Engine.Kind == Rose {
		return math.Hypot(v.X, v.Y) - c.Position
	}
	sin, cos := math.Sincos(c.Turned)
	return v.X*cos + v.Y*sin - c.Position
}

// middle returns a vertex inside the longest piece.
func middle(c *Cut) (Vertex, float64) {
	best := &c.Pieces[0]
	for i := range c.Pieces {
		if p := &c.Pieces[i]; p.Stop-p.Start > best.Stop-best.Start {
			best = p
		}
	}
	k := len(best.Path) / 2
	return best.Path[k], best.Readings[k]
}

// The patterns of the trade, each a short sequence, with what makes it that
// pattern (the geometry is common practice, no source).
func TestTradePatterns(t *testing.T) {
	mm := func(num, den int64) Amount { return amount(num, den, Length) }
	wave := func(num, den int64) Amount { return amount(num, den, Waves) }
	from := func(s *Setup, bar string, x int64) *Setup {
		s.Bar, s.Touch = bar, 0
		s.Starts = []Start{{Axis: SlideAxis, Amount: mm(x, 1)}}
		return s
	}
	for _, p := range []struct {
		name  string
		setup *Setup
		cuts  int
		check func(t *testing.T, s *Setup, l *List)
	}{
		{"parallel lines", from(straight(panel(20, 12), repeat(30, cut(), step(mm(1, 2)))), "plain", -8), 30,
			func(t *testing.T, s *Setup, l *List) {
				for i := range l.Cuts {
					v, _ := middle(&l.Cuts[i])
					near(t, "x", v.X, -8+float64(i)*0.5, 1e-12)
				}
			}},
		{"waves in step", from(straight(panel(20, 12), repeat(20, cut(), step(mm(1, 2)))), "sine", -8), 20,
			func(t *testing.T, s *Setup, l *List) {
				for i := range l.Cuts {
					near(t, "offset", offset(s, &l.Cuts[i], 0.7), offset(s, &l.Cuts[0], 0.7), 1e-12)
				}
			}},
		{"barleycorn", from(straight(panel(20, 12), repeat(20, cut(), step(mm(1, 2)),
			alternate([]Item{shift(wave(1, 2))}, []Item{shift(wave(-1, 2))}))), "sine", -8), 20,
			func(t *testing.T, s *Setup, l *List) {
				for i := 1; i < len(l.Cuts); i++ {
					for _, y := range []float64{-2, 0.3, 1.1} {
						near(t, "cells shut", offset(s, &l.Cuts[i], y), -offset(s, &l.Cuts[i-1], y), 1e-12)
					}
					if shift := l.Cuts[i].Settings.Shift; shift != 75*(i%2) {
						t.Errorf("cut %d: bar at %d teeth", i+1, shift)
					}
				}
			}},
		{"basket weave", from(straight(panel(20, 12), repeat(4, repeat(5, cut(), step(mm(1, 2))), shift(wave(1, 2)))), "sine", -8), 20,
			func(t *testing.T, s *Setup, l *List) {
				for i := range l.Cuts {
					want := float64(i / 5 % 2)
					near(t, "phase in half waves", math.Mod(math.Round(l.Cuts[i].Phase/1.5), 2), want, 0)
					near(t, "whole half waves", math.Remainder(l.Cuts[i].Phase, 1.5), 0, 1e-9)
				}
			}},
		{"drapery", from(straight(panel(20, 12), repeat(20, cut(), step(mm(1, 2)), shift(wave(1, 30)))), "sine", -8), 20,
			func(t *testing.T, s *Setup, l *List) {
				for i := range l.Cuts {
					near(t, "phase", l.Cuts[i].Phase, float64(i)*0.1, 1e-12)
					near(t, "the crest drifts back", offset(s, &l.Cuts[i], 0.75-float64(i)*0.1), 0.25, 1e-9)
				}
			}},
		{"hobnail", from(straight(panel(12, 12), repeat(2, repeat(20, cut(), step(mm(1, 2))), Item{Motion: Set, Axis: SlideAxis, Amount: mm(-5, 1)}, chuck(amount(90, 360, Turns)))), "plain", -5), 40,
			func(t *testing.T, s *Setup, l *List) {
				directions(t, l, 20, 90)
				v, _ := middle(&l.Cuts[20])
				near(t, "y of cut 21", v.Y, -5, 1e-12)
			}},
		{"triangular points", from(straight(disc(16), repeat(3, repeat(20, cut(), step(mm(1, 2))), Item{Motion: Set, Axis: SlideAxis, Amount: mm(-5, 1)}, chuck(amount(60, 360, Turns)))), "plain", -5), 60,
			func(t *testing.T, s *Setup, l *List) {
				directions(t, l, 20, 60)
				// Three families 60° apart cross in points when their offsets add up to a
				// whole number of steps: u0 − u1 + u2 = 0 for the normals of 0, 60, 120°.
				a, _ := middle(&l.Cuts[0])
				b, _ := middle(&l.Cuts[20])
				c, _ := middle(&l.Cuts[40])
				u := func(v Vertex) float64 { return v.X*math.Cos(v.Across) + v.Y*math.Sin(v.Across) }
				near(t, "points shut", math.Remainder(u(a)-u(b)+u(c), 0.5), 0, 1e-9)
			}},
		{"sunburst", sunburst(), 360,
			func(t *testing.T, s *Setup, l *List) {
				for i := range l.Cuts {
					a, b := l.Cuts[i].Pieces[0].Path[0], l.Cuts[i].Pieces[0].Path[1]
					near(t, "through the centre", (a.X*b.Y-a.Y*b.X)/2, 0, 1e-12)
					near(t, "ray", math.Remainder(math.Atan2(b.Y, b.X)-math.Pi/2-float64(i)*degree, 2*math.Pi), 0, 1e-12)
				}
				closes(t, l, IndexAxis, true)
			}},
		{"wavy sunburst", wavySunburst(), 360,
			func(t *testing.T, s *Setup, l *List) {
				closes(t, l, IndexAxis, true)
				// Each ray is the one before turned by a degree.
				a, b := l.Cuts[17].Pieces[0].Path, l.Cuts[18].Pieces[0].Path
				sin, cos := math.Sincos(degree)
				for k := range a {
					near(t, "x", b[k].X, a[k].X*cos-a[k].Y*sin, 1e-9)
				}
			}},
		{"phase drifting round the dial", drifting(), 180,
			func(t *testing.T, s *Setup, l *List) {
				closes(t, l, IndexAxis, true)
				closes(t, l, ShiftAxis, true)
				near(t, "last ray's phase", l.Cuts[179].Phase, 179*5*0.02, 1e-9)
			}},
		{"concentric waves", from(rose(disc(36), repeat(20, cut(), step(mm(1, 2)))), "24", 3), 20,
			func(t *testing.T, s *Setup, l *List) {
				for i := range l.Cuts {
					near(t, "offset", offset(s, &l.Cuts[i], 0.1), 0.08*math.Sin(2.4), 1e-12)
				}
			}},
		{"barleycorn rings", from(rose(disc(36), repeat(20, cut(), step(mm(1, 2)), shift(wave(1, 2)))), "24", 3), 20,
			func(t *testing.T, s *Setup, l *List) {
				for i := 1; i < len(l.Cuts); i++ {
					near(t, "cells shut", offset(s, &l.Cuts[i], 0.1), -offset(s, &l.Cuts[i-1], 0.1), 1e-12)
					if l.Cuts[i].Settings.Shift != 4*i {
						t.Errorf("ring %d: crossing wheel at %d", i+1, l.Cuts[i].Settings.Shift)
					}
				}
			}},
		{"swirl", from(rose(disc(36), repeat(20, cut(), step(mm(1, 2)), shift(amount(1, 192, Turns)))), "24", 3), 20,
			func(t *testing.T, s *Setup, l *List) {
				for i := range l.Cuts {
					turn := float64(i) * 2 * math.Pi / 192
					near(t, "the crests turn back", offset(s, &l.Cuts[i], math.Pi/48-turn), 0.08, 1e-9)
				}
			}},
		{"bands of several rosettes", from(rose(disc(36), repeat(5, cut(), step(mm(1, 2))), swap("8"), repeat(5, cut(), step(mm(1, 2)))), "24", 3), 10,
			func(t *testing.T, s *Setup, l *List) {
				for i, c := range l.Cuts {
					if want := []string{"24", "8"}[i/5]; c.Settings.Bar != want {
						t.Errorf("cut %d has rosette %q", c.Number, c.Settings.Bar)
					}
				}
				if m := l.Cuts[5].Moves; len(m) != 2 || m[1].Motion != Swap || m[1].Name != "8" {
					t.Errorf("moves to cut 6: %+v", m)
				}
			}},
	} {
		t.Run(p.name, func(t *testing.T) {
			l := must(t, p.setup)
			if len(l.Cuts) != p.cuts {
				t.Fatalf("%d cuts", len(l.Cuts))
			}
			p.check(t, p.setup, l)
		})
	}
}

// drifting is 180 wavy rays whose phase comes back by six waves in the round: 5
// teeth a ray, 150 to the wave.
func drifting() *Setup {
	s := straight(disc(36), repeat(180, cut(), turn(amount(1, 180, Turns)), shift(amount(1, 30, Waves))))
	s.Bar, s.Touch = "sine", 0
	s.Limits = &Limits{3, 16}
	return s
}

func directions(t *testing.T, l *List, group int, deg float64) {
	t.Helper()
	for i, c := range l.Cuts {
		near(t, "direction", c.Turned, float64(i/group)*deg*degree, 1e-12)
		a, b := c.Pieces[0].Path[0], c.Pieces[0].Path[1]
		near(t, "the stroke is square to the V", (b.X-a.X)*math.Cos(a.Across)+(b.Y-a.Y)*math.Sin(a.Across), 0, 1e-9)
	}
}

func closes(t *testing.T, l *List, axis Axis, want bool) Closure {
	t.Helper()
	for _, c := range l.Closures {
		if c.Axis == axis {
			if c.Closes != want {
				t.Errorf("closes: %v; %s", c.Closes, c.Text)
			}
			return c
		}
	}
	t.Errorf("axis %d: nothing is said of closing", axis)
	return Closure{}
}

// Pumping carries the tip up and down with its own rosette.
func TestPumping(t *testing.T) {
	s := rose(disc(36), step(amount(5, 1, Length)), cut())
	s.Bar, s.Pump, s.Touch = "plain", "8", 0
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range must(t, s).Cuts[0].Pieces[0].Path {
		low, high = min(low, v.Z), max(high, v.Z)
		near(t, "radius", math.Hypot(v.X, v.Y), 5, 1e-12)
	}
	near(t, "lowest", low, -0.045-0.5*0.02, 1e-5)
	near(t, "highest", high, -0.045+0.5*0.02, 1e-5)
}

// trade.md: a = 0.25, λ = 3 slopes by 27.64°; a clearance of 15° at α = 60°
// clears up to 28.187°.
func TestHeel(t *testing.T) {
	s := straight(disc(36), repeat(3, cut(), step(amount(1, 1, Length))), swap("plain"), cut(), swap("sine"), cut())
	s.Bar, s.Touch = "sine", 0 // a nose would move the steepest place, not the slope
	s.Cutter.Included = 120 * degree
	for _, w := range must(t, s).Warnings {
		t.Errorf("within the limit, and yet: %s", w.Text)
	}
	s.Cutter.Clearance = 14 * degree
	limit := math.Atan(math.Tan(14*degree) / math.Cos(60*degree))
	w := must(t, s).Warnings
	if len(w) != 2 || w[0].First != 1 || w[0].Last != 3 || w[1].First != 5 || w[1].Last != 5 || w[0].Kind != "heel" {
		t.Fatalf("%+v", w)
	}
	near(t, "margin", w[0].Margin, limit-math.Atan(2*math.Pi*0.25/3), 1e-4)
	// Worst where the wave crosses its middle line: a whole number of half waves.
	near(t, "place", math.Remainder(w[0].Y, 1.5), 0, 0.05)
	near(t, "x there", w[0].X, 0, 0.05)
}

// On a ring tan ψ = r′/r: the same rosette is steeper near the centre, and at
// r → 0 runs along the V.
func TestSlopeOfRings(t *testing.T) {
	s := rose(disc(36), step(amount(1, 1, Length)), repeat(10, cut(), step(amount(1, 1, Length))))
	s.Bar, s.Touch = "24", 0
	w := must(t, s).Warnings
	limit := math.Atan(math.Tan(15*degree) / math.Cos(65*degree)) // 32.374°
	last := int(24 * 0.08 / math.Tan(limit))                      // the last ring that rubs, 3.03 → 3
	if len(w) != 1 || w[0].First != 1 || w[0].Last != last {
		t.Fatalf("%+v, want rings 1 to %d", w, last)
	}
	// The steepest place by brute force.
	steep := 0.0
	for i := range 100000 {
		a := 2 * math.Pi * float64(i) / 100000
		steep = max(steep, math.Atan(0.08*24*math.Abs(math.Cos(24*a))/(1+0.08*math.Sin(24*a))))
	}
	near(t, "margin", w[0].Margin, limit-steep, 0.002)

	// Nearer in, the radius itself changes along the wave.
	s.Sequence = []Item{step(amount(2, 10, Length)), cut()}
	steep = 0
	for i := range 100000 {
		a := 2 * math.Pi * float64(i) / 100000
		steep = max(steep, math.Atan(0.08*24*math.Abs(math.Cos(24*a))/(0.2+0.08*math.Sin(24*a))))
	}
	near(t, "margin at 0.2 mm", must(t, s).Warnings[0].Margin, limit-steep, 0.003)

	s.Engine.Slide.Ratchet = 1000
	s.Sequence = []Item{step(amount(81, 1000, Length)), cut()}
	kinds := ""
	for _, w := range must(t, s).Warnings {
		kinds += w.Kind + " "
	}
	if kinds != "heel parallel " {
		t.Errorf("at a radius of a micron: %s", kinds)
	}
}

// A plunging path rubs when tan ψ·cos α + tan φ·sin α > tan κ. By brute force:
// the flank's plane behind the edge, swept along the path, must clear the wall.
func TestHeelOfPumping(t *testing.T) {
	s := rose(disc(36), step(amount(2, 1, Length)), cut())
	s.Bar, s.Pump, s.Touch = "plain", "8", 0
	s.Engine.Pumping = 8
	s.Depth = 0.4
	w := must(t, s).Warnings
	if len(w) != 1 || w[0].Kind != "heel" {
		t.Fatalf("%+v", w)
	}
	// The edge leans by α from z; its flank falls back by κ behind it. Going
	// forward by 1 while sinking by tan φ, the wall comes in by sin α·tan φ,
	// measured square to the edge in the face.
	plunge := 8 * 0.02 * 8 / 2.0
	alpha := 65 * degree
	near(t, "margin", w[0].Margin, s.Cutter.HeelLimit()-math.Atan(plunge*math.Tan(alpha)), 1e-3)
}

// A touchpiece too large for its bar loses the bottom of the hollows; trade.md:
// smallest hollow radius λ²/(4π²a) = 0.9119 mm.
func TestLostDetail(t *testing.T) {
	s := straight(disc(36), cut())
	s.Bar, s.Touch = "sine", 0.9
	if w := must(t, s).Warnings; len(w) != 0 {
		t.Errorf("a nose of 0.9 mm reaches all of a hollow of 0.912 mm, and yet: %s", w[0].Text)
	}
	s.Touch = 2
	w := must(t, s).Warnings
	if len(w) == 0 || w[0].Kind != "lost detail" || !strings.Contains(w[0].Text, "2 mm") {
		t.Errorf("%+v", w)
	}
	// Where the nose bears on two flanks at once the path has a corner, and the
	// corner is a vertex: on a bar drawn without any symmetry.
	// The second is so shallow that a chord could pass over its corners.
	for _, drawn := range [][][2]float64{
		{{0, 0}, {0.83, 0.31}, {1.37, 0.02}, {2.71, 0.44}, {3.19, 0}},
		{{0, 0}, {1.03, -0.0004}, {3.19, 0}},
	} {
		s.Bars["drawn"] = bar.Edge{Figure: bar.Points, Repeats: true, Drawn: drawn}
		s.Bar, s.Touch = "drawn", 0.37
		path, err := bar.Follow(s.Bars["drawn"], 0.37)
		if err != nil {
			t.Fatal(err)
		}
		if len(path.Kinks()) == 0 {
			t.Error("no corner to look at")
		}
		l := must(t, s)
		for _, k := range path.Kinks() {
			found := false
			for _, r := range l.Cuts[0].Pieces[0].Readings {
				found = found || math.Abs(math.Remainder(r-k, 3.19)) < 1e-9
			}
			if !found {
				t.Errorf("no vertex at the corner %v", k)
			}
		}
	}
}
