package engine

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"runtime"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"brightcut/bar"
	"brightcut/blank"
)

func must(t testing.TB, s *Setup) *List {
	t.Helper()
	l, err := s.Cuts(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func near(t testing.TB, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.12g, want %.12g within %g", what, got, want, within)
	}
}

// truth is the tip's place by the formulas of the package's comment, for a sine
// bar or rosette and a nose of no radius.
func truth(s *Setup, c *Cut, reading float64) Vertex {
	e := s.Bars[c.Settings.Bar]
	turned, position := c.Turned, c.Position
	if w := s.Engine.Index.Error; w != nil {
		turns := float64(c.Settings.Index) / float64(s.Circle)
		turned += w.Size * math.Sin(2*math.Pi*(turns-w.From)/w.Turns)
	}
	if w := s.Engine.Slide.Error; w != nil {
		turns := position / s.Engine.Slide.Pitch
		position += w.Size * math.Sin(2*math.Pi*(turns-w.From)/w.Turns)
	}
	sin, cos := math.Sincos(turned)
	if s.Engine.Kind == StraightLine {
		x := position
		if e.Figure == bar.Sine {
			x += s.Engine.Lever * e.Amplitude * math.Sin(2*math.Pi*(reading+c.Phase)/e.Wave)
		}
		return Vertex{X: x*cos - reading*sin, Y: x*sin + reading*cos, Z: -c.Depth, Across: turned}
	}
	wave := func(e bar.Edge) float64 {
		if e.Figure != bar.Sine {
			return 0
		}
		return e.Amplitude * math.Sin(float64(e.Count)*(reading+c.Phase))
	}
	r := position + s.Engine.Rocking*wave(e)
	z := -c.Depth
	if s.Pump != "" {
		z += s.Engine.Pumping * wave(s.Bars[s.Pump])
	}
	return Vertex{X: r * math.Cos(reading+turned), Y: r * math.Sin(reading+turned), Z: z, Across: reading + turned}
}

// jobs are set-ups of every kind of path, with noses of no radius so that truth
// knows them.
func jobs() map[string]*Setup {
	turned := straight(disc(30), chuck(amount(25, 360, Turns)), turn(amount(37, 360, Turns)),
		repeat(9, cut(), step(amount(7, 10, Length)), shift(amount(1, 7, Waves))))
	turned.Bar, turned.Engine.Lever = "sine", -1.7
	turned.Starts = []Start{{Axis: SlideAxis, Amount: amount(-31, 10, Length)}, {Axis: ShiftAxis, Amount: amount(11, 1, Teeth)}}
	partial := rings()
	partial.Limits = &Limits{5, 1} // through the spindle's zero
	partial.Sequence[0].Count = 7
	chucked := rings()
	chucked.Sequence = append([]Item{chuck(amount(33, 1, Teeth))}, chucked.Sequence...)
	pumped := rings()
	pumped.Pump = "8"
	pumped.Sequence[0].Count = 20
	pumped.Engine.Pumping = 12 // so that the height asks for more chords than the ring
	drunken := straight(disc(30), turn(amount(37, 360, Turns)),
		repeat(40, cut(), turn(amount(3, 360, Turns)), step(amount(7, 100, Length))))
	drunken.Bar, drunken.Circle, drunken.Engine.Index.Worm = "sine", 96, 3
	drunken.Engine.Index.Error = &Periodic{Size: 0.004, Turns: 1, From: 0.3}
	drunken.Engine.Slide.Error = &Periodic{Size: 0.013, Turns: 1.5, From: 0.7}
	drunkenRings := rings()
	drunkenRings.Engine.Slide.Error = &Periodic{Size: 0.05, Turns: 1, From: 0.2}
	rough := wavySunburst()
	rough.Chord = 0.01
	rough.Sequence[0].Count = 10
	all := map[string]*Setup{
		"waves": waves(), "sunburst": sunburst(), "rings": rings(), "wavy sunburst": wavySunburst(),
		"turned": turned, "partial": partial, "chucked": chucked, "pumped": pumped, "rough": rough, "drunken": drunken, "drunken rings": drunkenRings,
		"plain rings": rose(disc(36), repeat(30, step(amount(1, 2, Length)), cut())),
	}
	for _, s := range all {
		s.Touch = 0
	}
	all["plain rings"].Bar = ""
	return all
}

// Between two vertices the path never leaves the chord by more than was asked,
// nor does the height; evaluated densely against the formulas. The bound must
// also be used: chords are not shorter than they need be.
func TestChordError(t *testing.T) {
	for name, s := range jobs() {
		t.Run(name, func(t *testing.T) {
			l := must(t, s)
			worst, chords := 0.0, 0
			for i := range l.Cuts {
				c := &l.Cuts[i]
				for _, p := range c.Pieces {
					for k := 1; k < len(p.Path); k++ {
						a, b := p.Path[k-1], p.Path[k]
						from, to := p.Readings[k-1], p.Readings[k]
						if to < from || k > 1 && k < len(p.Path)-1 && to-from < 1e-6 {
							t.Fatalf("cut %d: readings %v, %v", c.Number, from, to)
						}
						for j := 0; j <= 16; j++ {
							f := float64(j) / 16
							v := truth(s, c, from+(to-from)*f)
							d := segment(v, a, b)
							// The height is carried linearly along the chord.
							z := math.Abs(v.Z - a.Z - (b.Z-a.Z)*along(v, a, b))
							worst = max(worst, d, z)
						}
						chords++
					}
				}
			}
			if allow := s.chord() + 2*bar.PathError; worst > allow {
				t.Errorf("the path leaves its chords by %.3g mm, more than %.3g", worst, s.chord())
			}
			if s.bends() && worst < 0.8*s.chord() {
				t.Errorf("the chords, %d of them, keep to %.3g mm where %.3g would do", chords, worst, s.chord())
			}
		})
	}
}

func (s *Setup) bends() bool {
	return s.Engine.Kind == Rose || s.Bars[s.Bar].Figure == bar.Sine
}

func along(v, a, b Vertex) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	return min(1, max(0, ((v.X-a.X)*dx+(v.Y-a.Y)*dy)/(dx*dx+dy*dy)))
}

