package light

import (
	"context"
	"fmt"
	"image"
	"runtime"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
	"brightcut/surface"
)

// carving is what a picture asks of the carved surface; *surface.Carver does it.
type carving interface {
	Bands(ctx context.Context, g surface.Grid, facets bool, visit func(surface.Band) error) error
	Slope(facet int32, x, y float64) (dzdx, dzdy float64)
}

// Render makes the picture of a blank carved by cuts, in the given metal and
// light. It is the same, byte for byte, on any number of cores. Besides the image
// it holds about 40 MB, whatever the picture's size. Progress, if not nil, is told
// of the rows of pixels that are done.
//
// A view or a lamp that cannot be used is returned as a fault.List; a blank must
// have passed its own Check.
func Render(ctx context.Context, v View, k *surface.Carver, b *blank.Blank, m Metal, l Lamp,
	progress func(done, total int)) (*image.NRGBA, error) {
	return render(ctx, v, k, b, m, l, progress)
}

func render(ctx context.Context, v View, k carving, b *blank.Blank, m Metal, l Lamp,
	progress func(done, total int)) (*image.NRGBA, error) {
	if err := v.Check(); err != nil {
		return nil, fmt.Errorf("view: %w", err)
	}
	if err := l.Check(); err != nil {
		return nil, fmt.Errorf("lamp: %w", err)
	}
	if len(m.spectrum) == 0 {
		panic("light: Render: a Metal that did not come from Metals or MetalNamed")
	}
	p := &picture{
		View: v, carving: k, ground: b.Ground(), sheen: newSheen(m, l),
		image: image.NewNRGBA(image.Rect(0, 0, v.W, v.H)),
		cell:  v.Pixel() / float64(v.Samples),
		left:  v.Centre.X - v.Width/2,
		top:   v.Centre.Y + v.Pixel()*float64(v.H)/2,
	}
	// The picture is made in strips of rows, so many that a strip's samples take
	// about 32 MB.
	const samples = 4 << 20
	rows := max(1, samples/(v.Samples*(v.W*v.Samples+2)))
	var held samplesOf
	for from := 0; from < v.H; from += rows {
		to := min(from+rows, v.H)
		if err := p.carve(ctx, &held, from, to); err != nil {
			return nil, fmt.Errorf("carving rows %d to %d of the picture: %w", from+1, to, err)
		}
		p.shade(ctx, &held)
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if progress != nil {
			progress(to, v.H)
		}
	}
	return p.image, nil
}

// picture is a picture being made.
type picture struct {
	View
	carving carving
	ground  *blank.Field
	sheen   *sheen
	image   *image.NRGBA
	cell    float64 // distance between samples
	left    float64 // x of the picture's left edge
	top     float64 // y of its top edge
}

// samplesOf holds the carved samples of the picture's rows from to to, with one
// sample more all round. Rows of samples run upwards, rows of pixels downwards.
type samplesOf struct {
	surface.Grid
	from, to int
	z        []float32
	facet    []int32
}

func (p *picture) carve(ctx context.Context, s *samplesOf, from, to int) error {
	s.from, s.to = from, to
	s.Grid = surface.Grid{
		X0: p.left - p.cell/2, Y0: p.top - float64(p.Pixel()*float64(to)) - p.cell/2, Cell: p.cell,
		Nx: p.W*p.Samples + 2, Ny: (to-from)*p.Samples + 2,
	}
	if n := s.Nx * s.Ny; len(s.z) < n {
		s.z, s.facet = make([]float32, n), make([]int32, n)
	}
	return p.carving.Bands(ctx, s.Grid, true, func(b surface.Band) error {
		for j := range b.Rows {
			k := (b.Row + j) * s.Nx
			copy(s.z[k:k+s.Nx], b.Z[j*b.Stride:])
			copy(s.facet[k:k+s.Nx], b.Facet[j*b.Stride:])
		}
		return nil
	})
}

// shade turns the samples of a strip into pixels, a few rows of pixels to a task.
func (p *picture) shade(ctx context.Context, s *samplesOf) {
	const rows = 8
	var next atomic.Int32
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			r := newResolver(p, s)
			for ctx.Err() == nil {
				from := s.from + int(next.Add(1)-1)*rows
				if from >= s.to {
					return
				}
				r.rows(from, min(from+rows, s.to))
			}
		})
	}
	wg.Wait()
}

// edges finds, for a row of pixels, where the metal ends: distance holds for each
// pixel's centre a signed distance that is exact near the edge, and elsewhere
// only says on which side it lies.
func (p *picture) edges(row int, distance []float64) {
	pixel := p.Pixel()
	y := p.top - float64((float64(row)+0.5)*pixel)
	for i := 0; i < len(distance); {
		d := p.ground.Distance(r2.Vec{X: p.left + float64((float64(i)+0.5)*pixel), Y: y})
		distance[i] = d
		i++
		// No distance changes faster than one walks: skip what is far from it.
		far := max(d, -d-bevelWidth) - pixel
		for skip := int(min(far/pixel, float64(len(distance)))); skip > 0 && i < len(distance); skip-- {
			distance[i] = d
			i++
		}
	}
}
