package bar

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// Harmonic is one sine of which an edge is the sum:
//
//	h(s) = mean + Σ Amplitude·sin(2π·Order·s/Period + Phase)
type Harmonic struct {
	Order     int
	Amplitude float64 // mm
	Phase     float64 // rad, −π to π
}

// MaxHarmonics is the greatest n that Harmonics works out.
const MaxHarmonics = 1000

// Harmonics returns the first n harmonics of the edge, the first being one wave a
// period. An edge that does not repeat is taken as if its drawn span did; a plain
// one has none. The coefficients are integrals over the exact pieces, by Gauss and
// Legendre's rule on stretches of a quarter of the shortest wave asked for. The cost
// goes with n times the pieces: a second for ten harmonics of a million points.
func (p *Profile) Harmonics(n int) []Harmonic {
	n = min(n, MaxHarmonics)
	if len(p.pieces) == 0 || n < 1 {
		return nil
	}
	period := p.pieces[len(p.pieces)-1].b - p.pieces[0].a
	const nodes = 10
	var x, w [nodes]float64
	sin, cos := make([]float64, n), make([]float64, n)
	for i := range p.pieces {
		q := &p.pieces[i]
		parts := math.Ceil((q.b - q.a) * float64(n) * 4 / period)
		if q.kind != straight {
			parts = max(parts, 4)
		}
		for k := range int(parts) {
			a := q.a + (q.b-q.a)*float64(k)/parts
			b := q.a + (q.b-q.a)*float64(k+1)/parts
			if !(b > a) {
				continue
			}
			quad.Legendre{}.FixedLocations(x[:], w[:], a, b)
			for j := range x {
				g := q.at(x[j]).h * w[j]
				s1, c1 := math.Sincos(2 * math.Pi * x[j] / period)
				s, c := s1, c1
				for m := range n {
					sin[m] += float64(g * s)
					cos[m] += float64(g * c)
					s, c = float64(s*c1)+float64(c*s1), float64(c*c1)-float64(s*s1)
				}
			}
		}
	}
	out := make([]Harmonic, n)
	for m := range out {
		a, b := 2*sin[m]/period, 2*cos[m]/period
		out[m] = Harmonic{m + 1, math.Hypot(a, b), math.Atan2(b, a)}
	}
	return out
}

// Harmonics returns what Profile's Harmonics does. It panics when Check finds
// fault with the edge.
func (e Edge) Harmonics(n int) []Harmonic {
	p, err := e.Profile()
	if err != nil {
		panic("bar: Harmonics of an edge that Check refuses: " + err.Error())
	}
	return p.Harmonics(n)
}
