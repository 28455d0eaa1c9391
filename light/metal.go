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
	Stand    string // how it was come by, when no constants of this very metal were found
	spectrum []index
	film     film // of no thickness: bare
}

// index is a metal's complex index of refraction n + ik at one wavelength.
type index struct {
	wavelength float64 // nm
	n, k       float64
}

// ingredient is the share, by atoms, of a row of data/constants.csv in an alloy.
type ingredient struct {
	rows  string
	share float64
}

// magnetite and titania grow on heated steel and anodised titanium. Their indices,
// taken as one over the visible range, are from memory, as is the order of colours:
// straw, purple, blue. The thicknesses are those at which the model shows them.
const (
	magnetite = 2.40 + 0.15i
	titania   = 2.40 + 0.01i
)

// The metals. Alloys of which no constants were found are mixtures of the dielectric
// functions of those which were, in proportion to their atoms: the usual first
// estimate, which misses that bands move when metals are alloyed (TestAlloys has by
// how much). Their compositions are common practice, by weight: 18 carat gold 75 %
// gold and the rest silver and copper alike, 14 carat 58.5 %.
var palette = []struct {
	name, stand string
	of          []ingredient
	film        film
}{
	{"silver", "", []ingredient{{"Ag", 1}}, film{}},
	{"gold", "", []ingredient{{"Au", 1}}, film{}},
	{"18 carat gold", "estimated from gold, gold and silver, and copper", []ingredient{{"Au", 0.382}, {"Au50Ag50", 0.334}, {"Cu", 0.284}}, film{}},
	{"14 carat gold", "estimated from gold, gold and silver, and copper", []ingredient{{"Au", 0.128}, {"Au50Ag50", 0.472}, {"Cu", 0.400}}, film{}},
	{"copper", "", []ingredient{{"Cu", 1}}, film{}},
	{"brass", "", []ingredient{{"Cu70Zn30", 1}}, film{}},
	{"gilding metal", "", []ingredient{{"Cu85Zn15", 1}}, film{}},
	{"nickel", "", []ingredient{{"Ni", 1}}, film{}},
	{"nickel silver", "nickel; no constants of the alloy were found", []ingredient{{"Ni", 1}}, film{}},
	{"aluminium", "", []ingredient{{"Al", 1}}, film{}},
	{"steel", "iron", []ingredient{{"Fe", 1}}, film{}},
	{"stainless steel", "", []ingredient{{"stainless", 1}}, film{}},
	{"titanium", "", []ingredient{{"Ti", 1}}, film{}},
	{"chromium", "", []ingredient{{"Cr", 1}}, film{}},
	{"platinum", "", []ingredient{{"Pt", 1}}, film{}},
	{"palladium", "", []ingredient{{"Pd", 1}}, film{}},
	{"rhodium plate", "", []ingredient{{"Rh", 1}}, film{}},
	{"straw steel", "iron under 20 nm of oxide", []ingredient{{"Fe", 1}}, film{magnetite, 20}},
	{"blued steel", "iron under 58 nm of oxide", []ingredient{{"Fe", 1}}, film{magnetite, 58}},
	{"blackened steel", "iron under a thick oxide", []ingredient{{"Fe", 1}}, film{2.3 + 0.6i, 2000}},
	{"blue titanium", "titanium under 50 nm of its oxide", []ingredient{{"Ti", 1}}, film{titania, 50}},
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

var metals = sync.OnceValue(func() []Metal {
	all := make([]Metal, len(palette))
	for i, p := range palette {
		all[i] = Metal{Name: p.name, Stand: p.stand, spectrum: mixed(p.of), film: p.film}
	}
	return all
})

// Metals returns the metals whose look is known.
func Metals() []Metal { return slices.Clone(metals()) }

// mixed returns the constants of an alloy of parts: those of the one part itself, or
// at the observer's wavelengths the root of the mean dielectric function.
func mixed(of []ingredient) []index {
	if len(of) == 1 {
		return constants()[of[0].rows]
	}
	var all []index
	for _, o := range observer() {
		var ε complex128
		for _, p := range of {
			n := Metal{spectrum: constants()[p.rows]}.at(o.wavelength)
			ε += complex(p.share, 0) * n * n
		}
		n := cmplx.Sqrt(ε)
		all = append(all, index{o.wavelength, real(n), imag(n)})
	}
	return all
}

// MetalNamed returns the metal of that name, without regard to case. A name
// with a further word before it is known by its end: "fine gold" is gold. The
// error of an unknown name gives the nearest known ones.
func MetalNamed(name string) (Metal, error) {
	want := strings.Join(strings.Fields(strings.ToLower(name)), " ")
	if carat := caratOf(want); carat != "" {
		want = carat
	}
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

// caratOf is the name of the gold of which a name gives carats or thousandths, such
// as "18ct yellow gold" or "gold 585".
func caratOf(name string) string {
	if !strings.Contains(name, "gold") {
		return ""
	}
	for word := range strings.FieldsFuncSeq(name, func(r rune) bool { return r == ' ' || r == '-' || r == '/' }) {
		switch number := strings.TrimRight(word, "cartk."); number {
		case "18", "750":
			return "18 carat gold"
		case "14", "585":
			return "14 carat gold"
		}
	}
	return ""
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
	x, y, z := light.xyz(func(wavelength float64) float64 { return m.reflectance(1, wavelength, cos) })
	return seenBy(white, x, y, z)
}

// reflectance is the metal's for unpolarised light of a wavelength, nm, that comes
// through a medium of index n at a cosine of the angle of incidence.
func (m Metal) reflectance(n, wavelength, cos float64) float64 {
	if m.film.thickness > 0 {
		return m.film.reflectance(n, m.at(wavelength), wavelength, cos)
	}
	return fresnel(m.at(wavelength)/complex(n, 0), cos)
}
