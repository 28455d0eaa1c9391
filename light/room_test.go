package light

import (
	"math"
	"testing"
)

// Every room has a name of its own, light of its own or a lamp, and no light below
// nothing; none has more in it than the page has room for.
func TestRooms(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range Rooms() {
		if r.Name == "" || r.About == "" || seen[r.Name] {
			t.Errorf("room %q, %q", r.Name, r.About)
		}
		seen[r.Name] = true
		if len(r.Fittings) > MostFittings {
			t.Errorf("the %s has %d fittings, more than %d", r.Name, len(r.Fittings), MostFittings)
		}
		s := DefaultScene(metal(t, "silver"))
		s.Room = r
		all := newSurroundings(s)
		brightest := 0.0
		for i := range 400 {
			z := (float64(i) + 0.5) / 400
			sin, cos := math.Sincos(2.4 * float64(i))
			q := math.Sqrt(1 - z*z)
			l, lamp := all.radiance(vec{q * cos, q * sin, z})
			if min(l.R, l.G, l.B, lamp) < 0 {
				t.Errorf("%s: %v, lamp %v", r.Name, l, lamp)
			}
			brightest = max(brightest, l.G+lamp)
		}
		if brightest < 0.8 {
			t.Errorf("the %s is dark: %v at the brightest", r.Name, brightest)
		}
		if found, err := RoomNamed(r.Name); err != nil || found.Name != r.Name {
			t.Errorf("%s is not found by its name: %v", r.Name, err)
		}
	}
}

// The overcast sky is three times as bright at the zenith as at the horizon (CIE
// standard overcast sky, ISO 15469; Moon and Spencer 1942), away from whoever looks.
func TestOvercast(t *testing.T) {
	s := DefaultScene(metal(t, "silver"))
	s.Room, _ = RoomNamed("overcast")
	r := newSurroundings(s)
	low, _ := r.radiance(unit(vec{1, 0, 0.03}))
	high, _ := r.radiance(unit(vec{0.3, 0.2, 1}))
	zenith := (1 + 2*unit(vec{0.3, 0.2, 1}).z) / 3
	near1(t, "high", high.G, zenith, 1e-9)
	near1(t, "horizon", low.G/1, (1+2*unit(vec{1, 0, 0.03}).z)/3, 1e-9)
}

// Lamps of any width give the same light: radiance times solid angle.
func TestLampWidth(t *testing.T) {
	flux := func(radius float64) (sum float64) {
		s := DefaultScene(metal(t, "silver"))
		s.Room, _ = RoomNamed("dark")
		s.Lamp.Elevation, s.Lamp.Radius = math.Pi/2, radius
		r := newSurroundings(s)
		const n = 4000
		for i := range n { // rings round the vertical
			a := 0.9 * (float64(i) + 0.5) / n
			_, lamp := r.radiance(vec{math.Sin(a), 0, math.Cos(a)})
			sum += lamp * 2 * math.Pi * math.Sin(a) * 0.9 / n
		}
		return sum
	}
	for _, radius := range []float64{0.02, 0.3, 0.5} {
		near1(t, "flux", flux(radius)/flux(lampRadius), 1, 0.06)
	}
}
