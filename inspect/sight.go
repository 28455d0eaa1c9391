package inspect

import (
	"math"
)

// moved is how far a cut lies from where the plan has it.
type moved struct {
	deep  float64 // deeper, mm
	slide float64 // along the slide, mm
	turn  float64 // of the work, rad
	shift float64 // of the bar, mm, or of the rosette, rad
}

// vee is the section of the cutter.
type vee struct{ tan, flat float64 }

// sight is a place of a cut with the cuts whose grooves may bound its own.
type sight struct {
	cut       int // from 0
	reading   float64
	x, y      float64 // on the work, mm
	side, z   float64
	near      []int // cuts, from 0, the own first
	low, high int   // least and greatest of near
	before    int   // number in near of the cut before; −1 is none
}

// scene is the piece as planned.
type scene struct {
	rose   bool
	tracks []track
	vee    vee
}

// same is how near two cuts lie that show as one groove, mm.
const same = 0.002

// slackOf is how far beyond its ends a cut is followed when it is displaced.
const slackOf = 0.05

// look makes the sight of a place; ok is false where the cut does not run.
func (s *scene) look(cut int, reading float64, after int) (v sight, ok bool) {
	t := &s.tracks[cut]
	v = sight{cut: cut, reading: reading, near: []int{cut}, low: cut, high: cut, before: -1}
	if v.side, _, v.z, ok = t.at(reading, 0); !ok {
		return v, false
	}
	v.x, v.y = t.on(reading, v.side)
	// Beyond three half widths a neighbour's flank stands above the ground even
	// after a step was lost.
	for j := range s.tracks {
		if j == cut || after > 0 && j >= after && j != cut {
			continue
		}
		g, _, _, there := s.gap(&v, j, 0, moved{}, moved{})
		reach := 1.5*(t.half+s.tracks[j].half) + 0.02
		if j == cut-1 {
			reach = math.Inf(1)
		}
		if !there || math.Abs(g) > reach {
			continue
		}
		if j == cut-1 {
			v.before = len(v.near)
		}
		v.near = append(v.near, j)
		v.low, v.high = min(v.low, j), max(v.high, j)
	}
	return v, true
}

// blurred is how near to the axis of a groove another may run before their edges
// show as one, mm (common practice, no source).
const blurred = 0.02

// clear says whether a groove stands by itself at a place: no other runs in it.
func (s *scene) clear(v *sight) bool {
	for _, j := range v.near[1:] {
		if g, _, _, ok := s.gap(v, j, 0, moved{}, moved{}); ok && math.Abs(g) < blurred {
			return false
		}
	}
	return true
}

// gap returns how far the point at t across from the place lies beside cut j,
// measured in cut j's own V, how that grows with t, and the height of j's tip.
func (s *scene) gap(v *sight, j int, t float64, own, other moved) (g, slope, z float64, ok bool) {
	a, b := &s.tracks[v.cut], &s.tracks[j]
	turn := b.turned + other.turn - a.turned - own.turn
	x := v.side + own.slide + t
	if own.shift != 0 {
		if side, _, _, there := a.at(v.reading+own.shift, math.Abs(own.shift)+slackOf); there {
			x += side - v.side
		}
	}
	slack := slackOf + math.Abs(other.shift)
	if s.rose {
		side, _, z, ok := b.at(v.reading-turn+other.shift, slack)
		return x - side - other.slide, 1, z - other.deep, ok
	}
	if turn == 0 {
		side, _, z, ok := b.at(v.reading+other.shift, slack)
		return x - side - other.slide, 1, z - other.deep, ok
	}
	sin, cos := math.Sincos(turn)
	side, m, z, ok := b.at(-x*sin+v.reading*cos+other.shift, slack)
	return x*cos + v.reading*sin - side - other.slide, cos + m*sin, z - other.deep, ok
}

// width returns what the microscope sees at v when the cuts in v.near are moved by
// at: the width of the groove, 0 when its bottom has been cut away, and the
// distance to the axis of the cut before, NaN when there is none.
func (s *scene) width(v *sight, at []moved, c vee) (width, pitch float64) {
	own := at[0]
	z := v.z - own.deep
	if own.shift != 0 {
		if _, _, h, there := s.tracks[v.cut].at(v.reading+own.shift, math.Abs(own.shift)+slackOf); there {
			z = h - own.deep
		}
	}
	pitch = math.NaN()
	if v.before >= 0 {
		pitch = s.axis(v, v.near[v.before], own, at[v.before])
	}
	if z >= 0 {
		return 0, pitch
	}
	for _, sign := range [2]float64{-1, 1} {
		edge := c.flat/2 - z*c.tan
		for k := 1; k < len(v.near); k++ {
			edge = min(edge, s.edge(v, v.near[k], sign, z, edge, own, at[k], c))
			if edge <= 0 {
				return 0, pitch
			}
		}
		width += edge
	}
	return width, pitch
}

// edge returns how far from the axis, to one side, cut j takes the flank away; no
// less than limit where it does not.
func (s *scene) edge(v *sight, j int, sign, z, limit float64, own, other moved, c vee) float64 {
	t := limit / 2
	for range 4 {
		g, slope, zj, ok := s.gap(v, j, sign*t, own, other)
		if !ok {
			return limit
		}
		// |g| as it falls along the way: a − b·t.
		towards := math.Copysign(1, g-slope*sign*t)
		a, b := towards*(g-slope*sign*t), -towards*slope*sign
		if a < same && math.Abs(zj-z)*c.tan < same { // two cuts in one groove
			return limit
		}
		if 1+b < 1e-6 { // the groove leads away
			if a+(zj-z)*c.tan <= 0 {
				return 0
			}
			return limit
		}
		next := (a + (zj-z)*c.tan) / (1 + b)
		if a-b*next < c.flat/2 { // j's flat meets the flank
			next = c.flat/2 + (zj-z)*c.tan
			if a-b*next < -c.flat/2-1e-12 { // j lies wholly above the flank
				return limit
			}
		} else if next < c.flat/2 { // j's flank meets the flat
			if b <= 0 {
				return 0
			}
			next = (a - c.flat/2 + (zj-z)*c.tan) / b
		}
		if next <= 0 {
			return 0
		}
		next = min(next, 4*limit)
		if math.Abs(next-t) < 1e-9 {
			t = next
			break
		}
		t = next
	}
	return t
}

// axis returns the distance across from the place to the axis of cut j.
func (s *scene) axis(v *sight, j int, own, other moved) float64 {
	t := 0.0
	for range 6 {
		g, slope, _, ok := s.gap(v, j, t, own, other)
		if !ok || math.Abs(slope) < 1e-3 {
			return math.NaN()
		}
		t -= g / slope
	}
	if math.Abs(t) > 10 {
		return math.NaN()
	}
	return math.Abs(t)
}
