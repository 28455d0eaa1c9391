package export

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"brightcut/bar"
	"brightcut/fault"
	"brightcut/internal/polyline"
)

// edgePoint is the true edge at the place s, on the drawing.
func edgePoint(p *bar.Profile, e bar.Edge, s float64) r2.Vec {
	h, _ := p.Height(s)
	if e.Radius == 0 {
		return r2.Vec{X: s, Y: h}
	}
	sin, cos := math.Sincos(s)
	return r2.Vec{X: (e.Radius + h) * cos, Y: (e.Radius + h) * sin}
}

// TestOutlineTolerance holds the outline against the true edge, asked a hundred
// thousand times: nowhere further off than the tolerance, either way; and not
// drawn much finer than asked for.
func TestOutlineTolerance(t *testing.T) {
	for name, tm := range templates(t) {
		profile, err := tm.edge.Profile()
		if err != nil {
			t.Fatal(err)
		}
		from, to := tm.shape.From, tm.shape.To
		if tm.Rosette {
			from, to = 0, 2*math.Pi
		} else if from == 0 && to == 0 {
			from, to = tm.edge.Span()
		}
		outline := tm.Outer.Points(1e-5)
		near := index(outline, 0.5)
		worst := 0.0
		const n = 20_000
		for i := range n {
			p := edgePoint(profile, tm.edge, from+(to-from)*(float64(i)+0.5)/n)
			worst = max(worst, near(p))
		}
		if worst > tm.Tolerance {
			t.Errorf("%s: the outline is %.3g mm off the edge, more than %g", name, worst, tm.Tolerance)
		}
		if len(outline) > 5000 && worst < tm.Tolerance/20 {
			t.Errorf("%s: %d corners for %.3g mm", name, len(outline), worst)
		}
	}
}

// TestTwoEdges turns a bar cut on both sides half round: its outline is then that of
// the bar drawn with the other edge first, and the metal between two sines over whole
// waves is as much as between their datums.
func TestTwoEdges(t *testing.T) {
	a := bar.Edge{Figure: bar.Sine, Wave: 3, Amplitude: 0.25, Length: 60}
	b := bar.Edge{Figure: bar.Zigzag, Wave: 4, Amplitude: 0.4, Nose: 0.1, Root: 0.2, Length: 60}
	shape := Shape{From: -12, To: 24, Back: 8, Ends: 4, EndTop: 0.3, Tolerance: 1e-4}
	draw := func(first, second bar.Edge, s Shape) *Template {
		first.Other = &second
		tm, err := NewTemplate(first, s)
		if err != nil {
			t.Fatal(err)
		}
		return tm
	}
	one := draw(a, b, shape)
	back := shape
	back.From, back.To = -shape.To, -shape.From
	two := draw(b, a, back)
	near := index(two.Outer.Points(1e-5), 1)
	for _, p := range one.Outer.Points(1e-5) {
		if d := near(r2.Vec{X: -p.X, Y: -shape.Back - p.Y}); d > 2e-4 {
			t.Fatalf("at %v the bar turned half round is %.4f mm off the bar drawn so", p, d)
		}
	}
	b = bar.Edge{Figure: bar.Sine, Wave: 4, Amplitude: 0.4, Length: 60}
	if got := draw(a, b, Shape{From: -12, To: 24, Back: 8, Tolerance: 1e-4}).Area(); math.Abs(got-36*8) > 0.01 {
		t.Errorf("the face has %.4f mm², want %d", got, 36*8)
	}
	for _, c := range []struct {
		other bar.Edge
		back  float64
		want  string
	}{
		{bar.Edge{Figure: bar.Sine, Wave: 3, Amplitude: 0.25, Length: 30}, 8, "the other side: from -24 to 12 mm reaches beyond the edge"},
		{bar.Edge{Figure: bar.Sine, Wave: 3, Amplitude: 0.25}, 0.4, "the other edge comes up to 0.150 mm below that datum: the bar would fall in two"},
		{bar.Edge{Figure: bar.Sine, Wave: 3, Amplitude: 0.25}, 0.1, "the other edge comes up to 0.150 mm above that datum: the bar would fall in two"},
	} {
		e := a
		e.Other = &c.other
		_, err := NewTemplate(e, Shape{From: -12, To: 24, Back: c.back})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want %q", err, c.want)
		}
	}
}

