package sight

import (
	"context"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"brightcut/light"
)

// Rose is how bright the pattern is to the eye for every place of the lamp, which
// burns alone: times as bright as white paper that faces the lamp. It is told as seen
// from the middle of the work.
type Rose struct {
	Azimuths   []float64   `json:"azimuths_deg"` // of the lamp, from the work's x axis towards y
	Heights    []float64   `json:"heights_deg"`  // of the lamp above the surface
	Brightness [][]float64 `json:"brightness"`   // of the cuts, by height and azimuth
	Ground     [][]float64 `json:"ground"`       // of the uncut ground
	Best       Place       `json:"best"`         // where the cuts are brightest
}

// Place is where a lamp stands, degrees.
type Place struct {
	Azimuth float64 `json:"azimuth_deg"`
	Height  float64 `json:"height_deg"`
}

// The places of a rose, and how finely the ways of light are kept.
const (
	roseAzimuths = 72
	roseHeights  = 18
	roseFacets   = 96
	roseTasks    = 64 // parts of the work; fixed, so that sums come out alike on any number of cores
)

// ways is where light that reaches the eye comes from: a map of the half-sphere in
// cells of one degree of height and azimuth.
type ways [90 * 360]float64

func (w *ways) add(r light.Ray, share float64) {
	h := int(r.Elevation * 180 / math.Pi)
	if h < 0 {
		return // from below the horizon no lamp shines
	}
	a := int(math.Mod(r.Azimuth*180/math.Pi+360, 360))
	w[min(h, 89)*360+min(a, 359)] += share * r.Share.Luminance()
}

// gathered is the ways to the eye by the flanks of all cuts, each as much as its share
// of them, and by the ground.
func gathered(ctx context.Context, l *lie, rays *light.Rays) (cuts, ground *ways, err error) {
	parts := make([]ways, roseTasks)
	var next atomic.Int32
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for ctx.Err() == nil {
				k := int(next.Add(1) - 1)
				if k >= roseTasks {
					return
				}
				for i := k; i < len(l.used); i += roseTasks {
					b := &l.bins[l.used[i]]
					share := float64(b.count) / float64(l.cut)
					rays.Flank(b.dzdx, b.dzdy, func(r light.Ray) { parts[k].add(r, share) })
				}
			}
		})
	}
	wg.Wait()
	cuts, ground = new(ways), new(ways)
	for k := range parts {
		for i, v := range parts[k] {
			cuts[i] += v
		}
	}
	rays.Ground(0, 0, func(r light.Ray) { ground.add(r, 1) })
	return cuts, ground, ctx.Err()
}

// lampRadius is that of a rose's lamp, rad: the workshop's.
const lampRadius = 0.13

// disc is the share of a lamp of that radius at a place that every cell of ways near
// it takes in, over what white paper facing the lamp throws back of it: π over its
// solid angle.
type disc struct{ x, y, z, edge, gain float64 }

func newDisc(azimuth, height float64) disc {
	sa, ca := math.Sincos(azimuth)
	sh, ch := math.Sincos(height)
	c := math.Cos(lampRadius)
	return disc{ch * ca, ch * sa, sh, c, 1 / (2 * (1 - c))}
}

// over is how bright what has these ways is under the lamp.
func (d disc) over(w *ways) float64 {
	var sum float64
	height := math.Asin(d.z) * 180 / math.Pi
	const reach = lampRadius*180/math.Pi + 1
	for h := max(0, int(height-reach)); h <= min(89, int(height+reach)); h++ {
		sh, ch := sines[h][0], sines[h][1]
		for a := range 360 {
			v := w[h*360+a]
			if v == 0 {
				continue
			}
			if float64(d.x*ch*turns[a][1])+float64(d.y*ch*turns[a][0])+float64(d.z*sh) >= d.edge {
				sum += v
			}
		}
	}
	return sum * d.gain
}

// sine and cosine of the middles of the cells.
var (
	sines = func() (s [90][2]float64) {
		for h := range s {
			s[h][0], s[h][1] = math.Sincos((float64(h) + 0.5) * math.Pi / 180)
		}
		return s
	}()
	turns = func() (s [360][2]float64) {
		for a := range s {
			s[a][0], s[a][1] = math.Sincos((float64(a) + 0.5) * math.Pi / 180)
		}
		return s
	}()
)

func newRose(cuts, ground *ways) Rose {
	var r Rose
	for a := range roseAzimuths {
		r.Azimuths = append(r.Azimuths, float64(a)*360/roseAzimuths)
	}
	best := -1.0
	for k := range roseHeights {
		h := 90 * (float64(k) + 0.5) / roseHeights
		r.Heights = append(r.Heights, h)
		row, under := make([]float64, roseAzimuths), make([]float64, roseAzimuths)
		for a, az := range r.Azimuths {
			d := newDisc(az*math.Pi/180, h*math.Pi/180)
			row[a], under[a] = d.over(cuts), d.over(ground)
			if row[a] > best {
				best, r.Best = row[a], Place{az, h}
			}
		}
		r.Brightness, r.Ground = append(r.Brightness, row), append(r.Ground, under)
	}
	return r
}

// grazing is how far off the vertical, degrees, a lamp stands that no longer lights a
// bench but only grazes the work.
const grazing = 80

// flash is how far off the vertical the lamp stands, degrees, when the cuts flash: the
// middle of the heights at which a small lamp that has gone all round is at least half
// as bright as at the brightest, whatever shines from within 8° of the vertical, and the
// skirt of it, left out. ok is false where nothing does, or only under a lamp less than
// 10° high, which grazes.
func flash(cuts *ways) (off float64, ok bool) {
	const width = 4
	var by [90]float64 // radiance by height
	for h := range by {
		for a := range 360 {
			by[h] += cuts[h*360+a]
		}
		by[h] /= sines[h][1] // per solid angle
	}
	var smooth [82]float64
	for h := range smooth {
		n := 0.0
		for k := max(0, h-width); k <= min(89, h+width); k++ {
			smooth[h] += by[k]
			n++
		}
		smooth[h] /= n
	}
	// What goes on rising to the last of them is the skirt of what looks back at the eye.
	last := len(smooth) - 1
	for last > 0 && smooth[last-1] <= smooth[last] {
		last--
	}
	peak, top := 0, 0.0
	for h, v := range smooth[:last+1] {
		if v > top {
			peak, top = h, v
		}
	}
	if top <= 0 || peak == last && last < len(smooth)-1 {
		return 0, false
	}
	// Only the peak itself: from its top down to half of it on either side.
	var sum, moment float64
	for h := peak; h >= 0 && smooth[h] > top/2; h-- {
		sum, moment = sum+smooth[h], moment+smooth[h]*(float64(h)+0.5)
	}
	for h := peak + 1; h <= last && smooth[h] > top/2; h++ {
		sum, moment = sum+smooth[h], moment+smooth[h]*(float64(h)+0.5)
	}
	off = 90 - moment/sum
	return off, off < grazing
}
