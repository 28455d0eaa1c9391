package light

import (
	"fmt"
	"math"
	"strings"
)

// Enamel is clear or translucent glass fused over the cuts; the zero Enamel is none.
type Enamel struct {
	Name      string
	Thickness float64 // over the uncut ground, mm
}

// EnamelIndex is the refractive index of enamel: a soda or lead glass, from memory.
const EnamelIndex = 1.5

// UsualEnamel is how thick enamel lies over cuts, mm (common practice, no source).
const UsualEnamel = 0.3

// band is a stretch of the spectrum that a glass keeps: a bell over the wavelengths.
type band struct {
	middle, width float64 // nm
	keeps         float64 // absorption in its middle, 1/mm
}

// The enamels. The palette is invented, each colour with the bands of the usual
// colouring oxide, roughly placed from memory; no published spectra were found.
var enamels = []struct {
	name, about string
	bands       []band
}{
	{"clear", "colourless flux", nil},
	{"blue", "as cobalt colours glass", []band{{530, 22, 1.6}, {590, 26, 3.0}, {645, 26, 2.6}}},
	{"green", "as copper and chromium colour glass", []band{{430, 32, 2.6}, {660, 60, 2.8}, {770, 60, 3}}},
	{"red", "as gold colours glass", []band{{530, 38, 4.0}, {440, 50, 2.2}}},
	{"amber", "as iron and manganese colour glass", []band{{400, 60, 3.4}, {480, 45, 1.2}}},
	{"violet", "as manganese colours glass", []band{{500, 45, 1.8}, {570, 40, 2.0}}},
}

// clearKeeps is what even colourless enamel absorbs, 1/mm.
const clearKeeps = 0.03

// Enamels returns the names of the enamels and what each is.
func Enamels() (names, about []string) {
	for _, e := range enamels {
		names, about = append(names, e.name), append(about, e.about)
	}
	return names, about
}

// EnamelNamed returns the enamel of that name, of the usual thickness, without regard
// to case; an empty name and "none" are no enamel.
func EnamelNamed(name string) (Enamel, error) {
	name = strings.ToLower(strings.TrimSpace(name))
	if name == "" || name == "none" {
		return Enamel{}, nil
	}
	names, _ := Enamels()
	for _, n := range names {
		if n == name {
			return Enamel{n, UsualEnamel}, nil
		}
	}
	return Enamel{}, fmt.Errorf("no enamel is called %q; known are none, %s", name, strings.Join(names, ", "))
}

// index is the refractive index of what lies over the metal: 1 for air.
func (e Enamel) index() float64 {
	if e.Name == "" {
		return 1
	}
	return EnamelIndex
}

// passes is the share of light of a wavelength, nm, that a path of so many mm through
// the enamel leaves (Beer and Lambert).
func (e Enamel) passes(wavelength, path float64) float64 {
	keeps := clearKeeps
	for i := range enamels {
		if enamels[i].name != e.Name {
			continue
		}
		for _, b := range enamels[i].bands {
			d := (wavelength - b.middle) / b.width
			keeps += float64(b.keeps * math.Exp(-float64(d*d)/2))
		}
	}
	return math.Exp(-keeps * path)
}

// path is how far light runs through the enamel, mm, that a mirror under it turns
// towards an eye straight above: down at twice the mirror's tilt, whose cosine is
// given, and up again. Light that would run more aslant than the critical angle is
// taken to run at it.
func (e Enamel) path(cos float64) float64 {
	steepest := math.Sqrt(1 - 1/(EnamelIndex*EnamelIndex))
	return e.Thickness * (1 + 1/max(float64(2*cos*cos)-1, steepest))
}
