package light

// Stuff is what the piece is made of, as the eye knows it.
type Stuff struct {
	Metal  Metal
	Land   Land
	Enamel Enamel
}

// Land is the finish of the uncut ground.
type Land struct {
	Name  string
	About string
	rough roughness // x along the work's x axis
}

// Lands returns the finishes of the ground; the first, which the zero Land means,
// is polished. The roughnesses are chosen by eye; no published figures were found.
func Lands() []Land {
	return []Land{
		{"polished", "as bright as the cuts", roughness{roughPlain, roughPlain}},
		{"grained", "brushed along the work's x axis", roughness{0.05, 0.22}},
		{"frosted", "matted by fine sand or scratch brush", roughness{0.30, 0.30}},
	}
}

// LandNamed returns the finish of that name, without regard to case; an empty name
// is polished.
func LandNamed(name string) (Land, error) {
	return named(Lands(), func(l Land) string { return l.Name }, name, "finish of the ground")
}

// Roughness returns the widths of the finish's facet slopes along the work's x and
// y axes.
func (l Land) Roughness() (x, y float64) {
	if l.Name == "" {
		l = Lands()[0]
	}
	return l.rough.x, l.rough.y
}

// Colour returns the reflectance of the metal, at a cosine of the angle of incidence,
// as linear sRGB to an eye that takes white for white. Under enamel it is that of
// metal met through it, with what the enamel keeps of light on its way down and up;
// its own top is not in it.
func (s Stuff) Colour(cos float64, light, white Spectrum) RGB {
	if s.Enamel.Name == "" {
		return s.Metal.Colour(cos, light, white)
	}
	n, path := s.Enamel.index(), s.Enamel.path(cos)
	x, y, z := light.xyz(func(wavelength float64) float64 {
		return s.Metal.reflectance(n, wavelength, cos) * s.Enamel.passes(wavelength, path)
	})
	return seenBy(white, x, y, z)
}

// glance is a Stuff's Colour under one light, ready for many questions.
type glance [33]RGB

func (s Stuff) glance(light, white Spectrum) *glance {
	var g glance
	for i := range g {
		g[i] = s.Colour(max(float64(i)/float64(len(g)-1), 1e-3), light, white)
	}
	return &g
}

// at interpolates between the 33 cosines. Away from grazing, below 75°, it is
// within 0.002 of Colour (TestGlance).
func (g *glance) at(cos float64) RGB {
	x := min(max(cos, 0), 1) * float64(len(g)-1)
	i := min(int(x), len(g)-2)
	t := x - float64(i)
	return g[i].scale(1-t).plus(g[i+1], t)
}
