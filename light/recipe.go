package light

// Recipe is a scene in plain numbers, for a program that lights the same piece by
// itself as a graphics card does: with the formulas of this package it has all it
// needs. Where lamp and piece stand it knows already.
type Recipe struct {
	Scene    string    `json:"scene"`    // in words
	Fittings []float64 `json:"fittings"` // twelve a fitting: Kind, X, Y, HalfX; HalfY, Soft, R, G; B and three zeros
	Room     []float64 `json:"room"`     // colour of the stuff under the room's light, R G B at RecipeNodes cosines evenly from 0 to 1
	Lamp     []float64 `json:"lamp"`     // and under the lamp's
	LampOwn  []float64 `json:"lamp_own"` // colour of the lamp itself
	Radius   float64   `json:"lamp_radius"`
	Soft     float64   `json:"lamp_soft"`     // width of its edge, rad
	Strength float64   `json:"lamp_strength"` // its radiance, 0 where none burns
	Land     []float64 `json:"land"`          // roughness of the ground along x and y
	Cut      []float64 `json:"cut"`           // roughness of flanks along and across, and of a level floor
	Index    float64   `json:"index"`         // refractive index of what lies over the metal
	Near     []float64 `json:"near"`          // one over the height of what hangs in the room and over the distance of the eye, 1/mm
	Gain     float64   `json:"gain"`
}

// RecipeNodes is how many cosines a Recipe's colours are given at.
const RecipeNodes = 17

// Recipe returns the scene in plain numbers.
func (s Scene) Recipe() Recipe {
	r := Recipe{
		Scene: s.String(), Index: s.Stuff.Enamel.index(), Near: []float64{s.nearness().room, s.nearness().eye}, Gain: s.gain(),
		Radius: s.Lamp.Radius, Cut: []float64{roughAlong, roughAcross, roughPlain},
	}
	if r.Radius == 0 {
		r.Radius = lampRadius
	}
	r.Soft = r.Radius * lampSoft
	r.Strength = newSurroundings(s).strength
	x, y := s.Stuff.Land.Roughness()
	r.Land = []float64{x, y}
	for _, f := range s.Room.Fittings {
		r.Fittings = append(r.Fittings, float64(f.Kind), f.X, f.Y, f.HalfX, f.HalfY, f.Soft, f.Light.R, f.Light.G, f.Light.B, 0, 0, 0)
	}
	for i := range RecipeNodes {
		cos := max(float64(i)/(RecipeNodes-1), 1e-3)
		a, b := s.Stuff.Colour(cos, s.Room.Spectrum, s.Room.Spectrum), s.Stuff.Colour(cos, s.lampSpectrum(), s.Room.Spectrum)
		r.Room, r.Lamp = append(r.Room, a.R, a.G, a.B), append(r.Lamp, b.R, b.G, b.B)
	}
	own := s.lampColour()
	r.LampOwn = []float64{own.R, own.G, own.B}
	return r
}
