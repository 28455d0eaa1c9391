package bar

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func invert(t *testing.T, w Want) *Inverse {
	t.Helper()
	v, err := w.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// bruteInner is the definition: the edge at s is under the nose wherever its centre
// stands on the path, so under the lowest of the noses set on it.
func bruteInner(p *Profile, k, ρ, s float64, n int) float64 {
	R := p.edge.Radius
	reach := ρ
	if R > 0 {
		reach = 1.2 * ρ / (R * 0.7)
	}
	from, to := p.edge.Span()
	at, best := s, math.Inf(1)
	see := func(t float64) float64 {
		if t < from || t > to {
			return math.Inf(1)
		}
		h, _ := p.Height(t)
		h *= k
		u, v := t-s, math.Inf(1)
		if R == 0 {
			if d := ρ*ρ - u*u; d >= 0 {
				v = h + ρ - math.Sqrt(d)
			}
		} else if c := R + ρ + h; ρ*ρ-c*c*math.Sin(u)*math.Sin(u) >= 0 && math.Cos(u) > 0 {
			v = c*math.Cos(u) - math.Sqrt(ρ*ρ-c*c*math.Sin(u)*math.Sin(u)) - R
		}
		if v < best {
			best, at = v, t
		}
		return v
	}
	for i := range n + 1 {
		see(s - reach + 2*reach*float64(i)/float64(n))
	}
	lo, hi := at-2*reach/float64(n), at+2*reach/float64(n)
	for range 60 {
		step := (hi - lo) / 3
		if see(lo+step) < see(hi-step) {
			hi -= step
		} else {
			lo += step
		}
	}
	for _, t := range []float64{from, to} {
		if !math.IsInf(t, 0) {
			see(t)
		}
	}
	for _, c := range p.Corners() {
		if T := p.edge.Period(); T > 0 {
			c += T * math.Round((s-c)/T)
			see(c - T)
			see(c + T)
		}
		see(c)
	}
	return best
}

// drawWant draws a path wanted of any figure, and its inverse.
func drawWant(t *rapid.T) *Inverse {
	for {
		w := Want{Path: drawEdge(t), Touch: rapid.Float64Range(0.02, 2).Draw(t, "rho"),
			Lever: rapid.SampledFrom([]float64{1, 1, -1, 2.5, 0.8, -1.5}).Draw(t, "lever")}
		v, err := w.Inverse()
		if err == nil {
			return v
		}
	}
}

func TestInverseIsTheInnerEnvelope(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		if seldom(t) {
			return
		}
		v := drawWant(t)
		e, err := v.Edge.Profile()
		if err != nil {
			t.Fatal(err)
		}
		for range 3 {
			s := drawPlace(t, v.Path)
			got, _ := e.Height(s)
			want := bruteInner(v.wanted, 1/v.Want.Lever, v.Want.Touch, s, 1500)
			if math.Abs(got-want) > UsualTolerance+2*PathError {
				t.Fatalf("%+v\nat %v: edge %.9f, brute force %.9f", v.Want, s, got, want)
			}
		}
	})
}

// What is called missed is what the path over the edge falls short by.
func TestMissed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		if seldom(t) {
			return
		}
		v := drawWant(t)
		const loose = 3 * UsualTolerance * 2.5
		sign := math.Copysign(1, v.Want.Lever)
		for range 20 {
			s := drawPlace(t, v.Path)
			if from, to := v.Want.Path.Span(); s < from || s > to {
				continue
			}
			_, off := v.At(s)
			off *= sign
			if off > loose || off < -v.Fall-loose {
				t.Fatalf("%+v\nat %v the path is %v off, called %v", v.Want, s, off, v.Fall)
			}
			if off < -loose && !within(s, v) {
				t.Fatalf("%+v\nat %v the path falls short by %v: %+v", v.Want, s, off, v.Missed)
			}
		}
		for _, m := range v.Missed {
			most := 0.0
			for i := range 400 {
				_, off := v.At(m.From + (m.To-m.From)*(float64(i)+0.5)/400)
				most = max(most, -off*sign)
			}
			if most > m.Fall+loose || most < 0.95*m.Fall-loose {
				t.Fatalf("%+v\n%+v: falls short by %v", v.Want, m, most)
			}
		}
	})
}

