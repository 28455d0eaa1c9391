package bar

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// drawCut makes a random edge with a random tool.
func drawCut(t *rapid.T) (Edge, *Cut) {
	for {
		e := drawEdge(t)
		c, err := Make(e, rapid.Float64Range(0.02, 2).Draw(t, "tool"), 0, e.Radius == 0 && rapid.Bool().Draw(t, "over"))
		if err == nil {
			return e, c
		}
	}
}

// The metal that is left is that which the tool cannot reach without cutting into
// the edge: the closing of the edge by discs, here by its definition.
func TestMadeIsTheClosing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		if seldom(t) {
			return
		}
		e, c := drawCut(t)
		made, err := c.Made.Profile()
		if err != nil {
			t.Fatal(err)
		}
		drawn, _ := e.Profile()
		sign := c.path.follower.frame.out()
		from, to := e.Span()
		for range 2 {
			s := drawPlace(t, c.path)
			if s < from || s > to {
				continue
			}
			h, _ := drawn.Height(s)
			g, _ := made.Height(s)
			h, g = h*sign, g*sign
			// The lowest nose standing on the path over s, by brute force.
			low := math.Inf(1)
			R, ρ := e.Radius, c.Tool
			reach := ρ
			if R > 0 {
				reach = 1.5 * ρ / (R * 0.7)
			}
			for i := range 2001 {
				x := s + reach*(float64(i)/1000-1)
				if x < from || x > to {
					continue
				}
				lift, _ := c.path.At(x)
				u := x - s
				if R == 0 {
					low = min(low, lift+ρ-math.Sqrt(max(0, ρ*ρ-u*u)))
				} else if k := R + ρ + lift; ρ*ρ > k*k*math.Sin(u)*math.Sin(u) && math.Cos(u) > 0 {
					low = min(low, k*math.Cos(u)-math.Sqrt(ρ*ρ-k*k*math.Sin(u)*math.Sin(u))-R)
				}
			}
			if g < h-UsualTolerance-PathError {
				t.Fatalf("%+v tool %v at %v: cut into the edge by %v", e, c.Tool, s, h-g)
			}
			if g > low+UsualTolerance+2*PathError {
				t.Fatalf("%+v tool %v at %v: %v left, brute force %v", e, c.Tool, s, g, low)
			}
			if (s >= from+ρ && s <= to-ρ) && g < low-0.02*ρ-UsualTolerance {
				t.Fatalf("%+v tool %v at %v: %v left, brute force %v", e, c.Tool, s, g, low)
			}
		}
	})
}

// A tool no larger than the touchpiece costs nothing: the touchpiece does not reach
// what it leaves.
func TestSmallToolCostsNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		if seldom(t) {
			return
		}
		e, ρ, p := drawPath(t)
		tool := ρ * rapid.Float64Range(0.05, 1).Draw(t, "share")
		if tool == 0 {
			return
		}
		c, err := Make(e, tool, 0, false)
		if err != nil {
			return
		}
		q, err := Follow(c.Made, ρ)
		if err != nil {
			t.Fatal(err)
		}
		s := drawPlace(t, p)
		a, _ := p.At(s)
		b, _ := q.At(s)
		if math.Abs(a-b) > 1.2*UsualTolerance+2*PathError {
			t.Fatalf("%+v tool %v, ρ=%v at %v: %v, but over what the tool leaves %v", e, tool, ρ, s, a, b)
		}
	})
}

// A round tool in a sharp hollow of half-angle β leaves ρ(1/sin β − 1) at its point:
// plane geometry, as in TestLostInVee.
func TestLeftInVee(t *testing.T) {
	const ρ = 0.3
	e := Edge{Figure: Zigzag, Wave: 3, Amplitude: 0.5}
	c, err := Make(e, ρ, 0, false)
	if err != nil {
		t.Fatal(err)
	}
	left := ρ * (1/math.Cos(math.Atan(2*0.5/1.5)) - 1)
	if len(c.Left) != 1 {
		t.Fatal(c.Left)
	}
	near(t, "left", c.Left[0].Depth, left, 1e-9)
	h, _ := c.Made.Height(2.25)
	near(t, "bottom", h, -0.5+left, UsualTolerance)
	// A touchpiece of 0.1 would have reached further down; what it then gives.
	v := invert(t, Want{Path: Edge{Figure: Sine, Wave: 3, Amplitude: 0.25}, Touch: 0.1, Tool: 2})
	if v.Fall != 0 || !(v.Departure > 0.01) {
		t.Error("the tool is too large for the hollows of 0.912 + 0.1 mm:", v.Departure)
	}
	v = invert(t, Want{Path: Edge{Figure: Sine, Wave: 3, Amplitude: 0.25}, Touch: 0.1, Tool: 1})
	if !(v.Departure < 2*UsualTolerance) {
		t.Error("the tool is small enough:", v.Departure)
	}
	near(t, "hollow", v.SmallestHollow, 9/(4*math.Pi*math.Pi*0.25)+0.1, 1e-9)
}

