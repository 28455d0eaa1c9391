package bar

import (
	"math"
	"testing"
)

// The numbers of this file are those of testdata/cam_checks.csv, whose head names
// the formulas and where they are from, unless said otherwise.

const deg = math.Pi / 180

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: got %.10g, want %.10g ± %g", what, got, want, within)
	}
}

func follow(t *testing.T, e Edge, ρ float64) *Path {
	t.Helper()
	p, err := Follow(e, ρ)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestSineBar(t *testing.T) {
	for _, c := range []struct {
		a, λ, hollow, steep float64
	}{
		{0.5, 5, 1.26651479553, 32.141908},
		{0.25, 2, 0.405284734569, 38.14602},
		{0.25, 3, 0.9119, 27.64}, // two and four digits, from the trade's own sheet; the angle of the row above is atan(π/4)
	} {
		r := follow(t, Edge{Figure: Sine, Wave: c.λ, Amplitude: c.a}, 0.1).Report()
		near(t, "hollow", r.SmallestHollow, c.hollow, 2e-5)
		near(t, "hollow, closed form", r.SmallestHollow, c.λ*c.λ/(4*math.Pi*math.Pi*c.a), 1e-12)
		near(t, "hollow at", r.HollowAt, 3*c.λ/4, 1e-6)
		near(t, "bump", r.SmallestBump, c.λ*c.λ/(4*math.Pi*math.Pi*c.a), 1e-12)
		near(t, "steepest", r.SteepestSlope/deg, c.steep, 5e-3)
		near(t, "steepest, closed form", r.SteepestSlope, math.Atan(2*math.Pi*c.a/c.λ), 1e-12)
		near(t, "steepest path", r.SteepestPath, r.SteepestSlope, 1e-9)
		near(t, "left", r.Left, c.a, 1e-12)
		if len(r.Lost) != 0 {
			t.Error("a nose smaller than the hollow loses nothing:", r.Lost)
		}
	}
}

// The table draws A·cos kx; a bar's crest stands a quarter wave on.
func TestOffsetPointsOfSine(t *testing.T) {
	p := follow(t, Edge{Figure: Sine, Wave: 5, Amplitude: 0.5}, 1)
	for _, c := range [][2]float64{
		{0.8464447442, 1.342578878},
		{1.782018045, 0.846733016},
		{2.346444744, 0.5335618836},
	} {
		lift, _ := p.At(c[0] + 5./4)
		near(t, "lift + ρ", lift+1, c[1], PathError)
	}
}

func TestRosetteRadii(t *testing.T) {
	for _, c := range []struct {
		n             int
		valley, crest float64
	}{
		{24, 4.55597723, 4.148325359},
		{48, 1.064745011, 1.104458599},
		{96, 0.2619177484, 0.2806733571},
	} {
		r := follow(t, Edge{Figure: Sine, Radius: 50, Count: c.n, Amplitude: 1}, 0.1).Report()
		near(t, "valley", r.SmallestHollow, c.valley, 1e-8)
		near(t, "crest", r.SmallestBump, c.crest, 1e-8)
	}
}

// polarEdge draws a rosette through points of a closed curve given in the plane.
func polarEdge(R float64, n int, curve func(i int) (x, y float64)) Edge {
	e := Edge{Figure: Points, Radius: R, Spline: true}
	last := math.Inf(-1)
	for i := range n + 1 {
		x, y := curve(i)
		θ := math.Atan2(y, x)
		for θ <= last {
			θ += 2 * math.Pi
		}
		last = θ
		e.Drawn = append(e.Drawn, [2]float64{θ, math.Hypot(x, y) - R})
	}
	e.Drawn[n] = [2]float64{e.Drawn[0][0] + 2*math.Pi, e.Drawn[0][1]}
	return e
}

// A roller on an eccentric circle of radius 20 has its centre on one of radius 25
// (ρ_pitch 25 exactly), 5 mm out of centre. Its centre stands at
// e cos θ + √(25² − e² sin² θ) and the pressure angle is asin(e sin θ/25) with θ
// measured at the cam's own centre: 7.38624498° at 40°.
func TestEccentricCircle(t *testing.T) {
	const e, Rc, Rf = 5.0, 25.0, 5.0
	p := follow(t, polarEdge(20, 720, func(i int) (float64, float64) {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 720)
		return e + (Rc-Rf)*c, (Rc - Rf) * s
	}), Rf)
	for d := 0.0; d < 360; d += 7 {
		θ := d * deg
		lift, slope := p.At(θ)
		want := e*math.Cos(θ) + math.Sqrt(Rc*Rc-e*e*math.Sin(θ)*math.Sin(θ)) // law of cosines
		near(t, "centre", lift+20+Rf, want, 2e-6)
		near(t, "pressure angle", math.Atan(slope/(lift+20+Rf)), -math.Asin(e*math.Sin(θ)/Rc), 1e-6)
	}
	lift, slope := p.At(40 * deg)
	near(t, "pressure angle at 40°", -math.Atan(slope/(lift+25))/deg, 7.38624498, 1e-4)
	r := p.Report()
	near(t, "steepest path", r.SteepestPath, math.Asin(e/Rc), 1e-6)
	near(t, "bump: roller's cam of radius 20", r.SmallestBump, 20, 2e-3)
}

