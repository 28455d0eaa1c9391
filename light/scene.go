package light

import (
	"fmt"
	"math"

	"brightcut/fault"
)

// Scene is how a piece is looked at: what it is made of, where it lies, and the eye
// that sees it.
type Scene struct {
	Stuff Stuff
	Room  Room
	Lamp  Lamp
	Eye   Eye
	// Exposure is in stops: each doubles all light. At 0 paper white in the room is
	// white in the picture. It is never set by what a picture shows, so pictures of
	// one exposure can be compared.
	Exposure float64
}

// DefaultScene is polished metal in the workshop, seen from reading distance and a
// little more.
func DefaultScene(m Metal) Scene {
	return Scene{Stuff: Stuff{Metal: m}, Room: Rooms()[0], Lamp: DefaultLamp}
}

// Eye is where the piece is seen from, and how it is held.
type Eye struct {
	Distance float64 // above the work, mm; 0 is DefaultDistance
	// The piece leans in the hand by Tilt, rad, so that its side at the azimuth
	// Toward, rad, goes down. Room and eye stay.
	Tilt, Toward float64
}

// DefaultDistance is that of an eye over the bench, mm.
const DefaultDistance = 420.0

// What an Eye may be: nearer than a strong loupe is inside the groove, and leaned
// further the near flanks would hide the far ones, which pictures do not show.
const (
	NearestEye  = 10.0
	FarthestEye = 10_000.0
	MostTilt    = 25 * math.Pi / 180
)

// MostExposure is the greatest exposure either way, stops.
const MostExposure = 8.0

// Check returns what is wrong with a scene that a person has set, as a fault.List.
func (s Scene) Check() error {
	var f fault.List
	bad := func(field, problem, mend string) {
		f = append(f, fault.Fault{Field: field, Problem: problem, Mend: mend})
	}
	l := s.Lamp
	if math.IsNaN(l.Azimuth) || math.IsInf(l.Azimuth, 0) {
		bad("azimuth", "it is not a number", "give the lamp's direction round the work, 0 to 360 deg")
	}
	if !(l.Elevation > 0 && l.Elevation <= math.Pi/2) {
		bad("elevation", fmt.Sprintf("a lamp %.4g deg above the surface does not light it", l.Elevation*180/math.Pi), "give a height above 0 and up to 90 deg")
	}
	if l.Radius != 0 && !(l.Radius >= 0.01 && l.Radius <= 0.6) {
		bad("radius", fmt.Sprintf("a lamp that looks %.4g deg wide is too small or too large to be one", l.Radius*360/math.Pi), "give a width from 1.2 to 68 deg")
	}
	if !(l.Strength <= 100) {
		bad("lamp", fmt.Sprintf("a lamp of strength %v dazzles", l.Strength), "give a strength up to 100; 1 is the usual lamp")
	}
	e := s.Eye
	if e.Distance != 0 && !(e.Distance >= NearestEye && e.Distance <= FarthestEye) {
		bad("eye", fmt.Sprintf("no eye sees the piece from %.4g mm", e.Distance), fmt.Sprintf("give a distance from %g to %g mm", NearestEye, FarthestEye))
	}
	if !(e.Tilt >= 0 && e.Tilt <= MostTilt+1e-12) {
		bad("tilt", fmt.Sprintf("the piece cannot be shown leaned by %.4g deg", e.Tilt*180/math.Pi), fmt.Sprintf("give 0 to %.0f deg, and the side that goes down by its direction", MostTilt*180/math.Pi))
	}
	if math.IsNaN(e.Toward) || math.IsInf(e.Toward, 0) {
		bad("toward", "it is not a number", "give the direction of the side that goes down, 0 to 360 deg")
	}
	if !(math.Abs(s.Exposure) <= MostExposure) {
		bad("exposure", fmt.Sprintf("an exposure of %v stops shows nothing", s.Exposure), fmt.Sprintf("give %g to %g stops", -MostExposure, MostExposure))
	}
	if _, err := EnamelNamed(s.Stuff.Enamel.Name); err != nil {
		bad("enamel", err.Error(), "choose one of those")
	}
	if t := s.Stuff.Enamel.Thickness; s.Stuff.Enamel.Name != "" && !(t > 0 && t <= 5) {
		bad("enamel", fmt.Sprintf("enamel %v mm thick is none", t), "give a thickness above 0 and up to 5 mm")
	}
	return f.Err()
}

func (e Eye) distance() float64 {
	if e.Distance == 0 {
		return DefaultDistance
	}
	return e.Distance
}

// direction is the unit vector from the work to the eye, in the work's frame.
func (e Eye) direction() vec { return e.fromRoom(vec{0, 0, 1}) }

// toRoom turns a direction of the leaned work's frame into the room's.
func (e Eye) toRoom(d vec) vec { return e.lean(d, e.Tilt) }

func (e Eye) fromRoom(d vec) vec { return e.lean(d, -e.Tilt) }

func (e Eye) lean(d vec, by float64) vec {
	if by == 0 {
		return d
	}
	st, ct := math.Sincos(by)
	sa, ca := math.Sincos(e.Toward)
	down := float64(d.x*ca) + float64(d.y*sa) // towards the side that goes down
	turn := float64(down*(ct-1)) + float64(d.z*st)
	return vec{d.x + float64(turn*ca), d.y + float64(turn*sa), float64(d.z*ct) - float64(down*st)}
}

// gain is by how much the exposure multiplies light.
func (s Scene) gain() float64 { return math.Exp2(s.Exposure) }
