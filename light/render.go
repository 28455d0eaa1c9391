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

// Render makes the picture of a blank carved by cuts, as the scene has it. It is the
// same, byte for byte, on any number of cores. Besides the image it holds some lines
// of samples for each core, 9 MB at 1200 pixels of 4×4, and its tables, 25 MB.
// Progress, if not nil, is told of the rows of pixels that are done.
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
	p.hold(false)
	if err := p.fill(ctx, progress); err != nil {
		return nil, fmt.Errorf("carving the picture: %w", err)
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
	kept := false
	for i := range frames {
		if p == nil {
			var err error
			if p, err = begin(v, k, b, scene(i)); err != nil {
				return fmt.Errorf("frame %d: %w", i+1, err)
			}
			p.hold(v.H*v.Samples <= filmSamples/p.across())
		} else {
			s := scene(i)
			if err := s.Check(); err != nil {
				return fmt.Errorf("frame %d: scene: %w", i+1, err)
			}
			p.sheens, p.near = newSheens(s), s.nearness()
		}
		if kept {
			p.relight(ctx)
		} else if err := p.fill(ctx, nil); err != nil {
			return fmt.Errorf("carving frame %d: %w", i+1, err)
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := hand(i, p.image); err != nil {
			return err
		}
		kept = p.lines.held == p.lines.Ny
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

// picture is a picture being made.
type picture struct {
	View
	carving carving
	ground  *blank.Field
	sheens
	near  nearness
	image *image.NRGBA
	left  float64 // x of the picture's left edge
	top   float64 // y of its top edge
	rows  int     // of pixels in a task
	lines lines
	idle  []*worker
}

func newPicture(v View, k carving, b *blank.Blank, s Scene) *picture {
	return &picture{
		View: v, carving: k, ground: b.Ground(), sheens: newSheens(s), near: s.nearness(),
		image: image.NewNRGBA(image.Rect(0, 0, v.W, v.H)),
		left:  v.Centre.X - v.Width/2,
		top:   v.Centre.Y + v.Pixel()*float64(v.H)/2,
	}
}

// relight makes the picture again of the lines that it has.
func (p *picture) relight(ctx context.Context) {
	var next atomic.Int32
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		w := p.worker()
		wg.Go(func() {
			for ctx.Err() == nil {
				t := int(next.Add(1)) - 1
				if t >= p.tasks() {
					return
				}
				w.make(p.task(t))
			}
		})
		defer func() { p.idle = append(p.idle, w) }()
	}
	wg.Wait()
}
