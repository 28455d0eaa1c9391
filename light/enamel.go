package light

// Enamel is clear or translucent glass fused over the cuts; the zero Enamel is none.
type Enamel struct {
	Name      string
	Thickness float64 // over the uncut ground, mm
}

// enamelIndex is the refractive index of enamel.
const enamelIndex = 1.5

// index is the refractive index of what lies over the metal: 1 for air.
func (e Enamel) index() float64 {
	if e.Name == "" {
		return 1
	}
	return enamelIndex
}
