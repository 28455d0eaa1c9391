package light

import (
	"math"
	"math/cmplx"
)

// film is a thin even layer of a clear or dark substance on metal, whose colour
// comes of interference.
type film struct {
	index     complex128 // n + ik
	thickness float64    // nm
}

// reflectance is that of metal of index m under the film, for unpolarised light of a
// wavelength, nm, that comes through a medium of index n at a cosine of the angle of
// incidence (Airy's formula; Born and Wolf, Principles of Optics, 1.6).
func (f film) reflectance(n float64, m complex128, wavelength, cos float64) float64 {
	first := complex(n, 0)
	sin2 := first * first * complex(1-float64(cos*cos), 0)
	// Each layer's index times the cosine of the ray in it.
	c0 := first * complex(cos, 0)
	c1 := cmplx.Sqrt(f.index*f.index - sin2)
	c2 := cmplx.Sqrt(m*m - sin2)
	phase := cmplx.Exp(complex(0, 4*math.Pi*f.thickness/wavelength) * c1)
	airy := func(p01, q01, p12, q12 complex128) float64 {
		r01, r12 := (p01-q01)/(p01+q01), (p12-q12)/(p12+q12)
		r := cmplx.Abs((r01 + r12*phase) / (1 + r01*r12*phase))
		return r * r
	}
	s := airy(c0, c1, c1, c2)
	p := airy(f.index*f.index*c0, first*first*c1, m*m*c1, f.index*f.index*c2)
	return (s + p) / 2
}
