package surface

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Region is a part of the work: Distance is below 0 in it and above 0 outside,
// and changes by no more than p moves. *blank.Field is one.
type Region interface {
	Distance(p r2.Vec) float64
}

// Survey is what was found over a region.
type Survey struct {
	Grid    Grid
	Cells   int64   // with their centre in the region
	Uncut   int64   // of those, left as they were: the lands
	Highest float64 // height, mm
	Lowest  float64
	Texture Areal
	Crests  Crests
}

// LandShare returns the share of the region that no cut touches.
func (s Survey) LandShare() float64 {
	if s.Cells == 0 {
		return 0
	}
	return float64(s.Uncut) / float64(s.Cells)
}

// Survey carves flat stock over the grid by bands, twice, and measures what lies
// in the region (everywhere, when it is nil). Slopes are the flanks' own. The
// figures are the same on any number of cores.
func (k *Carver) Survey(ctx context.Context, g Grid, in Region) (Survey, error) {
	s := Survey{Grid: g}
	if err := g.check(); err != nil {
		return s, err
	}
	rows := bandRows(stride(g.Nx), g.Ny)
	bands := (g.Ny + rows - 1) / rows

	levels := make([]levelling, bands)
	if err := k.Bands(ctx, g, false, func(b Band) error {
		levels[b.Row/rows].take(b, in)
		return nil
	}); err != nil {
		return s, err
	}
	l := join(levels)
	s.Cells, s.Uncut = l.cells, l.uncut
	if s.Cells == 0 {
		return s, nil
	}
	s.Lowest, s.Highest = l.low, l.high
	mean := l.sum / float64(l.cells)

	parts := make([]finding, bands)
	crests := newCrestCount(k.deepest())
	if err := k.Bands(ctx, g, true, func(b Band) error {
		part := &parts[b.Row/rows]
		part.take(k, b, in, mean)
		crests.join(part.crests)
		part.crests = nil
		return nil
	}); err != nil {
		return s, err
	}
	var m moments
	var sl slopes
	for _, p := range parts {
		m.join(p.moments)
		sl.join(p.slopes)
	}
	s.Texture = Areal{Sz: s.Highest - s.Lowest}
	s.Texture.Sa, s.Texture.Sq, s.Texture.Ssk, s.Texture.Sku = m.figures()
	s.Texture.Sdq, s.Texture.Sdr = sl.figures()
	s.Crests = crests.figures()
	return s, nil
}

// levelling is what the first pass finds in a band.
type levelling struct {
	cells, uncut   int64
	sum, low, high float64
}

func (l *levelling) take(b Band, in Region) {
	l.low, l.high = math.Inf(1), math.Inf(-1)
	for j := range b.Rows {
		z := b.Z[j*b.Stride:]
		inside(b.Grid, b.Row+j, in, func(from, to int) {
			l.cells += int64(to - from)
			sum := 0.0
			for i := from; i < to; i++ {
				h := float64(z[i])
				sum += h
				l.low, l.high = min(l.low, h), max(l.high, h)
				if h == 0 { // a cut only ever lowers
					l.uncut++
				}
			}
			l.sum += sum
		})
	}
}

func join(levels []levelling) levelling {
	all := levels[0]
	for _, l := range levels[1:] {
		all.cells += l.cells
		all.uncut += l.uncut
		all.sum += l.sum
		all.low, all.high = min(all.low, l.low), max(all.high, l.high)
	}
	return all
}

// finding is what the second pass finds in a band.
type finding struct {
	moments moments
	slopes  slopes
	crests  []float64 // depths of the crests
}

func (f *finding) take(k *Carver, b Band, in Region, mean float64) {
	above := make([]bool, b.Grid.Nx) // in the region, one row up
	here := make([]bool, b.Grid.Nx)
	for j := range b.Rows {
		at := j * b.Stride
		z, facet := b.Z[at:], b.Facet[at:]
		clear(here)
		inside(b.Grid, b.Row+j, in, func(from, to int) {
			var m moments
			last, gx, gy := int32(-1), 0.0, 0.0
			for i := from; i < to; i++ {
				here[i] = true
				m.add(float64(z[i]) - mean)
				if facet[i] != last {
					gx, gy = b.slope(k, i, j)
					if i > from {
						f.crest(k, b, i-1, j, i, j)
					}
					last = facet[i]
				}
				f.slopes.add(gx, gy, 1)
				if j > 0 && above[i] && b.Facet[at-b.Stride+i] != last {
					f.crest(k, b, i, j-1, i, j)
				}
			}
			f.moments.join(m)
		})
		above, here = here, above
	}
}

// slope returns the slope at cell (i, j) of the band; 0 where it is uncut.
func (b Band) slope(k *Carver, i, j int) (gx, gy float64) {
	id := b.Facet[j*b.Stride+i]
	if id < 0 {
		return 0, 0
	}
	x, y := b.Grid.At(i, b.Row+j)
	return k.Slope(id, x, y)
}

// inside calls visit for each stretch of cells of row j that lies in the region.
// The distance to its edge tells how many cells may be passed at once.
func inside(g Grid, j int, in Region, visit func(from, to int)) {
	if in == nil {
		visit(0, g.Nx)
		return
	}
	from := -1
	for i := 0; i < g.Nx; {
		x, y := g.At(i, j)
		d := in.Distance(r2.Vec{X: x, Y: y})
		if d < 0 && from < 0 {
			from = i
		}
		if d >= 0 && from >= 0 {
			visit(from, i)
			from = -1
		}
		i += max(1, int(min(math.Abs(d)/g.Cell, MaxSide)))
	}
	if from >= 0 {
		visit(from, g.Nx)
	}
}
