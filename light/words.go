package light

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"brightcut/fault"
)

// Words are a scene, or what is to be changed of one, as a person tells it. A word
// left out changes nothing.
type Words struct {
	Metal  string
	Room   string
	Land   string
	Enamel string // a name, or a name and a thickness in mm as blue:0.2; none takes it off
	Lamp   string // a light's name, or off, or on in a room that has no lamp
}

// Onto returns the scene with what the words tell. A word that is not known comes
// back as a fault.List with the fields metal, room, land, enamel and lamp.
func (w Words) Onto(s Scene) (Scene, error) {
	var f fault.List
	bad := func(field string, err error, mend string) {
		f = append(f, fault.Fault{Field: field, Problem: err.Error(), Mend: mend})
	}
	const choose = "choose one of those"
	if w.Metal != "" {
		m, err := MetalNamed(w.Metal)
		if err != nil {
			bad("metal", err, choose)
		}
		s.Stuff.Metal = m
	}
	if w.Room != "" {
		r, err := RoomNamed(w.Room)
		if err != nil {
			bad("room", err, choose)
		}
		s.Room = r
	}
	if w.Land != "" {
		l, err := LandNamed(w.Land)
		if err != nil {
			bad("land", err, choose)
		}
		s.Stuff.Land = l
	}
	if w.Enamel != "" {
		name, thick, told := strings.Cut(w.Enamel, ":")
		e, err := EnamelNamed(name)
		if err != nil {
			bad("enamel", err, choose)
		}
		if told && e.Name != "" {
			v, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(thick), "mm")), 64)
			if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
				f = append(f, fault.Fault{Field: "enamel", Problem: strconv.Quote(thick) + " is no thickness", Mend: "write it in mm behind the name, as blue:0.2"})
			}
			e.Thickness = v
		}
		s.Stuff.Enamel = e
	}
	switch strings.ToLower(strings.TrimSpace(w.Lamp)) {
	case "":
	case "off":
		s.Lamp.Strength = -1
	case "on":
		s.Lamp.Strength = 1
	default:
		l, err := SpectrumNamed(w.Lamp)
		if err != nil {
			bad("lamp", err, "choose one of those, or off")
		}
		s.Lamp.Spectrum, s.Lamp.Strength = l, 1
	}
	return s, f.Err()
}

// named is the one of that name, without regard to case, of a list whose first an empty
// name means; what is one of them, for the error of a name that is not known.
func named[T any](all []T, nameOf func(T) string, name, what string) (T, error) {
	name = strings.TrimSpace(name)
	if name == "" {
		return all[0], nil
	}
	known := make([]string, len(all))
	for i, v := range all {
		if known[i] = nameOf(v); strings.EqualFold(name, known[i]) {
			return v, nil
		}
	}
	var none T
	return none, fmt.Errorf("no %s is called %q; known are %s", what, name, strings.Join(known, ", "))
}

// Lit says whether the scene has a lamp that burns.
func (s Scene) Lit() bool { return s.lampStrength() > 0 }

// String says what is seen, and how, in one line.
func (s Scene) String() string {
	deg := func(rad float64) string {
		return strconv.FormatFloat(math.Round(rad*1800/math.Pi)/10, 'f', -1, 64) + "°"
	}
	num := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	land := s.Stuff.Land.Name
	if land == "" {
		land = Lands()[0].Name
	}
	t := s.Stuff.Metal.Name + ", ground " + land
	if e := s.Stuff.Enamel; e.Name != "" {
		t += ", under " + e.Name + " enamel " + num(e.Thickness) + " mm thick"
	}
	t += "; room " + s.Room.Name
	if !s.Lit() {
		t += ", no lamp"
	} else {
		t += ", " + s.lampSpectrum().Name + " lamp from " + deg(s.Lamp.Azimuth) + " at a height of " + deg(s.Lamp.Elevation)
		if s.Lamp.Radius != 0 {
			t += ", " + deg(2*s.Lamp.Radius) + " wide"
		}
	}
	t += "; eye at " + num(s.Eye.distance()) + " mm"
	if s.Eye.Tilt > 0 {
		t += ", leaned " + deg(s.Eye.Tilt) + " toward " + deg(s.Eye.Toward)
	}
	return t + "; exposure " + num(s.Exposure) + " stops"
}