func segment(v, a, b Vertex) float64 {
	f := along(v, a, b)
	return math.Hypot(v.X-a.X-f*(b.X-a.X), v.Y-a.Y-f*(b.Y-a.Y))
}

// Every vertex is the tip at its reading, with the V across the stroke or along
// the radius, and lies in the field.
func TestVerticesAreTheTip(t *testing.T) {
	for name, s := range jobs() {
		t.Run(name, func(t *testing.T) {
			field := s.Blank.Field()
			for _, c := range must(t, s).Cuts {
				for _, p := range c.Pieces {
					if p.Start != p.Readings[0] || p.Stop != p.Readings[len(p.Readings)-1] {
						t.Fatalf("cut %d: Start and Stop are not the first and last readings", c.Number)
					}
					for k, v := range p.Path {
						w := truth(s, &c, p.Readings[k])
						if math.Hypot(v.X-w.X, v.Y-w.Y) > 3*bar.PathError || math.Abs(v.Z-w.Z) > 3*bar.PathError || math.Abs(v.Across-w.Across) > 1e-12 {
							t.Fatalf("cut %d at %v: vertex %+v, by the formula %+v", c.Number, p.Readings[k], v, w)
						}
						if d := field.Distance(r2.Vec{X: v.X, Y: v.Y}); d > 2*onEdge {
							t.Fatalf("cut %d at %v: %.3g mm outside the field", c.Number, p.Readings[k], d)
						}
					}
					if p.Closed && (p.Path[0].X != p.Path[len(p.Path)-1].X || p.Path[0].Y != p.Path[len(p.Path)-1].Y) {
						t.Fatalf("cut %d: a closed ring does not end where it begins", c.Number)
					}
				}
			}
		})
	}
}

// A straight cut takes two vertices, on a blank of any outline.
func TestStraightCutsHaveTwoVertices(t *testing.T) {
	l := must(t, sunburst())
	for _, c := range l.Cuts {
		if len(c.Pieces) != 1 || len(c.Pieces[0].Path) != 2 || c.Pieces[0].Start != 2 || c.Pieces[0].Stop != 17 {
			t.Fatalf("cut %d: %+v", c.Number, c.Pieces)
		}
	}
	near(t, "length cut", l.LengthCut(), 360*15, 1e-9)
	if l.Strokes() != 360 || l.Seconds() != 360*8 {
		t.Errorf("%d strokes in %v s", l.Strokes(), l.Seconds())
	}
}

