package bar

import (
	"encoding/binary"
	"math"
	"testing"
)

// FuzzFollow draws an edge from any bytes: Check and Follow must refuse it or give
// a finite path that stands no lower than the edge.
func FuzzFollow(f *testing.F) {
	num := func(v ...float64) []byte {
		var b []byte
		for _, x := range v {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
		}
		return b
	}
	f.Add(2, 0, 0.3, num(0, 3, 0.25))
	f.Add(2, 24, 0.3, num(40, 0, 0.5))
	f.Add(3, 0, 0.3, num(0, 3, 0.25, 0.2, 0.3))
	f.Add(4, 0, 0.3, num(0, 3, 0.25, 1))
	f.Add(5, 0, 0.0, num(0, 3, 0.25, 0, 0, 0.2, 0.1))
	f.Add(6|8|16, 0, 1.0, num(0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0.5, 2, 0))
	f.Add(6|8, 0, 1.0, num(20, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0.5, 2*math.Pi, 0))
	f.Add(6|8, 0, 1.0, num(0, 0, 0, 0, 0, 0, 0, 0, 0, 1.0080566407414153, 1.35542481148e-312, 2, 0)) // a radius beyond all numbers
	f.Add(7, 6, 0.5, num(40, 0, 0, 0, 0, 0, 0, 1, 0.5))
	f.Fuzz(func(t *testing.T, figure, count int, ρ float64, raw []byte) {
		var v [8]float64
		var rest []float64
		for i := 0; len(raw) >= 8 && i < 80; i++ {
			x := math.Float64frombits(binary.LittleEndian.Uint64(raw))
			raw = raw[8:]
			if i < 7 {
				v[i] = x
			} else {
				rest = append(rest, x)
			}
		}
		e := Edge{Figure: Figure(figure & 7), Count: count, Radius: v[0], Wave: v[1], Amplitude: v[2],
			Crest: v[3], Hollow: v[4], Nose: v[5], Root: v[6], Spline: figure&8 != 0, Repeats: figure&16 != 0}
		if e.Figure == Bumps {
			e.Heights = rest
		} else {
			for i := 1; i < len(rest); i += 2 {
				e.Drawn = append(e.Drawn, [2]float64{rest[i-1], rest[i]})
			}
		}
		p, err := Follow(e, ρ)
		if err != nil {
			return
		}
		T := p.Period()
		from, to := p.Span()
		if T > 0 {
			from, to = -T, 2*T
		} else if math.IsInf(from, 0) {
			from, to = -1, 1
		}
		for i := range 50 {
			s := from + (to-from)*float64(i)/49
			l, m := p.At(s)
			h, _ := p.profile.Height(s)
			if math.IsNaN(l) || math.IsInf(l, 0) || math.IsNaN(m) || math.IsInf(m, 0) {
				t.Fatalf("%+v ρ=%v at %v: %v %v", e, ρ, s, l, m)
			}
			if l < h-1e-5 {
				t.Fatalf("%+v ρ=%v at %v: lift %v below the edge at %v", e, ρ, s, l, h)
			}
		}
		r := p.Report()
		for _, x := range []float64{r.SmallestHollow, r.HollowAt, r.SmallestBump, r.BumpAt, r.SteepestSlope, r.SteepestPath, r.Drawn, r.Left} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("%+v: %+v", e, r)
			}
		}
		if r.Left > r.Drawn+PathError {
			t.Fatalf("%+v: more is left than drawn: %+v", e, r)
		}
		p.profile.Corners()
		p.Kinks()
	})
}