// The worked example of the table: pitch radius 20, rise 5 in harmonic motion over
// 180° and back, roller 5. The cam is made by the text's formula; the roller
// running on it must give the motion back.
func TestHarmonicRise(t *testing.T) {
	const Rp, h, Rf = 20.0, 5.0, 5.0
	motion := func(θ float64) (s, v float64) {
		sin, cos := math.Sincos(θ)
		return h / 2 * (1 - cos), h / 2 * sin
	}
	cam := func(θ float64) (x, y float64) {
		s, v := motion(θ)
		φ := math.Atan(v / (Rp + s))
		return (Rp+s)*math.Cos(θ) - Rf*math.Cos(θ-φ), (Rp+s)*math.Sin(θ) - Rf*math.Sin(θ-φ)
	}
	x, y := cam(90 * deg)
	near(t, "profile x at 90°", x, -0.5521576304, 1e-9)
	near(t, "profile y at 90°", y, 17.53058133, 1e-8)
	p := follow(t, polarEdge(15, 1440, func(i int) (float64, float64) { return cam(2 * math.Pi * float64(i) / 1440) }), Rf)
	for d := 0.0; d < 360; d += 11 {
		s, v := motion(d * deg)
		lift, slope := p.At(d * deg)
		near(t, "motion", lift, s, 2e-6)
		near(t, "velocity", slope, v, 2e-5)
	}
	lift, slope := p.At(90 * deg)
	near(t, "pressure angle at 90°", math.Atan(slope/(lift+Rp))/deg, 6.3401917, 1e-4)
	q := p.profile.pieceAt(math.Atan2(y, x) * 15)
	near(t, "pitch radius of curvature at 90°", -1/p.follower.frame.hollowness(q)+Rf, 22.36571028, 1e-3)
}

func (p *Profile) pieceAt(y float64) spot {
	y = p.reduce(y)
	for i := range p.pieces {
		if y <= p.pieces[i].b {
			return p.pieces[i].at(y)
		}
	}
	panic("beyond the end")
}

// A nose larger than the smallest hollow bridges it. Between two walls of a V of
// half-angle β a nose of radius ρ stops ρ(1/sin β − 1) above the point and touches
// ρ cos β either side of it: plane geometry.
func TestLostInVee(t *testing.T) {
	const ρ = 0.3
	slope := 2 * 0.5 / 1.5 // 1 mm in half a wave of 3
	e := Edge{Figure: Zigzag, Wave: 3, Amplitude: 0.5}
	r := follow(t, e, ρ).Report()
	β := math.Pi/2 - math.Atan(slope)
	if len(r.Lost) != 1 {
		t.Fatal(r.Lost)
	}
	near(t, "depth", r.Lost[0].Depth, ρ*(1/math.Sin(β)-1), 1e-9)
	near(t, "from", r.Lost[0].From, 2.25-ρ*math.Cos(β), 1e-9)
	near(t, "to", r.Lost[0].To, 2.25+ρ*math.Cos(β), 1e-9)
	near(t, "left", r.Left, 0.5-ρ*(1/math.Sin(β)-1)/2, 1e-9)
	if k := follow(t, e, ρ).Kinks(); len(k) != 1 || math.Abs(k[0]-2.25) > 1e-12 {
		t.Error("kinks", k)
	}
	if !r.HasHollow || r.SmallestHollow != 0 || math.Abs(r.HollowAt-2.25) > 1e-12 {
		t.Error("sharp hollow", r)
	}
}