// The 91st ray of 360 stands a quarter turn counter-clockwise of the first.
func TestFrames(t *testing.T) {
	l := must(t, sunburst())
	v := l.Cuts[0].Pieces[0].Path[0]
	near(t, "x of cut 1", v.X, 0, 1e-15)
	near(t, "y of cut 1", v.Y, 2, 1e-15)
	v = l.Cuts[90].Pieces[0].Path[0]
	near(t, "x of cut 91", v.X, -2, 1e-15)
	near(t, "y of cut 91", v.Y, 0, 1e-15)
	near(t, "V of cut 91", v.Across, math.Pi/2, 1e-15)
	// A shift of the bar brings forward what comes later on it.
	s := straight(panel(20, 20), cut(), shift(amount(3, 4, Length)), cut())
	s.Bar, s.Touch = "sine", 0
	s.Limits = &Limits{0, 1}
	l = must(t, s)
	near(t, "x without shift at 0", l.Cuts[0].Pieces[0].Path[0].X, 0, 1e-6)
	near(t, "x at 0, shifted a quarter of the wave (0.75 mm, 38 teeth of 0.02)", l.Cuts[1].Pieces[0].Path[0].X, 0.25*math.Sin(2*math.Pi*0.76/3), 1e-6)
	if l.Cuts[1].Settings.Shift != 38 {
		t.Errorf("shift stands at %d teeth", l.Cuts[1].Settings.Shift)
	}
	near(t, "error of 38 teeth for 0.75 mm", l.Cuts[1].Moves[0].Error, 0.01, 1e-15)
}

// Clipping against dense sampling on random blanks: an end lies on the field's
// edge or at a limit, and no longer stretch in or out of the field is missed.
func TestClipping(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := randomJob(t)
		if len(s.Blank.Check()) > 0 {
			t.Skip("no such blank")
		}
		l, err := s.Cuts(context.Background())
		if err != nil {
			t.Skip("off the field")
		}
		field := s.Blank.Field()
		for i := range l.Cuts {
			c := &l.Cuts[i]
			lo, hi := s.Engine.StrokeMin, s.Engine.StrokeMax
			turn := 0.0
			if s.Engine.Kind == Rose {
				lo, hi, turn = 0, 2*math.Pi, 2*math.Pi
			}
			if s.Limits != nil {
				lo, hi, turn = s.Limits.From, s.Limits.To, 0
			}
			for _, p := range c.Pieces {
				for e, end := range []float64{p.Start, p.Stop} {
					v := p.Path[e*(len(p.Path)-1)]
					d := field.Distance(r2.Vec{X: v.X, Y: v.Y})
					if d > 1e-6 || d < -1e-6 && end != lo && end != hi && !(turn > 0 && p.Closed) {
						t.Fatalf("cut %d ends at %v, %.3g mm from the edge", c.Number, end, d)
					}
				}
			}
			const n = 4000
			for k := range n {
				r := lo + (hi-lo)*(float64(k)+0.5)/n
				v := truth(s, c, r)
				d := field.Distance(r2.Vec{X: v.X, Y: v.Y})
				in := false
				for _, p := range c.Pieces {
					in = in || r >= p.Start && r <= p.Stop || turn > 0 && r+turn >= p.Start && r+turn <= p.Stop
				}
				// A place farther than leastGap from the edge has at least that
				// much of its path on its own side.
				if d < -leastGap && !in || d > leastGap && in {
					t.Fatalf("cut %d at %v: distance %.4g, counted in the field: %v; pieces %v", c.Number, r, d, in, ends(c))
				}
			}
		}
	})
}

func ends(c *Cut) (e [][2]float64) {
	for _, p := range c.Pieces {
		e = append(e, [2]float64{p.Start, p.Stop})
	}
	return e
}