func within(s float64, v *Inverse) bool {
	T := v.Path.Period()
	for _, m := range v.Missed {
		x := s
		if T > 0 {
			x -= T * math.Floor((x-m.From)/T)
		}
		if x >= m.From && x <= m.To {
			return true
		}
	}
	return false
}

// Edge, path, edge: wherever the nose reaches, the edge comes back within 1 µm.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, ρ, p := drawPath(t)
		if ρ < 0.01 {
			return
		}
		want := Edge{Figure: Points, Radius: e.Radius, Drawn: p.vertices(2e-5)}
		if T := p.Period(); T > 0 {
			n := len(want.Drawn) - 1
			want.Drawn[n] = [2]float64{want.Drawn[0][0] + T, want.Drawn[0][1]}
			if want.Repeats = e.Radius == 0; !want.Repeats {
				want.Count = int(math.Round(2 * math.Pi / T))
			}
		}
		v, err := Want{Path: want, Touch: ρ}.Inverse()
		if err != nil {
			t.Fatal(err)
		}
		back, err := v.Edge.Profile()
		if err != nil {
			t.Fatal(err)
		}
		lost := p.Report().Lost
		from, to := p.Span()
		for range 10 {
			s := drawPlace(t, p)
			// A bar's own ends are out of reach of a nose that has to stay on it.
			if s < from+ρ || s > to-ρ {
				continue
			}
			h, _ := p.profile.Height(s)
			g, _ := back.Height(s)
			if g < h-2e-4 {
				t.Fatalf("%+v ρ=%v at %v: the edge was %.7f and comes back as %.7f", e, ρ, s, h, g)
			}
			if !between(s, lost, p.Period()) && g > h+1e-3 {
				t.Fatalf("%+v ρ=%v at %v: the edge was %.7f and comes back as %.7f", e, ρ, s, h, g)
			}
		}
		if v.Fall > 1e-3 {
			t.Fatalf("%+v ρ=%v: a path that was made cannot be: %v", e, ρ, v.Fall)
		}
	})
}

func between(s float64, lost []Loss, T float64) bool {
	for _, l := range lost {
		x := s
		if T > 0 {
			x -= T * math.Floor((x-l.From)/T)
		}
		if x >= l.From && x <= l.To {
			return true
		}
	}
	return false
}

// No edge does better than Nearest: not it raised or lowered, nor any other.
func TestNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		if seldom(t) {
			return
		}
		v := drawWant(t)
		if v.Fall < 1e-3 {
			return
		}
		from, to := v.Want.Path.Span()
		greatest := func(p *Path) float64 {
			most := v.greatest(p)
			for _, m := range v.Missed {
				for i := range 100 {
					s := m.From + (m.To-m.From)*float64(i)/99
					if s < from || s > to {
						continue
					}
					l, _ := p.At(s)
					h, _ := v.wanted.Height(s)
					most = max(most, math.Abs(l*v.Want.Lever-h))
				}
			}
			return most
		}
		p, err := Follow(v.Nearest, v.Want.Touch)
		if err != nil {
			t.Fatal(err)
		}
		const loose = 1e-3
		if got := greatest(p); math.Abs(got-v.Off) > loose+0.02*v.Off {
			t.Fatalf("%+v: %v off, called %v", v.Want, got, v.Off)
		}
		r := rand.New(rand.NewPCG(uint64(rapid.IntRange(0, 1000).Draw(t, "seed")), 1))
		for range 5 {
			other := v.Nearest
			other.Drawn = append([][2]float64(nil), v.Nearest.Drawn...)
			all := 0.5 * v.Off * r.NormFloat64()
			for i := range other.Drawn {
				other.Drawn[i][1] += all + 0.3*v.Off*r.NormFloat64()
			}
			n := len(other.Drawn) - 1
			if v.Path.Period() > 0 {
				other.Drawn[n][1] = other.Drawn[0][1]
			}
			q, err := Follow(other, v.Want.Touch)
			if err != nil {
				continue
			}
			if got := greatest(q); got < v.Off-loose-0.02*v.Off {
				t.Fatalf("%+v: an edge is %v off, the nearest was called %v", v.Want, got, v.Off)
			}
		}
	})
}

