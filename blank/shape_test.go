package blank

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

const deg = math.Pi / 180

func draw(t *rapid.T, name string, from, to float64) float64 {
	return rapid.Float64Range(from, to).Draw(t, name)
}

func drawPoint(t *rapid.T, name string, reach float64) r2.Vec {
	return r2.Vec{X: draw(t, name+" x", -reach, reach), Y: draw(t, name+" y", -reach, reach)}
}

// drawShape draws any shape of about 5 to 50 mm that Check takes.
func drawShape(t *rapid.T) Shape {
	s := Shape{Form: rapid.SampledFrom([]Form{Disc, Ring, Rectangle, Polygon}).Draw(t, "form"), Centre: drawPoint(t, "centre", 20)}
	switch s.Form {
	case Disc:
		s.Diameter = draw(t, "diameter", 5, 40)
	case Ring:
		s.Diameter = draw(t, "diameter", 5, 40)
		s.Inner = s.Diameter * draw(t, "hole", 0.05, 0.95)
	case Rectangle:
		s.Width, s.Height = draw(t, "width", 5, 40), draw(t, "height", 5, 40)
		s.Corner = min(s.Width, s.Height) / 2 * rapid.SampledFrom([]float64{0, 0.1, 0.7, 1}).Draw(t, "corner")
		s.Angle = draw(t, "angle", -4, 4)
	case Polygon:
		s.Points = drawStar(t, rapid.IntRange(3, 60).Draw(t, "corners"))
	}
	return s
}

// drawStar draws a polygon, mostly hollow, that never crosses itself, in either
// direction.
func drawStar(t *rapid.T, n int) []r2.Vec {
	seed := rapid.Uint64().Draw(t, "seed")
	return star(rand.New(rand.NewPCG(seed, 1)), n, 3, 25)
}

func star(rng *rand.Rand, n int, least, most float64) []r2.Vec {
	p := make([]r2.Vec, n)
	way := float64(1 - 2*rng.IntN(2))
	for i := range p {
		r := least + (most-least)*rng.Float64()
		sin, cos := math.Sincos(way * 2 * math.Pi * (float64(i) + 0.8*rng.Float64()) / float64(n))
		p[i] = r2.Vec{X: r * cos, Y: r * sin}
	}
	return p
}

// boundary walks the edge of a shape in steps of about the length given, by the
// plain parametric equations, and says whether a point is inside by them.
func boundary(s Shape, step float64) []r2.Vec {
	var at []r2.Vec
	circle := func(c r2.Vec, r, from, to float64) {
		n := int(math.Ceil(r*math.Abs(to-from)/step)) + 1
		for i := range n + 1 {
			a := from + (to-from)*float64(i)/float64(n)
			at = append(at, r2.Vec{X: c.X + r*math.Cos(a), Y: c.Y + r*math.Sin(a)})
		}
	}
	line := func(a, b r2.Vec) {
		n := int(math.Ceil(r2.Norm(r2.Sub(b, a))/step)) + 1
		for i := range n + 1 {
			at = append(at, r2.Add(a, r2.Scale(float64(i)/float64(n), r2.Sub(b, a))))
		}
	}
	switch s.Form {
	case Disc:
		circle(s.Centre, s.Diameter/2, 0, 2*math.Pi)
	case Ring:
		circle(s.Centre, s.Diameter/2, 0, 2*math.Pi)
		circle(s.Centre, s.Inner/2, 0, 2*math.Pi)
	case Rectangle:
		w, h, c := s.Width/2, s.Height/2, s.Corner
		for _, l := range [][2]r2.Vec{
			{{X: c - w, Y: -h}, {X: w - c, Y: -h}}, {{X: w, Y: c - h}, {X: w, Y: h - c}},
			{{X: w - c, Y: h}, {X: c - w, Y: h}}, {{X: -w, Y: h - c}, {X: -w, Y: c - h}},
		} {
			line(l[0], l[1])
		}
		circle(r2.Vec{X: w - c, Y: h - c}, c, 0, math.Pi/2)
		circle(r2.Vec{X: c - w, Y: h - c}, c, math.Pi/2, math.Pi)
		circle(r2.Vec{X: c - w, Y: c - h}, c, math.Pi, 3*math.Pi/2)
		circle(r2.Vec{X: w - c, Y: c - h}, c, 3*math.Pi/2, 2*math.Pi)
		for i, p := range at {
			at[i] = r2.Add(s.Centre, r2.Rotate(p, s.Angle, r2.Vec{}))
		}
	case Polygon:
		for i, a := range s.Points {
			line(r2.Add(s.Centre, a), r2.Add(s.Centre, s.Points[(i+1)%len(s.Points)]))
		}
	}
	return at
}

