package bar

import (
	"math"
	"testing"
)

// TestStretches holds the stretches against the profile's own heights, contiguous
// and cut off where asked, and their ends against what they say they bound.
func TestStretches(t *testing.T) {
	edges := map[string]Edge{
		"plain":   {Figure: Plain},
		"sine":    {Figure: Sine, Wave: 3, Amplitude: 0.25},
		"arcs":    {Figure: Arcs, Wave: 4, Amplitude: 0.3, Crest: 0.6},
		"zigzag":  {Figure: Zigzag, Wave: 2, Amplitude: 0.4, Nose: 0.1, Root: 0.2},
		"points":  {Figure: Points, Drawn: [][2]float64{{-3, 0.1}, {-1, 0.7}, {0.5, 0.2}, {4, 0.4}}, Spline: true},
		"bumps":   {Figure: Bumps, Wave: 2.5, Heights: []float64{0.3, 0.5, 0.1}},
		"rosette": {Figure: Trapezoid, Radius: 30, Count: 24, Amplitude: 0.5, Crest: 0.3, Hollow: 0.2},
	}
	for name, e := range edges {
		p, err := e.Profile()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		const from, to = -7.3, 11.9
		at := from
		for s := range p.Stretches(from, to) {
			if math.Abs(s.From-at) > 1e-9 {
				t.Errorf("%s: a stretch begins at %v, the one before ended at %v", name, s.From, at)
			}
			at = s.To
			_, m0, b0 := s.At(s.From)
			_, m1, b1 := s.At(s.To)
			for i := range 41 {
				y := s.From + (s.To-s.From)*float64(i)/40
				h, slope, bend := s.At(y)
				place := y
				if e.polar() {
					place /= e.Radius
				}
				if want, _ := p.Height(place); math.Abs(h-want) > 1e-9 {
					t.Errorf("%s: height %v at %v, want %v", name, h, y, want)
				}
				slack := 1e-9 * (1 + math.Abs(b0) + math.Abs(b1))
				if slope < min(m0, m1)-slack || slope > max(m0, m1)+slack || math.Abs(bend) > max(math.Abs(b0), math.Abs(b1))+slack {
					t.Errorf("%s: slope %v and bend %v at %v lie outside those of the ends", name, slope, bend, y)
				}
				if r, ok := s.Arc(); ok { // (h − c0)² + (y − y0)² = r²
					d, x := h-s.piece.c0, y-s.piece.y0
					if math.Abs(math.Hypot(d, x)-math.Abs(r)) > 1e-9 {
						t.Errorf("%s: the arc of radius %v is off its circle at %v", name, r, y)
					}
				}
			}
		}
		if math.Abs(at-to) > 1e-9 {
			t.Errorf("%s: stretches end at %v, want %v", name, at, to)
		}
	}
}
