package sight

import (
	"cmp"
	"math"
	"slices"

	"brightcut/cutter"
	"brightcut/light"
)

// eyeing is what the visibility of faults is reckoned from.
type eyeing struct {
	lands bool
	pitch float64
	width float64
	cut   float64 // share of the field
	// The first is the lamp as it is set, the others stand all over the half-sphere: the
	// cuts' and the ground's brightness, by how much the two flanks of a cut differ, and
	// by how much the more telling of them differs from the ground.
	lamps []lamp
}

type lamp struct {
	at            Place
	cuts, ground  float64
	flanks, edges float64
}

func newEyeing(f *Figures, l *lie, rays *light.Rays, ground *ways, s light.Scene) *eyeing {
	e := &eyeing{lands: f.Lands, pitch: f.Pitch, width: f.Width, cut: float64(l.cut) / float64(l.cut+l.plain)}
	places := []Place{{math.Mod(s.Lamp.Azimuth*180/math.Pi+360, 360), s.Lamp.Elevation * 180 / math.Pi}}
	for h := range f.Rose.Heights {
		for a := range f.Rose.Azimuths {
			if h%3 == 1 && a%3 == 0 {
				places = append(places, Place{f.Rose.Azimuths[a], f.Rose.Heights[h]})
			}
		}
	}
	flanks := l.flanks(rays)
	for _, p := range places {
		d := newDisc(p.Azimuth*math.Pi/180, p.Height*math.Pi/180)
		one := lamp{at: p, ground: d.over(ground)}
		for i := range flanks {
			own, facing := d.lit(flanks[i].own), d.lit(flanks[i].facing)
			one.cuts += flanks[i].share * own
			one.flanks += flanks[i].share * math.Abs(own-facing)
			one.edges += flanks[i].share * max(math.Abs(own-one.ground), math.Abs(facing-one.ground))
		}
		e.lamps = append(e.lamps, one)
	}
	return e
}

// flank is the ways to the eye by flanks of about one slope, and by those that face
// them.
type flank struct {
	share       float64 // of all cuts
	own, facing []lit
}

// lit is where light comes from, and how much of it arrives.
type lit struct{ x, y, z, share float64 }

// coarse is how many bins of slopes along each axis make one of these flanks.
const coarse = 8

func (l *lie) flanks(rays *light.Rays) []flank {
	type sum struct {
		count      int
		dzdx, dzdy float64
	}
	sums := make([]sum, slopeBins/coarse*slopeBins/coarse)
	for _, n := range l.used {
		b, s := &l.bins[n], &sums[int(n)/slopeBins/coarse*(slopeBins/coarse)+int(n)%slopeBins/coarse]
		s.count += b.count
		s.dzdx += float64(b.dzdx * float64(b.count))
		s.dzdy += float64(b.dzdy * float64(b.count))
	}
	var all []flank
	for _, s := range sums {
		if s.count == 0 {
			continue
		}
		f := flank{share: float64(s.count) / float64(l.cut)}
		p, q := s.dzdx/float64(s.count), s.dzdy/float64(s.count)
		keep := func(to *[]lit) func(light.Ray) {
			return func(r light.Ray) {
				sa, ca := math.Sincos(r.Azimuth)
				sh, ch := math.Sincos(r.Elevation)
				*to = append(*to, lit{ch * ca, ch * sa, sh, r.Share.Luminance()})
			}
		}
		rays.Flank(p, q, keep(&f.own))
		rays.Flank(-p, -q, keep(&f.facing))
		all = append(all, f)
	}
	return all
}

// lit is how bright what sends these ways is under the lamp.
func (d disc) lit(ways []lit) float64 {
	var sum float64
	for _, w := range ways {
		if float64(d.x*w.x)+float64(d.y*w.y)+float64(d.z*w.z) >= d.edge {
			sum += w.share
		}
	}
	return sum * d.gain
}

// dim is the share of the brightest lamp's light below which a lamp is too dim to
// judge by.
const dim = 0.05

