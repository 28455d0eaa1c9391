package light

import "math"

// Lamp is the key lamp: where it stands, seen from the work, and what it is.
type Lamp struct {
	Azimuth   float64  // from the work's x axis towards y, rad
	Elevation float64  // above the surface, rad; π/2 is overhead
	Radius    float64  // as seen from the work, rad; 0 is 0.13
	Spectrum  Spectrum // of no name: as the room has it
	Strength  float64  // 1 is the usual lamp; 0 is as the room has it; below 0 it is out
}

// DefaultLamp stands at the upper right, 50° off the vertical, where it lights
// flanks of a 130° cutter.
var DefaultLamp = Lamp{Azimuth: 40 * math.Pi / 180, Elevation: 40 * math.Pi / 180}

const (
	lampRadius   = 0.13 // rad, as seen from the work
	lampSoft     = 0.38 // width of its edge, of the radius
	lampStrength = 5.0  // radiance of the usual lamp
)

// direction is the unit vector from the work to the lamp.
func (l Lamp) direction() vec {
	sa, ca := math.Sincos(l.Azimuth)
	se, ce := math.Sincos(l.Elevation)
	return vec{ce * ca, ce * sa, se}
}

// Room is what the metal can mirror, but for the lamp.
type Room struct {
	Name     string
	About    string   // in a few words
	Spectrum Spectrum // of the light in it; the eye takes it for white
	Lamp     Spectrum // of its key lamp
	Strength float64  // of its key lamp, 0 where it has none
	Height   float64  // of what hangs in it, the lamp too, above the work, mm; 0 is far away
	Fittings []Fitting
}

// Fitting is one thing in a room. A room's fittings are taken in order, each over
// what the ones before it show. Places are the tangents X, Y of the angle from the
// vertical, as seen from the middle of the work.
type Fitting struct {
	Kind         Kind
	X, Y         float64
	HalfX, HalfY float64
	Soft         float64 // width of its edge
	Light        RGB     // radiance; 1 is paper white
}

// Kind is what a Fitting is.
type Kind int

// The kinds of Fitting.
const (
	Walls  Kind = iota // Light times X, and Y more on the side of the window
	Sky                // CIE overcast sky, Light at the zenith
	Scrim              // adds Light on the side that (X, Y) points to, out to HalfX
	Flag               // a black card: a rectangle with half-sides HalfX and HalfY
	Panel              // a rectangle of Light
	Glazed             // the same with one bar upright and two across
	Spot               // adds a disc at X, Y of angular radius HalfX, rad
	Ring               // a ring round the vertical at the tangent X, HalfX to either side
)

const (
	barWidth = 0.05 // of a window's glazing bars, half, tangent
	barSoft  = 0.04
)

// MostFittings is how many fittings a Room may have, for those who keep room for them.
const MostFittings = 16