func randomJob(t *rapid.T) *Setup {
	var b blank.Blank
	b.Thickness = 1
	size := rapid.Float64Range(12, 40).Draw(t, "size")
	switch rapid.IntRange(0, 3).Draw(t, "outline") {
	case 0:
		b.Outline = blank.Shape{Form: blank.Disc, Diameter: size}
	case 1:
		b.Outline = blank.Shape{Form: blank.Ring, Diameter: size, Inner: size / 4}
	case 2:
		b.Outline = blank.Shape{Form: blank.Rectangle, Width: size, Height: size / 1.4, Corner: size / 9, Angle: rapid.Float64Range(0, 3).Draw(t, "angle")}
	case 3:
		n := rapid.IntRange(3, 9).Draw(t, "corners")
		b.Outline = blank.Shape{Form: blank.Polygon}
		for i := range n {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			r := size * rapid.Float64Range(0.3, 0.6).Draw(t, "radius")
			b.Outline.Points = append(b.Outline.Points, r2.Vec{X: r * cos, Y: r * sin})
		}
	}
	b.Border = rapid.Float64Range(0, 1).Draw(t, "border")
	for i := range rapid.IntRange(0, 3).Draw(t, "windows") {
		b.Windows = append(b.Windows, blank.Window{
			Name: fmt.Sprint(i), Border: 0.3,
			Shape: blank.Shape{Form: blank.Disc, Diameter: rapid.Float64Range(1, 5).Draw(t, "diameter"),
				Centre: r2.Vec{X: rapid.Float64Range(-6, 6).Draw(t, "x"), Y: rapid.Float64Range(-6, 6).Draw(t, "y")}},
		})
	}
	if rapid.Bool().Draw(t, "rose") {
		s := rose(b, cut(), step(amount(rapid.Int64Range(1, 400).Draw(t, "step"), 100, Length)), chuck(amount(rapid.Int64Range(1, 300).Draw(t, "turn"), 360, Turns)), cut())
		s.Bar, s.Touch = "24", 0
		s.Starts = []Start{{Axis: SlideAxis, Amount: amount(rapid.Int64Range(2, 15).Draw(t, "slide"), 1, Length)}}
		if rapid.Bool().Draw(t, "limited") {
			s.Limits = &Limits{rapid.Float64Range(0, 3).Draw(t, "from"), rapid.Float64Range(3.1, 6).Draw(t, "to")}
		}
		return s
	}
	s := straight(b, cut(), step(amount(rapid.Int64Range(1, 400).Draw(t, "step"), 100, Length)), chuck(amount(rapid.Int64Range(1, 300).Draw(t, "turn"), 360, Turns)), cut())
	s.Bar, s.Touch = "sine", 0
	s.Starts = []Start{{Axis: SlideAxis, Amount: amount(rapid.Int64Range(-8, 4).Draw(t, "slide"), 1, Length)}}
	if rapid.Bool().Draw(t, "limited") {
		s.Limits = &Limits{rapid.Float64Range(-9, 0).Draw(t, "from"), rapid.Float64Range(0.1, 9).Draw(t, "to")}
	}
	return s
}

// A window breaks a cut into pieces, each with its readings.
func TestWindowInterrupts(t *testing.T) {
	b := panel(20, 20)
	b.Border = 1
	b.Windows = []blank.Window{{Border: 0.5, Shape: blank.Shape{Form: blank.Disc, Diameter: 5, Centre: r2.Vec{Y: 2}}}}
	l := must(t, straight(b, cut()))
	want := [][2]float64{{-9, -1}, {5, 9}}
	for i, e := range ends(&l.Cuts[0]) {
		near(t, "start", e[0], want[i][0], 1e-6)
		near(t, "stop", e[1], want[i][1], 1e-6)
	}
	// A ring through the same window, which lies across the spindle's quarter turn,
	// is one piece that runs through zero.
	s := rose(b, step(amount(2, 1, Length)), cut())
	s.Bar = "plain"
	c := must(t, s).Cuts[0]
	half := 2 * math.Asin(3/2.0/2) // chord geometry: centre of the window on the ring of 2 mm, 3 mm away
	if len(c.Pieces) != 1 || c.Pieces[0].Closed {
		t.Fatalf("%v", ends(&c))
	}
	near(t, "start", c.Pieces[0].Start, math.Pi/2+half, 1e-6)
	near(t, "stop", c.Pieces[0].Stop, math.Pi/2-half+2*math.Pi, 1e-6)
}

