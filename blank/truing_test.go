package blank

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func degrees(v float64) float64 { return v * math.Pi / 180 }

func chucks() []TruingChuck {
	three := TruingChuck{Division: 16}
	for _, a := range []float64{90, 210, 330} {
		three.Screws = append(three.Screws, Screw{Radius: 25, Angle: degrees(a), Pitch: 0.5})
	}
	four := TruingChuck{Division: 24}
	for _, a := range []float64{45, 135, 225, 315} {
		four.Screws = append(four.Screws, Screw{Radius: 22, Angle: degrees(a), Pitch: 0.75})
	}
	crossed := TruingChuck{Division: 100, Axes: []Axis{{Along: degrees(10), Arm: 30, Pitch: 0.5}, {Along: degrees(95), Arm: 20, Pitch: 1, Lowers: true}}}
	return []TruingChuck{three, four, crossed}
}

// A worked example by hand: work that rises 0.12 mm over 40 mm along x, on three
// screws at 0°, 120°, 240° of radius 20 and pitch 0.5. Screw 1 goes down by
// 0.003·20 = 0.060 mm = 1.92/16 turn, the others up by 0.030 mm = 0.96/16 turn.
func TestTruingByHand(t *testing.T) {
	rs := mustRead(t, "x,y,z\n20,0,0.06\n-20,0,-0.06\n0,20,0\n0,-20,0\n10,10,0.03\n", ReadingOptions{})
	chuck := TruingChuck{Division: 16}
	for _, a := range []float64{0, 120, 240} {
		chuck.Screws = append(chuck.Screws, Screw{Radius: 20, Angle: degrees(a), Pitch: 0.5})
	}
	tr, err := rs.True(TruingOptions{Chuck: chuck})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"screw 1 (0°): 1/8 turn anticlockwise, lowers the work there by 0.062 mm",
		"screw 2 (120°): 1/16 turn clockwise, raises the work there by 0.031 mm",
		"screw 3 (240°): 1/16 turn clockwise, raises the work there by 0.031 mm",
	}
	for i, turn := range tr.Turns {
		if turn.Text != want[i] {
			t.Errorf("turn %d: %q, want %q", i, turn.Text, want[i])
		}
	}
	if !close(tr.Turns[0].Exact, -0.06, 1e-12) || !close(tr.Turns[1].Exact, 0.03, 1e-12) {
		t.Errorf("exact %v %v", tr.Turns[0].Exact, tr.Turns[1].Exact)
	}
	// 1/8 turn is 62.5 µm for 60: a slope of 2.5 µm in 20 mm is left.
	if !close(tr.Left.X, -0.000125, 1e-12) || !close(tr.Expect[0].Z, -0.0025, 1e-12) {
		t.Errorf("left %v, expect %v", tr.Left, tr.Expect[0])
	}
	if !close(tr.Before.Total, 0.12, 1e-12) || !close(tr.Best.Total, 0, 1e-12) || !close(tr.After.Total, 0.005, 1e-12) {
		t.Errorf("before %v best %v after %v", tr.Before, tr.Best, tr.After)
	}
}

// For every chuck: the turns take the tilt out up to their rounding, and turning
// the screws of a rigid body in space leads to the readings expected.
func TestTruingMovesARigidBody(t *testing.T) {
	for k, chuck := range chucks() {
		if list := chuck.Check(); list != nil {
			t.Fatal(list)
		}
		rapid.Check(t, func(t *rapid.T) {
			points := sown(rapid.IntRange(6, 20).Draw(t, "n"), 17)
			tilt := Plane{Lift: rapid.Float64Range(-.2, .2).Draw(t, "lift"), Slope: r2.Vec{X: rapid.Float64Range(-.02, .02).Draw(t, "sx"), Y: rapid.Float64Range(-.02, .02).Draw(t, "sy")}}
			for i := range points {
				points[i].Z = rapid.Float64Range(-.005, .005).Draw(t, "z") + tilt.At(points[i].Place)
			}
			fit := rapid.SampledFrom([]Fit{BySquares, ByWorst}).Draw(t, "fit")
			raise := k == 0 && rapid.Bool().Draw(t, "raise")
			rs := &Readings{Points: points}
			tr, err := rs.True(TruingOptions{Chuck: chuck, Fit: fit, Raise: raise})
			if err != nil {
				t.Fatal(err)
			}
			// Half a part of a turn at each screw bounds what is left.
			var bound float64
			for _, d := range chuck.drives(Plane{}) {
				bound += d.part * r2.Norm(d.slope)
			}
			if left := r2.Norm(tr.Left); left > bound/2+1e-12 {
				t.Fatalf("a slope of %v is left, rounding allows %v", left, bound/2)
			}
			if raise && math.Abs(tr.Plane.Lift+tr.Change.Lift) > 0.5*0.5/16+1e-9 {
				t.Fatalf("the plane stands at %v", tr.Plane.Lift+tr.Change.Lift)
			}
			// The body: its back, in which the screws bear, is the plane of zero
			// height before. Turned by the shortest rotation into the plane
			// through the risen screws.
			change := planeOf(tr.Turns, chuck)
			normal := r3.Unit(r3.Vec{X: -change.Slope.X, Y: -change.Slope.Y, Z: 1})
			axis := r3.Cross(r3.Vec{Z: 1}, normal)
			turned := func(p r3.Vec) r3.Vec {
				if n := r3.Norm(axis); n > 0 {
					p = r3.NewRotation(math.Asin(n), axis).Rotate(p)
				}
				p.Z += change.Lift
				return p
			}
			for i, r := range points {
				body := turned(r3.Vec{X: r.Place.X, Y: r.Place.Y, Z: r.Z})
				if got := tr.Expect[i].Z; math.Abs(body.Z-got) > 0.02*0.02*0.6 {
					t.Fatalf("reading %d: expected %v, the body moved to %v", i, got, body.Z)
				}
			}
		})
	}
}