// inside says by the winding of the finely walked edge whether p is in the
// shape: the angles under which its parts are seen add up to a turn, or to
// nothing.
func inside(s Shape, p r2.Vec) bool {
	switch s.Form {
	case Disc:
		return r2.Norm(r2.Sub(p, s.Centre)) < s.Diameter/2
	case Ring:
		r := r2.Norm(r2.Sub(p, s.Centre))
		return r < s.Diameter/2 && r > s.Inner/2
	case Rectangle:
		q := r2.Rotate(r2.Sub(p, s.Centre), -s.Angle, r2.Vec{})
		x, y := math.Abs(q.X), math.Abs(q.Y)
		if x >= s.Width/2 || y >= s.Height/2 {
			return false
		}
		cx, cy := x-(s.Width/2-s.Corner), y-(s.Height/2-s.Corner)
		return cx < 0 || cy < 0 || math.Hypot(cx, cy) < s.Corner
	}
	var sum float64
	for i, a := range s.Points {
		u := r2.Sub(r2.Add(s.Centre, a), p)
		v := r2.Sub(r2.Add(s.Centre, s.Points[(i+1)%len(s.Points)]), p)
		sum += math.Atan2(r2.Cross(u, v), r2.Dot(u, v))
	}
	return math.Abs(sum) > math.Pi
}

// Every distance against the nearest of many points of the edge: no farther
// than it, and nearer only by what lies between two of them.
func TestDistanceAgainstTheEdgeWalked(t *testing.T) {
	const step = 0.02
	rapid.Check(t, func(t *rapid.T) {
		s := drawShape(t)
		e := newEdge(s)
		edge := boundary(s, step)
		for i := range 8 {
			p := drawPoint(t, fmt.Sprint("p", i), 60)
			nearest := math.Inf(1)
			for _, q := range edge {
				nearest = min(nearest, r2.Norm(r2.Sub(p, q)))
			}
			d := s.Distance(p)
			if a := math.Abs(d); a > nearest+1e-9 || nearest > a+step/2+1e-9 {
				t.Fatalf("%v of the edge, but it passes at %v", d, nearest)
			}
			if nearest > 1e-6 && (d < 0) != inside(s, p) {
				t.Fatalf("distance %v, but inside is %v", d, inside(s, p))
			}
			if got := e.distance(p); math.Abs(got-d) > 1e-12 {
				t.Fatalf("%v when made ready, %v when asked once", got, d)
			}
		}
	})
}

func TestDistanceWorkedByHand(t *testing.T) {
	panel := Shape{Form: Rectangle, Width: 30, Height: 20, Corner: 2, Centre: r2.Vec{X: 1, Y: -3}}
	turned := panel
	turned.Angle = 90 * deg
	kite := Shape{Form: Polygon, Points: []r2.Vec{{X: 0, Y: 0}, {X: 4, Y: 0}, {X: 0, Y: 3}}, Centre: r2.Vec{X: 10, Y: 20}}
	for _, v := range []struct {
		name  string
		shape Shape
		x, y  float64
		want  float64
	}{
		{"middle of a disc", Shape{Form: Disc, Diameter: 36}, 0, 0, -18},
		{"beside a disc", Shape{Form: Disc, Diameter: 36}, 18, 24, 12},
		{"hole of a ring", Shape{Form: Ring, Diameter: 36, Inner: 12}, 3, 4, 1},
		{"ring, nearer its hole", Shape{Form: Ring, Diameter: 36, Inner: 12}, 0, 8, -2},
		{"ring, nearer its rim", Shape{Form: Ring, Diameter: 36, Inner: 12}, -17, 0, -1},
		{"middle of a panel", panel, 1, -3, -10},
		{"right of a panel", panel, 17, -3, 1},
		{"above a panel", panel, 1, 9, 2},
		{"off a panel's corner", panel, 1 + 13 + 6, -3 + 8 + 8, 8}, // 3-4-5 from the corner's centre
		{"right of a turned panel", turned, 12, -3, 1},
		{"above a turned panel", turned, 1, 14, 2},
		{"3-4-5 triangle, its inner circle's middle", kite, 11, 21, -1},
		{"3-4-5 triangle, off its long side", kite, 10 + 2 + 3, 20 + 1.5 + 4, 5},
		{"3-4-5 triangle, off its right angle", kite, 7, 16, 5},
	} {
		if got := v.shape.Distance(r2.Vec{X: v.x, Y: v.y}); math.Abs(got-v.want) > 1e-12 {
			t.Errorf("%s: %v, want %v", v.name, got, v.want)
		}
	}
}

