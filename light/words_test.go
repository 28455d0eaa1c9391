package light

import (
	"errors"
	"math"
	"strings"
	"testing"

	"brightcut/fault"
)

func TestWords(t *testing.T) {
	plain := DefaultScene(metal(t, "silver"))
	s, err := Words{Metal: "fine gold", Room: "Overcast", Land: "frosted", Enamel: "blue:0.2 mm", Lamp: "tungsten"}.Onto(plain)
	if err != nil {
		t.Fatal(err)
	}
	s.Eye = Eye{Distance: 250, Tilt: 10 * math.Pi / 180, Toward: math.Pi / 2}
	want := "gold, ground frosted, under blue enamel 0.2 mm thick; room overcast, tungsten lamp from 40° at a height of 40°; eye at 250 mm, leaned 10° toward 90°; exposure 0 stops"
	if got := s.String(); got != want {
		t.Errorf("it is told as\n%s\nwant\n%s", got, want)
	}
	if err := s.Check(); err != nil {
		t.Error(err)
	}
	if s, err := (Words{Lamp: "off", Enamel: "none"}).Onto(s); err != nil || s.lampStrength() != 0 || s.Stuff.Enamel.Name != "" {
		t.Errorf("off and none give %v, %v", s, err)
	}
	if s, err := (Words{Lamp: "on", Room: "overcast"}).Onto(plain); err != nil || s.lampStrength() != 1 {
		t.Errorf("a lamp out of doors: %v, %v", s, err)
	}
	if same, err := (Words{}).Onto(plain); err != nil || same.String() != plain.String() {
		t.Errorf("no words change the scene to %v, %v", same, err)
	}
	for field, w := range map[string]Words{
		"metal": {Metal: "sliver"}, "room": {Room: "cellar"}, "land": {Land: "rusty"}, "enamel": {Enamel: "mauve"}, "enamel ": {Enamel: "blue:thin"}, "lamp": {Lamp: "candle"},
	} {
		_, err := w.Onto(plain)
		var list fault.List
		if !errors.As(err, &list) || list[0].Field != strings.TrimSpace(field) || list[0].Mend == "" {
			t.Errorf("%+v: %v", w, err)
		}
	}
}

// What a scene may not be, field by field.
func TestSceneRefused(t *testing.T) {
	for field, change := range map[string]func(*Scene){
		"azimuth":    func(s *Scene) { s.Lamp.Azimuth = math.NaN() },
		"elevation":  func(s *Scene) { s.Lamp.Elevation = 0 },
		"radius":     func(s *Scene) { s.Lamp.Radius = 2 },
		"lamp":       func(s *Scene) { s.Lamp.Strength = math.NaN() },
		"eye":        func(s *Scene) { s.Eye.Distance = 3 },
		"eye ":       func(s *Scene) { s.Eye.Distance = math.NaN() },
		"tilt":       func(s *Scene) { s.Eye.Tilt = 1 },
		"tilt ":      func(s *Scene) { s.Eye.Tilt = -0.1 },
		"toward":     func(s *Scene) { s.Eye.Toward = math.Inf(1) },
		"exposure":   func(s *Scene) { s.Exposure = math.NaN() },
		"exposure ":  func(s *Scene) { s.Exposure = 20 },
		"enamel":     func(s *Scene) { s.Stuff.Enamel = Enamel{"blue", 0} },
		"enamel  ":   func(s *Scene) { s.Stuff.Enamel = Enamel{"mauve", 0.2} },
		"enamel    ": func(s *Scene) { s.Stuff.Enamel = Enamel{"blue", math.NaN()} },
	} {
		s := DefaultScene(metal(t, "silver"))
		change(&s)
		var list fault.List
		if err := s.Check(); !errors.As(err, &list) || list[0].Field != strings.TrimSpace(field) || list[0].Mend == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
}
