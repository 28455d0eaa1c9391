package surface

import (
	"context"
	"math"
	"testing"

	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/engine"

	"gonum.org/v1/gonum/spatial/r2"
)

func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.9g, want %.9g ± %g", what, got, want, tolerance)
	}
}

// line is a straight cut through (x, y) along the direction turned by angle from
// y, of length 2·half either way.
func line(number int, x, y, angle, half, depth float64) engine.Cut {
	sin, cos := math.Sincos(angle)
	end := func(s float64) engine.Vertex {
		return engine.Vertex{X: x - s*sin, Y: y + s*cos, Z: -depth, Across: angle}
	}
	return engine.Cut{Number: number, Depth: depth, Pieces: []engine.Piece{{Start: -half, Stop: half, Path: []engine.Vertex{end(-half), end(half)}}}}
}

func carver(t *testing.T, cuts []engine.Cut, c cutter.Cutter) *Carver {
	t.Helper()
	k, err := NewCarver(cuts, c)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func section(t *testing.T, k *Carver, a, b r2.Vec, n int) []float64 {
	t.Helper()
	z, err := k.Section(context.Background(), a, b, n)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// Two grooves of unlike depth (closed form of two intersecting lines): the
// crest stands s/2 + (d1−d2)·tan α/2 from the first and (d1+d2)/2 − s/(2·tan α)
// below the surface; farther apart a land of s − w is left.
func TestCrestBetweenTwoGrooves(t *testing.T) {
	for _, angle := range []float64{0, 0.7, -2.1} {
		const s, d1, d2 = 0.15, 0.045, 0.038
		tan := math.Tan(bright.Half())
		sin, cos := math.Sincos(angle)
		at := func(x, y float64) r2.Vec { return r2.Vec{X: x*cos - y*sin + 0.3, Y: x*sin + y*cos - 0.2} }
		p, q := at(0, 0), at(s, 0)
		k := carver(t, []engine.Cut{line(1, p.X, p.Y, angle, 1, d1), line(2, q.X, q.Y, angle, 1, d2)}, bright)
		const n = 15001
		z := section(t, k, at(0, 0.31), at(s, 0.31), n)
		top := 0
		for i := range z {
			if z[i] > z[top] {
				top = i
			}
		}
		within(t, "place of the crest", float64(top)/(n-1)*s, s/2+(d1-d2)*tan/2, 1e-5)
		within(t, "depth of the crest", -z[top], (d1+d2)/2-s/(2*tan), 5e-6)

		const far = 0.25
		q = at(far, 0)
		k = carver(t, []engine.Cut{line(1, p.X, p.Y, angle, 1, d1), line(2, q.X, q.Y, angle, 1, d1)}, bright)
		z = section(t, k, at(0, -0.4), at(far, -0.4), n)
		land := 0
		for _, h := range z {
			if h == 0 {
				land++
			}
		}
		within(t, "land", float64(land)/n*far, far-bright.Width(d1), 3*far/n)
	}
}

// Grooves that leave no land make a triangular profile of height s/(2·tan α),
// and grooves with lands a train of Vs: the figures of the closed forms in
// TestProfile, from carved metal.
func TestTextureOfParallelGrooves(t *testing.T) {
	c := cutter.Cutter{Included: 120 * math.Pi / 180}
	tan := math.Tan(c.Half())
	for _, step := range []float64{0.12, 4 * c.Width(0.05)} { // full cover; a quarter
		var cuts []engine.Cut
		for i := range 60 {
			cuts = append(cuts, line(i+1, float64(i)*step, 0, 0, 2, 0.05))
		}
		k := carver(t, cuts, c)
		p := ProfileOf(section(t, k, r2.Vec{X: 20 * step, Y: 0.4}, r2.Vec{X: 40 * step, Y: 0.4}, 200001))
		if step == 0.12 {
			h := step / (2 * tan)
			within(t, "Ra", p.Ra, h/4, 1e-4*h)
			within(t, "Rq", p.Rq, h/math.Sqrt(12), 1e-4*h)
			within(t, "Rz", p.Rz, h, 1e-3*h)
			within(t, "Rsk", p.Rsk, 0, 1e-3)
			within(t, "Rku", p.Rku, 1.8, 1e-3)
		} else {
			within(t, "Ra", p.Ra, 0.19140625*0.05, 1e-5)
			within(t, "Rq", p.Rq, 0.260208250*0.05, 1e-5)
			within(t, "Rsk", p.Rsk, -1.995443147, 1e-3)
			within(t, "Rku", p.Rku, 5.634319552, 5e-3)
		}
		// Over the same ground: 120° is Sdq 0.577350269, Sdr 0.154700538 where all is flank.
		s, err := k.Survey(context.Background(), Grid{X0: 20.013 * step, Y0: -1, Cell: step / 40, Nx: 800, Ny: 97}, nil)
		if err != nil {
			t.Fatal(err)
		}
		share := 1 - s.LandShare()
		within(t, "Sdq", s.Texture.Sdq, 0.577350269*math.Sqrt(share), 1e-6)
		within(t, "Sdr", s.Texture.Sdr, 0.154700538*share, 1e-6)
		within(t, "Sa", s.Texture.Sa, p.Ra, 0.02*p.Ra)
		if step == 0.12 {
			within(t, "land share", s.LandShare(), 0, 0)
			within(t, "crest", s.Crests.Median, 0.05-step/(2*tan), 1e-6)
			within(t, "least crest", s.Crests.Least, 0.05-step/(2*tan), 1e-7)
		} else {
			within(t, "land share", s.LandShare(), 0.75, 1e-12)
			if s.Crests.Count != 0 {
				t.Errorf("%d crests between grooves that do not meet", s.Crests.Count)
			}
		}
	}
}

// Hobnail: with the step s in two directions the ground comes to points when
// d = s/(2·tan α); shallower, the lands are squares of side s − w.
func TestHobnailComesToPoints(t *testing.T) {
	c := cutter.Cutter{Included: 90 * math.Pi / 180}
	const step = 0.4
	for _, depth := range []float64{0.2, 0.13} {
		var cuts []engine.Cut
		for _, angle := range []float64{0.3, 0.3 + math.Pi/2} {
			sin, cos := math.Sincos(angle)
			for i := -12; i <= 12; i++ {
				x := float64(i) * step
				cuts = append(cuts, line(len(cuts)+1, x*cos, x*sin, angle, 6, depth))
			}
		}
		s, err := carver(t, cuts, c).Survey(context.Background(), Grid{X0: -2, Y0: -1.9, Cell: 0.004, Nx: 1000, Ny: 900}, nil)
		if err != nil {
			t.Fatal(err)
		}
		side := (step - c.Width(depth)) / step
		within(t, "land share", s.LandShare(), side*side, 0.003)
		if depth == 0.2 {
			within(t, "highest", s.Highest, 0, 0.003)
			// Every point is a pyramid: all flanks at 45°, crests from the surface to the
			// valleys, half of them above half the depth.
			within(t, "Sdr", s.Texture.Sdr, math.Sqrt2-1, 1e-6)
			within(t, "median crest", s.Crests.Median, depth/2, 0.002)
			within(t, "deepest crest", s.Crests.Most, depth, 0.002)
		}
	}
}

// The figures of a job, against trade values worked by hand.
func TestMeasureSunburst(t *testing.T) {
	list := &engine.List{Cuts: sunburst(), SecondsPerStroke: 8}
	for i := range list.Cuts {
		list.Cuts[i].Turned = 2 * math.Pi * float64(i) / 360
		list.Cuts[i].Pieces[0].Start, list.Cuts[i].Pieces[0].Stop = 2, 17
	}
	c := bright
	c.Clearance = 15 * math.Pi / 180
	setup := &engine.Setup{Cutter: c, Blank: blank.Blank{
		Outline: blank.Shape{Form: blank.Disc, Diameter: 34},
		Windows: []blank.Window{{Shape: blank.Shape{Form: blank.Disc, Diameter: 4}}},
	}}
	brass := cutter.Metal{Name: "brass", Cutting: 700, Exponent: 0.27}
	f, err := Measure(context.Background(), list, setup, brass)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "groove_width_mm", f.GrooveWidth, 0.193, 5e-4)
	within(t, "width_sensitivity", f.WidthSensitivity, 4.289, 5e-4)
	if f.LandsVanish == nil {
		t.Fatal("rays without a radius inside which lands vanish")
	}
	within(t, "lands_vanish_inside_radius_mm", *f.LandsVanish, 11.058, 5e-4)
	// Rays of constant width: the land is what is left of the ring outside r*.
	const r1, r2, rv = 2.0, 17.0, 11.0584076
	land := (math.Pi*(r2*r2-rv*rv) - 360*f.GrooveWidth*(r2-rv)) / (math.Pi * (r2*r2 - r1*r1))
	within(t, "land_share", f.LandShare, land, 2e-3)
	// The crest at r lies d·(1 − r/r*) below the surface, and r is even along it.
	if f.CrestBelow == nil {
		t.Fatal("no crests")
	}
	within(t, "crest_below_surface_um", *f.CrestBelow, 45*(1-(r1+rv)/2/rv), 0.1)
	within(t, "crest_below_surface_least_um", *f.CrestBelowLeast, 0, 0.1)
	within(t, "crest_below_surface_greatest_um", *f.CrestBelowGreatest, 45*(1-r1/rv), 0.1)
	within(t, "flash_angle_deg", f.FlashAngle, 50, 1e-9)
	within(t, "steepest_slope_deg", f.SteepestSlope, 0, 1e-9)
	within(t, "chip_area_um2", f.ChipArea, 45*45*math.Tan(65*math.Pi/180), 0.01)
	within(t, "length_cut_mm", f.LengthCut, 360*15, 1e-6)
	within(t, "seconds", f.Seconds, 2880, 0)
	if f.CuttingForce == nil || !(*f.CuttingForceLow < *f.CuttingForce && *f.CuttingForce < *f.CuttingForceHigh) {
		t.Error("no band of cutting force")
	}
	within(t, "sz_um", f.Sz, 45, 0.01)
	// Across the rays the height is s/(2·tan α) inside r*, so the median line of
	// the nine is the one at the median of their places, 0.399 of the way out. It
	// is straight, so its five sections reach out to these places beside the ray.
	r := 0.0
	for _, x := range []float64{2, 1.2, 0.4, 1.2, 2} {
		r += math.Hypot(r1+0.399*(r2-r1), x) / 5
	}
	within(t, "rz_um", f.Rz, 1000*math.Pi*r/360/math.Tan(c.Half()), 0.3)
}

// Rays over a sector, over both halves of the stroke, and sequences that are none.
func TestRaysMeet(t *testing.T) {
	const width = 0.2
	rays := func(n int, step, from, to, slide float64) []engine.Cut {
		var cuts []engine.Cut
		for i := range n {
			cuts = append(cuts, engine.Cut{Turned: step * float64(i), Position: slide, Pieces: []engine.Piece{{Start: from, Stop: to}}})
		}
		return cuts
	}
	turn := 2 * math.Pi
	for _, c := range []struct {
		name string
		cuts []engine.Cut
		r    float64
	}{
		{"round", rays(90, turn/90, 2, 9, 0), width * 90 / turn},
		{"every seventh hole", rays(90, 7*turn/90, 2, 9, 0), width * 90 / turn},
		{"twice round", rays(180, turn/90, 2, 9, 0), width * 90 / turn},
		{"sector", rays(20, turn/90, 2, 9, 0), width * 90 / turn},
		{"through the centre", rays(45, turn/90, -9, 9, 0), width * 90 / turn},
		{"two sectors", append(rays(20, turn/90, 2, 9, 0), rays(20, -turn/90, 2, 9, 0)[5:]...)[3:], 0},
		{"beside the centre", rays(90, turn/90, 2, 9, 0.5), 0},
		{"two rays", rays(2, turn/90, 2, 9, 0), 0},
		{"parallel lines", rays(50, 0, 2, 9, 0), 0},
	} {
		r, ok := raysMeet(c.cuts, width)
		if ok != (c.r != 0) || math.Abs(r-c.r) > 1e-9 {
			t.Errorf("%s: %v, %v; want %v", c.name, r, ok, c.r)
		}
	}
}
