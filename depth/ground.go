package depth

import (
	"context"
	"math"

	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/surface"

	"gonum.org/v1/gonum/spatial/r2"
)

// ground is the work under the guide as cut so far: a field of heights, with the
// highest of every tile beside it. Where there is no metal it lies at nothing.
type ground struct {
	*lattice
	field  *surface.Field
	holes  []run     // cells without metal
	peak   []float32 // no cell of a tile is higher, nor a crest between it and the next
	stale  []bool    // cut since the peak was taken
	rough  []bool    // ever cut
	crests crests
	tx, ty int // tiles
	cutter cutter.Cutter
	tan    float64 // of the cutter's half angle
	carved bool
}

// nothing is the height of a cell without metal, mm: deeper than any blank.
const nothing = -1000

// run is cells from to to of row row.
type run struct{ row, from, to int32 }

// newGround lays cells over the metal that cuts and foot may come to.
func newGround(ctx context.Context, w *Work, g surface.Grid, foot float64) (*ground, error) {
	l, err := newLattice(ctx, w.Stock, g, foot)
	if err != nil {
		return nil, err
	}
	return &ground{lattice: l, cutter: w.Cutter, tan: math.Tan(w.Cutter.Half()), tx: l.nx - 1, ty: l.ny - 1, field: &surface.Field{Grid: g}, holes: missing(w.Blank, g)}, nil
}

// missing lists the cells of a grid whose centres lie off the metal.
func missing(b *blank.Blank, g surface.Grid) []run {
	metal := b.Ground()
	var out []run
	for j := range g.Ny {
		for i := 0; i < g.Nx; {
			x, y := g.At(i, j)
			d := metal.Distance(r2.Vec{X: x, Y: y})
			// No distance changes faster than one walks.
			n := min(max(1, int(math.Abs(d)/g.Cell)), g.Nx-i)
			if d > 0 {
				if k := len(out) - 1; k >= 0 && out[k].row == int32(j) && out[k].to == int32(i) {
					out[k].to += int32(n)
				} else {
					out = append(out, run{int32(j), int32(i), int32(i + n)})
				}
			}
			i += n
		}
	}
	return out
}

// fresh makes the ground uncut stock again.
func (g *ground) fresh(ctx context.Context) error {
	if g.field.Z == nil {
		f, err := surface.NewField(g.field.Grid)
		if err != nil {
			return err
		}
		g.field.Z, g.field.Stride = f.Z, f.Stride // its grid is read meanwhile by ways that need no ground
		g.peak, g.stale, g.rough = make([]float32, g.tx*g.ty), make([]bool, g.tx*g.ty), make([]bool, g.tx*g.ty)
		g.crests = crests{first: make([]int32, g.tx*g.ty), count: make([]uint8, g.tx*g.ty)}
	}
	f := g.field
	err := each(ctx, f.Ny, func(j int) {
		row := f.Z[j*f.Stride:][:f.Stride]
		if g.flat {
			if g.carved {
				clear(row)
			}
			return
		}
		g.level(f.Row(j), j)
	})
	if err != nil {
		return err
	}
	for _, h := range g.holes {
		row := f.Row(int(h.row))[h.from:h.to]
		for i := range row {
			row[i] = nothing
		}
	}
	clear(g.stale)
	clear(g.rough)
	clear(g.crests.count)
	g.crests.pool = g.crests.pool[:0]
	clear(g.peak)
	if !g.flat {
		for j := range g.ty {
			for i := range g.tx {
				a, b := g.z[j*g.nx+i:][:2], g.z[(j+1)*g.nx+i:][:2]
				g.peak[j*g.tx+i] = max(a[0], a[1], b[0], b[1]) + float32(g.hair)
			}
		}
	}
	g.carved = false
	return nil
}

// release gives the field's memory back; fresh takes it again.
func (g *ground) release() {
	g.field.Z, g.peak, g.stale, g.rough = nil, nil, nil, nil
	g.crests = crests{}
}

