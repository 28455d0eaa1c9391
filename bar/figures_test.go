package bar

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/interp"
	"pgregory.net/rapid"
)

func profile(t *testing.T, e Edge) *Profile {
	t.Helper()
	p, err := e.Profile()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestFiguresAsDrawn(t *testing.T) {
	// Heights worked by hand; y in mm on a wave of 4, amplitude 0.5.
	bar := func(e Edge) Edge { e.Wave, e.Amplitude = 4, 0.5; return e }
	half := bar(Edge{Figure: Arcs})                          // chords 2, sagittas 0.5: radius 1.25
	scallop := bar(Edge{Figure: Arcs, Crest: 1})             // chord 4, sagitta 1: radius 2.5
	nosed := bar(Edge{Figure: Zigzag, Nose: 0.5, Root: 0.5}) // N = 1
	for _, c := range []struct {
		name     string
		e        Edge
		y, h, d1 float64
	}{
		{"plain", Edge{Figure: Plain}, 3, 0, 0},
		{"sine rises through 0", bar(Edge{Figure: Sine}), 0, 0, math.Pi / 4},
		{"sine crest", bar(Edge{Figure: Sine}), 1, 0.5, 0},
		{"sine third", bar(Edge{Figure: Sine}), 1. / 3, 0.25, math.Pi / 4 * math.Cos(math.Pi/6)},
		{"trapezoid crest", bar(Edge{Figure: Trapezoid, Crest: 0.25, Hollow: 0.125}), 1.4, 0.5, 0},
		{"trapezoid ramp", bar(Edge{Figure: Trapezoid, Crest: 0.25, Hollow: 0.125}), 1.5 + 0.625, 0, -0.8},
		{"trapezoid hollow", bar(Edge{Figure: Trapezoid, Crest: 0.25, Hollow: 0.125}), 3.2, -0.5, 0},
		{"arcs crest", half, 1, 0.5, 0},
		{"arcs meet", half, 2, 0, -4. / 3}, // half a chord 1 on radius 1.25: slope 1/0.75
		{"arcs bump", half, 1.75, 0.25, -0.75},
		{"arcs hollow", half, 3.75, -0.25, 0.75},
		{"scallop", scallop, 2.5, 0.5 - 2.5 + 2, -0.75},
		{"scallop cusp", scallop, 3, -0.5, 4. / 3},
		{"zigzag", bar(Edge{Figure: Zigzag}), 1.5, 0.25, -0.5},
		{"zigzag hollow", bar(Edge{Figure: Zigzag}), 3, -0.5, 0.5},
		{"nosed crest", nosed, 1, 0.5, 0},
		{"nosed middle", nosed, 2, 0, -8. / 15}, // u = 1/4 of 2(N−a)u² − λu + 2a = 0: see below
		{"bumps", Edge{Figure: Bumps, Wave: 4, Heights: []float64{1, 0.5}}, 1, 1, 0},
		{"bumps second", Edge{Figure: Bumps, Wave: 4, Heights: []float64{1, 0.5}}, 5, 0.5, 0},
		{"bumps hollow", Edge{Figure: Bumps, Wave: 4, Heights: []float64{1, 0.5}}, 3, 0, 0},
		{"bumps second flank", Edge{Figure: Bumps, Wave: 4, Heights: []float64{1, 0.5}}, 4, 0.25, math.Pi / 8},
		{"bumps repeat", Edge{Figure: Bumps, Wave: 4, Heights: []float64{1, 0.5}}, -7, 1, 0},
		{"points", Edge{Figure: Points, Drawn: [][2]float64{{0, 0}, {2, 1}, {3, 0}}}, 1, 0.5, 0.5},
		{"points end", Edge{Figure: Points, Drawn: [][2]float64{{0, 0}, {2, 1}, {3, 0}}}, 9, 0, -1},
		{"points repeat", Edge{Figure: Points, Repeats: true, Drawn: [][2]float64{{0, 0}, {2, 1}, {3, 0}}}, -0.5, 0.5, -1},
		{"rosette", Edge{Figure: Sine, Radius: 40, Count: 24, Amplitude: 0.5}, math.Pi / 48, 0.5, 0},
		{"rosette slope", Edge{Figure: Sine, Radius: 40, Count: 24, Amplitude: 0.5}, 0, 0, 12},
		{"rosette points", Edge{Figure: Points, Radius: 20, Count: 2, Drawn: [][2]float64{{0, 0}, {1, 0.5}, {math.Pi, 0}}}, 0.5 + math.Pi, 0.25, 0.5},
	} {
		h, d1 := c.e.Height(c.y)
		if c.name == "nosed middle" {
			// 2(1 − 0.5)u² − 4u + 1 = 0: u = 2 − √3, β = 30°.
			c.d1 = -math.Tan(30 * deg)
		}
		near(t, c.name+" height", h, c.h, 1e-12)
		near(t, c.name+" slope", d1, c.d1, 1e-9)
	}
	r := follow(t, nosed, 0.1).Report()
	near(t, "nose", r.SmallestBump, 0.5, 1e-12)
	near(t, "root", r.SmallestHollow, 0.5, 1e-12)
	near(t, "flank", r.SteepestSlope, 30*deg, 1e-12)
}

// Every figure but points runs from −amplitude to +amplitude, its pieces join,
// and each keeps what piece promises.
func TestPieces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEdge(t)
		p, err := e.Profile()
		if err != nil {
			t.Fatal(err)
		}
		low, high := math.Inf(1), math.Inf(-1)
		for i := range p.pieces {
			q := &p.pieces[i]
			if !(q.a < q.b) {
				t.Fatalf("%+v: piece %d from %v to %v", e, i, q.a, q.b)
			}
			if i > 0 {
				l := &p.pieces[i-1]
				if l.b != q.a || math.Abs(l.at(l.b).h-q.at(q.a).h) > 1e-9*(1+math.Abs(q.at(q.a).d1)) {
					t.Fatalf("%+v: gap before piece %d", e, i)
				}
			}
			a, b := q.at(q.a), q.at(q.b)
			low, high = min(low, a.h, b.h), max(high, a.h, b.h)
			s := q.at(q.a + (q.b-q.a)*rapid.Float64Range(0, 1).Draw(t, "share"))
			for _, v := range [][3]float64{{a.h, s.h, b.h}, {a.d1, s.d1, b.d1}, {a.d2, s.d2, b.d2}} {
				slack := 1e-9 * (1 + math.Abs(v[0]) + math.Abs(v[2]))
				if v[1] < min(v[0], v[2])-slack || v[1] > max(v[0], v[2])+slack {
					t.Fatalf("%+v: piece %d is not monotone: %v", e, i, v)
				}
			}
		}
		if e.Amplitude > 0 && e.Figure != Points && e.Figure != Bumps {
			if math.Abs(low+e.Amplitude) > 1e-9 || math.Abs(high-e.Amplitude) > 1e-9 {
				t.Fatalf("%+v runs from %v to %v", e, low, high)
			}
		}
	})
}