// A ray that runs through corners and along sides is still counted once.
func TestInsideOnARayThroughCorners(t *testing.T) {
	comb := []r2.Vec{{X: 0, Y: 0}, {X: 8, Y: 0}, {X: 8, Y: 2}, {X: 7, Y: 1}, {X: 6, Y: 2}, {X: 5, Y: 2}, {X: 4, Y: 1}, {X: 3, Y: 1}, {X: 2, Y: 2}, {X: 1, Y: 1}, {X: 0, Y: 1}}
	for _, way := range []bool{false, true} {
		points := append([]r2.Vec(nil), comb...)
		if way {
			for i := range points {
				points[i] = comb[len(comb)-1-i]
			}
		}
		s := Shape{Form: Polygon, Points: points}
		g := newPolygon(points)
		for x := -0.75; x < 9; x += 0.5 {
			for _, y := range []float64{-0.5, 0.5, 1.5, 2.5, 1, 2} {
				p := r2.Vec{X: x, Y: y}
				if s.Distance(p) == 0 {
					continue
				}
				if want := inside(s, p); s.Distance(p) < 0 != want || g.distance(p) < 0 != want {
					t.Errorf("(%v, %v): inside should be %v", x, y, want)
				}
			}
		}
	}
}

func TestTreeAgainstEverySide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := drawStar(t, rapid.IntRange(3, 3000).Draw(t, "corners"))
		g := newPolygon(points)
		for i := range 20 {
			p := drawPoint(t, fmt.Sprint("p", i), 30)
			if i%4 == 0 { // level with a corner
				p.Y = points[i%len(points)].Y
			}
			if got, want := g.distance(p), polygonDistance(points, p); got != want {
				t.Fatalf("by the tree %v, by every side %v", got, want)
			}
		}
	})
}

func TestTurnedWorkKeepsItsDistances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawShape(t)
		p := drawPoint(t, "p", 60)
		a := draw(t, "turn", -7, 7)
		turned := s
		turned.Centre = r2.Rotate(s.Centre, a, r2.Vec{})
		turned.Angle += a
		turned.Points = nil
		for _, q := range s.Points {
			turned.Points = append(turned.Points, r2.Rotate(q, a, r2.Vec{}))
		}
		if d, e := s.Distance(p), turned.Distance(r2.Rotate(p, a, r2.Vec{})); math.Abs(d-e) > 1e-9 {
			t.Fatalf("%v, turned %v", d, e)
		}
	})
}

// Closed forms against a share of random points (seed 7); four standard
// deviations are allowed.
func TestAreaByThrowingPoints(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	for _, s := range []Shape{
		{Form: Disc, Diameter: 31, Centre: r2.Vec{X: 3, Y: 1}},
		{Form: Ring, Diameter: 36, Inner: 22},
		{Form: Rectangle, Width: 30, Height: 20, Corner: 6, Angle: 0.3, Centre: r2.Vec{X: -4, Y: 2}},
		{Form: Polygon, Points: star(rng, 17, 4, 20)},
	} {
		box := s.Bounds()
		size := r2.Sub(box.Max, box.Min)
		const n = 200_000
		hits := 0
		for range n {
			p := r2.Vec{X: box.Min.X + size.X*rng.Float64(), Y: box.Min.Y + size.Y*rng.Float64()}
			if s.Distance(p) < 0 {
				hits++
			}
		}
		share := float64(hits) / n
		all := size.X * size.Y
		if allowed := 4 * all * math.Sqrt(share*(1-share)/n); math.Abs(share*all-s.Area()) > allowed {
			t.Errorf("form %d: area %v, thrown %v ± %v", s.Form, s.Area(), share*all, allowed)
		}
	}
	if a := (Shape{Form: Polygon, Points: []r2.Vec{{X: 0, Y: 0}, {X: 0, Y: 3}, {X: 4, Y: 0}}}).Area(); a != 6 {
		t.Errorf("3-4-5 triangle: %v mm²", a)
	}
}

