package surface

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// sampledProfile takes n heights of f over whole waves, at the middles of equal
// steps.
func sampledProfile(n, waves int, f func(u float64) float64) []float64 {
	z := make([]float64, n)
	for i := range z {
		_, u := math.Modf((float64(i) + 0.5) / float64(n) * float64(waves))
		z[i] = f(u)
	}
	return z
}

// grooves is a profile of V grooves one deep that cover a share of each wave.
func grooves(share float64) func(float64) float64 {
	return func(u float64) float64 { return -math.Max(0, 1-math.Abs(u-0.5)/(share/2)) }
}

// Closed forms of the definitions in ISO 21920-2 and ISO 4287. The sine and the
// triangle are in every text on surface texture; the groove trains and the turned
// arc were integrated for this test, exactly or to 30 digits. Ra 1.603 and Rz
// 6.25 µm for a feed of 0.2 and a nose of 0.8 mm are the parabola's figures that
// textbooks of machining print, f²/(18√3·r) and f²/(8r).
func TestProfile(t *testing.T) {
	const feed, nose = 0.2, 0.8
	arc := func(u float64) float64 {
		x := (u - 0.5) * feed
		return 1000 * (nose - math.Sqrt(nose*nose-x*x))
	}
	parabola := func(u float64) float64 { x := (u - 0.5) * feed; return 1000 * x * x / (2 * nose) }
	for _, c := range []struct {
		name      string
		z         []float64
		want      Profile
		tolerance float64
	}{
		{"sine", sampledProfile(100000, 5, func(u float64) float64 { return math.Sin(2 * math.Pi * u) }),
			Profile{Ra: 0.6366197724, Rq: 0.7071067812, Rz: 2, Rt: 2, Rsk: 0, Rku: 1.5}, 1e-6},
		{"triangle", sampledProfile(100000, 10, grooves(1)),
			Profile{Ra: 0.25, Rq: 1 / math.Sqrt(12), Rz: 1, Rt: 1, Rsk: 0, Rku: 1.8}, 2e-4},
		{"grooves over a quarter", sampledProfile(200000, 5, grooves(0.25)),
			Profile{Ra: 0.19140625, Rq: 0.260208250, Rz: 1, Rt: 1, Rsk: -1.995443147, Rku: 5.634319552}, 2e-4},
		{"grooves over a half", sampledProfile(200000, 5, grooves(0.5)),
			Profile{Ra: 0.28125, Rq: 0.322748612, Rz: 1, Rt: 1, Rsk: -0.929516003, Rku: 2.376}, 1e-4},
		{"turned arc, um", sampledProfile(100000, 5, arc),
			Profile{Ra: 1.608793668, Rq: 1.869670914, Rz: 6.274606681, Rt: 6.274606681, Rsk: 0.641463, Rku: 2.147075}, 1e-3},
		{"turned parabola, um", sampledProfile(100000, 5, parabola),
			Profile{Ra: 1.603750, Rq: 1.863390, Rz: 6.25, Rt: 6.25, Rsk: 0.638877, Rku: 2.142857}, 1e-3},
	} {
		got := ProfileOf(c.z)
		for _, f := range []struct {
			name      string
			got, want float64
		}{
			{"Ra", got.Ra, c.want.Ra}, {"Rq", got.Rq, c.want.Rq}, {"Rz", got.Rz, c.want.Rz},
			{"Rt", got.Rt, c.want.Rt}, {"Rsk", got.Rsk, c.want.Rsk}, {"Rku", got.Rku, c.want.Rku},
		} {
			if math.Abs(f.got-f.want) > c.tolerance {
				t.Errorf("%s: %s = %v, want %v", c.name, f.name, f.got, f.want)
			}
		}
	}
}

// Rz is the mean of five sections, Rt the whole: one deep groove counts for a
// fifth.
func TestRzAveragesSections(t *testing.T) {
	z := make([]float64, 1000)
	for i := range z {
		z[i] = float64(i%2) * 0.1
	}
	z[450] = -0.9
	p := ProfileOf(z)
	if want := (4*0.1 + 1.0) / 5; math.Abs(p.Rz-want) > 1e-12 || p.Rt != 1.0 {
		t.Errorf("Rz %v, Rt %v; want %v and 1", p.Rz, p.Rt, want)
	}
}

