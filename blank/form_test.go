package blank

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// Bow of 0.10 mm over a chord of 30 mm is a radius of 1125 mm, R = c²/(8h) + h/2
// exactly (closed form of the sagitta); under a guide 0.6 mm away it makes
// g²/(2R) = 0.16 µm.
func TestBow(t *testing.T) {
	const chord, sagitta = 30.0, 0.1
	radius := chord*chord/(8*sagitta) + sagitta/2
	for _, n := range []Nominal{
		{Figure: Dome, Radius: radius, Centre: r2.Vec{X: 1, Y: -2}},
		{Figure: Cylinder, Radius: radius, Centre: r2.Vec{X: 1, Y: -2}, Axis: math.Pi / 2},
	} {
		s := n.Surface()
		z, _, _, ok := s.Height(r2.Vec{X: 1 + chord/2, Y: -2})
		if !ok || !close(z, -sagitta, 1e-12) {
			t.Errorf("%+v: sagitta %v", n, -z)
		}
		k, _ := s.Curvature(r2.Vec{X: 1, Y: -2}, 0)
		if guide := 0.6 * 0.6 * k / 2; !close(1000*guide, 0.16, 0.0001) {
			t.Errorf("%+v: error of the guide %v µm", n, 1000*guide)
		}
	}
}

// On a dome the normal curvature is 1/R and the normal points to the centre,
// everywhere and in every direction; on a cylinder it follows Euler's theorem.
func TestCurvatureOfRoundWork(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		radius := rapid.SampledFrom([]float64{20, 33.3, 400, -25, -1000}).Draw(t, "radius")
		p := r2.Vec{X: rapid.Float64Range(-13, 13).Draw(t, "x"), Y: rapid.Float64Range(-13, 13).Draw(t, "y")}
		direction := rapid.Float64Range(-4, 4).Draw(t, "direction")
		c := r2.Vec{X: 0.5, Y: -0.25}
		s := Nominal{Figure: Dome, Radius: radius, Centre: c}.Surface()
		k, ok := s.Curvature(p, direction)
		if !ok || !close(k*radius, 1, 1e-9) {
			t.Fatalf("dome %v: curvature %v", radius, k)
		}
		z, _, _, _ := s.Height(p)
		normal, _ := s.Normal(p)
		middle := r3.Sub(r3.Vec{X: p.X, Y: p.Y, Z: z}, r3.Scale(radius, normal))
		if r3.Norm(r3.Sub(middle, r3.Vec{X: c.X, Y: c.Y, Z: -radius})) > 1e-9*math.Abs(radius) {
			t.Fatalf("dome %v: the normal at %v misses the centre: %v", radius, p, middle)
		}
		axis := rapid.Float64Range(-4, 4).Draw(t, "axis")
		s = Nominal{Figure: Cylinder, Radius: radius, Axis: axis, Centre: c}.Surface()
		if k, ok := s.Curvature(p, axis); !ok || !close(k, 0, 1e-12) {
			t.Fatalf("cylinder %v: curvature along the axis %v", radius, k)
		}
		if k, _ := s.Curvature(p, axis+math.Pi/2); !close(k*radius, 1, 1e-9) {
			t.Fatalf("cylinder %v: curvature across %v", radius, k)
		}
	})
}

// A cone has curvature 0 down its flank and cos(t)·tan(t)… = sin t/r across it
// (Meusnier's theorem: the normal section of a cone at radius r has R = r/sin t).
func TestCone(t *testing.T) {
	fall := 12 * math.Pi / 180
	s := Nominal{Figure: Cone, Fall: fall}.Surface()
	p := r2.Vec{X: 3, Y: 4}
	down := math.Atan2(4, 3)
	z, _, _, _ := s.Height(p)
	if !close(z, -5*math.Tan(fall), 1e-12) {
		t.Errorf("height %v", z)
	}
	if k, _ := s.Curvature(p, down); !close(k, 0, 1e-12) {
		t.Errorf("down the flank %v", k)
	}
	if k, _ := s.Curvature(p, down+math.Pi/2); !close(k, math.Sin(fall)/5, 1e-12) {
		t.Errorf("across the flank %v, want %v", k, math.Sin(fall)/5)
	}
}

