package depth

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"brightcut/surface"

	"gonum.org/v1/gonum/spatial/r2"
)

// tile is the number of cells along the side of a tile. The stock's heights are
// worked out at the corners of tiles and go by straight lines between: over
// 80 µm a form bent to a radius of 80 mm lies within 0.01 µm of them.
const tile = 8

// lattice is the heights of the stock at the corners of the tiles of a ground.
type lattice struct {
	flat   bool
	x0, y0 float64 // of cell (0, 0), mm
	per    float64 // cells to the mm
	nx, ny int     // corners; corner (i, j) stands at cell (tile·i, tile·j)
	z      []float32
	top    float64   // of all
	hair   float64   // that rounding may add to a cell, mm
	steep  []float32 // greatest slope, height a cell, in each block and those beside it
	bx     int       // blocks in a row
}

// mostForm bounds the stock's height, mm.
const mostForm = 100

// block is the number of tiles along the side of a block.
const block = 16

// newLattice works the stock out over a ground; foot is how far, in mm, the guide
// looks for ground.
func newLattice(ctx context.Context, s *Stock, g surface.Grid, foot float64) (*lattice, error) {
	l := &lattice{hair: 1e-7, x0: g.X0, y0: g.Y0, per: 1 / g.Cell, nx: (g.Nx-1)/tile + 2, ny: (g.Ny-1)/tile + 2}
	if s == nil || s.map_ == nil {
		l.flat = true
		return l, nil
	}
	l.z = make([]float32, l.nx*l.ny)
	err := each(ctx, l.ny, func(j int) {
		for i := range l.nx {
			z, _, _ := s.Height(r2.Vec{X: g.X0 + float64(i*tile)*g.Cell, Y: g.Y0 + float64(j*tile)*g.Cell})
			l.z[j*l.nx+i] = float32(z)
		}
	})
	if err != nil {
		return nil, err
	}
	l.top = math.Inf(-1)
	for _, z := range l.z {
		if !(math.Abs(float64(z)) < mostForm) {
			return nil, fmt.Errorf("depth: the form of the stock reaches %v mm, more than %d mm off its nominal surface; look at the units of its readings", z, mostForm)
		}
		l.top = max(l.top, float64(z))
	}
	l.hair = 1e-7 + 1e-6*math.Abs(l.top)
	l.slopes(int(math.Ceil(foot * l.per / (tile * block))))
	return l, nil
}

// slopes finds the greatest slope in each block and in those up to around beside
// it.
func (l *lattice) slopes(around int) {
	l.bx = (l.nx-2)/block + 1
	by := (l.ny-2)/block + 1
	own := make([]float32, l.bx*by)
	for j := range l.ny - 1 {
		for i := range l.nx - 1 {
			a, b := l.z[j*l.nx+i:][:2], l.z[(j+1)*l.nx+i:][:2]
			dx := max(abs(a[1]-a[0]), abs(b[1]-b[0]))
			dy := max(abs(b[0]-a[0]), abs(b[1]-a[1]))
			s := &own[j/block*l.bx+i/block]
			*s = max(*s, float32(math.Sqrt(float64(dx*dx+dy*dy)))/tile)
		}
	}
	l.steep = make([]float32, len(own))
	for j := range by {
		for i := range l.bx {
			for v := max(0, j-around); v <= min(by-1, j+around); v++ {
				for u := max(0, i-around); u <= min(l.bx-1, i+around); u++ {
					l.steep[j*l.bx+i] = max(l.steep[j*l.bx+i], own[v*l.bx+u])
				}
			}
		}
	}
}

func abs(v float32) float32 { return max(v, -v) }

// at returns the stock's height at a place in cells, kept inside the ground.
func (l *lattice) at(x, y float64) float64 {
	if l.flat {
		return 0
	}
	i, u := l.corner(x, l.nx)
	j, v := l.corner(y, l.ny)
	a, b := l.z[j*l.nx+i:][:2], l.z[(j+1)*l.nx+i:][:2]
	low := mix(float64(a[0]), float64(a[1]), u)
	return mix(low, mix(float64(b[0]), float64(b[1]), u), v)
}

func (l *lattice) corner(t float64, n int) (int, float64) {
	t = min(max(t*(1.0/tile), 0), float64(n-1))
	i := min(int(t), n-2)
	return i, t - float64(i)
}

// slope returns a bound on the slope of the stock, height a cell, in reach of a
// foot at a place in cells.
func (l *lattice) slope(x, y float64) float64 {
	if l.flat {
		return 0
	}
	i := min(max(int(x)/(tile*block), 0), l.bx-1)
	j := min(max(int(y)/(tile*block), 0), len(l.steep)/l.bx-1)
	return float64(l.steep[j*l.bx+i])
}

// each calls do for 0 to n−1 on all cores. do must touch only what is its own.
func each(ctx context.Context, n int, do func(i int)) error {
	const batch = 16
	var next atomic.Int64
	var group sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), (n+batch-1)/batch) {
		group.Go(func() {
			for ctx.Err() == nil {
				from := int(next.Add(batch)) - batch
				if from >= n {
					return
				}
				for i := from; i < min(from+batch, n); i++ {
					do(i)
				}
			}
		})
	}
	group.Wait()
	return ctx.Err()
}
