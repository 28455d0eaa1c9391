package bar

import (
	"fmt"
	"math"

	"brightcut/fault"
)

// What Check takes at most.
const (
	MaxPoints  = 2_000_000 // drawn points of one edge
	MaxHeights = 1000      // unequal bumps
	MaxCount   = 10_000    // bumps round a rosette

	longest  = 10_000.0 // mm: length of a bar, of what repeats along it
	widest   = 1000.0   // mm: radius of a rosette
	shortest = 0.001    // mm: a wave
	highest  = 1000.0   // mm: any height from the datum
	maxFault = 10       // points named one by one before the rest are counted
)

// SteepestFlank is the steepest slope of an edge that Check takes. (A touchpiece
// jams long before; common practice, no source. At 45° the side force already is
// the pull.)
const SteepestFlank = 89 * math.Pi / 180

var maxSlope = math.Tan(SteepestFlank)

// Check returns everything that keeps the edge from being drawn. Fields are named
// as in a part file: "figure", "wave", "amplitude", "crest", "hollow", "nose",
// "root", "points[3]", "heights[2]", "radius", "count", "length", "joint",
// "sines[0].order", "changes[1]", "over", and "from", "into" and "other_side" with
// fields of their own, "from.wave".
func (e Edge) Check() fault.List {
	faults, _ := e.check()
	return faults
}

// check returns the faults, or the profile when there are none.
func (e Edge) check() (fault.List, *Profile) {
	c := &checker{edge: e}
	c.frame()
	switch e.Figure {
	case Plain:
	case Sine:
		if c.wave() && c.amplitude() {
			c.slope("amplitude", 2*math.Pi*e.Amplitude/c.λ, "lower it or lengthen the wave")
		}
	case Trapezoid:
		c.trapezoid()
	case Arcs:
		c.arcs()
	case Zigzag:
		c.zigzag()
	case Points:
		c.points()
	case Bumps:
		c.heights()
	case Harmonics:
		c.sines()
	case Blend:
		c.blend()
	default:
		c.add("figure", "no such figure", "choose plain, sine, trapezoid, arcs, zigzag, points, bumps, harmonics or blend")
	}
	c.otherSide()
	if len(c.faults) > 0 {
		return c.faults, nil
	}
	p := e.profile()
	c.finished(p)
	return c.faults, p
}

type checker struct {
	edge   Edge
	λ      float64 // mm along the datum
	faults fault.List
}

func (c *checker) add(field, problem, mend string) {
	c.faults = append(c.faults, fault.Fault{Field: field, Problem: problem, Mend: mend})
}

// within reports whether v lies in [lo, hi].
func (c *checker) within(field, what string, v, lo, hi float64) bool {
	if v >= lo && v <= hi {
		return true
	}
	c.add(field, fmt.Sprintf("%s of %s cannot be used", what, mm(v)), fmt.Sprintf("give %s from %s to %s", what, mm(lo), mm(hi)))
	return false
}

func mm(v float64) string { return fmt.Sprintf("%.6g mm", v) }

// frame checks what makes a bar or a rosette.
func (c *checker) frame() {
	e := c.edge
	if !e.polar() {
		if e.Count != 0 {
			c.add("count", "only a rosette has a count of bumps", "give the radius of the rosette, or take the count away and give the length of a wave")
		}
		if e.Length != 0 {
			c.within("length", "a length", e.Length, shortest, longest)
		}
		return
	}
	c.within("radius", "a mean radius", e.Radius, 0.1, widest)
	if e.Length != 0 {
		c.add("length", "a rosette goes round; it has no length", "take it away")
	}
	if e.Count < 0 || e.Count > MaxCount {
		c.add("count", fmt.Sprintf("%d bumps cannot be cut round a rosette", e.Count), fmt.Sprintf("give a count from 1 to %d", MaxCount))
	}
}

// wave sets λ, or reports why there is none.
func (c *checker) wave() bool {
	e := c.edge
	if !e.polar() {
		c.λ = e.Wave
		return c.within("wave", "a wave", e.Wave, shortest, longest)
	}
	if e.Count < 1 {
		if e.Count == 0 {
			c.add("count", "a rosette needs the number of its bumps", fmt.Sprintf("give a count from 1 to %d", MaxCount))
		}
		return false
	}
	if len(c.faults) > 0 {
		return false
	}
	c.λ = 2 * math.Pi * e.Radius / float64(e.Count)
	if c.λ < shortest {
		c.add("count", fmt.Sprintf("%d bumps round a radius of %s are closer than %s", e.Count, mm(e.Radius), mm(shortest)), "give fewer")
		return false
	}
	return true
}

func (c *checker) amplitude() bool {
	a := c.edge.Amplitude
	if a == 0 {
		c.add("amplitude", "an amplitude of 0 gives no pattern", "give half the height from hollow to crest, or the figure plain")
		return false
	}
	return c.within("amplitude", "an amplitude", a, 1e-6, highest)
}