// index answers the distance from a loop, or most where it is more, by a grid of
// its stretches.
func index(loop []r2.Vec, most float64) func(p r2.Vec) float64 {
	const cell = 0.25
	type key struct{ x, y int }
	grid := map[key][]int{}
	at := func(p r2.Vec) key { return key{int(math.Floor(p.X / cell)), int(math.Floor(p.Y / cell))} }
	for i, a := range loop {
		b := loop[(i+1)%len(loop)]
		n := int(r2.Norm(r2.Sub(b, a))/cell*2) + 1
		for k := range n + 1 {
			c := at(r2.Add(a, r2.Scale(float64(k)/float64(n), r2.Sub(b, a))))
			if l := grid[c]; len(l) == 0 || l[len(l)-1] != i {
				grid[c] = append(l, i)
			}
		}
	}
	return func(p r2.Vec) float64 {
		c := at(p)
		best := most
		for ring := 0; ; ring++ {
			if best <= float64(ring-1)*cell {
				break
			}
			for dx := -ring; dx <= ring; dx++ {
				for dy := -ring; dy <= ring; dy++ {
					if max(dx, -dx, dy, -dy) != ring {
						continue
					}
					for _, i := range grid[key{c.x + dx, c.y + dy}] {
						best = min(best, polyline.Off(p, loop[i], loop[(i+1)%len(loop)]))
					}
				}
			}
		}
		return best
	}
}