// hollowBounds and slopeSpread hold everything between their ends.
func TestBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEdge(t)
		p, err := e.Profile()
		if err != nil {
			t.Fatal(err)
		}
		ρ := rapid.Float64Range(0, 1).Draw(t, "rho")
		q := &p.pieces[rapid.IntRange(0, len(p.pieces)-1).Draw(t, "piece")]
		place := func(what string) spot {
			return q.at(q.a + (q.b-q.a)*rapid.Float64Range(0, 1).Draw(t, what))
		}
		a, b := place("a"), place("b")
		if b.y < a.y {
			a, b = b, a
		}
		lo, hi := p.frame.hollowBounds(a, b)
		spread := p.frame.slopeSpread(a, b, ρ)
		for range 5 {
			s := q.at(a.y + (b.y-a.y)*rapid.Float64Range(0, 1).Draw(t, "between"))
			if k := p.frame.hollowness(s); k < lo-1e-7*(1+math.Abs(lo)) || k > hi+1e-7*(1+math.Abs(hi)) {
				t.Fatalf("%+v: curvature %v outside [%v, %v]", e, k, lo, hi)
			}
			u, v := p.frame.bear(a, ρ).slope, p.frame.bear(s, ρ).slope
			if math.Abs(u-v) > spread+1e-7*(1+math.Abs(u)) {
				t.Fatalf("%+v: slope varies by %v, more than %v", e, u-v, spread)
			}
		}
	})
}

// The rates and slopes of bear are the derivatives of its place and lift.
func TestBearDerivatives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEdge(t)
		p, _ := e.Profile()
		q := &p.pieces[rapid.IntRange(0, len(p.pieces)-1).Draw(t, "piece")]
		ρ := rapid.Float64Range(0, 1).Draw(t, "rho")
		d := (q.b - q.a) * 1e-4
		if d < 1e-7 {
			return // differences say nothing
		}
		y := q.a + (q.b-q.a)*rapid.Float64Range(0.1, 0.9).Draw(t, "share")
		l, m, r := p.frame.bear(q.at(y-d), ρ), p.frame.bear(q.at(y), ρ), p.frame.bear(q.at(y+d), ρ)
		rate := (r.s - l.s) / (2 * d)
		if math.Abs(rate-m.rate) > 1e-3*(1+math.Abs(m.rate)+math.Abs(l.rate-r.rate)*10) {
			t.Fatalf("%+v: rate %v, by differences %v", e, m.rate, rate)
		}
		if rise := (r.lift - l.lift) / (2 * d); math.Abs(rise-m.slope*m.rate) > 1e-3*(1+math.Abs(rise)+math.Abs(l.slope*l.rate-r.slope*r.rate)*10) {
			t.Fatalf("%+v: slope·rate %v, by differences %v", e, m.slope*m.rate, rise)
		}
	})
}