// slope refuses flanks that are too steep.
func (c *checker) slope(field string, slope float64, mend string) {
	if !(slope <= maxSlope) {
		c.add(field, fmt.Sprintf("the flanks would stand at %.4g deg to the bar; no touchpiece climbs more than 89", math.Atan(slope)*180/math.Pi), mend)
	}
}

// share reports whether v is a share of the wave.
func (c *checker) share(field string, v float64) bool {
	if v >= 0 && v <= 1 {
		return true
	}
	c.add(field, fmt.Sprintf("%.6g is no share of a wave", v), "give a share from 0 to 1")
	return false
}

func (c *checker) trapezoid() {
	e := c.edge
	sound := c.share("crest", e.Crest)
	sound = c.share("hollow", e.Hollow) && sound
	wave, amplitude := c.wave(), c.amplitude()
	if !sound {
		return
	}
	ramps := 1 - e.Crest - e.Hollow
	if ramps <= 0 {
		c.add("crest", fmt.Sprintf("flats of %.6g and %.6g of the wave leave nothing for the ramps", e.Crest, e.Hollow), "make crest and hollow together less than 1")
	} else if wave && amplitude {
		c.slope("amplitude", 4*e.Amplitude/(ramps*c.λ), "lower it, lengthen the wave or shorten the flats")
	}
}

func (c *checker) arcs() {
	e := c.edge
	sound := c.share("crest", e.Crest)
	sound = c.share("hollow", e.Hollow) && sound
	if sound && e.Crest > 0 && e.Hollow > 0 && math.Abs(e.Crest+e.Hollow-1) > 1e-9 {
		c.add("crest", fmt.Sprintf("bump and hollow take %.6g and %.6g of the wave, which is not the whole", e.Crest, e.Hollow), "give one of them only, or shares that add up to 1")
	}
	if c.wave() && c.amplitude() {
		if most := c.λ / 4 * math.Tan(SteepestFlank/2); !(e.Amplitude <= most) {
			c.add("amplitude", fmt.Sprintf("arcs of %s amplitude in a wave of %s would stand upright where they meet", mm(e.Amplitude), mm(c.λ)),
				fmt.Sprintf("give less than %.4g mm, a quarter of the wave", c.λ/4))
		}
	}
}

func (c *checker) zigzag() {
	e := c.edge
	sound := c.within("nose", "a radius", e.Nose, 0, longest)
	sound = c.within("root", "a radius", e.Root, 0, longest) && sound
	wave, amplitude := c.wave(), c.amplitude()
	if !sound || !wave || !amplitude {
		return
	}
	u, ok := zigzagFlank(c.λ, e.Amplitude, e.Nose, e.Root)
	field := "nose"
	if e.Root > e.Nose {
		field = "root"
	}
	if !ok && e.Nose+e.Root > e.Amplitude {
		c.add(field, fmt.Sprintf("radii of %s and %s leave no room for flanks %s high in a wave of %s", mm(e.Nose), mm(e.Root), mm(2*e.Amplitude), mm(c.λ)),
			fmt.Sprintf("make nose and root together less than %.4g mm", e.Amplitude+c.λ*c.λ/(16*e.Amplitude)))
		return
	}
	slope := math.Inf(1)
	if ok {
		slope = 2 * u / (1 - u*u)
	}
	c.slope("amplitude", slope, "lower it, lengthen the wave or make nose and root smaller")
}

func (c *checker) heights() {
	e := c.edge
	n := len(e.Heights)
	switch {
	case n == 0:
		c.add("heights", "there are no bumps", "list the height of each bump")
		return
	case n > MaxHeights:
		c.add("heights", fmt.Sprintf("%d bumps are more than the %d allowed", n, MaxHeights), "list one round of them and let it repeat")
		return
	case e.polar() && e.Count > 0 && e.Count%n != 0:
		c.add("heights", fmt.Sprintf("%d heights do not go evenly into %d bumps", n, e.Count), "list as many heights as bumps, or a divisor of them")
	}
	if e.polar() && e.Count == 0 {
		c.edge.Count = n
	}
	wave := c.wave()
	if wave && !e.polar() && c.λ*float64(n) > longest {
		c.add("heights", fmt.Sprintf("%d bumps of %s are longer than %s", n, mm(c.λ), mm(longest)), "list fewer or shorten the wave")
		return
	}
	most := 0.0
	for i, h := range e.Heights {
		if c.within(fmt.Sprintf("heights[%d]", i), "a height", h, 0, highest) && wave {
			c.slope(fmt.Sprintf("heights[%d]", i), math.Pi*h/c.λ, "lower it or lengthen the wave")
		}
		most = max(most, h)
		if len(c.faults) >= maxFault {
			return
		}
	}
	if most == 0 {
		c.add("heights", "bumps of no height give no pattern", "give heights above 0, or the figure plain")
	}
}