// level fills row j with the stock's heights.
func (g *ground) level(row []float32, j int) {
	v := float32(j%tile) / tile
	a, b := g.z[j/tile*g.nx:][:g.nx], g.z[(j/tile+1)*g.nx:][:g.nx]
	here := a[0] + float32((b[0]-a[0])*v)
	for t := 0; t*tile < len(row); t++ {
		next := a[t+1] + float32((b[t+1]-a[t+1])*v)
		slope := (next - here) * (1.0 / tile)
		cells := row[t*tile : min((t+1)*tile, len(row))]
		for i := range cells {
			cells[i] = here + float32(float32(i)*slope)
		}
		here = next
	}
}

// uncut says whether ground of height z at a place in cells is as it was before
// the first cut.
func (g *ground) uncut(x, y, z float64) bool {
	const hair = 2e-5 // mm
	return z >= g.at(x, y)-hair
}

// cells returns a place on the work in cells.
func (g *ground) cells(x, y float64) (float64, float64) {
	return float64((x - g.x0) * g.per), float64((y - g.y0) * g.per)
}

// stockAt returns the stock's height at a place on the work, mm.
func (g *ground) stockAt(x, y float64) float64 {
	if g.flat {
		return 0
	}
	return g.at(g.cells(x, y))
}

// carve lowers the ground to what a cut leaves; its pieces hold its heights.
func (g *ground) carve(pieces []engine.Piece) error {
	k, err := surface.NewCarver([]engine.Cut{{Pieces: pieces}}, g.cutter)
	if err != nil {
		return err
	}
	g.carved = true
	low := math.Inf(1)
	for i := range pieces {
		for _, v := range pieces[i].Path {
			low = min(low, v.Z)
		}
	}
	k.CarveNear(g.field, func(a, b r2.Vec) float64 {
		ax, ay := g.cells(a.X, a.Y)
		bx, by := g.cells(b.X, b.Y)
		return g.over(ax, ay, bx, by, low)
	})
	for i := range pieces {
		path := pieces[i].Path
		for j := 1; j < len(path); j++ {
			g.spoil(&path[j-1], &path[j])
		}
	}
	return nil
}

// over returns a height that no stock stands above in reach of a V between two
// places in cells, no deeper than low.
func (g *ground) over(ax, ay, bx, by, low float64) float64 {
	if g.flat {
		return 0
	}
	s := max(g.slope(ax, ay), g.slope(bx, by))
	dx, dy := bx-ax, by-ay
	away := math.Sqrt(float64(dx*dx)+float64(dy*dy)) / 2
	if away > tile*block {
		return g.top // the slope is bounded no farther
	}
	// The V reaches (top − low)·tan α and half its flat, over which stock rises.
	steep := s * g.per * g.tan
	if !(steep < 0.5) {
		return g.top
	}
	h := max(g.at(ax, ay), g.at(bx, by)) + float64(s*(away+g.cutter.Flat/2*g.per))
	top := (h - float64(steep*low)) / (1 - steep)
	if (top-low)*g.tan*g.per > tile*block {
		return g.top
	}
	return min(g.top, top)
}

// spoil notes the tiles that a cut has lowered on its way from a to b.
func (g *ground) spoil(a, b *engine.Vertex) {
	ax, ay := g.cells(a.X, a.Y)
	bx, by := g.cells(b.X, b.Y)
	dx, dy := bx-ax, by-ay
	n := math.Ceil(math.Sqrt(float64(dx*dx)+float64(dy*dy)) / tile)
	low := min(a.Z, b.Z)
	for k := 0.0; k < n; k++ { // half a tile to either side, and the cells that crests are seen by
		x, y := mix(ax, bx, (k+0.5)/n), mix(ay, by, (k+0.5)/n)
		high := g.over(x, y, x, y, low)
		r := max(0, (float64((high-low)*g.tan)+g.cutter.Flat/2)*g.per) + tile/2 + 3
		i0, i1 := max(0, int(x-r)/tile), min(g.tx-1, int(x+r)/tile)
		j0, j1 := max(0, int(y-r)/tile), min(g.ty-1, int(y+r)/tile)
		for j := j0; j <= j1; j++ {
			for i := i0; i <= i1; i++ {
				g.stale[j*g.tx+i], g.rough[j*g.tx+i] = true, true
			}
		}
	}
}
