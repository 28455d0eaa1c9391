package bar

import (
	"math"
	"os"

	"pgregory.net/rapid"
)

// bruteLift is the definition: the highest of the discs set on the edge at n
// places within reach of s, and on every corner there.
func bruteLift(p *Profile, ρ, s float64, n int) float64 {
	R := p.edge.Radius
	reach := ρ
	if R > 0 {
		reach = math.Asin(min(1, ρ/p.leastRadius()))
	}
	best, at := math.Inf(-1), s
	see := func(t float64) float64 {
		h, _ := p.Height(t)
		u := t - s
		v := math.Inf(-1)
		if R == 0 {
			if d := ρ*ρ - u*u; d >= 0 {
				v = h + math.Sqrt(d) - ρ
			}
		} else {
			r := R + h
			if d := ρ*ρ - r*r*math.Sin(u)*math.Sin(u); d >= 0 {
				v = r*math.Cos(u) + math.Sqrt(d) - ρ - R
			}
		}
		if v > best {
			best, at = v, t
		}
		return v
	}
	lo, hi := s-reach, s+reach
	from, to := math.Inf(-1), math.Inf(1)
	if p.period == 0 && len(p.pieces) > 0 {
		from, to = p.frame.place(p.pieces[0].a), p.frame.place(p.pieces[len(p.pieces)-1].b)
	}
	for i := range n + 1 {
		if t := lo + (hi-lo)*float64(i)/float64(n); t >= from && t <= to {
			see(t)
		}
	}
	// Close in about the best by thirds.
	lo, hi = at-(hi-lo)/float64(n), at+(hi-lo)/float64(n)
	lo, hi = max(lo, from), min(hi, to)
	for range 60 {
		step := (hi - lo) / 3
		if see(lo+step) > see(hi-step) {
			hi -= step
		} else {
			lo += step
		}
	}
	lo, hi = s-reach, s+reach
	for i := range p.pieces {
		t := p.frame.place(p.pieces[i].a)
		if p.period == 0 {
			see(t)
			see(p.frame.place(p.pieces[i].b))
			continue
		}
		T := p.frame.place(p.period)
		for k := math.Ceil((lo - t) / T); t+k*T <= hi; k++ {
			see(t + k*T)
		}
	}
	return best
}

// seldom leaves out most of the draws of a costly check, unless BRIGHTCUT_SLOW is set.
func seldom(t *rapid.T) bool {
	return os.Getenv("BRIGHTCUT_SLOW") == "" && rapid.IntRange(0, 4).Draw(t, "seldom") != 0
}

// drawEdge draws a sound edge of any figure, on a bar or a rosette.
func drawEdge(t *rapid.T) Edge {
	for {
		if e := anyEdge(t); len(e.Check()) == 0 {
			return e
		}
	}
}

func anyEdge(t *rapid.T) Edge {
	if rapid.IntRange(0, 5).Draw(t, "compound") == 0 {
		return anyCompound(t)
	}
	return anySimple(t)
}

// anyCompound draws a sum of sines, or a blend of two simple edges.
func anyCompound(t *rapid.T) Edge {
	if rapid.Bool().Draw(t, "sum") {
		e := Edge{Figure: Harmonics, Wave: rapid.Float64Range(2, 10).Draw(t, "wave")}
		if rapid.Bool().Draw(t, "rosette") {
			e.Wave, e.Radius, e.Count = 0, rapid.Float64Range(15, 60).Draw(t, "radius"), rapid.IntRange(1, 8).Draw(t, "count")
		}
		for range rapid.IntRange(1, 4).Draw(t, "n") {
			e.Sines = append(e.Sines, Harmonic{rapid.IntRange(0, 9).Draw(t, "order"), rapid.Float64Range(0, 0.1).Draw(t, "amplitude"), rapid.Float64Range(-3, 3).Draw(t, "phase")})
		}
		return e
	}
	one, two := anySimple(t), anySimple(t)
	e := Edge{Figure: Blend, First: &one, Second: &two}
	unit := 1.0
	if e.Radius = max(one.Radius, two.Radius); e.Radius > 0 {
		unit = 1 / e.Radius
		for _, p := range []*Edge{&one, &two} {
			if p.Radius == 0 { // a bar cannot go round
				*p = Edge{Figure: Sine, Amplitude: 0.05, Count: 1 + int(p.Wave)}
			}
			p.Radius = e.Radius
		}
	} else {
		e.Length = rapid.Float64Range(15, 30).Draw(t, "length")
	}
	e.Over = rapid.Float64Range(0.5, 4).Draw(t, "over") * unit
	e.Changes = []float64{-3 * unit, rapid.Float64Range(1, 5).Draw(t, "change") * unit}
	return e
}

