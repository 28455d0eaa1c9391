package job

import (
	"brightcut/light"
)

// Finish is what is done to the piece besides cutting it. It changes how the piece
// looks and nothing else.
type Finish struct {
	Land      string  // finish of the uncut ground, one of light.Lands; "" is polished
	Enamel    string  // enamel over the cuts, one of light.Enamels; "" is none
	Thickness float64 // of the enamel over the ground, mm; 0 is the usual one
}

var landWords = func() (names []string) {
	for _, l := range light.Lands() {
		names = append(names, l.Name)
	}
	return names
}()

var enamelWords, _ = light.Enamels()

var finishRecord = &record[Finish]{
	name: "a finish", flow: true,
	fields: []field[Finish]{
		at("land", "Finish of the uncut ground; left out, it is polished.", choice(landWords, landWords), func(f *Finish) *string { return &f.Land }),
		at("enamel", "Translucent enamel over the cuts; left out, there is none.", choice(enamelWords, enamelWords), func(f *Finish) *string { return &f.Enamel }),
		at("thickness", "Thickness of the enamel over the uncut ground; left out, 0.3 mm.", lengthOf(overZero), func(f *Finish) *float64 { return &f.Thickness }),
	},
}

var finishField = at("finish", "What is done to the piece besides cutting it; only its look depends on it.", finishRecord.codec(), func(j *Job) *Finish { return &j.Finish })

// Scene is the piece as it will be looked at: its own metal and finish in the
// workshop's room. Where the look of the metal is not known the scene shows silver,
// and the error says so.
func (j *Job) Scene() (light.Scene, error) {
	metal, err := light.MetalNamed(j.Metal.Colour)
	if err != nil {
		metal = light.Metals()[0]
	}
	s := light.DefaultScene(metal)
	for _, l := range light.Lands() {
		if l.Name == j.Finish.Land {
			s.Stuff.Land = l
		}
	}
	if j.Finish.Enamel != "" {
		s.Stuff.Enamel = light.Enamel{Name: j.Finish.Enamel, Thickness: light.UsualEnamel}
		if j.Finish.Thickness > 0 {
			s.Stuff.Enamel.Thickness = j.Finish.Thickness
		}
	}
	return s, err
}
