package tracing

import (
	"errors"
	"fmt"
	"hash/crc32"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"brightcut/bar"
	"brightcut/fault"
)

func crc(b []byte) uint32 { return crc32.ChecksumIEEE(b) }

func number(v float64) string { return strconv.FormatFloat(v, 'f', 6, 64) }

// sinePath draws h = a·sin(2πx/λ) for n waves of 200 pieces from (x, y) of a page
// whose y runs down.
func sinePath(x, y, λ, a float64, waves int) string {
	var b strings.Builder
	for i := range waves*200 + 1 {
		s := float64(i) / 200 * λ
		b.WriteString([]string{"L", "M"}[btoi(i == 0)] + number(x+s) + " " + number(y-a*math.Sin(2*math.Pi*s/λ)))
	}
	return b.String()
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

func edgeOf(t testing.TB, d *Drawing, take Take) *Traced {
	t.Helper()
	e, err := d.Edge(take)
	if err != nil {
		t.Fatal(err)
	}
	if l := e.Edge.Check(); len(l) > 0 {
		t.Fatal(l)
	}
	return e
}

func tells(t testing.TB, of []Remark, words string) {
	t.Helper()
	for _, r := range of {
		if strings.Contains(r.String(), words) {
			return
		}
	}
	t.Errorf("no remark tells %q: %v", words, of)
}

// worst returns the greatest difference between two edges.
func worst(t testing.TB, e bar.Edge, want func(float64) float64, from, to float64) float64 {
	t.Helper()
	p, err := e.Profile()
	if err != nil {
		t.Fatal(err)
	}
	most := 0.0
	for i := range 5000 {
		x := from + (to-from)*(float64(i)+0.5)/5000
		h, _ := p.Height(x)
		most = max(most, math.Abs(h-want(x)))
	}
	return most
}

func TestSineBarRepeats(t *testing.T) {
	sine := func(x float64) float64 { return 0.5 * math.Sin(2*math.Pi*x/5) }
	for name, shape := range map[string]string{
		"open":      sinePath(7, 40, 5, 0.5, 8),
		"backwards": "M47 40" + reversed(sinePath(7, 40, 5, 0.5, 8)),
		"outline":   sinePath(7, 40, 5, 0.5, 8) + "V60H7z",
		"clockwise": "M7 60" + strings.Replace(sinePath(7, 40, 5, 0.5, 8), "M", "L", 1) + "V60z",
	} {
		d := read(t, "bar.svg", page(`<path id="edge" d="`+shape+`"/>`), Options{})
		for _, take := range []Take{{}, {Spline: true}, {Silhouette: true}, {Line: "edge"}, {Index: 1}} {
			e := edgeOf(t, d, take)
			if !e.Edge.Repeats || math.Abs(e.Wave-5) > 2e-4 || math.Abs(e.Waves-8) > 1e-2 || e.Off > 1e-3 {
				t.Errorf("%s %+v: wave %.6f, %.4f of them, apart %g", name, take, e.Wave, e.Waves, e.Off)
			}
			if w := worst(t, e.Edge, sine, 0, 5); w > 0.0015 {
				t.Errorf("%s %+v: off by %g mm", name, take, w)
			}
			if n := len(e.Edge.Drawn); n > 130 {
				t.Errorf("%s %+v: %d points", name, take, n)
			}
			tells(t, e.Remarks, "repeats every 5.0000 mm")
		}
	}
	// The same, as one wave and as no wave.
	d := read(t, "bar.svg", page(`<path d="`+sinePath(10, 40, 30, 3, 1)+`"/>`), Options{})
	if e := edgeOf(t, d, Take{Repeat: Once}); math.Abs(e.Wave-30) > 1e-4 || !e.Edge.Repeats {
		t.Errorf("%+v", e)
	}
	if e := edgeOf(t, d, Take{}); e.Edge.Repeats || e.Wave != 0 || e.Edge.Drawn[0][0] != -15 {
		t.Errorf("%+v", e)
	}
}

func reversed(path string) string {
	p := strings.Split(path[1:], "L")
	var b strings.Builder
	for i := len(p) - 1; i >= 0; i-- {
		b.WriteString("L" + p[i])
	}
	return b.String()
}

// A lower edge, and one on a bar that lies askew, whose base line is given.
func TestUnderAndBase(t *testing.T) {
	bump := func(x float64) float64 { return 2 * math.Exp(-(x-12)*(x-12)/9) }
	var b strings.Builder
	for i := range 401 {
		x := float64(i) / 10
		b.WriteString([]string{"L", "M"}[btoi(i == 0)] + number(x) + " " + number(-bump(x)))
	}
	outline := b.String() + "V10H0z"
	for what, c := range map[string]struct {
		transform string
		take      Take
	}{
		"level": {"translate(20,50)", Take{}},
		"under": {"translate(60,50) rotate(180)", Take{Under: true}},
		// Turned by 30°: along (cos 30°, sin 30°) up, from (20, 60) of y up.
		"askew": {"translate(20,40) rotate(-30)", Take{Base: &[2]Point{{20, 60}, {20 + math.Sqrt(3), 61}}}},
	} {
		d := read(t, "bar.svg", page(`<path transform="`+c.transform+`" d="`+outline+`"/>`), Options{})
		c.take.Tolerance = 0.0005
		e := edgeOf(t, d, c.take)
		if math.Abs(e.Edge.Drawn[0][0]+20) > 1e-4 {
			t.Errorf("%s: begins at %v", what, e.Edge.Drawn[0])
		}
		mid := (bump(40) + bump(12)) / 2
		if w := worst(t, e.Edge, func(x float64) float64 { return bump(x+20) - mid }, -20, 20); w > 0.001 {
			t.Errorf("%s: off by %g", what, w)
		}
	}
	d := read(t, "bar.svg", page(`<path transform="translate(20,90) rotate(-90)" d="`+outline+`"/>`), Options{})
	noEdge(t, d, Take{}, "stands upright in the drawing")
}

func noEdge(t testing.TB, d *Drawing, take Take, words ...string) {
	t.Helper()
	_, err := d.Edge(take)
	var l fault.List
	if !errors.As(err, &l) {
		t.Errorf("got %v, want a fault with %q", err, words)
		return
	}
	for _, w := range words {
		if !strings.Contains(l.Error(), w) {
			t.Errorf("got %v\nwant %q", l, w)
		}
	}
	for _, f := range l {
		if f.Mend == "" || f.Origin.File == "" {
			t.Errorf("no mend or place: %+v", f)
		}
	}
}

func TestMendedAndNamed(t *testing.T) {
	draw := func(inner string) *Drawing { return read(t, "a.svg", page(inner), Options{}) }
	// Three pieces whose ends miss by 4 µm and come in any direction; one twice.
	pieces := `<path d="M30 50L20 45L10 50"/><path d="M30.004 50L40 45L50 50"/><path d="M70 50L60 45L50 50.003"/><path d="M50 50L40 45L30.004 50"/><path d="M5 5L5 5"/>`
	e := edgeOf(t, draw(pieces), Take{Repeat: Whole})
	tells(t, e.Remarks, "joined at 2 places; the widest gap")
	tells(t, e.Remarks, "is drawn twice")
	tells(t, e.Remarks, "no length")
	if from, to := e.Edge.Span(); math.Abs(to-from-60) > 1e-6 {
		t.Errorf("spans %g to %g", from, to)
	}
	noEdge(t, draw(`<path d="M10 50L30 45"/><path d="M30.3 45L40 50"/>`), Take{}, "gap of 0.3000 mm at x 30.0000 mm, y 55.0000 mm", "x 30.3000")
	edgeOf(t, draw(`<path d="M10 50L30 45"/><path d="M30.3 45L50 50"/>`), Take{Gap: 0.4})
	noEdge(t, draw(`<path d="M10 50L30 45"/><path d="M30 45L40 50"/><path d="M30 45L40 60"/>`), Take{}, "more than two lines meet at x 30")
	noEdge(t, draw(`<path d="M10 50L30 40L20 40L30 50L40 50"/>`), Take{}, "crosses itself at x 23.3333 mm, y 56.6667 mm")
	noEdge(t, draw(`<path d="M10 50L30 40L25 35L50 50"/>`), Take{}, "doubles back between x 25.0000 mm and x 30.0000 mm")
	noEdge(t, draw(`<path d="M10 50L30 50L30 40L50 40"/>`), Take{}, "stands upright between x 30.0000")
	// An upright step of 10 µm is made a flank; it moves by a fraction of a micron.
	e = edgeOf(t, draw(`<path d="M10 50L30 50L30 49.99L50 49.9"/>`), Take{Repeat: Whole})
	tells(t, e.Remarks, "made flanks")
	// The overhang that cannot be followed has a silhouette: up to the tip at
	// (30, 60), down a wall of 2.727 mm, on along the line behind.
	overhang := draw(`<path d="M10 50L30 40L28 42L50 50"/><path d="M10 50H50"/>`)
	noEdge(t, overhang, Take{Silhouette: true, Repeat: Whole}, "stands upright between x 30.0000", "tolerance above 0.06 mm")
	e = edgeOf(t, overhang, Take{Silhouette: true, Repeat: Whole, Tolerance: 0.1, Datum: new(float64)})
	if w := worst(t, e.Edge, func(x float64) float64 { // from the middle, 30
		if x < 0 {
			return 60 + x/2
		}
		return 58 - (x+2)*8/22
	}, -20, -0.01); w > 0.1 {
		t.Errorf("off by %g before the wall", w)
	}
	if w := worst(t, e.Edge, func(x float64) float64 { return 58 - (x+2)*8/22 }, 0.2, 20); w > 0.1 {
		t.Errorf("off by %g behind the wall", w)
	}
	noEdge(t, draw(`<path d="M10 50L20 50"/><path d="M30 50L50 50"/>`), Take{Silhouette: true}, "nothing is drawn between x 20.0000 mm and x 30.0000 mm")
	noEdge(t, draw(`<path id="one" d="M10 50L20 50"/>`), Take{Line: "two"}, `no line is called "two"`, "give one of one")
	noEdge(t, draw(`<path d="M10 50L20 50"/>`), Take{Index: 2}, "the drawing has 1")
	e = edgeOf(t, draw(`<path d="M10 50L50 50"/><path d="M10 30L20 30"/>`), Take{})
	tells(t, e.Remarks, "1 others were left out")
	if e.Edge.Figure != bar.Plain {
		t.Errorf("a straight edge is %v", e.Edge.Figure)
	}
}

func TestWrongScale(t *testing.T) {
	inch := read(t, "bar.dxf", groups("0 LINE 10 0 20 0 11 0.3 21 0 0 LINE 10 0.3 20 0 11 0.6 21 0.02"), Options{})
	noEdge(t, inch, Take{}, "a bar 0.6 mm long is hardly meant", "in inches it would be 15.24 mm")
	edgeOf(t, inch, Take{AnySize: true})
	long := read(t, "bar.dxf", groups("0 LINE 10 0 20 0 11 2000000 21 9"), Options{})
	noEdge(t, long, Take{}, "2e+06 mm long", "in microns it would be 2000 mm")
	// Read again in the unit meant.
	right := read(t, "bar.dxf", groups("0 LINE 10 0 20 0 11 0.6 21 0.02"), Options{Unit: 25.4})
	if e := edgeOf(t, right, Take{}); math.Abs(e.Edge.Drawn[1][0]-0.3*25.4) > 1e-4 {
		t.Error(e.Edge)
	}
}

func rosetteSVG(n int, closed bool) string {
	var b strings.Builder
	turn := 2 * math.Pi
	if !closed {
		turn /= float64(n)
	}
	parts := 4800
	if closed {
		parts = max(4800, 200*n)
	}
	for i := range parts + 1 {
		θ := 0.3 + turn*float64(i)/float64(parts)
		r := 30 + math.Sin(float64(n)*θ) + 0.2*math.Cos(2*float64(n)*θ)
		b.WriteString([]string{"L", "M"}[btoi(i == 0)] + number(50+r*math.Cos(θ)) + " " + number(50-r*math.Sin(θ)))
	}
	if closed {
		b.WriteString("z")
	}
	return b.String()
}

func TestRosette(t *testing.T) {
	for _, n := range []int{1, 7, 24, 96} {
		want := func(θ float64) float64 { return math.Sin(float64(n)*θ) + 0.2*math.Cos(2*float64(n)*θ) }
		for what, c := range map[string]struct {
			svg  string
			take Take
		}{
			"whole":      {`<path d="` + rosetteSVG(n, true) + `"/><circle cx="50" cy="50" r="5"/>`, Take{}},
			"counted":    {`<path d="` + rosetteSVG(n, true) + `"/><circle cx="50" cy="50" r="5"/>`, Take{Count: n}},
			"clockwise":  {`<path transform="translate(100,0) scale(-1,1)" d="` + rosetteSVG(n, true) + `"/><circle cx="50" cy="50" r="5"/>`, Take{}},
			"silhouette": {`<path id="r" d="` + rosetteSVG(n, true) + `"/>`, Take{Silhouette: true}},
			"sector":     {`<path d="` + rosetteSVG(n, false) + `"/>`, Take{}},
		} {
			if what == "sector" && n == 1 {
				continue // a sector of a whole turn is closed
			}
			d := read(t, "r.svg", page(c.svg), Options{})
			c.take.Rosette, c.take.Centre = true, &Point{50, 50}
			if what == "whole" {
				c.take.Centre = nil
			}
			if what != "sector" {
				c.take.Alike = 0.01
			}
			e := edgeOf(t, d, c.take)
			if e.Edge.Count != n {
				t.Errorf("%s: %d repeats, want %d", what, e.Edge.Count, n)
				continue
			}
			sign := 1.0
			if what == "clockwise" { // mirrored: θ becomes π−θ
				sign = -1
			}
			if w := worst(t, e.Edge, func(θ float64) float64 {
				θ += e.Zero
				if sign < 0 {
					θ = math.Pi - θ
				}
				return 30 + want(θ) - e.Datum
			}, 0, 2*math.Pi); w > 0.002 {
				t.Errorf("%s, %d: off by %g mm", what, n, w)
			}
		}
	}
	d := read(t, "r.svg", page(`<path d="`+rosetteSVG(7, false)+`"/>`), Options{})
	noEdge(t, d, Take{Rosette: true}, "does not tell its centre")
	noEdge(t, d, Take{Rosette: true, Centre: &Point{50, 50}, Count: 8}, "51.4286 deg, but one of 8 takes 45.0000 deg")
	d = read(t, "r.svg", page(`<path d="`+rosetteSVG(7, true)+`"/>`), Options{})
	noEdge(t, d, Take{Rosette: true, Centre: &Point{5, 5}}, "0.00 times round")
	noEdge(t, d, Take{Rosette: true, Centre: &Point{50, 50}, Count: 6}, "the 6 repeats differ")
}

func TestTables(t *testing.T) {
	e := edgeOf(t, read(t, "b.csv", "y mm,height um\n0,0\n10,500\n20,0\n30,900\n", Options{}), Take{})
	if got := fmt.Sprint(e.Edge.Drawn); got != "[[-15 -0.45] [-5 0.05] [5 -0.45] [15 0.45]]" {
		t.Error(got)
	}
	e = edgeOf(t, read(t, "b.csv", "x,y\n0,0\n1,0.02\n2,0\n3,0.01\n", Options{Unit: 25.4}), Take{})
	if from, to := e.Edge.Span(); math.Abs(to-from-76.2) > 1e-9 {
		t.Error(from, to)
	}
	var b strings.Builder
	b.WriteString("angle deg,radius mm\n")
	for i := range 361 {
		fmt.Fprintf(&b, "%d,%.6f\n", i, 40+0.5*math.Sin(5*float64(i)*math.Pi/180))
	}
	e = edgeOf(t, read(t, "r.csv", b.String(), Options{}), Take{Rosette: true})
	if e.Edge.Count != 5 || math.Abs(e.Edge.Radius-40) > 1e-4 {
		t.Errorf("%d about %g", e.Edge.Count, e.Edge.Radius)
	}
	if _, err := Read(strings.NewReader("angle,height\n0,0\n360,0\n"), "r.csv", Options{}); err == nil || !strings.Contains(err.Error(), "mean radius") {
		t.Error(err)
	}
	refused(t, "b.csv", "x,y\n0,0\n1,one\n", 3, "one")
	d := read(t, "b.csv", "x,y\n0,0\n10,1\n5,1\n20,2\n", Options{})
	noEdge(t, d, Take{}, "b.csv:4:1: edge: it doubles back between x 5.0000 mm and x 10.0000 mm")
}

// Thinned straight lines stay within the tolerance of all that was drawn; the
// envelope stands nowhere below a line and everywhere on one.
func TestThinAndEnvelope(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 200).Draw(t, "n")
		tolerance := rapid.Float64Range(1e-3, 1).Draw(t, "tolerance")
		var c heights
		x := 0.0
		for range n {
			x += rapid.Float64Range(0.01, 2).Draw(t, "step")
			c.add(x, rapid.Float64Range(-2, 2).Draw(t, "h"))
		}
		few := c.thin(tolerance)
		for i := range c.x {
			if d := math.Abs(few.at(c.x[i]) - c.h[i]); d > tolerance*(1+1e-9)+1e-12 {
				t.Fatalf("off by %g at %d", d, i)
			}
		}
		if few.first() != c.first() || few.last() != c.last() {
			t.Fatal("the ends moved")
		}

		var e envelope
		for range rapid.IntRange(1, 40).Draw(t, "lines") {
			v := func() float64 { return rapid.Float64Range(-5, 5).Draw(t, "v") }
			e.add(Point{v(), v()}, Point{v(), v()})
		}
		found := e.upper(0, len(e.from))
		for k := range 300 {
			x := -5 + 10*(float64(k)+0.37)/300
			top := math.Inf(-1)
			for i := range e.from {
				if e.from[i].X <= x && x <= e.to[i].X {
					top = max(top, e.at(i, x))
				}
			}
			got := math.Inf(-1)
			for _, s := range found {
				if s.u <= x && x <= s.v {
					got = max(got, e.at(s.line, x))
				}
			}
			if got != top && math.Abs(got-top) > 1e-9 {
				t.Fatalf("at %g the envelope stands at %g, the lines at %g", x, got, top)
			}
		}
	})
}

// The straight side of a hexagon is r = d/cos(θ − 30°) about its middle: six corners
// drawn, and the edge follows the sides between them.
func TestPolygonRosette(t *testing.T) {
	var b strings.Builder
	for i := range 6 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 3)
		fmt.Fprintf(&b, "%.9f,%.9f ", 50+30*cos, 50-30*sin)
	}
	e := edgeOf(t, read(t, "h.svg", page(`<polygon points="`+b.String()+`"/>`), Options{}), Take{Rosette: true, Centre: &Point{50, 50}})
	if e.Edge.Count != 6 {
		t.Errorf("%d repeats", e.Edge.Count)
	}
	if w := worst(t, e.Edge, func(θ float64) float64 {
		θ += e.Zero
		θ -= math.Pi / 3 * math.Floor(θ/(math.Pi/3))
		return 15*math.Sqrt(3)/math.Cos(θ-math.Pi/6) - e.Datum
	}, 0, 2*math.Pi); w > 0.0014 {
		t.Errorf("off by %g mm", w)
	}
}