func anySimple(t *rapid.T) Edge {
	e := Edge{
		Figure:    Figure(rapid.IntRange(int(Sine), int(Bumps)).Draw(t, "figure")),
		Wave:      rapid.Float64Range(0.5, 10).Draw(t, "wave"),
		Amplitude: rapid.Float64Range(0.01, 1).Draw(t, "amplitude"),
	}
	if rapid.Bool().Draw(t, "rosette") {
		e.Radius = rapid.Float64Range(15, 60).Draw(t, "radius")
		e.Count = rapid.IntRange(1, 60).Draw(t, "count")
		e.Wave = 0
	}
	switch e.Figure {
	case Trapezoid:
		e.Crest = rapid.Float64Range(0, 0.5).Draw(t, "crest")
		e.Hollow = rapid.Float64Range(0, 0.45).Draw(t, "hollow")
	case Arcs:
		e.Crest = rapid.SampledFrom([]float64{0, 0, 1, 0.3, 0.7}).Draw(t, "crest")
		if e.Crest == 0 {
			e.Hollow = rapid.SampledFrom([]float64{0, 1}).Draw(t, "hollow")
		}
	case Zigzag:
		e.Nose = rapid.Float64Range(0, 0.5).Draw(t, "nose")
		e.Root = rapid.Float64Range(0, 0.5).Draw(t, "root")
	case Points:
		n := rapid.IntRange(2, 30).Draw(t, "n")
		e.Spline = rapid.Bool().Draw(t, "spline")
		e.Repeats = e.Radius == 0 && rapid.Bool().Draw(t, "repeats")
		y := rapid.Float64Range(-10, 10).Draw(t, "y")
		for range n {
			e.Drawn = append(e.Drawn, [2]float64{y, rapid.Float64Range(-0.5, 0.5).Draw(t, "h")})
			y += rapid.Float64Range(0.02, 2).Draw(t, "step")
		}
		last := n - 1
		turn := 2 * math.Pi
		if e.Repeats || e.Radius > 0 {
			switch rapid.IntRange(0, 3).Draw(t, "join") {
			case 0:
				e.Mirror = true
				turn = math.Pi
			case 1:
				e.Joint = 0.3 * (e.Drawn[last][0] - e.Drawn[0][0])
				if e.Radius > 0 {
					e.Joint = 0.3 * turn / float64(1+e.Count%8)
				}
			default:
				e.Drawn[last][1] = e.Drawn[0][1]
			}
		}
		if e.Radius > 0 {
			e.Count = 1 + e.Count%8
			from, to := e.Drawn[0][0], e.Drawn[last][0]
			for i := range e.Drawn {
				e.Drawn[i][0] = (e.Drawn[i][0] - from) / (to - from) * turn / float64(e.Count)
			}
		}
	case Bumps:
		n := rapid.IntRange(1, 5).Draw(t, "n")
		for range n {
			e.Heights = append(e.Heights, rapid.Float64Range(0.001, 0.8).Draw(t, "height"))
		}
		e.Count *= n
	}
	return e
}

// drawPath runs a touchpiece over a random edge.
func drawPath(t *rapid.T) (Edge, float64, *Path) {
	for {
		e := drawEdge(t)
		ρ := rapid.Float64Range(0, 2).Draw(t, "rho")
		if p, err := Follow(e, ρ); err == nil {
			return e, ρ, p
		}
	}
}

// drawPlace draws a place on the path.
func drawPlace(t *rapid.T, p *Path) float64 {
	if p.period > 0 {
		return rapid.Float64Range(-3, 3).Draw(t, "turn") * p.period
	}
	from, to := p.Span()
	return from + (to-from)*rapid.Float64Range(0, 1).Draw(t, "share")
}