func TestBoundsHoldTheEdge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawShape(t)
		box := s.Bounds()
		tight := r2.Box{Min: r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, Max: r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}}
		for _, p := range boundary(s, 0.05) {
			tight.Min = r2.Vec{X: min(tight.Min.X, p.X), Y: min(tight.Min.Y, p.Y)}
			tight.Max = r2.Vec{X: max(tight.Max.X, p.X), Y: max(tight.Max.Y, p.Y)}
		}
		for _, d := range []float64{tight.Min.X - box.Min.X, tight.Min.Y - box.Min.Y, box.Max.X - tight.Max.X, box.Max.Y - tight.Max.Y} {
			if d < -1e-9 || d > 0.01 {
				t.Fatalf("box %v, the edge walked keeps within %v", box, tight)
			}
		}
	})
}

// The drawn loops stay within the chord of the edge, enclose the area with the
// sign of their direction, and miss no part of it.
func TestOutline(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawShape(t)
		chord := rapid.SampledFrom([]float64{0.1, 0.01, 0.001}).Draw(t, "chord")
		loops := s.Outline(chord)
		var area, round float64
		for i, loop := range loops {
			a := turnedArea(loop)
			if (a > 0) != (i == 0) {
				t.Fatalf("loop %d runs the wrong way", i)
			}
			area += a
			prev := loop[len(loop)-1]
			for _, q := range loop {
				round += r2.Norm(r2.Sub(q, prev))
				for _, at := range []float64{0, 0.5} {
					p := r2.Add(q, r2.Scale(at, r2.Sub(prev, q)))
					if d := math.Abs(s.Distance(p)); d > chord*(1+1e-6)+1e-12 {
						t.Fatalf("the drawing leaves the edge by %v, chord %v", d, chord)
					}
				}
				prev = q
			}
		}
		if math.Abs(area-s.Area()) > round*chord {
			t.Fatalf("the drawing encloses %v mm², the shape %v", area, s.Area())
		}
	})
	for _, chord := range []float64{0, -1, 1e-300, math.NaN(), math.Inf(1)} {
		if n := len(Shape{Form: Disc, Diameter: 36}.Outline(chord)[0]); n < 12 || n > mostSegments {
			t.Errorf("chord %v: %d points", chord, n)
		}
	}
}

func BenchmarkDistance(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	for _, v := range []struct {
		name  string
		shape Shape
	}{
		{"disc", Shape{Form: Disc, Diameter: 36}},
		{"rectangle", Shape{Form: Rectangle, Width: 30, Height: 20, Corner: 1, Angle: 0.2}},
		{"polygon of 6", Shape{Form: Polygon, Points: star(rng, 6, 10, 20)}},
		{"polygon of 100", Shape{Form: Polygon, Points: star(rng, 100, 10, 20)}},
		{"smooth polygon of 10000", Shape{Form: Polygon, Points: star(rng, 10_000, 19, 20)}},
		{"rough polygon of 10000", Shape{Form: Polygon, Points: star(rng, 10_000, 10, 20)}},
	} {
		where := make([]r2.Vec, 1024)
		for i := range where {
			where[i] = r2.Vec{X: 44 * (rng.Float64() - 0.5), Y: 44 * (rng.Float64() - 0.5)}
		}
		e := newEdge(v.shape)
		b.Run(v.name, func(b *testing.B) {
			var sum float64
			for i := range b.N {
				sum += e.distance(where[i%len(where)])
			}
			b.ReportMetric(sum/float64(b.N), "mean-mm")
		})
	}
}
