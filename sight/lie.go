package sight

import (
	"context"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
	"brightcut/surface"
)

// lie is how the surface of the field leans, place by place.
type lie struct {
	cell   float64 // side of a place, mm
	nx, ny int
	lean   []int32 // of every place: a bin of slopes, or uncut, or outside
	bins   []bin   // of the flanks of cuts, by their numbers; empty ones too
	used   []int32 // the numbers of those that are not
	cut    int     // places
	plain  int     // places that are uncut
}

// bin is a small range of slopes.
type bin struct {
	count      int
	dzdx, dzdy float64 // mean slope
}

const (
	uncut   = -1
	outside = -2

	slopeBins  = 256     // along each axis of the sideways part of the normal: half a degree
	mostPlaces = 4 << 20 // that are looked at
)

// binOf is the number of the bin of a slope.
func binOf(dzdx, dzdy float64) int32 {
	s := slopeBins / 2 / math.Sqrt(1+float64(dzdx*dzdx)+float64(dzdy*dzdy))
	i, j := int(dzdx*s+slopeBins/2), int(dzdy*s+slopeBins/2)
	return int32(min(max(j, 0), slopeBins-1)*slopeBins + min(max(i, 0), slopeBins-1))
}

// survey looks at the field of a blank in places of a quarter of what the eye takes
// for a point, or of a tenth of a groove where that is smaller; coarser where the
// field is too large for that.
func survey(ctx context.Context, k *surface.Carver, b *blank.Blank, point, width float64) (*lie, error) {
	field := b.Field()
	box := field.Bounds()
	size := r2.Sub(box.Max, box.Min)
	l := &lie{cell: min(point/4, width/10), bins: make([]bin, slopeBins*slopeBins)}
	if n := size.X / l.cell * (size.Y / l.cell); n > mostPlaces {
		l.cell *= math.Sqrt(n / mostPlaces)
	}
	l.nx, l.ny = max(1, int(size.X/l.cell)), max(1, int(size.Y/l.cell))
	l.lean = make([]int32, l.nx*l.ny)
	g := surface.Grid{X0: box.Min.X + l.cell/2, Y0: box.Min.Y + l.cell/2, Cell: l.cell, Nx: l.nx, Ny: l.ny}
	// What a band adds to a bin is rounded to steps, so that the sum is the same in
	// whatever order bands come.
	const step = 1 << 20
	var mu sync.Mutex
	sums := make([][2]int64, len(l.bins))
	err := k.Bands(ctx, g, true, func(band surface.Band) error {
		type share struct {
			n    int32
			p, q float64
		}
		var shares []share
		for j := range band.Rows {
			y := g.Y0 + float64(float64(band.Row+j)*l.cell)
			lean := l.lean[(band.Row+j)*l.nx:][:l.nx]
			skip, within := 0, false
			for i := range lean {
				x := g.X0 + float64(float64(i)*l.cell)
				if skip > 0 {
					skip--
				} else {
					d := field.Distance(r2.Vec{X: x, Y: y})
					within = d <= 0
					skip = max(0, int(math.Abs(d)/l.cell)-1) // no distance changes faster than one walks
				}
				f := band.Facet[j*band.Stride+i]
				switch {
				case !within:
					lean[i] = outside
				case f < 0:
					lean[i] = uncut
				default:
					p, q := k.Slope(f, x, y)
					lean[i] = binOf(p, q)
					shares = append(shares, share{lean[i], p, q})
				}
			}
		}
		mu.Lock()
		defer mu.Unlock()
		for _, s := range shares {
			l.bins[s.n].count++
			sums[s.n][0] += int64(math.Round(s.p * step))
			sums[s.n][1] += int64(math.Round(s.q * step))
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for n := range l.bins {
		if b := &l.bins[n]; b.count > 0 {
			b.dzdx, b.dzdy = float64(sums[n][0])/step/float64(b.count), float64(sums[n][1])/step/float64(b.count)
			l.used = append(l.used, int32(n))
			l.cut += b.count
		}
	}
	for _, n := range l.lean {
		if n == uncut {
			l.plain++
		}
	}
	return l, nil
}

// patches returns the mean over squares of the field, of about the given side, of what
// every place sends, told by its bin and for uncut ground. Squares that lie in the
// field by less than half are left out, and those of which less is cut than the given
// share of what is cut of the middle one of them.
func (l *lie) patches(side, least float64, of func(lean int32) float64) []float64 {
	n := max(1, int(side/l.cell+0.5))
	var means, cuts, some []float64
	for j := 0; j+n <= l.ny; j += n {
		for i := 0; i+n <= l.nx; i += n {
			var sum float64
			count, cut := 0, 0
			for y := j; y < j+n; y++ {
				for _, lean := range l.lean[y*l.nx+i:][:n] {
					if lean != outside {
						sum += of(lean)
						count++
					}
					if lean >= 0 {
						cut++
					}
				}
			}
			if 2*count < n*n {
				continue
			}
			means, cuts = append(means, sum/float64(count)), append(cuts, float64(cut)/float64(count))
			if cut > 0 {
				some = append(some, float64(cut)/float64(count))
			}
		}
	}
	if least == 0 || len(some) == 0 {
		return means
	}
	slices.Sort(some)
	least *= some[len(some)/2]
	k := 0
	for i, m := range means {
		if cuts[i] >= least {
			means[k] = m
			k++
		}
	}
	return means[:k]
}

// spread is the ratio of what a tenth of the values lie below to what a tenth lie
// above: 1 where all are alike.
func spread(values []float64) float64 {
	if len(values) == 0 {
		return 1
	}
	s := slices.Clone(values)
	slices.Sort(s)
	low, high := s[len(s)/10], s[len(s)-1-len(s)/10]
	if high <= 0 {
		return 1
	}
	return low / high
}

// variation is the standard deviation of the values as a share of their mean.
func variation(values []float64) float64 {
	var mean, sum float64
	for _, v := range values {
		mean += v / float64(len(values))
	}
	if mean <= 0 {
		return 0
	}
	for _, v := range values {
		sum += float64((v - mean) * (v - mean))
	}
	return math.Sqrt(sum/float64(len(values))) / mean
}