// Every place of the way drawn is within the tolerance of a tool's radius from the
// edge, and no place of the edge nearer to it.
func TestCentre(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		if seldom(t) {
			return
		}
		e, c := drawCut(t)
		const tol = 1e-3
		from, to := e.Span()
		switch T := e.Period(); {
		case e.Radius > 0:
			from = rapid.Float64Range(-7, 7).Draw(t, "from")
			if to = from + 2.3*T; rapid.IntRange(0, 9).Draw(t, "whole") == 0 {
				to = from + 2*math.Pi
			}
		case math.IsInf(from, 0):
			from = rapid.Float64Range(-20, 20).Draw(t, "from")
			to = from + 1.7*max(T, 1)
		}
		way, err := c.Centre(from, to, tol)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(way); to == from+2*math.Pi && e.Radius > 0 && math.Hypot(way[0].X-way[n-1].X, way[0].Y-way[n-1].Y) > 1e-5 {
			t.Fatalf("%+v: not closed: %v %v", e, way[0], way[n-1])
		} else if e.Radius == 0 && (math.Abs(way[0].X-from) > 1e-9 || math.Abs(way[n-1].X-to) > 1e-9) {
			t.Fatalf("%+v: from %v to %v: %v %v", e, from, to, way[0], way[n-1])
		}
		i := rapid.IntRange(0, len(way)-2).Draw(t, "line")
		a, b := way[i], way[i+1]
		for range 5 {
			x, y := onLine(a, b, rapid.Float64Range(0, 1).Draw(t, "share"))
			s, height := x, y
			if e.Radius > 0 {
				s, height = math.Atan2(y, x), math.Hypot(x, y)-e.Radius
			}
			sign := c.path.follower.frame.out()
			lift, slope := c.path.At(s)
			if off := (height*sign - c.Tool - lift) / math.Sqrt(1+slope*slope); math.Abs(off) > tol+2*PathError {
				t.Fatalf("%+v tool %v at %v: %v off the way", e, c.Tool, s, off)
			}
		}
	})
}

// onLine returns a place on a straight line or an arc.
func onLine(a, b Vertex, t float64) (x, y float64) {
	dx, dy := b.X-a.X, b.Y-a.Y
	if a.Bulge == 0 {
		return a.X + t*dx, a.Y + t*dy
	}
	// The centre lies (1 − b²)/(4b) chords to the left of the chord's middle.
	k := (1 - a.Bulge*a.Bulge) / (4 * a.Bulge)
	cx, cy := a.X+dx/2-k*dy, a.Y+dy/2+k*dx
	sin, cos := math.Sincos(4 * math.Atan(a.Bulge) * t)
	ux, uy := a.X-cx, a.Y-cy
	return cx + ux*cos - uy*sin, cy + ux*sin + uy*cos
}

// Round a sharp crest the tool turns on an arc of its own radius about it.
func TestCentreTurnsOnCorners(t *testing.T) {
	const ρ = 0.3
	c, err := Make(Edge{Figure: Zigzag, Wave: 3, Amplitude: 0.5, Root: 0.5}, ρ, 0, false)
	if err != nil {
		t.Fatal(err)
	}
	way, err := c.Centre(0, 1.5, 1e-3)
	if err != nil {
		t.Fatal(err)
	}
	arcs := 0
	for i, v := range way {
		if v.Bulge == 0 {
			continue
		}
		arcs++
		if v.Bulge > 0 {
			t.Error("over a crest the tool turns clockwise:", v)
		}
		for _, share := range []float64{0, 0.3, 1} {
			x, y := onLine(v, way[i+1], share)
			near(t, "from the crest", math.Hypot(x-0.75, y-0.5), ρ, 1e-9)
		}
	}
	if arcs == 0 {
		t.Error("no arc:", way)
	}
	if len(way) > 60 {
		t.Error("more lines than a micron asks for:", len(way))
	}
	if _, err := c.Centre(0, 1e9, 1e-6); err == nil {
		t.Error("a way without end was drawn")
	}
}