// Between two bumps of radius r whose centres stand λ apart, a nose of radius ρ
// touches both with its centre √((r+ρ)² − λ²/4) above them: plane geometry.
func TestScallops(t *testing.T) {
	const λ, a, ρ = 2.0, 0.2, 0.5
	e := Edge{Figure: Arcs, Wave: λ, Amplitude: a, Crest: 1}
	rad := (λ*λ/4 + 4*a*a) / (4 * a) // arc over a chord λ with sagitta 2a
	p := follow(t, e, ρ)
	lift, _ := p.At(3 * λ / 4)
	near(t, "in the cusp", lift, math.Sqrt((rad+ρ)*(rad+ρ)-λ*λ/4)+a-rad-ρ, 1e-9)
	r := p.Report()
	near(t, "bump", r.SmallestBump, rad, 1e-9)
	if r.SmallestHollow != 0 || len(r.Lost) != 1 {
		t.Error(r)
	}
}

// A slot all but as wide as the nose: the rubber bears on both its corners with
// its centre at r cos u + √(ρ² − r² sin² u), 2u being the slot's angle. The flats
// either side are arcs of radius r; plane geometry.
func TestSlotInRosette(t *testing.T) {
	const R, ρ, wide = 30.0, 1.0, 1.98
	u := wide / 2 / R
	e := Edge{Figure: Points, Radius: R, Drawn: [][2]float64{
		{-u, 0}, {-u * 0.9, -1.2}, {u * 0.95, -1.2}, {u, 0}, {2*math.Pi - u, 0}}}
	p := follow(t, e, ρ)
	lift, _ := p.At(0)
	near(t, "in the slot", lift+R+ρ, R*math.Cos(u)+math.Sqrt(ρ*ρ-R*R*math.Sin(u)*math.Sin(u)), 1e-9)
	if k := p.Kinks(); len(k) != 1 || min(k[0], 2*math.Pi-k[0]) > 1e-9 {
		t.Error("kinks", k)
	}
}

// The deepest place of a bridged stretch, among several pieces; and the top of a
// corner is the highest lift.
func TestBridgedHollow(t *testing.T) {
	e := Edge{Figure: Points, Drawn: [][2]float64{{0, 0}, {1, 0}, {1.1, -1}, {1.3, -0.2}, {1.5, 0}, {3, 0}}}
	p := follow(t, e, 1)
	r := p.Report()
	c := math.Sqrt(1 - 0.25*0.25)
	if len(r.Lost) != 1 {
		t.Fatal(r.Lost)
	}
	near(t, "from", r.Lost[0].From, 1, 1e-12)
	near(t, "to", r.Lost[0].To, 1.5, 1e-12)
	near(t, "depth", r.Lost[0].Depth, math.Hypot(0.15, c+1)-1, 1e-9)
	low, high := p.Extremes()
	near(t, "lowest", low, c-1, 1e-9)
	near(t, "highest", high, 0, 1e-12)
	low, high = follow(t, Edge{Figure: Points, Drawn: [][2]float64{{0, 0}, {1, 0.5}, {2, 0.25}}}, 0.4).Extremes()
	near(t, "ridge", high, 0.5, 1e-12)
	near(t, "foot", low, 0.4*(math.Hypot(1, 0.5)-1), 1e-9) // bearing on the flank, ρ(sec ψ − 1) above its foot
}
