package inspect

import (
	"math"
	"sort"

	"brightcut/engine"
)

// track is the way of the tip in one cut, seen from the cut's own stroke or
// spindle: where it stands across for each reading, and how high.
type track struct {
	rose   bool
	turned float64 // of the work under it, rad
	pieces []piece
	half   float64 // greatest half width at the surface, mm
}

type piece struct {
	closed           bool
	reading, side, z []float64
}

func newTrack(c *engine.Cut, rose bool) track {
	t := track{rose: rose}
	for i := range c.Pieces {
		p := &c.Pieces[i]
		q := piece{closed: p.Closed, reading: p.Readings, side: make([]float64, len(p.Path)), z: make([]float64, len(p.Path))}
		for k, v := range p.Path {
			sin, cos := math.Sincos(v.Across)
			q.side[k], q.z[k] = v.X*cos+v.Y*sin, v.Z
		}
		t.turned = p.Path[0].Across
		if rose {
			t.turned -= p.Readings[0]
		}
		t.pieces = append(t.pieces, q)
	}
	return t
}

// at returns where the tip stands at a reading: across, its slope by the reading,
// and its height. slack is how far beyond its ends a piece is taken to go on
// straight: a displaced cut is followed there.
func (t *track) at(reading, slack float64) (side, slope, z float64, ok bool) {
	for i := range t.pieces {
		p := &t.pieces[i]
		n := len(p.reading)
		r := reading
		if t.rose {
			r = p.reading[0] + math.Mod(math.Mod(r-p.reading[0], 2*math.Pi)+2*math.Pi, 2*math.Pi)
			if !p.closed && r-2*math.Pi >= p.reading[0]-slack && r > p.reading[n-1]+slack {
				r -= 2 * math.Pi
			}
		}
		if r < p.reading[0]-slack || r > p.reading[n-1]+slack {
			continue
		}
		k := min(max(sort.SearchFloat64s(p.reading, r), 1), n-1)
		l := p.reading[k] - p.reading[k-1]
		if !(l > 0) {
			continue
		}
		s := (r - p.reading[k-1]) / l
		slope = (p.side[k] - p.side[k-1]) / l
		if t.rose { // the chord is straight on the work, not in the angle
			a, b := p.side[k-1], p.side[k]
			side = a * b * math.Sin(l) / (a*math.Sin(r-p.reading[k-1]) + b*math.Sin(p.reading[k]-r))
			return side, slope, p.z[k-1] + min(max(s, 0), 1)*(p.z[k]-p.z[k-1]), true
		}
		return p.side[k-1] + s*(p.side[k]-p.side[k-1]), slope, p.z[k-1] + min(max(s, 0), 1)*(p.z[k]-p.z[k-1]), true
	}
	return 0, 0, 0, false
}

// on returns the point of the work at a place across for a reading.
func (t *track) on(reading, side float64) (x, y float64) {
	if t.rose {
		sin, cos := math.Sincos(reading + t.turned)
		return side * cos, side * sin
	}
	sin, cos := math.Sincos(t.turned)
	return side*cos - reading*sin, side*sin + reading*cos
}

// nearest returns the reading at which the track passes nearest to a point of the
// work, and how near.
func (t *track) nearest(x, y float64) (reading, far float64) {
	far = math.Inf(1)
	for i := range t.pieces {
		p := &t.pieces[i]
		for k := 1; k < len(p.reading); k++ {
			ax, ay := t.on(p.reading[k-1], p.side[k-1])
			bx, by := t.on(p.reading[k], p.side[k])
			dx, dy := bx-ax, by-ay
			s := 0.0
			if l := dx*dx + dy*dy; l > 0 {
				s = min(max(((x-ax)*dx+(y-ay)*dy)/l, 0), 1)
			}
			if d := math.Hypot(ax+s*dx-x, ay+s*dy-y); d < far {
				far, reading = d, p.reading[k-1]+s*(p.reading[k]-p.reading[k-1])
			}
		}
	}
	return reading, far
}