// A sine path of amplitude a and wave λ can be had up to a touchpiece of the radius
// of its crests, λ²/(4π²a) (trade's own formula; the cam texts' condition that the
// centre path's convex radius must not be below the roller's), and no further.
func TestSinePathLimit(t *testing.T) {
	const a, λ = 0.5, 5.0
	limit := λ * λ / (4 * math.Pi * math.Pi * a) // 1.266514796
	near(t, "limit", limit, 1.266514796, 1e-9)
	path := Edge{Figure: Sine, Wave: λ, Amplitude: a}
	if v := invert(t, Want{Path: path, Touch: limit * 0.999}); len(v.Missed) != 0 || v.Fall != 0 {
		t.Error("below the limit:", v.Missed)
	}
	v := invert(t, Want{Path: path, Touch: limit * 1.3})
	if len(v.Missed) != 1 || !(v.Fall > 1e-3) {
		t.Fatal("above the limit:", v.Missed)
	}
	near(t, "in the middle of the crest", (v.Missed[0].From+v.Missed[0].To)/2, λ/4, 1e-6)
	near(t, "off", v.Off, v.Fall/2, 0)
	// The inner offset of the sine, by the offset curve's own formula.
	v = invert(t, Want{Path: path, Touch: 1})
	e, _ := v.Edge.Profile()
	for _, y := range []float64{0, 0.7, 1.25, 2.2, 3.75, 4.5} {
		k := 2 * math.Pi / λ
		m := a * k * math.Cos(k*y)
		w := math.Hypot(1, m)
		h, _ := e.Height(y + m/w)
		near(t, "inner offset", h, a*math.Sin(k*y)-1/w+1, UsualTolerance)
	}
	near(t, "hollow", v.SmallestHollow, limit+1, 1e-9)
	near(t, "steepest", v.Steepest/deg, 32.141908, 1e-6)
	if !v.Edge.Spline || len(v.Edge.Drawn) > 150 {
		t.Error("a smooth edge is drawn by a few points joined smoothly:", v.Edge.Spline, len(v.Edge.Drawn))
	}
	if len(v.Steep) != 2 {
		t.Fatal("one stretch up and one down:", v.Steep)
	}
	for _, s := range v.Steep {
		for _, y := range []float64{s.From, s.To} {
			near(t, "steep", math.Abs(math.Atan(a*2*math.Pi/λ*math.Cos(2*math.Pi*y/λ))), UsualAngle, 1e-9)
		}
	}
}