// A profile drawn of a sphere is that sphere to the spline's error, and every
// figure's slope and bend are the differences of its heights.
func TestTurnedAndDifferences(t *testing.T) {
	var profile []r2.Vec
	for i := range 41 {
		r := float64(i) * 0.4
		profile = append(profile, r2.Vec{X: r, Y: math.Sqrt(40*40-r*r) - 40})
	}
	turned := Nominal{Figure: Turned, Profile: profile, Centre: r2.Vec{X: 1, Y: 2}}
	dome := Nominal{Figure: Dome, Radius: 40, Centre: r2.Vec{X: 1, Y: 2}}
	figures := []Nominal{turned, dome, {Figure: Cylinder, Radius: -30, Axis: 0.3}, {Figure: Cone, Fall: 0.2, Centre: r2.Vec{X: 40}}, {}}
	for _, n := range figures {
		if list := n.Check(); list != nil {
			t.Fatal(list)
		}
		s := n.Surface()
		const h = 1e-4
		for _, p := range []r2.Vec{{X: 3, Y: 1}, {X: -4, Y: 5}, {X: 0.5, Y: -8}} {
			at := func(dx, dy float64) float64 {
				z, _, _, ok := s.Height(r2.Vec{X: p.X + dx, Y: p.Y + dy})
				if !ok {
					t.Fatalf("%+v has no surface at %v", n, p)
				}
				return z
			}
			z, g, b, _ := s.Height(p)
			if !close(g.X, (at(h, 0)-at(-h, 0))/(2*h), 1e-6) || !close(g.Y, (at(0, h)-at(0, -h))/(2*h), 1e-6) {
				t.Errorf("%v at %v: slope %v", n.Figure, p, g)
			}
			for k, want := range []float64{(at(h, 0) - 2*z + at(-h, 0)) / (h * h), (at(h, h) - at(h, -h) - at(-h, h) + at(-h, -h)) / (4 * h * h), (at(0, h) - 2*z + at(0, -h)) / (h * h)} {
				if !close(b[k], want, 2e-4) {
					t.Errorf("%v at %v: bend %d is %v, by differences %v", n.Figure, p, k, b[k], want)
				}
			}
		}
	}
	a, b := turned.Surface(), dome.Surface()
	for r := 0.05; r < 14; r += 0.31 {
		p := r2.Vec{X: 1 + 0.6*r, Y: 2 - 0.8*r}
		za, _, _, _ := a.Height(p)
		zb, _, _, _ := b.Height(p)
		ka, _ := a.Curvature(p, 0.7)
		if !close(za, zb, 1e-6) || !close(ka, 1.0/40, 2e-4) {
			t.Errorf("r %v: %v for %v, curvature %v", r, za, zb, ka)
		}
	}
	if _, _, _, ok := a.Height(r2.Vec{X: 18.1, Y: 2}); ok {
		t.Error("the profile goes on past its end")
	}
	if _, _, _, ok := b.Height(r2.Vec{X: 41.1, Y: 2}); ok {
		t.Error("the dome goes on past its equator")
	}
}

func TestNominalCheck(t *testing.T) {
	for _, c := range []struct {
		n    Nominal
		want string
	}{
		{Nominal{Figure: Dome}, "radius: 0 mm is no radius"},
		{Nominal{Figure: Cylinder, Radius: math.NaN()}, "radius: it is not a finite number"},
		{Nominal{Figure: Cone, Fall: 1.5}, "fall: 85.9437° is too steep"},
		{Nominal{Figure: Turned}, "profile: it has 0 points"},
		{Nominal{Figure: Turned, Profile: []r2.Vec{{X: 1}, {X: 2}, {X: 2}}}, "profile[0]: the first radius is 1 mm"},
		{Nominal{Figure: Turned, Profile: []r2.Vec{{X: 0}, {X: 2}, {X: 2}}}, "profile[2]: the radius 2 mm does not follow 2 mm"},
		{Nominal{Figure: 9}, "no such figure"},
	} {
		if list := c.n.Check(); !strings.Contains(list.Error(), c.want) {
			t.Errorf("%+v: want %q in %v", c.n, c.want, list)
		}
	}
	b := &Blank{Outline: Shape{Form: Disc, Diameter: 36}, Thickness: 1, Nominal: Nominal{Figure: Dome}}
	if list := b.Check(); len(list) != 1 || list[0].Field != "nominal.radius" {
		t.Errorf("%v", list)
	}
}