// Rooms returns the rooms; the first is the workshop. What stands in them is
// arranged for this program: a flank of a 130° cutter sees what stands 50° off
// the vertical, at a tangent of 1.19, so most of it is placed about that ring. A
// flank that turns by a few degrees passes from something bright to something
// dark, which is what makes metal look like metal.
func Rooms() []Room {
	day := Spectra()[0]
	// Whoever looks from straight above stands in the light himself.
	head := Fitting{Kind: Flag, HalfX: 0.18, HalfY: 0.24, Soft: 0.12}
	grey := func(l float64) RGB { return RGB{l, l, l} }
	spots := func(n int, tangent, turn, radius, light float64) []Fitting {
		f := []Fitting{{Kind: Walls, X: 0.02, Y: 0.01, Light: grey(1)}}
		for i := range n {
			sin, cos := math.Sincos(turn + 2*math.Pi*float64(i)/float64(n))
			f = append(f, Fitting{Kind: Spot, X: tangent * cos, Y: tangent * sin, HalfX: radius, Soft: radius / 2, Light: grey(light)})
		}
		return f
	}
	return []Room{
		{
			Name: "workshop", About: "a cool window, a warm strip light, a scrim and a bench lamp",
			Spectrum: day, Lamp: day, Height: 150, Strength: 1,
			Fittings: []Fitting{
				{Kind: Walls, X: 0.03, Y: 0.055, Light: RGB{1, 1, 1.04}},
				{Kind: Scrim, X: -0.585, Y: 1.3, HalfX: 1.9, Light: RGB{0.45, 0.43, 0.40}},
				{Kind: Flag, X: 1.05, Y: 0.85, HalfX: 0.40, HalfY: 0.38, Soft: 0.25},
				{Kind: Flag, X: -0.45, Y: -1.25, HalfX: 0.50, HalfY: 0.30, Soft: 0.25},
				{Kind: Glazed, X: -0.98, Y: 0.98, HalfX: 0.52, HalfY: 0.72, Soft: 0.06, Light: RGB{2.68, 2.82, 3.00}},
				{Kind: Panel, X: 1.15, Y: -0.80, HalfX: 0.22, HalfY: 1.15, Soft: 0.08, Light: RGB{1.80, 1.50, 1.15}},
			},
		},
		{
			Name: "dark", About: "the lamp alone", Spectrum: day, Lamp: day, Height: 300, Strength: 1,
			Fittings: []Fitting{{Kind: Walls, X: 0.012, Light: grey(1)}},
		},
		{
			Name: "window", About: "a bench at a tall window on one side", Spectrum: day, Lamp: day, Height: 600,
			Fittings: []Fitting{
				{Kind: Walls, X: 0.05, Y: 0.10, Light: grey(1)},
				{Kind: Glazed, X: -1.5, Y: 0.35, HalfX: 0.80, HalfY: 1.30, Soft: 0.06, Light: grey(3)},
				head,
			},
		},
		{
			Name: "overcast", About: "out of doors under an overcast sky", Spectrum: day, Lamp: day,
			Fittings: []Fitting{{Kind: Sky, Light: grey(1)}, head},
		},
		{
			Name: "softbox", About: "a large soft panel and a white card", Spectrum: day, Lamp: day, Height: 250,
			Fittings: []Fitting{
				{Kind: Walls, X: 0.02, Light: grey(1)},
				{Kind: Panel, X: 0.85, Y: 0.75, HalfX: 0.65, HalfY: 0.65, Soft: 0.30, Light: grey(2.6)},
				{Kind: Panel, X: -1.3, Y: -0.5, HalfX: 0.40, HalfY: 0.90, Soft: 0.15, Light: grey(0.7)},
			},
		},
		{
			Name: "ring", About: "a ring light about the loupe", Spectrum: day, Lamp: day, Height: 120,
			Fittings: []Fitting{
				{Kind: Walls, X: 0.03, Light: grey(1)},
				{Kind: Ring, X: 1.19, HalfX: 0.22, Soft: 0.10, Light: grey(2.4)},
			},
		},
		{
			Name: "showcase", About: "small spots above a shop's case", Spectrum: day, Lamp: day, Height: 600,
			Fittings: append(spots(5, 1.1, 0.4, 0.05, 14), spots(3, 0.45, 1.3, 0.05, 14)[1:]...),
		},
	}
}

// RoomNamed returns the room of that name, without regard to case; an empty name is
// the workshop.
func RoomNamed(name string) (Room, error) {
	return named(Rooms(), func(r Room) string { return r.Name }, name, "room")
}

// smooth rises from 0 at 0 to 1 at 1 without a corner.
func smooth(t float64) float64 {
	t = min(max(t, 0), 1)
	return float64(t*t) * (3 - float64(2*t))
}

// cover is how much of a rectangle is seen in direction (x, y), 0 to 1.
func (f *Fitting) cover(x, y float64) float64 {
	dx := (f.HalfX - math.Abs(x-f.X)) / f.Soft
	dy := (f.HalfY - math.Abs(y-f.Y)) / f.Soft
	if dx <= -0.5 || dy <= -0.5 {
		return 0
	}
	return smooth(dx+0.5) * smooth(dy+0.5)
}

