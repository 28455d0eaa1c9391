package sight

import (
	"math"

	"brightcut/cutter"
	"brightcut/light"
)

// eyeing is what the visibility of faults is reckoned from.
type eyeing struct {
	lands bool
	pitch float64
	width float64
	cut   float64 // share of the field
	// Of every lamp of the rose, and first of the lamp as it is set: the cuts' and the
	// ground's brightness and, where cuts run into one another, by how much the two
	// flanks of a cut differ.
	lamps []lamp
}

type lamp struct {
	at           Place
	cuts, ground float64
	flanks       float64
}

func newEyeing(f *Figures, l *lie, rays *light.Rays, s light.Scene) *eyeing {
	e := &eyeing{lands: f.Lands, pitch: f.Pitch, width: f.Width, cut: float64(l.cut) / float64(l.cut+l.plain)}
	set := Place{math.Mod(s.Lamp.Azimuth*180/math.Pi+360, 360), s.Lamp.Elevation * 180 / math.Pi}
	places := []Place{set}
	if f.Lands {
		for h, height := range f.Rose.Heights {
			for a, azimuth := range f.Rose.Azimuths {
				e.lamps = append(e.lamps, lamp{Place{azimuth, height}, f.Rose.Brightness[h][a], f.Rose.Ground[h][a], 0})
			}
		}
	} else {
		places = append(places, f.Rose.Best)
	}
	var seen []lamp
	for _, p := range places {
		d := newDisc(p.Azimuth*math.Pi/180, p.Height*math.Pi/180)
		under, facing := l.under(rays, d, 1), l.under(rays, d, -1)
		one := lamp{at: p}
		for _, n := range l.used {
			share := float64(l.bins[n].count) / float64(l.cut)
			one.cuts += share * under[n]
			one.flanks += share * math.Abs(under[n]-facing[n])
		}
		var ground ways
		rays.Ground(0, 0, func(r light.Ray) { ground.add(r, 1) })
		one.ground = d.over(&ground)
		seen = append(seen, one)
	}
	e.lamps = append(seen, e.lamps...)
	return e
}

// dim is the share of the brightest lamp's light below which a lamp is too dim to
// judge by.
const dim = 0.05

// visible reckons how small a fault shows from a distance.
//
// A cut wider by δ, with ground between cuts, gives the eye's spot of one minute of arc
// more of its own light and less of the ground's: the contrast is
// δ·|cuts − ground|/(spot·mean). Where cuts run into one another a deeper cut takes
// half of δ from the facing flank of each neighbour, so light changes hands between
// flanks a pitch apart: δ/2·|flank − flank|/(spot·mean), and less where the eye takes
// both for one. A cut out of place by e does the same to its two sides, the one gaining
// what the other loses. It shows when the contrast reaches the least that is seen in
// such a pattern, or, where the rows are told apart, by vernier acuity.
func (e *eyeing) visible(distance float64, c cutter.Cutter) Visible {
	if e.pitch == 0 || e.width == 0 {
		return Visible{}
	}
	one := spot(distance)
	apart := min(1, e.pitch/one) // how far the eye tells neighbours apart
	brightest := 0.0
	for _, l := range e.lamps {
		brightest = max(brightest, e.mean(l))
	}
	var v Visible
	v.Place = math.Inf(1)
	for i, l := range e.lamps {
		mean := e.mean(l)
		if mean < dim*brightest || mean <= 0 {
			continue
		}
		change, contrast := math.Abs(l.cuts-l.ground), 0.0
		place := change * apart
		if e.lands {
			contrast = change / (l.cuts + l.ground)
		} else {
			change = l.flanks / 2 * apart
			place = l.flanks * apart
			contrast = min(1, l.flanks/(2*mean))
		}
		if change <= 0 {
			continue
		}
		seen := least(contrast, e.pitch, distance) * one * mean
		width := seen / change * 1000
		if i == 0 {
			v.AsSet = width
		}
		if v.Width == 0 || width < v.Width {
			v.Width, v.Lamp = width, l.at
		}
		v.Place = min(v.Place, seen/place*1000)
	}
	if e.pitch >= 2*one {
		if kink := rowed * vernier * distance * 1000; kink < v.Place {
			v.Place, v.ByVernier = kink, true
		}
	}
	if math.IsInf(v.Place, 0) {
		v.Place = 0
	}
	t := math.Tan(c.Included / 2)
	v.Depth = v.Width / (2 * t)
	v.Share = v.Width / 1000 / e.width
	return v
}

// mean is how bright the field is under a lamp.
func (e *eyeing) mean(l lamp) float64 {
	return float64(e.cut*l.cuts) + float64((1-e.cut)*l.ground)
}
