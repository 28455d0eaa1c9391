package bar

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestPathIsTheEnvelope(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, ρ, p := drawPath(t)
		if ρ < 0.01 {
			return
		}
		for range 4 {
			s := drawPlace(t, p)
			got, _ := p.At(s)
			want := bruteLift(p.profile, ρ, s, 1000)
			if math.Abs(got-want) > PathError {
				t.Fatalf("%+v\nρ=%v s=%v: lift %.9f, brute force %.9f", e, ρ, s, got, want)
			}
		}
	})
}

func TestTouchpieceNeverCutsIntoTheEdge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, ρ, p := drawPath(t)
		s := drawPlace(t, p)
		lift, _ := p.At(s)
		for range 20 {
			y := s*p.profile.unit() + rapid.Float64Range(-1, 1).Draw(t, "off")*ρ
			if p.period == 0 && p.profile.reduce(y) != y {
				continue
			}
			h, _ := p.profile.Height(p.profile.frame.place(y))
			q := spot{y: y, h: h}
			if d := p.profile.frame.distance(s, lift, ρ, q); d < ρ-2*PathError {
				t.Fatalf("%+v\nρ=%v at %v: the edge at %v is %g inside the nose", e, ρ, s, y, ρ-d)
			}
		}
	})
}

func (p *Profile) unit() float64 {
	if p.frame.R == 0 {
		return 1
	}
	return p.frame.R
}

func TestPathRepeats(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, _, p := drawPath(t)
		if p.Period() == 0 {
			return
		}
		s := rapid.Float64Range(0, 1).Draw(t, "s") * p.Period()
		a, _ := p.At(s)
		b, _ := p.At(s + 7*p.Period())
		c, _ := p.At(s - 5*p.Period())
		if math.Abs(a-b) > 1e-10 || math.Abs(a-c) > 1e-10 {
			t.Fatal(a, b, c)
		}
	})
}

func TestPointedNoseGivesTheEdge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEdge(t)
		p, err := Follow(e, 0)
		if err != nil {
			t.Fatal(err)
		}
		s := drawPlace(t, p)
		lift, slope := p.At(s)
		h, m := p.profile.Height(s)
		if math.Abs(lift-h) > PathError {
			t.Fatalf("%+v at %v: lift %v, edge %v", e, s, lift, h)
		}
		if math.Abs(slope-m) > 0.02*(1+math.Abs(m)) && !nearCorner(p.profile, s) {
			t.Fatalf("%+v at %v: slope %v, edge %v", e, s, slope, m)
		}
	})
}

func nearCorner(p *Profile, s float64) bool {
	for _, c := range p.Corners() {
		d := s - c
		if T := p.frame.place(p.period); T > 0 {
			d -= T * math.Round(d/T)
		}
		if math.Abs(d) < 1e-9 {
			return true
		}
	}
	return false
}

// A larger nose stands no lower on any edge of a bar: its disc, lowered to the
// same underside, holds the smaller one.
func TestLargerNoseStandsHigher(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, ρ, p := drawPath(t)
		larger, err := Follow(e, ρ+rapid.Float64Range(0, 1).Draw(t, "more"))
		if err != nil {
			return
		}
		s := drawPlace(t, p)
		a, _ := p.At(s)
		b, _ := larger.At(s)
		if b < a-2*PathError {
			t.Fatalf("%+v at %v: ρ=%v gives %v, ρ=%v gives %v", e, s, ρ, a, larger.follower.ρ, b)
		}
	})
}

// Shifting the drawing shifts the path.
func TestShiftedDrawing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := Edge{Figure: Points, Repeats: true, Spline: rapid.Bool().Draw(t, "spline")}
		y := 0.0
		for range rapid.IntRange(2, 20).Draw(t, "n") {
			e.Drawn = append(e.Drawn, [2]float64{y, rapid.Float64Range(-0.5, 0.5).Draw(t, "h")})
			y += rapid.Float64Range(0.1, 2).Draw(t, "step")
		}
		e.Drawn[len(e.Drawn)-1][1] = e.Drawn[0][1]
		ρ := rapid.Float64Range(0, 2).Draw(t, "rho")
		p, err := Follow(e, ρ)
		if err != nil {
			return
		}
		d := rapid.Float64Range(-20, 20).Draw(t, "shift")
		moved := e
		moved.Drawn = nil
		for _, q := range e.Drawn {
			moved.Drawn = append(moved.Drawn, [2]float64{q[0] + d, q[1]})
		}
		q, err := Follow(moved, ρ)
		if err != nil {
			return
		}
		s := drawPlace(t, p)
		a, _ := p.At(s)
		b, _ := q.At(s + d)
		if math.Abs(a-b) > 2*PathError {
			t.Fatalf("%+v shifted by %v, ρ=%v at %v: %v, then %v", e, d, ρ, s, a, b)
		}
	})
}

// The slope is the derivative of the lift, and jumps at kinks only.
func TestSlopeAndKinks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, ρ, p := drawPath(t)
		s := drawPlace(t, p)
		if ρ > 0 && ρ < 1e-3 {
			return
		}
		unit := 1e-6 / p.profile.unit()
		if p.period == 0 {
			if from, to := p.Span(); s-2*unit < from || s+2*unit > to {
				return
			}
		}
		for _, k := range p.Kinks() {
			x := s - k
			if p.period > 0 {
				x -= p.period * math.Round(x/p.period)
			}
			if math.Abs(x) < 2*unit {
				return
			}
		}
		a, l := p.At(s - unit)
		b, r := p.At(s + unit)
		_, m := p.At(s)
		lo, hi := min(l, m, r), max(l, m, r)
		got := (b - a) / (2 * unit)
		loose := 3e-3 * (1 + math.Abs(lo) + math.Abs(hi))
		if hi-lo > 0.2*(1+math.Abs(m)) && ρ > 0 {
			t.Fatalf("%+v ρ=%v at %v: slope jumps from %v to %v without a kink", e, ρ, s, l, r)
		}
		if got < lo-loose || got > hi+loose {
			t.Fatalf("%+v ρ=%v at %v: rises by %v, slopes %v %v %v", e, ρ, s, got, l, m, r)
		}
	})
}

func TestExtremes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, _, p := drawPath(t)
		low, high := p.Extremes()
		for range 20 {
			if l, _ := p.At(drawPlace(t, p)); l < low-PathError || l > high+PathError {
				t.Fatal(l, low, high)
			}
		}
	})
}

func TestPathReadsAnyPlace(t *testing.T) {
	for _, e := range []Edge{
		{Figure: Plain}, {Figure: Plain, Radius: 20}, {Figure: Sine, Wave: 3, Amplitude: 0.25},
		{Figure: Sine, Radius: 20, Count: 12, Amplitude: 0.25},
		{Figure: Points, Drawn: [][2]float64{{-1, 0}, {0, 1}, {2, 0.5}}},
	} {
		p, err := Follow(e, 0.3)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range []float64{0, math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300, 1e16, math.MaxFloat64, 5e-324} {
			if l, m := p.At(s); math.IsNaN(l+m) || math.IsInf(l+m, 0) {
				t.Errorf("%+v at %v: %v %v", e, s, l, m)
			}
		}
	}
}
