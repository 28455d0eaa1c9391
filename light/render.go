package light

import (
	"context"
	"fmt"
	"image"
	"runtime"
	"sync"
	"sync/atomic"

	"brightcut/blank"
	"brightcut/surface"
)

// carving is what a picture asks of the carved surface; *surface.Carver does it.
type carving interface {
	Bands(ctx context.Context, g surface.Grid, facets bool, visit func(surface.Band) error) error
	Slope(facet int32, x, y float64) (dzdx, dzdy float64)
}

// Render makes the picture of a blank carved by cuts, as the scene has it. It is the same, byte for byte, on any number of cores. Besides the image
// it holds about 80 MB, and for the widest with the most samples 250 MB. Progress, if not nil, is told
// of the rows of pixels that are done.
//
// A view or a scene that cannot be used is returned as a fault.List; a blank must
// have passed its own Check.
func Render(ctx context.Context, v View, k *surface.Carver, b *blank.Blank, s Scene,
	progress func(done, total int)) (*image.NRGBA, error) {
	return render(ctx, v, k, b, s, progress)
}

func render(ctx context.Context, v View, k carving, b *blank.Blank, s Scene,
	progress func(done, total int)) (*image.NRGBA, error) {
	if err := v.Check(); err != nil {
		return nil, fmt.Errorf("view: %w", err)
	}
	if err := s.Check(); err != nil {
		return nil, fmt.Errorf("scene: %w", err)
	}
	if len(s.Stuff.Metal.spectrum) == 0 {
		panic("light: Render: a Metal that did not come from Metals or MetalNamed")
	}
	p := newPicture(v, k, b, s)
	workers := make([]*worker, runtime.GOMAXPROCS(0))
	for i := range workers {
		workers[i] = newWorker(p)
	}
	rows := stripSamples/(v.across()*v.Samples) - 2
	if rows > taskRows {
		rows -= rows % taskRows
	}
	rows = max(rows, 1)
	for from := 0; from < v.H; from += rows {
		to := min(from+rows, v.H)
		if err := p.carve(ctx, from, to); err != nil {
			return nil, fmt.Errorf("carving rows %d to %d of the picture: %w", from+1, to, err)
		}
		p.shade(ctx, workers)
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if progress != nil {
			progress(to, v.H)
		}
	}
	return p.image, nil
}

// The picture is made in strips of rows of about stripSamples samples, and a
// strip in tasks of taskRows rows for the workers.
const (
	stripSamples = 8 << 20
	taskRows     = 24
)

// picture is a picture being made.
type picture struct {
	View
	carving carving
	ground  *blank.Field
	sheens
	parallax float64
	image    *image.NRGBA
	left     float64 // x of the picture's left edge
	top      float64 // y of its top edge
	strip    samples
}

func newPicture(v View, k carving, b *blank.Blank, s Scene) *picture {
	return &picture{
		View: v, carving: k, ground: b.Ground(), sheens: newSheens(s), parallax: s.Eye.parallax(),
		image: image.NewNRGBA(image.Rect(0, 0, v.W, v.H)),
		left:  v.Centre.X - v.Width/2,
		top:   v.Centre.Y + v.Pixel()*float64(v.H)/2,
	}
}

// samples holds the carved samples of the picture's rows from to to. Beyond them
// lie on every side the samples of one pixel, which the filter needs, and one
// more, to place edges. Rows of samples run upwards, rows of pixels downwards.
type samples struct {
	surface.Grid
	from, to int
	z        []float32
	facet    []int32
}

func (p *picture) carve(ctx context.Context, from, to int) error {
	s, n := &p.strip, p.Samples
	cell := p.Pixel() / float64(n)
	margin := float64((float64(n) + 0.5) * cell)
	s.from, s.to = from, to
	s.Grid = surface.Grid{
		X0: p.left - margin, Y0: p.top - float64(p.Pixel()*float64(to)) - margin, Cell: cell,
		Nx: p.across(), Ny: (to-from+2)*n + 2,
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

// shade turns the samples of a strip into pixels.
func (p *picture) shade(ctx context.Context, workers []*worker) {
	var next atomic.Int32
	var wg sync.WaitGroup
	for _, w := range workers {
		wg.Go(func() {
			for ctx.Err() == nil {
				from := p.strip.from + int(next.Add(1)-1)*taskRows
				if from >= p.strip.to {
					return
				}
				w.make(from, min(from+taskRows, p.strip.to))
			}
		})
	}
	wg.Wait()
}
