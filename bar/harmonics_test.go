package bar

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestHarmonics(t *testing.T) {
	// The triangle's and the trapezoid's series are those of any text on Fourier.
	// A trapezoid between ±a whose ramps last a share p of the wave each:
	// amplitudes 4a/(π²k²p)·|sin πkp| for odd k, and none for even.
	series := func(k int, p float64) float64 {
		if k%2 == 0 {
			return 0
		}
		return 4 * 0.5 / (math.Pi * math.Pi * float64(k*k) * p) * math.Abs(math.Sin(math.Pi*float64(k)*p))
	}
	for _, c := range []struct {
		name string
		e    Edge
		want func(k int) float64
	}{
		{"sine", Edge{Figure: Sine, Wave: 3, Amplitude: 0.5}, func(k int) float64 { return map[bool]float64{true: 0.5}[k == 1] }},
		{"rosette", Edge{Figure: Sine, Radius: 30, Count: 24, Amplitude: 0.5}, func(k int) float64 { return map[bool]float64{true: 0.5}[k == 1] }},
		{"zigzag", Edge{Figure: Zigzag, Wave: 3, Amplitude: 0.5}, func(k int) float64 { return series(k, 0.5) }},
		{"trapezoid", Edge{Figure: Trapezoid, Wave: 3, Amplitude: 0.5, Crest: 0.3, Hollow: 0.3}, func(k int) float64 { return series(k, 0.2) }},
		{"second of two equal bumps", Edge{Figure: Bumps, Wave: 3, Heights: []float64{1, 1}}, func(k int) float64 { return map[bool]float64{true: 0.5}[k == 2] }},
	} {
		for i, h := range c.e.Harmonics(50) {
			if h.Order != i+1 {
				t.Error(h)
			}
			near(t, c.name, h.Amplitude, c.want(i+1), 1e-13)
		}
	}
	if h := (Edge{Figure: Sine, Wave: 3, Amplitude: 0.5}).Harmonics(1)[0]; math.Abs(h.Phase) > 1e-12 {
		t.Error("a sine rises through 0:", h)
	}
	if h := (Edge{Figure: Plain}).Harmonics(5); h != nil {
		t.Error(h)
	}
}

// Parseval: half the squares of the harmonics and the square of the mean add up
// to the mean square.
func TestHarmonicsCarryTheEdge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEdge(t)
		if e.Figure == Blend {
			return // sixty sines do not carry a turn of several dozen bumps
		}
		p, _ := e.Profile()
		T := p.pieces[len(p.pieces)-1].b - p.pieces[0].a
		var mean, square float64
		const n = 5000
		for i := range n {
			h, _ := p.Height(p.frame.place(p.pieces[0].a + T*(float64(i)+0.5)/n))
			mean += h / n
			square += h * h / n
		}
		sum := mean * mean
		for _, h := range p.Harmonics(60) {
			sum += h.Amplitude * h.Amplitude / 2
		}
		if sum > square+1e-4 || sum < square*0.97-1e-3 {
			t.Fatalf("%+v: harmonics carry %v of %v", e, sum, square)
		}
	})
}
