package light

import (
	_ "embed"
	"math"
	"slices"
	"sync"
)

// Spectrum is how the power of a light spreads over the wavelengths. The zero
// Spectrum is daylight.
type Spectrum struct {
	Name  string
	Stand string    // where it comes from
	power []float64 // at the observer's wavelengths, in any unit
}

// Spectra returns the spectra that a lamp or a room may have; the first is
// daylight.
func Spectra() []Spectrum { return slices.Clone(spectra()) }

//go:embed data/lights.csv
var lightsTable string

var spectra = sync.OnceValue(func() []Spectrum {
	all := []Spectrum{
		{Name: "daylight", Stand: "CIE standard illuminant D65"},
		{Name: "sunlit window", Stand: "CIE illuminant D50"},
		{Name: "tungsten", Stand: "CIE standard illuminant A"},
		{Name: "fluorescent", Stand: "CIE illuminant F11"},
		{Name: "LED", Stand: "a model; no published table was at hand"},
	}
	for i, f := range csvRows(lightsTable) {
		v, o := floats(f), observer()[i]
		for k, p := range [...]float64{o.d65, v[1], o.a, v[2], whiteLED(o.wavelength)} {
			all[k].power = append(all[k].power, p)
		}
	}
	return all
})

// whiteLED is the power of a neutral white LED: a blue diode and a yellow phosphor,
// each a bell over the wavelengths, nm, in such a proportion that the light is a
// white of some 4000 K. Widths and places are common practice, from memory.
func whiteLED(wavelength float64) float64 {
	bell := func(middle, below, above float64) float64 {
		w := above
		if wavelength < middle {
			w = below
		}
		d := (wavelength - middle) / w
		return math.Exp(-float64(d*d) / 2)
	}
	return float64(1.1*bell(452, 9, 12)) + bell(575, 48, 58)
}

// SpectrumNamed returns the spectrum of that name, without regard to case; an empty
// name is daylight.
func SpectrumNamed(name string) (Spectrum, error) {
	return named(Spectra(), func(s Spectrum) string { return s.Name }, name, "light")
}

// white is the light's colour as CIE XYZ with Y = 1.
func (s Spectrum) white() (x, y, z float64) { return s.xyz(func(float64) float64 { return 1 }) }

// xyz returns the CIE XYZ, with Y = 1 for a perfect mirror, of the light thrown
// back with the given reflectance at every wavelength, nm.
func (s Spectrum) xyz(reflectance func(wavelength float64) float64) (x, y, z float64) {
	if s.power == nil {
		s = spectra()[0]
	}
	var white float64
	for i, o := range observer() {
		r := s.power[i] * reflectance(o.wavelength)
		x += float64(r * o.x)
		y += float64(r * o.y)
		z += float64(r * o.z)
		white += float64(s.power[i] * o.y)
	}
	return x / white, y / white, z / white
}

// bradford is the Bradford matrix, from CIE XYZ to sharpened cone responses (ICC.1,
// annex E), and cones its inverse.
var (
	bradford = [3][3]float64{{0.8951, 0.2664, -0.1614}, {-0.7502, 1.7135, 0.0367}, {0.0389, -0.0685, 1.0296}}
	cones    = [3][3]float64{{0.9869929, -0.1470543, 0.1599627}, {0.4323053, 0.5183603, 0.0492912}, {-0.0085287, 0.0400428, 0.9684867}}
)

func transform(m [3][3]float64, x, y, z float64) (a, b, c float64) {
	row := func(r [3]float64) float64 { return float64(r[0]*x) + float64(r[1]*y) + float64(r[2]*z) }
	return row(m[0]), row(m[1]), row(m[2])
}

// seenBy returns the linear sRGB of CIE XYZ to an eye that takes the given light
// for white.
func seenBy(white Spectrum, x, y, z float64) RGB {
	day := Spectrum{}
	if white.Name != "" && white.Name != "daylight" {
		a, b, c := transform(bradford, x, y, z)
		wa, wb, wc := white.white()
		wa, wb, wc = transform(bradford, wa, wb, wc)
		da, db, dc := day.white()
		da, db, dc = transform(bradford, da, db, dc)
		x, y, z = transform(cones, a*da/wa, b*db/wb, c*dc/wc)
	}
	return linear(x, y, z)
}
