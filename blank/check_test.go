package blank

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

func dial() *Blank {
	return &Blank{
		Thickness: 0.8,
		Outline:   Shape{Form: Disc, Diameter: 36},
		Border:    1,
		Windows: []Window{
			{Name: "small seconds", Shape: Shape{Form: Disc, Diameter: 8, Centre: r2.Vec{Y: -9}}, Border: 0.3},
			{Name: "date", Shape: Shape{Form: Rectangle, Width: 2.4, Height: 1.8, Corner: 0.2, Centre: r2.Vec{X: 12}}, Open: true},
		},
		KeepClear: []Window{{Name: "signature", Shape: Shape{Form: Polygon, Points: []r2.Vec{{X: -3, Y: 8}, {X: 3, Y: 8}, {X: 2, Y: 10}}}}},
	}
}

func TestCheck(t *testing.T) {
	nan := math.NaN()
	polygon := func(p ...r2.Vec) Shape { return Shape{Form: Polygon, Points: p} }
	for _, v := range []struct {
		name  string
		spoil func(*Blank)
		want  string // fields, and words of the problem
	}{
		{"a good blank", func(b *Blank) {}, ""},
		{"no thickness", func(b *Blank) { b.Thickness = 0 }, "thickness: a blank 0 mm thick"},
		{"thickness not a number", func(b *Blank) { b.Thickness = nan }, "thickness: a blank NaN mm"},
		{"no shape", func(b *Blank) { b.Outline.Form = 0 }, "outline.shape: it has no shape"},
		{"no diameter", func(b *Blank) { b.Outline.Diameter = 0 }, "outline.diameter: a size of 0 mm"},
		{"endless diameter", func(b *Blank) { b.Outline.Diameter = math.Inf(1) }, "outline.diameter: a size of +Inf mm"},
		{"centre not a number", func(b *Blank) { b.Outline.Centre.Y = nan }, "outline.centre: a centre at (0, NaN) mm"},
		{"hole as large as the ring", func(b *Blank) { b.Windows[0].Shape = Shape{Form: Ring, Diameter: 9, Inner: 9} }, "windows[0].inner: the hole of 9 mm is as large as the ring"},
		{"no hole", func(b *Blank) { b.Outline.Form = Ring }, "outline.inner: a size of 0 mm"},
		{"corner too round", func(b *Blank) { b.Windows[1].Shape.Corner = 1 }, "windows[1].corner: a corner radius of 1 mm does not fit a rectangle of 2.4 by 1.8 mm"},
		{"corner of half the side", func(b *Blank) { b.Windows[1].Shape.Corner = 0.9 }, ""},
		{"corner of half the side, in inches", func(b *Blank) { b.Windows[1].Shape.Corner = (0.9 / 25.4) * 25.4 * (1 + 3e-16) }, ""},
		{"no width", func(b *Blank) { b.Windows[1].Shape.Width = -1 }, "windows[1].width: a size of -1 mm"},
		{"angle not a number", func(b *Blank) { b.Windows[1].Shape.Angle = nan }, "windows[1].angle: it is not an angle"},
		{"negative border", func(b *Blank) { b.Windows[0].Border = -0.1 }, "windows[0].border: a border of -0.1 mm"},
		{"border of the whole blank", func(b *Blank) { b.Border = 18 }, "border: a border of 18 mm leaves nothing"},
		{"window off the blank", func(b *Blank) { b.Windows[0].Shape.Centre = r2.Vec{X: 30} }, "windows[0].centre: it lies wholly outside"},
		{"window over the rim", func(b *Blank) { b.Windows[0].Shape.Centre = r2.Vec{X: 18} }, ""},
		{"kept clear off the blank", func(b *Blank) { b.KeepClear[0].Shape.Centre = r2.Vec{Y: 15} }, "keep_clear[0].centre: it lies wholly outside"},
		{"window over all", func(b *Blank) { b.Windows[0].Shape.Diameter = 80 }, "windows: the windows and the ground kept clear"},
		{"kept clear over all", func(b *Blank) {
			b.Windows, b.KeepClear[0].Shape = nil, Shape{Form: Rectangle, Width: 50, Height: 50}
		}, "keep_clear: the windows and the ground kept clear"},
		{"two corners", func(b *Blank) { b.KeepClear[0].Shape.Points = make([]r2.Vec, 2) }, "keep_clear[0].points: 2 points enclose no area"},
		{"corner not a number", func(b *Blank) { b.KeepClear[0].Shape.Points[1].X = nan }, "keep_clear[0].points[1]: the corner (NaN, 8) mm"},
		{"closed by hand", func(b *Blank) {
			b.Outline = polygon(r2.Vec{X: -20, Y: -20}, r2.Vec{X: 20, Y: -20}, r2.Vec{Y: 20}, r2.Vec{X: -20, Y: -20})
		}, "outline.points[3]: the last corner repeats the first"},
		{"corner twice", func(b *Blank) {
			b.Outline = polygon(r2.Vec{X: -20, Y: -20}, r2.Vec{X: 20, Y: -20}, r2.Vec{X: 20, Y: -20}, r2.Vec{Y: 20})
		}, "outline.points[1]: the next corner stands in the same place"},
		{"bow tie", func(b *Blank) {
			b.Outline = polygon(r2.Vec{X: -20, Y: -20}, r2.Vec{X: 20, Y: 20}, r2.Vec{X: 20, Y: -20}, r2.Vec{X: -20, Y: 20})
		}, "outline.points[0]: the side from corner 1 meets the side from corner 3 near (0, 0) mm"},
		{"line", func(b *Blank) { b.Outline = polygon(r2.Vec{}, r2.Vec{X: 5, Y: 5}, r2.Vec{X: 2, Y: 2}) }, "outline.points[0]: the side from corner 1 meets the side from corner 2 near (5, 5) mm"},
		{"a corner on a side", func(b *Blank) {
			b.Outline = polygon(r2.Vec{X: -20, Y: -20}, r2.Vec{X: 20, Y: -20}, r2.Vec{X: 20, Y: 20}, r2.Vec{Y: -20}, r2.Vec{X: -20, Y: 20})
		}, "outline.points[0]: the side from corner 1 meets the side from corner 3 near (0, -20) mm"},
		{"too many corners", func(b *Blank) { b.Outline = polygon(star(rand.New(rand.NewPCG(1, 1)), MostPoints+1, 18, 20)...) }, "outline.points: 10001 points are more than the 10000 allowed"},
		{"too many windows", func(b *Blank) { b.Windows = make([]Window, MostWindows) }, "windows: 1001 windows and shapes kept clear are more"},
		{"too many corners in all", func(b *Blank) {
			b.Windows, b.KeepClear = nil, nil
			for i := range 11 {
				b.Windows = append(b.Windows, Window{Shape: polygon(star(rand.New(rand.NewPCG(uint64(i), 1)), 9500, 1, 1.1)...)})
			}
		}, "windows[10].points: with these points the blank has 104500"},
		{"several faults at once", func(b *Blank) {
			b.Thickness, b.Border, b.Outline.Diameter = -1, nan, -36
			b.Windows[0].Shape.Form = 9
			b.KeepClear[0].Border = nan
		}, "thickness: a blank -1 mm thick|outline.diameter: a size of -36|border: a border of NaN|windows[0].shape: it has no shape|keep_clear[0].border: a border of NaN"},
	} {
		b := dial()
		v.spoil(b)
		l := b.Check()
		var want []string
		if v.want != "" {
			want = strings.Split(v.want, "|")
		}
		ok := len(l) == len(want)
		for i, f := range l {
			ok = ok && i < len(want) && strings.HasPrefix(f.Field+": "+f.Problem, want[i]) && f.Mend != ""
		}
		if !ok {
			t.Errorf("%s: want %q, got %v", v.name, want, l)
		}
	}
}

