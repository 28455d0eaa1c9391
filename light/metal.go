package light

import (
	_ "embed"
	"fmt"
	"math/cmplx"
	"slices"
	"strings"
	"sync"
)

// Metal is what the piece is made of, as the eye knows it.
type Metal struct {
	Name     string
	Stand    string // what was measured, when it is not this metal itself
	spectrum []index
}

// index is a metal's complex index of refraction n + ik at one wavelength.
type index struct {
	wavelength float64 // nm
	n, k       float64
}

// The metals, and the rows of data/constants.csv that hold their constants.
var palette = []struct{ name, rows, stand string }{
	{"silver", "Ag", ""},
	{"gold", "Au", ""},
	{"copper", "Cu", ""},
	{"brass", "Cu70Zn30", ""},
	{"gilding metal", "Cu85Zn15", ""},
	{"nickel", "Ni", ""},
	{"nickel silver", "Ni", "nickel; no constants of the alloy were found"},
	{"aluminium", "Al", ""},
	{"steel", "Fe", "iron"},
	{"stainless steel", "stainless", ""},
	{"platinum", "Pt", ""},
	{"palladium", "Pd", ""},
}

//go:embed data/constants.csv
var constantsTable string

var constants = sync.OnceValue(func() map[string][]index {
	m := make(map[string][]index)
	for _, f := range csvRows(constantsTable) {
		v := floats(f[1:])
		m[f[0]] = append(m[f[0]], index{v[0], v[1], v[2]})
	}
	return m
})

// Metals returns the metals whose look is known.
func Metals() []Metal {
	all := make([]Metal, len(palette))
	for i, p := range palette {
		all[i] = Metal{Name: p.name, Stand: p.stand, spectrum: constants()[p.rows]}
	}
	return all
}

// MetalNamed returns the metal of that name, without regard to case. A name
// with a further word before it is known by its end: "fine gold" is gold. The
// error of an unknown name gives the nearest known ones.
func MetalNamed(name string) (Metal, error) {
	want := strings.Join(strings.Fields(strings.ToLower(name)), " ")
	var found Metal
	for _, m := range Metals() {
		if want == m.Name {
			return m, nil
		}
		if strings.HasSuffix(want, " "+m.Name) && len(m.Name) > len(found.Name) {
			found = m
		}
	}
	if found.Name != "" {
		return found, nil
	}
	return Metal{}, fmt.Errorf("the look of %q is not known; %s", name, near(want))
}

// near names the metals that a misspelt one may have meant, or all of them.
func near(want string) string {
	names := make([]string, len(palette))
	var close []string
	for i, p := range palette {
		names[i] = p.name
		if edits(want, p.name) <= max(1, len(p.name)/3) {
			close = append(close, p.name)
		}
	}
	if len(close) > 0 {
		return "did you mean " + strings.Join(close, " or ") + "?"
	}
	return "known are " + strings.Join(names, ", ")
}

// edits is the number of letters to put in, take out or change to make b of a
// (Levenshtein's distance). Words longer than any metal's name count as far.
func edits(a, b string) int {
	if len(a) > 40 {
		return len(a)
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}

// at returns the index of refraction at a wavelength, nm: linear between the
// measured ones, and the nearest one outside them.
func (m Metal) at(wavelength float64) complex128 {
	s := m.spectrum
	i, _ := slices.BinarySearchFunc(s, wavelength, func(x index, w float64) int {
		switch {
		case x.wavelength < w:
			return -1
		case x.wavelength > w:
			return 1
		}
		return 0
	})
	if i == 0 {
		return complex(s[0].n, s[0].k)
	}
	if i == len(s) {
		return complex(s[i-1].n, s[i-1].k)
	}
	a, b := s[i-1], s[i]
	t := (wavelength - a.wavelength) / (b.wavelength - a.wavelength)
	return complex(a.n+float64(t*(b.n-a.n)), a.k+float64(t*(b.k-a.k)))
}

// fresnel is the reflectance for unpolarised light of an interface from air to
// a medium of complex index n, at a cosine of the angle of incidence: half the
// sum of the squares of Fresnel's two amplitudes.
func fresnel(n complex128, cos float64) float64 {
	c := complex(cos, 0)
	sin2 := complex(1-float64(cos*cos), 0)
	t := cmplx.Sqrt(n*n - sin2) // n·cosine of the refracted ray
	s := cmplx.Abs((c - t) / (c + t))
	p := cmplx.Abs((n*n*c - t) / (n*n*c + t))
	return (float64(s*s) + float64(p*p)) / 2
}

// Colour returns the metal's reflectance under a light at a cosine of the angle of
// incidence, as linear sRGB to an eye that takes white for white. Polished gold
// reflects more red than a white of the same luminance can show: its R is above 1.
func (m Metal) Colour(cos float64, light, white Spectrum) RGB {
	x, y, z := light.xyz(func(wavelength float64) float64 { return fresnel(m.at(wavelength), cos) })
	return seenBy(white, x, y, z)
}