// changes is how much the light over one spot of the eye changes, in luminance by mm of
// the spot's width, for each mm by which a cut is wider, and by which it lies out of
// its place, where that shows best.
//
// With ground between cuts, a wider cut gives a spot that holds it more of its own light
// and less of the ground's, and a spot that holds one edge half of that flank's alone. A
// cut out of its place moves each of its edges by the whole, one flank's light for the
// ground's, and its root, one flank's light for the other's. Where cuts run into one
// another, a deeper cut takes half of its width from each neighbour, one flank's light
// for the other's; out of its place, it moves its crests by half and its root by the
// whole, the other way, and a spot wider than the pitch cannot hold the root alone.
func (e *eyeing) changes(l lamp, one float64) (wider, moved float64) {
	switch {
	case !e.lands && e.pitch < one:
		return l.flanks / 2, l.flanks / 2
	case !e.lands:
		return l.flanks / 2, l.flanks
	case e.width < one:
		return max(math.Abs(l.cuts-l.ground), l.edges/2), l.edges
	}
	return max(math.Abs(l.cuts-l.ground), l.edges/2), max(l.edges, l.flanks)
}

// visible reckons how small a fault shows from a distance: when the light of a spot of
// one minute of arc changes by the least contrast that is seen in such a pattern, or,
// where the rows are told apart, by vernier acuity.
func (e *eyeing) visible(distance float64, c cutter.Cutter) Visible {
	if e.pitch == 0 || e.width == 0 {
		return Visible{}
	}
	one := spot(distance)
	brightest := 0.0
	for _, l := range e.lamps {
		brightest = max(brightest, e.mean(l))
	}
	var v Visible
	v.Place = math.Inf(1)
	var widths []shown // under each lamp, and how much of the sky it stands for
	total := 0.0
	for i, l := range e.lamps {
		mean := e.mean(l)
		if mean < dim*brightest || mean <= 0 {
			continue
		}
		wider, moved := e.changes(l, one)
		contrast := min(1, l.flanks/(2*mean))
		if e.lands {
			contrast = math.Abs(l.cuts-l.ground) / (l.cuts + l.ground)
		}
		sky := math.Cos(l.at.Height * math.Pi / 180)
		total += sky
		if wider <= 0 {
			continue
		}
		seen := least(contrast, e.pitch, distance) * one * mean
		width := seen / wider * 1000
		if i == 0 {
			v.AsSet = width
			total -= sky
		} else {
			widths = append(widths, shown{width, sky})
		}
		if v.Width == 0 || width < v.Width {
			v.Width, v.Lamp = width, l.at
		}
		v.Place = min(v.Place, seen/moved*1000)
	}
	slices.SortFunc(widths, func(a, b shown) int { return cmp.Compare(a.width, b.width) })
	half := total / 2
	for _, w := range widths {
		if half -= w.sky; half <= 0 {
			v.Usual = w.width
			break
		}
	}
	if e.pitch >= 2*one {
		if kink := rowed * vernier * distance * 1000; kink < v.Place {
			v.Place, v.ByVernier = kink, true
		}
	}
	if math.IsInf(v.Place, 0) {
		v.Place = 0
	}
	// On flat ground a cut deeper by Δ is wider by 2·Δ·tan α; between crests that it
	// shares with its neighbours, by half of that.
	wider := 2 * math.Tan(c.Included/2)
	if !e.lands {
		wider /= 2
	}
	v.Depth = v.Width / wider
	share := 2 * math.Tan(c.Included/2) / wider / 1000 / e.width
	v.Share, v.UsualShare = share*v.Width, share*v.Usual
	return v
}

// shown is the width error that shows under one lamp.
type shown struct{ width, sky float64 }

// mean is how bright the field is under a lamp.
func (e *eyeing) mean(l lamp) float64 {
	return float64(e.cut*l.cuts) + float64((1-e.cut)*l.ground)
}