// What Check takes may be asked anything without a panic or a number that is
// none; what it refuses is not asked.
func TestCheckedBlanksAnswer(t *testing.T) {
	wild := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-40, 40), rapid.SampledFrom([]float64{0, 1, 10, math.NaN(), math.Inf(1), -1e300}))
	rapid.Check(t, func(t *rapid.T) {
		shape := func(name string) Shape {
			f := func() float64 { return wild.Draw(t, name) }
			s := Shape{Form: Form(rapid.IntRange(0, 5).Draw(t, "form")), Centre: r2.Vec{X: f(), Y: f()}, Diameter: f(), Inner: f(), Width: f(), Height: f(), Corner: f(), Angle: f()}
			for range rapid.IntRange(0, 5).Draw(t, "corners") {
				s.Points = append(s.Points, r2.Vec{X: f(), Y: f()})
			}
			return s
		}
		b := &Blank{Thickness: wild.Draw(t, "thickness"), Outline: shape("outline"), Border: wild.Draw(t, "border")}
		for range rapid.IntRange(0, 2).Draw(t, "windows") {
			b.Windows = append(b.Windows, Window{Shape: shape("window"), Border: wild.Draw(t, "border")})
		}
		faults := b.Check()
		for _, f := range faults {
			if f.Field == "" || f.Problem == "" || f.Mend == "" {
				t.Fatalf("%+v is no help", f)
			}
		}
		if len(faults) > 0 {
			return
		}
		d := b.Field().Distance(drawPoint(t, "p", 50))
		if math.IsNaN(d) || math.IsInf(d, 0) {
			t.Fatalf("distance %v", d)
		}
	})
}