func (c *checker) points() {
	e := c.edge
	n := len(e.Drawn)
	switch {
	case n < 2:
		c.add("points", "an edge needs two points at least", "list points as [place, height]")
		return
	case n > MaxPoints:
		c.add("points", fmt.Sprintf("%d points are more than the %d allowed", n, MaxPoints), "draw the edge with fewer")
		return
	}
	unit := 1.0
	if e.polar() {
		unit = e.Radius
	}
	for i, d := range e.Drawn {
		y, h := d[0]*unit, d[1]
		sound := math.Abs(y) <= longest && math.Abs(h) <= highest && !(e.polar() && e.Radius+h <= 0)
		if i > 0 && sound {
			Δ := y - e.Drawn[i-1][0]*unit
			sound = Δ >= sharp && (e.Spline || math.Abs(h-e.Drawn[i-1][1]) <= maxSlope*Δ)
		}
		if sound {
			continue
		}
		field := fmt.Sprintf("points[%d]", i)
		switch {
		case !(math.Abs(y) <= longest):
			c.add(field, fmt.Sprintf("a place of %s cannot be used", mm(y)), "keep within 10 m of the middle")
		case !(math.Abs(h) <= highest):
			c.add(field, fmt.Sprintf("a height of %s cannot be used", mm(h)), "keep within 1 m of the datum")
		case i > 0 && !(y-e.Drawn[i-1][0]*unit >= sharp):
			c.add(field, "it does not stand further along than the point before", "list the points in order along the edge, no two at one place")
		case e.polar() && e.Radius+h <= 0:
			c.add(field, "it lies beyond the middle of the rosette", "give a height above minus the radius")
		case math.Abs(e.Drawn[i-1][1]) <= highest: // else the point before is at fault
			c.slope(field, math.Abs(h-e.Drawn[i-1][1])/(y-e.Drawn[i-1][0]*unit), "move it further from the point before")
		}
		if len(c.faults) >= maxFault {
			return
		}
	}
	if len(c.faults) > 0 {
		return
	}
	first, last := e.Drawn[0], e.Drawn[n-1]
	c.joint(unit)
	if (e.Repeats || e.polar()) && !e.Mirror && e.Joint == 0 && math.Abs(first[1]-last[1]) > 1e-9 {
		c.add(fmt.Sprintf("points[%d]", n-1), fmt.Sprintf("it stands %s above the first point, with which it falls together when the edge repeats", mm(last[1]-first[1])),
			"give it the same height, let a joint make it good, or let the points be mirrored")
	}
	last[0] = first[0] + e.drawnSpan()
	if e.polar() {
		if want := 2 * math.Pi / float64(max(e.Count, 1)); math.Abs(last[0]-first[0]-want) > 1e-6*want {
			c.add("points", fmt.Sprintf("they go round %.8g deg, not the %.8g deg of which %d make a turn", (last[0]-first[0])*180/math.Pi, want*180/math.Pi, max(e.Count, 1)),
				"let the last point fall together with the first of the next repeat")
		}
	} else if e.Length > 0 && !e.Repeats && (first[0] > -e.Length/2+1e-9*e.Length || last[0] < e.Length/2-1e-9*e.Length) {
		c.add("points", fmt.Sprintf("they run from %s to %s, but a bar %s long reaches from %s to %s", mm(first[0]), mm(last[0]), mm(e.Length), mm(-e.Length/2), mm(e.Length/2)),
			"leave the length out, or draw the whole bar")
	}
}

// finished checks what only the drawn edge shows: a spline's steepness, and that a
// rosette's edge stays outside its middle.
func (c *checker) finished(p *Profile) {
	field := "amplitude"
	switch c.edge.Figure {
	case Points:
		field = "points"
	case Bumps:
		field = "heights"
	case Harmonics:
		field = "sines"
	case Blend:
		field = "over"
	}
	for i := range p.pieces {
		q := &p.pieces[i]
		if q.kind == straight {
			continue
		}
		for _, y := range []float64{q.a, q.b} {
			s := q.at(y)
			if !(math.Abs(s.h) <= 10*highest) || !(math.Abs(s.d1) <= 1.001*maxSlope) || math.IsNaN(s.d2) {
				c.add(field, fmt.Sprintf("the edge swings too steeply near %s", mm(y)), c.gentler())
				return
			}
		}
	}
	if c.edge.polar() && p.leastRadius() <= 0 {
		c.add(field, fmt.Sprintf("the edge reaches the middle of a rosette of %s mean radius", mm(c.edge.Radius)), "lower it or give a larger radius")
	}
}