func fieldOf(t *testing.T, g Grid, z func(x, y float64) float64) *Field {
	t.Helper()
	f, err := NewField(g)
	if err != nil {
		t.Fatal(err)
	}
	for j := range g.Ny {
		for i := range g.Nx {
			x, y := g.At(i, j)
			f.Row(j)[i] = float32(z(x, y))
		}
	}
	return f
}

// Slopes of ISO 25178-2. The 45° plane (Sdq 1, Sdr 0.414) is printed on an
// instrument maker's page on areal parameters; V tilts of 30° and 20° (cutters
// of 120° and 140°) give Sdq = tan and Sdr = 1/cos − 1; the sine of steepest slope
// m = 0.502654825 gives (2/π)·√(1+m²)·E(m²/(1+m²)) − 1, evaluated to 30 digits.
func TestArealSlopes(t *testing.T) {
	tan := func(deg float64) float64 { return math.Tan(deg * math.Pi / 180) }
	fold := func(slope float64) func(x, y float64) float64 {
		// Crests and valleys on the grid's lines.
		return func(x, _ float64) float64 { return slope * math.Abs(math.Mod(x, 2)-1) }
	}
	for _, c := range []struct {
		name     string
		z        func(x, y float64) float64
		cell     float64
		sdq, sdr float64
	}{
		{"45° plane", func(x, y float64) float64 { return 0.6*x - 0.8*y }, 0.125, 1, math.Sqrt2 - 1},
		{"V of 120°", fold(tan(30)), 0.125, 0.577350269, 0.154700538},
		{"V of 140°", fold(tan(20)), 0.125, 0.363970234, 0.064177772},
		{"sine", func(x, _ float64) float64 { return 0.502654825 / math.Pi * math.Sin(math.Pi*x) }, 1. / 128,
			0.502654825 / math.Sqrt2, 0.0604504715195},
	} {
		n := int(16/c.cell) + 1
		a := fieldOf(t, Grid{Cell: c.cell, Nx: n, Ny: 17}, c.z).Areal()
		if math.Abs(a.Sdq-c.sdq) > 2e-4*c.sdq || math.Abs(a.Sdr-c.sdr) > 4e-4*c.sdr {
			t.Errorf("%s: Sdq %v Sdr %v, want %v and %v", c.name, a.Sdq, a.Sdr, c.sdq, c.sdr)
		}
	}
}

// Heights of a real hill (testdata/README.md). The values were computed from
// these numbers with another program, by the definitions of ISO 25178-2 and
// without taking off a plane.
func TestArealOfAHill(t *testing.T) {
	text, err := os.ReadFile("testdata/volcano.json")
	if err != nil {
		t.Fatal(err)
	}
	var hill struct {
		Width, Height int
		Values        []float64
	}
	if err := json.Unmarshal(text, &hill); err != nil {
		t.Fatal(err)
	}
	f := fieldOf(t, Grid{Cell: 1, Nx: hill.Width, Ny: hill.Height}, func(x, y float64) float64 {
		return hill.Values[int(y)*hill.Width+int(x)]
	})
	a := f.Areal()
	mean := pairwise(hill.Values, func(v float64) float64 { return v }) / float64(len(hill.Values))
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"mean", mean, 130.187865}, {"Sa", a.Sa, 22.0960886}, {"Sq", a.Sq, 25.8298986},
		{"Sz", a.Sz, 101}, {"Ssk", a.Ssk, 0.54717587}, {"Sku", a.Sku, 2.19575149},
	} {
		if math.Abs(c.got-c.want) > 1e-6*math.Abs(c.want) {
			t.Errorf("%s = %.9g, want %v", c.name, c.got, c.want)
		}
	}
}

func TestNothingToMeasure(t *testing.T) {
	if p := ProfileOf(nil); p != (Profile{}) {
		t.Errorf("no heights give %+v", p)
	}
	if p := ProfileOf(make([]float64, 50)); p != (Profile{}) {
		t.Errorf("a flat line gives %+v", p)
	}
	f, err := NewField(Grid{Cell: 1, Nx: 1, Ny: 1})
	if err != nil {
		t.Fatal(err)
	}
	if a := f.Areal(); a != (Areal{}) {
		t.Errorf("one cell gives %+v", a)
	}
}