// Sides that meet, found by looking at every pair.
func TestSelfContactAgainstEveryPair(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 12).Draw(t, "corners")
		p := make([]r2.Vec, n)
		for i := range p {
			// A coarse lattice, so that corners fall on sides and sides on sides.
			p[i] = r2.Vec{X: float64(rapid.IntRange(0, 6).Draw(t, "x")), Y: float64(rapid.IntRange(0, 6).Draw(t, "y"))}
		}
		for i := range p {
			if p[i] == p[(i+1)%n] {
				t.Skip("a corner twice")
			}
		}
		want := false
		for i := range p {
			a, b, c := p[i], p[(i+1)%n], p[(i+2)%n]
			want = want || n == 3 && r2.Cross(r2.Sub(b, a), r2.Sub(c, a)) == 0
			// The next side starts at b; nothing else of it may lie on a–b.
			for k := 1; k <= 60; k++ {
				q := r2.Add(b, r2.Scale(float64(k)/60, r2.Sub(c, b)))
				want = want || onSide(a, b, q)
			}
			for j := i + 2; j < n; j++ {
				if (j+1)%n != i {
					want = want || sidesMeet(a, b, p[j], p[(j+1)%n])
				}
			}
		}
		if _, _, _, got := newPolygon(p).selfContact(); got != want {
			t.Fatalf("contact %v, by every pair %v: %v", got, want, p)
		}
	})
}

// onSide and sidesMeet work in small whole numbers, so they are exact.
func onSide(a, b, q r2.Vec) bool {
	u, v := r2.Sub(b, a), r2.Sub(q, a)
	return math.Abs(r2.Cross(u, v)) < 1e-9 && r2.Dot(u, v) >= 0 && r2.Dot(u, v) <= r2.Norm2(u)
}

func sidesMeet(a, b, c, d r2.Vec) bool {
	u, v := r2.Sub(b, a), r2.Sub(d, c)
	det := r2.Cross(u, v)
	if det == 0 {
		return onSide(a, b, c) || onSide(a, b, d) || onSide(c, d, a)
	}
	w := r2.Sub(c, a)
	s, q := r2.Cross(w, v)/det, r2.Cross(w, u)/det
	const e = 1e-12
	return s >= -e && s <= 1+e && q >= -e && q <= 1+e
}

// Three corners that lie on a line but for the last digit.
func TestTurnIsExact(t *testing.T) {
	a, b := r2.Vec{X: 0.1, Y: 0.1}, r2.Vec{X: 0.7, Y: 0.7}
	up := math.Nextafter(0.3, 1)
	if turn(a, b, r2.Vec{X: 0.3, Y: 0.3}) != 0 || turn(a, b, r2.Vec{X: 0.3, Y: up}) != 1 || turn(a, b, r2.Vec{X: up, Y: 0.3}) != -1 {
		t.Error("the last digit is lost")
	}
}

func TestTouches(t *testing.T) {
	cross := Shape{Form: Rectangle, Width: 60, Height: 2}
	upright := Shape{Form: Rectangle, Width: 2, Height: 60}
	ring := Shape{Form: Ring, Diameter: 36, Inner: 20}
	for _, v := range []struct {
		name    string
		outline Shape
		window  Shape
		want    bool
	}{
		{"cross, no corner of one in the other", cross, upright, true},
		{"window in the hole of a ring", ring, Shape{Form: Disc, Diameter: 19}, false},
		{"window over the hole of a ring", ring, Shape{Form: Disc, Diameter: 21}, true},
		{"window round the outline", Shape{Form: Disc, Diameter: 10}, Shape{Form: Disc, Diameter: 50}, true},
		{"outline in the hole of the window", Shape{Form: Disc, Diameter: 10}, Shape{Form: Ring, Diameter: 50, Inner: 11}, false},
	} {
		if got := newRim(v.outline, true).touches(v.window); got != v.want {
			t.Errorf("%s: %v", v.name, got)
		}
	}
}

// The check of the largest blank that is allowed.
func BenchmarkCheck(b *testing.B) {
	rng := rand.New(rand.NewPCG(3, 3))
	bl := &Blank{Thickness: 1, Outline: Shape{Form: Polygon, Points: star(rng, MostPoints, 19, 20)}, Border: 0.1}
	for range MostWindows {
		bl.Windows = append(bl.Windows, Window{Shape: Shape{Form: Polygon, Points: star(rng, 80, 0.1, 0.2),
			Centre: r2.Vec{X: 24 * (rng.Float64() - 0.5), Y: 24 * (rng.Float64() - 0.5)}}})
	}
	for b.Loop() {
		if l := bl.Check(); l != nil {
			b.Fatal(l)
		}
	}
}