// TestTemplateArea compares areas with those of the formulas: a bar is length by
// mean height, for a figure is symmetric about its datum over whole waves; a
// rosette is ½∮r²; bore and holes are circles; a keyway is a rectangle less the
// segment of the bore that it has in common. (Plane geometry.)
func TestTemplateArea(t *testing.T) {
	sine, err := NewTemplate(bar.Edge{Figure: bar.Sine, Wave: 3, Amplitude: 0.25, Length: 60}, Shape{Back: 9, Tolerance: 1e-5})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := sine.Area(), 60*9.0; math.Abs(got-want) > 1e-3 {
		t.Errorf("a sine bar of 60 × 9 mm has the area %.6f mm², want %.6f", got, want)
	}
	const R, a, bore, w, k = 30, 0.7, 12.0, 4.0, 2.0
	ros, err := NewTemplate(bar.Edge{Figure: bar.Sine, Radius: R, Count: 24, Amplitude: a}, Shape{Bore: bore, KeyWidth: w, KeyDepth: k, Tolerance: 1e-5,
		Holes: []Hole{{At: r2.Vec{X: -3, Y: 18}, Diameter: 5}, {At: r2.Vec{X: 10, Y: -14}, Diameter: 3, Length: 4, Angle: 1}}})
	if err != nil {
		t.Fatal(err)
	}
	r := bore / 2
	φ := 2 * math.Asin(w/2/r)
	key := w*(r+k-r*math.Cos(φ/2)) - r*r*(φ-math.Sin(φ))/2
	want := math.Pi*(R*R+a*a/2) - math.Pi*r*r - key - math.Pi*2.5*2.5 - (math.Pi*1.5*1.5 + 3*4)
	if got := ros.Area(); math.Abs(got-want) > 2e-3 {
		t.Errorf("the rosette has the area %.6f mm², want %.6f", got, want)
	}
	disc, err := NewTemplate(bar.Edge{Figure: bar.Plain, Radius: 21}, Shape{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := disc.Outer.Length(), 2*math.Pi*21; math.Abs(got-want) > 1e-9 {
		t.Errorf("a plain rosette is %.9f mm round, want %.9f", got, want)
	}
}

// TestArcsStayArcs: an edge of arcs is drawn by arcs of its radii alone.
func TestArcsStayArcs(t *testing.T) {
	tm := templates(t)["arcs"]
	// The radii of package bar: c·λ/(2 sin β), tan(β/2) = 4a/λ.
	sin := math.Sin(2 * math.Atan(4*0.3/4))
	bump, hollow := 0.6*4/(2*sin), 0.4*4/(2*sin)
	arcs := 0
	for s := range tm.Outer.stretches() {
		if s.bulge == 0 {
			continue
		}
		arcs++
		want := bump
		if s.bulge < 0 {
			want = hollow
		}
		if r := s.radius(); math.Abs(r-want) > 1e-9 {
			t.Errorf("an arc of radius %.9f, want %.9f", r, want)
		}
	}
	if arcs < 50 {
		t.Errorf("%d arcs on 13 waves", arcs)
	}
	if n := len(tm.Outer.Nodes); n > arcs+4 {
		t.Errorf("%d corners for %d arcs", n, arcs)
	}
}

// TestTemplateFaults names the field of what cannot be made.
func TestTemplateFaults(t *testing.T) {
	sine := bar.Edge{Figure: bar.Sine, Wave: 3, Amplitude: 0.25, Length: 60}
	rosette := bar.Edge{Figure: bar.Sine, Radius: 30, Count: 24, Amplitude: 0.7}
	hole := func(x, y, d float64) []Hole { return []Hole{{At: r2.Vec{X: x, Y: y}, Diameter: d}} }
	for name, c := range map[string]struct {
		e     bar.Edge
		s     Shape
		field string
	}{
		"no length":          {bar.Edge{Figure: bar.Plain}, Shape{Back: 5}, "length"},
		"beyond its edge":    {sine, Shape{From: -40, To: 10, Back: 5}, "length"},
		"thin":               {sine, Shape{Back: 0.2}, "back"},
		"not a number":       {sine, Shape{Back: math.NaN()}, "back"},
		"short ends":         {sine, Shape{Back: 9, Ends: 1, EndTop: -4}, "ends"},
		"hole over the edge": {sine, Shape{Back: 9, Holes: hole(3, 0, 2)}, "holes[0]"},
		"hole outside":       {sine, Shape{Back: 9, Holes: hole(3, 20, 2)}, "holes[0]"},
		"holes together":     {sine, Shape{Back: 9, Holes: append(hole(3, -4, 2), hole(4, -4, 2)...)}, "holes[1]"},
		"hole in a hole":     {sine, Shape{Back: 9, Holes: append(hole(3, -4, 6), hole(3, -4, 1)...)}, "holes[1]"},
		"no hole":            {sine, Shape{Back: 9, Holes: hole(3, -4, 0)}, "holes[0]"},
		"bore too large":     {rosette, Shape{Bore: 60}, "bore"},
		"key without depth":  {rosette, Shape{Bore: 10, KeyWidth: 3}, "key_depth"},
		"key too deep":       {rosette, Shape{Bore: 10, KeyWidth: 3, KeyDepth: 26}, "bore"},
		"hole over the bore": {rosette, Shape{Bore: 10, Holes: hole(5, 1, 3)}, "holes[0]"},
		"tolerance":          {rosette, Shape{Tolerance: -1}, "tolerance"},
	} {
		_, err := NewTemplate(c.e, c.s)
		var list fault.List
		if !errors.As(err, &list) {
			t.Errorf("%s: %v, want a fault", name, err)
			continue
		}
		if list[0].Field != c.field || list[0].Mend == "" {
			t.Errorf("%s: %v, want a fault of %q with its mend", name, err, c.field)
		}
	}
}

// TestLines: turned round, a line has the same length and the opposite area; its
// parts are its whole; its corners for straight lines keep to the tolerance.
func TestLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 8).Draw(t, "corners")
		l := Line{Closed: true}
		for i := range n {
			b := rapid.SampledFrom([]float64{0, 0, 1, -1, 0.3, -0.01, 2.5}).Draw(t, "bulge")
			φ := 2 * math.Pi * float64(i) / float64(n)
			r := rapid.Float64Range(2, 9).Draw(t, "radius")
			l.Nodes = append(l.Nodes, Node{r2.Vec{X: r * math.Cos(φ), Y: r * math.Sin(φ)}, b})
		}
		back := l.reversed()
		if a, b := l.Length(), back.Length(); math.Abs(a-b) > 1e-9*a {
			t.Fatalf("length %v one way, %v the other", a, b)
		}
		if a, b := l.Area(), back.Area(); math.Abs(a+b) > 1e-9*(1+math.Abs(a)) {
			t.Fatalf("area %v one way, %v the other", a, b)
		}
		const tolerance = 1e-3
		area, length := 0.0, 0.0
		p := l.Points(tolerance)
		box, dense := nobox(), nobox()
		l.grow(&box)
		for i, a := range p {
			area += r2.Cross(a, p[(i+1)%len(p)]) / 2
			length += r2.Norm(r2.Sub(p[(i+1)%len(p)], a))
		}
		Line{Nodes: nodes(p)}.grow(&dense)
		if math.Abs(area-l.Area()) > l.Length()*tolerance {
			t.Fatalf("area %v by its corners, %v by its arcs", area, l.Area())
		}
		if length > l.Length()+1e-9 || length < l.Length()*(1-0.01) {
			t.Fatalf("length %v by its corners, %v by its arcs", length, l.Length())
		}
		for _, d := range []float64{dense.Min.X - box.Min.X, dense.Min.Y - box.Min.Y, box.Max.X - dense.Max.X, box.Max.Y - dense.Max.Y} {
			if d < -1e-9 || d > tolerance*1.01 {
				t.Fatalf("box %v, of its corners %v", box, dense)
			}
		}
		for s := range l.stretches() {
			u := rapid.Float64Range(0.01, 0.99).Draw(t, "share")
			if a, b := s.part(0, u), s.part(u, 1); math.Abs(a.length()+b.length()-s.length()) > 1e-9*(1+s.length()) {
				t.Fatalf("parts of %v and %v, whole of %v", a.length(), b.length(), s.length())
			}
		}
	})
}
