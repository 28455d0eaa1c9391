package surface

import "math"

// Areal holds the texture figures of an area, of ISO 25178-2, from the mean
// height. Nothing is filtered and no form is taken off.
type Areal struct {
	Sa  float64 // arithmetic mean of |z|, mm
	Sq  float64 // root mean square, mm
	Sz  float64 // from lowest to highest, mm
	Ssk float64 // skewness
	Sku float64 // kurtosis: 3 for a normal distribution
	Sdq float64 // root mean square of the slope
	Sdr float64 // developed area less the flat area, as a share of the flat
}

// Areal returns the figures of the whole field. Slopes are those of the
// triangles of each square of four cells, both ways of halving it averaged; a
// crest that runs within a square is blunted by that. Survey takes the flanks' own
// slopes instead.
func (f *Field) Areal() Areal {
	mean, lo, hi := 0.0, math.Inf(1), math.Inf(-1)
	rows := make([]float64, f.Ny)
	for j := range f.Ny {
		row := f.Row(j)
		rows[j] = pairwise(row, func(v float32) float64 { return float64(v) })
		for _, v := range row {
			lo, hi = min(lo, float64(v)), max(hi, float64(v))
		}
	}
	mean = pairwise(rows, func(v float64) float64 { return v }) / float64(f.Nx) / float64(f.Ny)
	var m moments
	var s slopes
	for j := range f.Ny {
		row := f.Row(j)
		var mr moments
		for _, v := range row {
			mr.add(float64(v) - mean)
		}
		m.join(mr)
		if j == 0 {
			continue
		}
		below := f.Row(j - 1)
		var sr slopes
		for i := 1; i < f.Nx; i++ {
			a, b, c, d := float64(below[i-1]), float64(below[i]), float64(row[i-1]), float64(row[i])
			for _, g := range [4][2]float64{{b - a, c - a}, {b - a, d - b}, {d - c, c - a}, {d - c, d - b}} {
				sr.add(g[0]/f.Cell, g[1]/f.Cell, 0.25)
			}
		}
		s.join(sr)
	}
	a := Areal{Sz: hi - lo}
	a.Sa, a.Sq, a.Ssk, a.Sku = m.figures()
	a.Sdq, a.Sdr = s.figures()
	return a
}

// slopes sums what slopes make of an area.
type slopes struct{ n, square, extra float64 }

func (s *slopes) add(gx, gy, weight float64) {
	q := float64(gx*gx) + float64(gy*gy)
	s.n += weight
	s.square += float64(q * weight)
	// √(1+q) − 1 without the loss of digits at a small slope.
	s.extra += float64(q / (1 + math.Sqrt(1+q)) * weight)
}

func (s *slopes) join(o slopes) {
	s.n += o.n
	s.square += o.square
	s.extra += o.extra
}

func (s *slopes) figures() (sdq, sdr float64) {
	if s.n == 0 {
		return 0, 0
	}
	return math.Sqrt(s.square / s.n), s.extra / s.n
}