// The natural spline is gonum's.
func TestNaturalSpline(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 40).Draw(t, "n")
		y, h := make([]float64, n), make([]float64, n)
		at := 0.0
		for i := range n {
			at += rapid.Float64Range(0.1, 3).Draw(t, "step")
			y[i], h[i] = at, rapid.Float64Range(-1, 1).Draw(t, "h")
		}
		var nc interp.NaturalCubic
		if err := nc.Fit(y, h); err != nil {
			t.Fatal(err)
		}
		for i, m := range splineSlopes(y, h, false) {
			if want := nc.PredictDerivative(y[i]); math.Abs(m-want) > 1e-10*(1+math.Abs(want)) {
				t.Fatalf("slope %d: %v, want %v", i, m, want)
			}
		}
	})
}

// The periodic spline has one second derivative on either side of every knot, the
// joint of the periods with it.
func TestPeriodicSpline(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "n")
		y, h := []float64{0}, []float64{0.3}
		for i := range n {
			y = append(y, y[i]+rapid.Float64Range(0.1, 3).Draw(t, "step"))
			h = append(h, rapid.Float64Range(-1, 1).Draw(t, "h"))
		}
		h[n] = h[0]
		m := splineSlopes(y, h, true)
		second := func(i int, end bool) float64 {
			d, s := y[i+1]-y[i], (h[i+1]-h[i])/(y[i+1]-y[i])
			if end {
				return (2*m[i] + 4*m[i+1] - 6*s) / d
			}
			return (6*s - 4*m[i] - 2*m[i+1]) / d
		}
		for i := range n {
			l, r := second((i+n-1)%n, true), second(i, false)
			if math.Abs(l-r) > 1e-8*(1+math.Abs(l)) {
				t.Fatalf("knot %d of %v: %v before, %v after", i, y, l, r)
			}
		}
		if m[0] != m[n] {
			t.Fatal(m)
		}
	})
}

func TestPeriodsAndSpans(t *testing.T) {
	inf := math.Inf(1)
	drawn := [][2]float64{{-1, 0}, {2, 1}, {4, 0}}
	for _, c := range []struct {
		e                      Edge
		wave, period, from, to float64
	}{
		{Edge{Figure: Plain}, 0, 0, -inf, inf},
		{Edge{Figure: Plain, Length: 20}, 0, 0, -10, 10},
		{Edge{Figure: Plain, Radius: 20}, 0, 2 * math.Pi, -inf, inf},
		{Edge{Figure: Sine, Wave: 3, Amplitude: 0.2, Length: 120}, 3, 3, -60, 60},
		{Edge{Figure: Sine, Radius: 40, Count: 24, Amplitude: 0.2}, math.Pi / 12, math.Pi / 12, -inf, inf},
		{Edge{Figure: Bumps, Wave: 3, Heights: []float64{1, 2}}, 3, 6, -inf, inf},
		{Edge{Figure: Bumps, Radius: 40, Count: 24, Heights: []float64{1, 2}}, math.Pi / 12, math.Pi / 6, -inf, inf},
		{Edge{Figure: Bumps, Radius: 40, Heights: []float64{1, 2}}, math.Pi, 2 * math.Pi, -inf, inf},
		{Edge{Figure: Points, Drawn: drawn}, 0, 0, -1, 4},
		{Edge{Figure: Points, Drawn: drawn, Repeats: true}, 5, 5, -inf, inf},
		{Edge{Figure: Points, Drawn: drawn, Length: 1}, 0, 0, -0.5, 0.5},
	} {
		p := follow(t, c.e, 0.1)
		from, to := p.Span()
		if math.Abs(c.e.OneWave()-c.wave) > 1e-15 || math.Abs(p.Period()-c.period) > 1e-15 || from != c.from || to != c.to {
			t.Errorf("%+v: wave %v period %v span %v to %v", c.e, c.e.OneWave(), p.Period(), from, to)
		}
	}
}

func TestCorners(t *testing.T) {
	for _, c := range []struct {
		e    Edge
		want []float64
	}{
		{Edge{Figure: Sine, Wave: 4, Amplitude: 0.5}, nil},
		{Edge{Figure: Arcs, Wave: 4, Amplitude: 0.5}, nil},
		{Edge{Figure: Arcs, Wave: 4, Amplitude: 0.5, Crest: 1}, []float64{3}},
		{Edge{Figure: Zigzag, Wave: 4, Amplitude: 0.5}, []float64{1, 3}},
		{Edge{Figure: Zigzag, Wave: 4, Amplitude: 0.5, Nose: 0.1}, []float64{3}},
		{Edge{Figure: Trapezoid, Wave: 4, Amplitude: 0.5, Crest: 0.25, Hollow: 0.25}, []float64{0.5, 1.5, 2.5, 3.5}},
		{Edge{Figure: Points, Drawn: [][2]float64{{0, 0}, {1, 1}, {2, 2}, {3, 0}}}, []float64{2}},
	} {
		got := profile(t, c.e).Corners()
		if len(got) != len(c.want) {
			t.Errorf("%+v: corners %v", c.e, got)
			continue
		}
		for i := range got {
			near(t, "corner", got[i], c.want[i], 1e-12)
		}
		// A touchpiece without a radius has a kink at each.
		if k := follow(t, c.e, 0).Kinks(); len(k) != len(got) {
			t.Errorf("%+v: kinks %v, corners %v", c.e, k, got)
		}
	}
}
