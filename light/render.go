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
	p, err := begin(v, k, b, s)
	if err != nil {
		return nil, err
	}
	if err := p.make(ctx, false, progress); err != nil {
		return nil, err
	}
	return p.image, nil
}

// Film makes one picture after another of the same view: the scene of each is asked
// for by its number from 0 to frames-1, and the picture handed on before the next is
// made in the same image. The work is carved once if the view is not too large for
// it. An error from hand ends the film and is returned.
func Film(ctx context.Context, v View, k *surface.Carver, b *blank.Blank, frames int, scene func(int) Scene,
	hand func(int, *image.NRGBA) error) error {
	var p *picture
	for i := range frames {
		if p == nil {
			var err error
			if p, err = begin(v, k, b, scene(i)); err != nil {
				return fmt.Errorf("frame %d: %w", i+1, err)
			}
		} else {
			s := scene(i)
			if err := s.Check(); err != nil {
				return fmt.Errorf("frame %d: scene: %w", i+1, err)
			}
			p.sheens, p.near = newSheens(s), s.nearness()
		}
		if err := p.make(ctx, i > 0, nil); err != nil {
			return err
		}
		if err := hand(i, p.image); err != nil {
			return err
		}
	}
	return nil
}

// begin checks what a picture is to be made of and makes it ready.
func begin(v View, k carving, b *blank.Blank, s Scene) (*picture, error) {
	if err := v.Check(); err != nil {
		return nil, fmt.Errorf("view: %w", err)
	}
	if err := s.Check(); err != nil {
		return nil, fmt.Errorf("scene: %w", err)
	}
	if len(s.Stuff.Metal.spectrum) == 0 {
		panic("light: a Metal that did not come from Metals or MetalNamed")
	}
	return newPicture(v, k, b, s), nil
}

// make fills the image, strip by strip. If the carving of the whole is still at hand
// it may be kept.
func (p *picture) make(ctx context.Context, kept bool, progress func(done, total int)) error {
	for len(p.workers) < runtime.GOMAXPROCS(0) {
		p.workers = append(p.workers, newWorker(p))
	}
	rows := stripSamples/(p.across()*p.Samples) - 2
	if rows > taskRows {
		rows -= rows % taskRows
	}
	rows = max(rows, 1)
	for from := 0; from < p.H; from += rows {
		to := min(from+rows, p.H)
		if !kept || to-from < p.H {
			if err := p.carve(ctx, from, to); err != nil {
				return fmt.Errorf("carving rows %d to %d of the picture: %w", from+1, to, err)
			}
		}
		p.shade(ctx)
		if err := ctx.Err(); err != nil {
			return err
		}
		if progress != nil {
			progress(to, p.H)
		}
	}
	return nil
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
	near    nearness
	image   *image.NRGBA
	left    float64 // x of the picture's left edge
	top     float64 // y of its top edge
	strip   samples
	workers []*worker
}

func newPicture(v View, k carving, b *blank.Blank, s Scene) *picture {
	return &picture{
		View: v, carving: k, ground: b.Ground(), sheens: newSheens(s), near: s.nearness(),
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
func (p *picture) shade(ctx context.Context) {
	var next atomic.Int32
	var wg sync.WaitGroup
	for _, w := range p.workers {
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