// The worked example of the cam text (see cam_test.go): pitch radius 20, rise 5 in
// harmonic motion over 180°, roller 5: the profile at 90° is
// (−0.5521576304, 17.53058133). And the eccentric circle: a centre path of radius
// 25, 5 out of the middle, wants an edge of radius 20 about the same middle.
func TestInverseOfCams(t *testing.T) {
	const Rf = 5.0
	v := invert(t, Want{Path: Edge{Figure: Harmonics, Radius: 15, Count: 1, Sines: []Harmonic{{0, 2.5, math.Pi / 2}, {1, 2.5, -math.Pi / 2}}}, Touch: Rf})
	e, _ := v.Edge.Profile()
	x, y := -0.5521576304, 17.53058133
	h, _ := e.Height(math.Atan2(y, x))
	near(t, "profile at 90°", h+15, math.Hypot(x, y), UsualTolerance)
	near(t, "steepest", v.Steepest, greatestHarmonic(), 1e-4)

	const ecc, R = 5.0, 20.0
	n := 720
	path := Edge{Figure: Points, Radius: R, Spline: true}
	for i := range n + 1 {
		θ := 2 * math.Pi * float64(i) / float64(n)
		path.Drawn = append(path.Drawn, [2]float64{θ, ecc*math.Cos(θ) + math.Sqrt(625-25*math.Sin(θ)*math.Sin(θ)) - 25})
	}
	path.Drawn[n][1] = path.Drawn[0][1]
	v = invert(t, Want{Path: path, Touch: Rf})
	e, _ = v.Edge.Profile()
	for d := 0.0; d < 360; d += 13 {
		θ := d * deg
		h, _ := e.Height(θ)
		near(t, "eccentric edge", h+R, ecc*math.Cos(θ)+math.Sqrt(400-25*math.Sin(θ)*math.Sin(θ)), 2*UsualTolerance)
	}
}

// greatestHarmonic is the greatest of atan(v/(R+s)) over the rise, by a fine scan.
func greatestHarmonic() float64 {
	most := 0.0
	for i := range 36001 {
		s, c := math.Sincos(float64(i) / 100 * deg)
		most = max(most, math.Atan(2.5*math.Abs(s)/(20+2.5*(1-c))))
	}
	return most
}

// A path with a peak: a triangle of flanks ψ can only be had rounded by the nose. Its
// top falls short by ρ(1/cos ψ − 1), and the edge comes to the same peak, as much
// lower than the path's as it takes: plane geometry.
func TestPeak(t *testing.T) {
	const ρ, a, λ = 0.3, 0.5, 4.0
	for _, lever := range []float64{1, -1, 2} {
		ψ := math.Atan(4 * a / λ / math.Abs(lever))
		v := invert(t, Want{Path: Edge{Figure: Zigzag, Wave: λ, Amplitude: a}, Touch: ρ, Lever: lever})
		fall := ρ * (1/math.Cos(ψ) - 1)
		near(t, "fall", v.Fall, fall*math.Abs(lever), 1e-9)
		if len(v.Missed) != 1 {
			t.Fatal(v.Missed)
		}
		at := λ / 4
		if lever < 0 {
			at = 3 * λ / 4
		}
		near(t, "from", v.Missed[0].From, at-ρ*math.Sin(ψ), 1e-9)
		near(t, "to", v.Missed[0].To, at+ρ*math.Sin(ψ), 1e-9)
		h, _ := v.Edge.Height(at)
		near(t, "peak of the edge", h, a/math.Abs(lever)-fall, UsualTolerance)
		near(t, "hollow", v.SmallestHollow, ρ, 1e-12)
	}
}

func TestInverseFaults(t *testing.T) {
	sine := Edge{Figure: Sine, Wave: 3, Amplitude: 0.25}
	for _, c := range []struct {
		field string
		w     Want
	}{
		{"lever", Want{Path: sine, Lever: 1e-5}},
		{"lever", Want{Path: Edge{Figure: Sine, Wave: 3, Amplitude: 20}, Lever: 0.01}},
		{"lever", Want{Path: Edge{Figure: Sine, Radius: 2, Count: 1, Amplitude: 1}, Lever: 0.4}},
		{"tolerance", Want{Path: sine, Tolerance: 1e-9}},
		{"touchpiece", Want{Path: sine, Touch: -1}},
		{"rubber", Want{Path: Edge{Figure: Sine, Radius: 5, Count: 12, Amplitude: 0.2}, Touch: 12}},
		{"path.amplitude", Want{Path: Edge{Figure: Sine, Wave: 3}}},
		{"tool", Want{Path: sine, Touch: 0.3, Tool: -1}},
	} {
		_, err := c.w.Inverse()
		if l, ok := asFaults(err); !ok || l[0].Field != c.field || l[0].Mend == "" {
			t.Errorf("%+v: %v", c.w, err)
		}
	}
}