// over returns what is seen in direction d, at the tangents (x, y), where without
// the fitting l is.
func (f *Fitting) over(l RGB, d vec, x, y float64) RGB {
	switch f.Kind {
	case Walls:
		return l.plus(f.Light, f.X+float64(f.Y*smooth(0.5+float64(0.25*(y-x)))))
	case Sky:
		// Moon and Spencer 1942; CIE standard overcast sky (ISO 15469).
		return l.plus(f.Light, (1+float64(2*d.z))/3)
	case Scrim:
		s := smooth(0.5+float64(f.X*x)+float64(f.Y*y)) * smooth(f.HalfX-math.Sqrt(float64(x*x)+float64(y*y)))
		return l.plus(f.Light, s)
	case Flag:
		return l.scale(1 - float64(0.9*f.cover(x, y)))
	case Panel, Glazed:
		c := f.cover(x, y)
		if c == 0 {
			return l
		}
		glass := 1.0
		if f.Kind == Glazed {
			up := math.Abs(x - f.X)
			level := math.Abs(math.Abs(y-f.Y) - f.HalfY/3)
			glass = 0.06 + float64(0.94*smooth((up-barWidth)/barSoft+0.5)*smooth((level-barWidth)/barSoft+0.5))
		}
		return l.scale(1-c).plus(f.Light, c*glass)
	case Spot:
		return l.plus(f.Light, disc(d, unit(vec{f.X, f.Y, 1}), f.HalfX, f.Soft))
	case Ring:
		r := math.Sqrt(float64(x*x) + float64(y*y))
		c := smooth((f.HalfX-math.Abs(r-f.X))/f.Soft + 0.5)
		return l.scale(1-c).plus(f.Light, c)
	}
	return l
}

// disc is how much of a round light of an angular radius is seen in direction d.
func disc(d, towards vec, radius, soft float64) float64 {
	c := dot(d, towards)
	if c < 0.7 {
		return 0
	}
	// Chord for angle: they differ by 0.1 % at 0.13 rad.
	a := math.Sqrt(max(0, 2-float64(2*c)))
	return smooth((radius-a)/soft + 0.5)
}

// surroundings is everything that the metal can mirror: the room and the lamp, whose
// radiance is kept apart because its spectrum may be another.
type surroundings struct {
	fittings []Fitting
	towards  vec     // the lamp
	radius   float64 // rad
	strength float64 // of the lamp's radiance
}

func newSurroundings(s Scene) *surroundings {
	r := &surroundings{fittings: s.Room.Fittings, towards: s.Lamp.direction(), radius: s.Lamp.Radius}
	if r.radius == 0 {
		r.radius = lampRadius
	}
	// A lamp of another size gives the same light.
	r.strength = s.lampStrength() * lampStrength * (lampRadius / r.radius) * (lampRadius / r.radius)
	return r
}

// lampStrength is that of the lamp in its room, 0 where none burns.
func (s Scene) lampStrength() float64 {
	if s.Lamp.Strength == 0 {
		return s.Room.Strength
	}
	return max(0, s.Lamp.Strength)
}

// lampSpectrum is that of the lamp in its room.
func (s Scene) lampSpectrum() Spectrum {
	if s.Lamp.Spectrum.Name == "" {
		return s.Room.Lamp
	}
	return s.Lamp.Spectrum
}

// bench is what metal sees below the horizon of the room.
const bench = 0.02

// radiance is what comes from the direction d of the room, a unit vector: the room's
// own light, and the lamp's.
func (r *surroundings) radiance(d vec) (room RGB, lamp float64) {
	if d.z < 0.02 {
		return RGB{bench, bench, bench}, 0
	}
	x, y := d.x/d.z, d.y/d.z
	for i := range r.fittings {
		room = r.fittings[i].over(room, d, x, y)
	}
	return room, r.strength * disc(d, r.towards, r.radius, r.radius*lampSoft)
}
