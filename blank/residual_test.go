package blank

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// sown are places spread over a disc by the golden angle.
func sown(n int, radius float64) []Reading {
	points := make([]Reading, n)
	for i := range points {
		r := radius * math.Sqrt((float64(i)+0.5)/float64(n))
		sin, cos := math.Sincos(float64(i) * 2.399963229728653)
		points[i] = Reading{Place: r2.Vec{X: r * cos, Y: r * sin}, Count: 1, Line: i + 1}
	}
	return points
}

// noise is a fixed sequence of nearly normal numbers of unit variance.
func noise(seed uint64) func() float64 {
	return func() float64 {
		var sum float64
		for range 12 {
			seed = seed*6364136223846793005 + 1442695040888963407
			sum += float64(seed>>11) / (1 << 53)
		}
		return sum - 6
	}
}

// warp is a form with bow, twist and a bump, a few hundredths high, that is no plane.
func warp(p r2.Vec) float64 {
	bump := r2.Norm2(r2.Sub(p, r2.Vec{X: 6, Y: -4}))
	return -(p.X*p.X+0.4*p.Y*p.Y)/2250*0.5 + 0.0001*p.X*p.Y + 0.012*math.Exp(-bump/40)
}

// Heights without noise are met at the readings and between them, and a plane
// added to them changes nothing but the plane.
func TestResidualInterpolates(t *testing.T) {
	points := sown(80, 17)
	tilted := &Readings{}
	for i := range points {
		points[i].Z = warp(points[i].Place)
		r := points[i]
		r.Z += 0.3 + 0.01*r.Place.X - 0.02*r.Place.Y
		tilted.Points = append(tilted.Points, r)
	}
	a, err := (&Readings{Points: points}).Residual(ResidualOptions{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := tilted.Residual(ResidualOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if !close(b.Plane.Slope.X-a.Plane.Slope.X, 0.01, 1e-12) || !close(b.Plane.Slope.Y-a.Plane.Slope.Y, -0.02, 1e-12) {
		t.Errorf("planes %v %v", a.Plane, b.Plane)
	}
	for _, r := range points {
		z, sd, inside := a.At(r.Place)
		if want := r.Z - a.Plane.At(r.Place); !inside || !close(z, want, 1e-5) || sd > 3e-5 { // the least noise is 1e-4 of σ, here 0.2 mm
			t.Fatalf("at the reading %v: %v ± %v, want %v", r.Place, z, sd, want)
		}
	}
	worst := 0.0
	for _, r := range sown(300, 15) {
		za, sa, _ := a.At(r.Place)
		zb, sb, _ := b.At(r.Place)
		worst = max(worst, math.Abs(za-(warp(r.Place)-a.Plane.At(r.Place))))
		if !close(za, zb, 1e-7) || !close(sa, sb, 1e-7) {
			t.Fatalf("the tilt shows at %v: %v ± %v and %v ± %v", r.Place, za, sa, zb, sb)
		}
	}
	if worst > 3e-4 {
		t.Errorf("between the readings the form is missed by %v mm", worst)
	}
}

// With noise, the noise is found and the uncertainty is true: the form lies
// within its standard uncertainty about two times of three, and where readings
// are few rather too often than too seldom.
func TestResidualUncertainty(t *testing.T) {
	const sd, sets = 0.002, 10
	for _, c := range []struct {
		readings  int
		low, high float64 // of a normal distribution 0.68
	}{{7, 0.8, 1}, {12, 0.55, 0.85}, {25, 0.6, 0.8}, {60, 0.6, 0.75}} {
		within, all, sum := 0, 0, 0.0
		for seed := range uint64(sets) {
			random := noise(7*seed + 3)
			rs := &Readings{Points: sown(c.readings, 17)}
			for i := range rs.Points {
				rs.Points[i].Z = warp(rs.Points[i].Place) + sd*random()
			}
			r, err := rs.Residual(ResidualOptions{})
			if err != nil {
				t.Fatal(err)
			}
			sum += r.Noise / sets
			for _, q := range sown(60, 15) {
				z, u, _ := r.Form(q.Place)
				if math.Abs(z-warp(q.Place)) < u {
					within++
				}
				all++
			}
		}
		if c.readings == 60 && (sum < 0.85*sd || sum > 1.15*sd) {
			t.Errorf("noise found %v, made with %v", sum, sd)
		}
		if share := float64(within) / float64(all); share < c.low || share > c.high {
			t.Errorf("%d readings: %.0f %% within one standard uncertainty", c.readings, 100*share)
		}
	}
}

// The fit turns with the work.
func TestResidualTurns(t *testing.T) {
	for seed := range uint64(12) {
		turn := 0.55*float64(seed) - 3
		shift := r2.Vec{X: 40 - 7*float64(seed), Y: 5 * float64(seed)}
		sin, cos := math.Sincos(turn)
		move := func(p r2.Vec) r2.Vec {
			return r2.Add(shift, r2.Vec{X: cos*p.X - sin*p.Y, Y: sin*p.X + cos*p.Y})
		}
		random := noise(seed)
		still, moved := &Readings{Points: sown(14, 17)}, &Readings{}
		for i := range still.Points {
			still.Points[i].Z = warp(still.Points[i].Place) + 0.001*random()
			r := still.Points[i]
			r.Place = move(r.Place)
			moved.Points = append(moved.Points, r)
		}
		a, err := still.Residual(ResidualOptions{Noise: 0.001})
		b, err2 := moved.Residual(ResidualOptions{Noise: 0.001})
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		for _, r := range sown(7, 12) {
			za, sa, ia := a.At(r.Place)
			zb, sb, ib := b.At(move(r.Place))
			if !close(za, zb, 1e-6) || !close(sa, sb, 1e-6) || ia != ib {
				t.Fatalf("%v ± %v %v, moved %v ± %v %v", za, sa, ia, zb, sb, ib)
			}
		}
	}
}

// Outside the readings it says so, and knows less.
func TestResidualOutside(t *testing.T) {
	rs := &Readings{Points: sown(60, 10)}
	for i := range rs.Points {
		rs.Points[i].Z = warp(rs.Points[i].Place)
	}
	r, err := rs.Residual(ResidualOptions{Noise: 0.001})
	if err != nil {
		t.Fatal(err)
	}
	_, near, inside := r.At(r2.Vec{X: 9})
	if !inside {
		t.Error("a place among the readings counts as outside")
	}
	_, far, outside := r.At(r2.Vec{X: 16})
	if outside || far < 3*near {
		t.Errorf("6 mm beyond the readings: inside %v, ± %v, within them ± %v", outside, far, near)
	}
	if r.Inside(r2.Vec{X: 10 + r.Margin + 0.01}) {
		t.Error("beyond the margin counts as inside")
	}
}

// The most helpful reading lies in the gap, and it helps as much as it says.
func TestMostHelpful(t *testing.T) {
	rs := &Readings{}
	for _, r := range sown(120, 17) {
		if r2.Norm(r2.Sub(r.Place, r2.Vec{X: -7, Y: 5})) > 5 { // a gap
			r.Z = warp(r.Place)
			rs.Points = append(rs.Points, r)
		}
	}
	r, err := rs.Residual(ResidualOptions{Noise: 0.001})
	if err != nil {
		t.Fatal(err)
	}
	b := &Blank{Outline: Shape{Form: Disc, Diameter: 34}, Thickness: 1}
	a, err := r.MostHelpful(b.Field())
	if err != nil {
		t.Fatal(err)
	}
	if r2.Norm(r2.Sub(a.Place, r2.Vec{X: -7, Y: 5})) > 2.5 || !(a.After < a.Before) {
		t.Errorf("%+v", a)
	}
	// The same fit with the reading added, uncertainties taken anew.
	more := *r
	more.points = append(append([]Reading(nil), r.points...), Reading{Place: a.Place, Count: 1})
	if err := more.solve(r.Noise*r.Noise/(r.Sigma*r.Sigma), 0.001); err != nil {
		t.Fatal(err)
	}
	var before, after, n float64
	for _, q := range sown(400, 17) {
		_, u, _ := r.At(q.Place)
		_, v, _ := more.At(q.Place)
		before, after, n = before+u*u, after+v*v, n+1
	}
	before, after = math.Sqrt(before/n), math.Sqrt(after/n)
	if got, want := a.After/a.Before, after/before; math.Abs(got-want) > 0.03 {
		t.Errorf("promised %.3f of the uncertainty, got %.3f", got, want)
	}
}

func TestFormMap(t *testing.T) {
	rs := &Readings{Points: sown(60, 17)}
	random := noise(5)
	for i := range rs.Points {
		rs.Points[i].Z = warp(rs.Points[i].Place) + 0.001*random()
	}
	r, err := rs.Residual(ResidualOptions{})
	if err != nil {
		t.Fatal(err)
	}
	m, err := r.Map(r2.Box{Min: r2.Vec{X: -18, Y: -18}, Max: r2.Vec{X: 18, Y: 18}})
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range sown(500, 18) {
		z, sd, in := r.At(q.Place)
		mz, msd, min := m.At(q.Place)
		if !close(z, mz, 3e-5) || !close(sd, msd, 0.1*sd+3e-5) || in != min {
			t.Fatalf("%v: %v ± %v %v, on the map %v ± %v %v", q.Place, z, sd, in, mz, msd, min)
		}
	}
	if _, _, in := m.At(r2.Vec{X: 40}); in {
		t.Error("beyond the map counts as inside")
	}
}

// Uncertainties of many places at once are those of At, the plane's part with
// them: with few readings it is a large one.
func TestUncertaintiesTogether(t *testing.T) {
	rs := &Readings{Points: sown(9, 17)}
	random := noise(5)
	for i := range rs.Points {
		rs.Points[i].Z = warp(rs.Points[i].Place) + 0.001*random()
	}
	r, err := rs.Residual(ResidualOptions{})
	if err != nil {
		t.Fatal(err)
	}
	var places []r2.Vec
	for _, q := range sown(40, 24) {
		places = append(places, q.Place)
	}
	sd := make([]float64, len(places))
	r.uncertainties(sd, places)
	for i, p := range places {
		if _, want, _ := r.At(p); !close(sd[i], want, 1e-6*want) {
			t.Errorf("%v: ± %v, alone ± %v", p, sd[i], want)
		}
	}
}

// Many readings are averaged, and say the same as few.
func TestResidualOfMany(t *testing.T) {
	random := noise(3)
	rs := &Readings{Points: sown(20_000, 17)}
	for i := range rs.Points {
		rs.Points[i].Z = warp(rs.Points[i].Place) + 0.003*random()
	}
	r, err := rs.Residual(ResidualOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if !r.Averaged || r.Readings > maxFitted || r.Readings < maxFitted*8/10 {
		t.Errorf("%d fitted, averaged %v", r.Readings, r.Averaged)
	}
	for _, q := range sown(50, 15) {
		z, sd, _ := r.Form(q.Place)
		if math.Abs(z-warp(q.Place)) > 5*sd+2e-4 {
			t.Errorf("%v: %v ± %v, true %v", q.Place, z, sd, warp(q.Place))
		}
	}
}

func TestResidualFaults(t *testing.T) {
	few := &Readings{Points: sown(5, 10)}
	if _, err := few.Residual(ResidualOptions{}); err == nil || !strings.Contains(err.Error(), "read 1 more") {
		t.Errorf("%v", err)
	}
	if _, err := few.Residual(ResidualOptions{Noise: math.NaN()}); err == nil || !strings.Contains(err.Error(), "noise:") {
		t.Errorf("%v", err)
	}
	six := &Readings{Points: sown(6, 10)} // all heights 0: nothing to tell, but no failure
	r, err := six.Residual(ResidualOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if z, sd, _ := r.At(r2.Vec{X: 1}); z != 0 || math.IsNaN(sd) {
		t.Errorf("%v ± %v", z, sd)
	}
}

func BenchmarkResidual(b *testing.B) {
	for _, n := range []int{60, 600} {
		rs := &Readings{Points: sown(n, 17)}
		random := noise(9)
		for i := range rs.Points {
			rs.Points[i].Z = warp(rs.Points[i].Place) + 0.001*random()
		}
		name := map[int]string{60: "60", 600: "600"}[n]
		var r *Residual
		b.Run("fit/"+name, func(b *testing.B) {
			for b.Loop() {
				r, _ = rs.Residual(ResidualOptions{})
			}
		})
		b.Run("map/"+name, func(b *testing.B) {
			for b.Loop() {
				if _, err := r.Map(r2.Box{Min: r2.Vec{X: -18, Y: -18}, Max: r2.Vec{X: 18, Y: 18}}); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("helpful/"+name, func(b *testing.B) {
			field := (&Blank{Outline: Shape{Form: Disc, Diameter: 34}, Thickness: 1}).Field()
			for b.Loop() {
				if _, err := r.MostHelpful(field); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