// planeOf is the plane through the screws' ends after the turns, found anew.
func planeOf(turns []Turn, c TruingChuck) Plane {
	var points []Reading
	for _, turn := range turns {
		for i, a := range c.Axes {
			if strings.HasPrefix(turn.Screw, "axis "+string(rune('1'+i))) {
				// On its own hinge the other end goes down as this one goes up;
				// the two axes add.
				points = append(points, Reading{Place: a.end(), Z: turn.Rise})
			}
		}
		for i, s := range c.Screws {
			if strings.HasPrefix(turn.Screw, "screw "+string(rune('1'+i))) {
				points = append(points, Reading{Place: s.place(), Z: turn.Rise, Count: 1})
			}
		}
	}
	if len(c.Axes) == 2 {
		var p Plane
		for _, r := range points {
			p.Slope = r2.Add(p.Slope, r2.Scale(r.Z/r2.Norm2(r.Place), r.Place))
		}
		return p
	}
	p, err := LeastSquares(points)
	if err != nil {
		panic(err)
	}
	return p
}

// Readings of a dome are trued against the dome, in the field alone.
func TestTruingOfADome(t *testing.T) {
	dome := Nominal{Figure: Dome, Radius: 80}
	s := dome.Surface()
	rs := &Readings{}
	for i := range 40 {
		sin, cos := math.Sincos(float64(i))
		p := r2.Scale(4+12*float64(i%5)/4, r2.Vec{X: cos, Y: sin})
		z, _, _, _ := s.Height(p)
		rs.Points = append(rs.Points, Reading{Place: p, Z: z + 0.004*p.X - 0.001*p.Y, Count: 1})
	}
	rs.Points = append(rs.Points, Reading{Place: r2.Vec{X: 17.9}, Z: 5, Count: 1}) // a burr on the rim
	b := &Blank{Outline: Shape{Form: Disc, Diameter: 36}, Border: 1, Thickness: 1}
	for _, fit := range []Fit{BySquares, ByWorst} {
		tr, err := rs.True(TruingOptions{Chuck: chucks()[1], Nominal: dome, Field: b.Field(), Fit: fit})
		if err != nil {
			t.Fatal(err)
		}
		if tr.Used != 40 || !close(tr.Plane.Slope.X, 0.004, 1e-9) || !close(tr.Plane.Slope.Y, -0.001, 1e-9) || tr.Best.Total > 1e-9 {
			t.Errorf("%+v", tr)
		}
	}
}

func TestTruingFaults(t *testing.T) {
	rs := mustRead(t, "x,y,z\n20,0,0.06\n-20,0,-0.06\n0,20,0\n", ReadingOptions{})
	steep := mustRead(t, "x,y,z\n20,0,6\n-20,0,-6\n0,20,0\n", ReadingOptions{})
	good := chucks()[0]
	b := &Blank{Outline: Shape{Form: Disc, Diameter: 10}, Thickness: 1}
	skew := chucks()[1]
	skew.Screws[2].Radius = 30
	line := TruingChuck{Division: 16, Screws: []Screw{{Radius: 20, Pitch: 1}, {Radius: 10, Pitch: 1}, {Radius: 20, Angle: math.Pi, Pitch: 1}}}
	for _, c := range []struct {
		rs   *Readings
		opts TruingOptions
		want string
	}{
		{rs, TruingOptions{}, "chuck.division: a turn cannot be set in 0 parts"},
		{rs, TruingOptions{Chuck: TruingChuck{Division: 16}}, "chuck.screws: the chuck has nothing to tilt the work by"},
		{rs, TruingOptions{Chuck: skew}, "do not stand in two pairs"},
		{rs, TruingOptions{Chuck: line}, "nearly in one line"},
		{rs, TruingOptions{Chuck: TruingChuck{Division: 16, Axes: []Axis{{Arm: 20, Pitch: 1}, {Arm: 20, Pitch: 1, Along: 3.1}}}}, "the two axes run nearly the same way"},
		{rs, TruingOptions{Chuck: good, Nominal: Nominal{Figure: Dome}}, "nominal.radius"},
		{rs, TruingOptions{Chuck: good, Field: b.Field()}, "of 3 places 0 lie in the field"},
		{steep, TruingOptions{Chuck: good}, "out of level"},
		{rs, TruingOptions{Chuck: TruingChuck{Division: 16, Screws: []Screw{{Radius: math.NaN(), Pitch: 1e-300}, {}, {}}}}, "chuck.screws[0].radius"},
	} {
		if _, err := c.rs.True(c.opts); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("want %q in %v", c.want, err)
		}
	}
}