// A cut exactly along the border of the field is one cut, not a hundred.
func TestCutAlongTheBorder(t *testing.T) {
	b := panel(20, 20)
	b.Border = 1
	s := straight(b, step(amount(9, 1, Length)), cut())
	c := must(t, s).Cuts[0]
	if len(c.Pieces) != 1 {
		t.Fatalf("%v", ends(&c))
	}
	near(t, "start", c.Pieces[0].Start, -9, 1e-6)
	d := disc(20)
	s = rose(d, step(amount(10, 1, Length)), cut())
	s.Bar = "plain"
	if c = must(t, s).Cuts[0]; len(c.Pieces) != 1 || !c.Pieces[0].Closed {
		t.Fatalf("%v", ends(&c))
	}
}

// Turning the blank and the chuck together turns the cuts and changes nothing
// else, but for ends that graze the field's edge.
func TestTurningTheWork(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := randomJob(t)
		if len(s.Blank.Check()) > 0 {
			t.Skip("no such blank")
		}
		a, err := s.Cuts(context.Background())
		if err != nil {
			t.Skip("off the field")
		}
		deg := rapid.IntRange(1, 359).Draw(t, "turn of all")
		sin, cos := math.Sincos(float64(deg) * degree)
		turned := *s
		turned.Starts = append([]Start{{Axis: ChuckAxis, Amount: amount(int64(deg), 1, Teeth)}}, s.Starts...)
		turned.Blank = turnedBlank(s.Blank, float64(deg)*degree)
		b, err := turned.Cuts(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		near := func(what string, got, want, within float64) {
			if !(math.Abs(got-want) <= within) {
				t.Fatalf("%s: %v, turned %v", what, want, got)
			}
		}
		near("length cut", b.LengthCut(), a.LengthCut(), 0.2)
		for i := range a.Cuts {
			p, q := a.Cuts[i].Pieces, b.Cuts[i].Pieces
			if len(p) != len(q) || a.Cuts[i].Settings.Slide != b.Cuts[i].Settings.Slide {
				t.Skip("a piece at the edge of what clipping sees")
			}
			for k := range p {
				near("start", q[k].Start, p[k].Start, 0.1)
				near("stop", q[k].Stop, p[k].Stop, 0.1)
				if len(p[k].Path) == len(q[k].Path) && len(p[k].Path) > 2 {
					v, w := p[k].Path[1], q[k].Path[1]
					near("x", w.X, v.X*cos-v.Y*sin, 1e-6)
					near("y", w.Y, v.X*sin+v.Y*cos, 1e-6)
				}
			}
		}
	})
}

func turnedBlank(b blank.Blank, a float64) blank.Blank {
	sin, cos := math.Sincos(a)
	spin := func(p r2.Vec) r2.Vec { return r2.Vec{X: p.X*cos - p.Y*sin, Y: p.X*sin + p.Y*cos} }
	shape := func(s blank.Shape) blank.Shape {
		s.Centre, s.Angle = spin(s.Centre), s.Angle+a
		points := s.Points
		s.Points = nil
		for _, p := range points {
			s.Points = append(s.Points, spin(p))
		}
		return s
	}
	b.Outline = shape(b.Outline)
	b.Windows = append([]blank.Window(nil), b.Windows...)
	for i := range b.Windows {
		b.Windows[i].Shape = shape(b.Windows[i].Shape)
	}
	return b
}

// The same cuts on any number of cores.
func TestSameOnAnyNumberOfCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for name, s := range jobs() {
		runtime.GOMAXPROCS(1)
		one := must(t, s)
		for _, n := range []int{2, 7} {
			runtime.GOMAXPROCS(n)
			if !reflect.DeepEqual(one, must(t, s)) {
				t.Errorf("%s: other cuts on %d cores", name, n)
			}
		}
	}
}

func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := wavySunburst().Cuts(ctx); err == nil {
		t.Error("a cancelled context was not heeded")
	}
}
