package light

import (
	"fmt"
	"math"

	"brightcut/fault"
)

// Lamp is the key lamp: where it stands, seen from the work.
type Lamp struct {
	Azimuth   float64 // from the work's x axis towards y, rad
	Elevation float64 // above the surface, rad; π/2 is overhead
}

// DefaultLamp stands at the upper right, 50° off the vertical, where it lights
// flanks of a 130° cutter.
var DefaultLamp = Lamp{Azimuth: 40 * math.Pi / 180, Elevation: 40 * math.Pi / 180}

// Check returns what is wrong with a lamp that a person has set, as a fault.List.
func (l Lamp) Check() error {
	var f fault.List
	if math.IsNaN(l.Azimuth) || math.IsInf(l.Azimuth, 0) {
		f = append(f, fault.Fault{Field: "azimuth", Problem: "it is not a number",
			Mend: "give the lamp's direction round the work, 0 to 360 deg"})
	}
	if !(l.Elevation > 0 && l.Elevation <= math.Pi/2) {
		f = append(f, fault.Fault{Field: "elevation",
			Problem: fmt.Sprintf("a lamp %.4g deg above the surface does not light it", l.Elevation*180/math.Pi),
			Mend:    "give a height above 0 and up to 90 deg"})
	}
	return f.Err()
}

// direction is the unit vector from the work to the lamp.
func (l Lamp) direction() vec {
	sa, ca := math.Sincos(l.Azimuth)
	se, ce := math.Sincos(l.Elevation)
	return vec{ce * ca, ce * sa, se}
}

// Where things stand, mm above the work. The panels and the lamp are near enough
// for their reflections to wander over a dial, which gives plain metal its sheen.
const (
	panelHeight = 150.0
	eyeHeight   = 420.0
)

// parallax is the slope that a place's distance from the middle of the work is
// worth, per mm: there the eye is seen sideways, and the panels the other way.
const parallax = (1/panelHeight + 1/eyeHeight) / 2

// panel is something rectangular hung over the work, in the coordinates X, Y =
// tangent of the angle from the vertical, as seen from the middle of the work.
type panel struct {
	x, y   float64 // centre
	hx, hy float64 // half-sizes
	soft   float64 // width of its edge
}

// cover is how much of the panel is seen in direction (x, y), 0 to 1.
func (p panel) cover(x, y float64) float64 {
	dx := (p.hx - math.Abs(x-p.x)) / p.soft
	dy := (p.hy - math.Abs(y-p.y)) / p.soft
	if dx <= -0.5 || dy <= -0.5 {
		return 0
	}
	return smooth(dx+0.5) * smooth(dy+0.5)
}

// smooth rises from 0 at 0 to 1 at 1 without a corner.
func smooth(t float64) float64 {
	t = min(max(t, 0), 1)
	return float64(t*t) * (3 - float64(2*t))
}

// What hangs in the room. A flank of a 130° cutter sees what stands 50° off the
// vertical, at a tangent of 1.19, so most of it is placed on that ring: a flank
// that turns by a few degrees passes from something bright to something dark,
// which is what makes metal look like metal.
var (
	window = panel{x: -0.98, y: 0.98, hx: 0.52, hy: 0.72, soft: 0.06}
	strip  = panel{x: 1.15, y: -0.80, hx: 0.22, hy: 1.15, soft: 0.08}
	flags  = [...]panel{
		{x: 1.05, y: 0.85, hx: 0.40, hy: 0.38, soft: 0.25},
		{x: -0.45, y: -1.25, hx: 0.50, hy: 0.30, soft: 0.25},
	}

	windowLight = RGB{2.68, 2.82, 3.00} // cool
	stripLight  = RGB{1.80, 1.50, 1.15} // warm
	scrimLight  = RGB{0.45, 0.43, 0.40}
	lampLight   = RGB{5.4, 5.0, 4.4}
)

const (
	lampRadius = 0.13 // rad, as seen from the work
	lampSoft   = 0.05 // rad, width of its edge
	barWidth   = 0.05 // of the window's glazing bars, half, tangent
)

// room is everything that the metal can mirror.
type room struct{ lamp vec }

// radiance is what comes from the direction d, a unit vector.
func (r room) radiance(d vec) RGB {
	if d.z < 0.02 {
		return RGB{0.02, 0.02, 0.02} // the bench, and other flanks
	}
	x, y := d.x/d.z, d.y/d.z

	// The walls: a little lighter towards the window.
	w := 0.03 + float64(0.055*smooth(0.5+float64(0.25*(y-x))))
	l := RGB{w, w, float64(w * 1.04)}

	// A scrim over the side of the window, its soft edge across the vertical.
	if s := smooth(0.5+float64(1.3*(y-float64(0.45*x)))) * smooth(1.9-math.Sqrt(float64(x*x)+float64(y*y))); s > 0 {
		l = l.plus(scrimLight, s)
	}
	for _, f := range flags {
		l = l.scale(1 - float64(0.9*f.cover(x, y)))
	}
	if c := window.cover(x, y); c > 0 {
		// One bar upright, two across.
		up := math.Abs(x - window.x)
		level := math.Abs(math.Abs(y-window.y) - window.hy/3)
		glass := smooth((up-barWidth)/0.04+0.5) * smooth((level-barWidth)/0.04+0.5)
		l = l.scale(1-c).plus(windowLight, c*(0.06+float64(0.94*glass)))
	}
	if c := strip.cover(x, y); c > 0 {
		l = l.scale(1-c).plus(stripLight, c)
	}
	if c := dot(d, r.lamp); c > 0.97 {
		// Chord for angle: they differ by 0.1 % at this radius.
		a := math.Sqrt(max(0, 2-float64(2*c)))
		l = l.plus(lampLight, smooth((lampRadius-a)/lampSoft+0.5))
	}
	return l
}
