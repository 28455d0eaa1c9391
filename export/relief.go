package export

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/fault"
	"brightcut/surface"
)

// ReliefOptions say which part of the surface becomes a solid, and how true.
type ReliefOptions struct {
	Name      string
	Window    r2.Box  // in the frame of the work, mm
	Tolerance float64 // greatest distance in height from the carved surface, mm
	Base      float64 // how far below the nominal surface the flat underside lies, mm
}

// Relief is a window of the surface that the cuts leave in flat stock, as a solid
// with upright sides and a flat underside. The outline of the piece does not count.
//
// Its upper side takes corners of a square grid. What the straight lines between
// them leave out of the surface is at most half the tolerance in a cell, by the
// steepest slope that the flanks have: within half a cell of a right triangle of
// side h a function of slope L is off the plane through its three corners by L·h/√2
// at most. The other half is what larger triangles may be off any corner of the
// grid that they cover, each of which is looked at. At the ends of cuts, where the
// cutter leaves an upright wall, the wall is a slope of one cell.
//
// A Relief keeps one bit and a half for each corner of the grid, not the heights,
// which are carved anew, 256 rows at a time, for every file written.
type Relief struct {
	opts    ReliefOptions
	carver  *surface.Carver
	grid    surface.Grid // corners of the cells
	mesh    *mesh
	slope   float64
	surface int // triangles of the upper side
	rim     int // corners on the rim
}

// MaxReliefCells is the largest grid of a Relief: its bits take 200 MB.
const MaxReliefCells = 1 << 30

// maxReliefRow is how many cells a row may have: 256 rows of heights take 64 MB.
const maxReliefRow = 1 << 16

// NewRelief chooses the triangles. The error is a fault.List of "window",
// "tolerance" or "base", or that of the carver.
func NewRelief(ctx context.Context, cuts []engine.Cut, c cutter.Cutter, opts ReliefOptions) (*Relief, error) {
	bad := func(field, problem, mend string) error {
		return fault.List{{Field: field, Problem: problem, Mend: mend}}
	}
	w, h := opts.Window.Max.X-opts.Window.Min.X, opts.Window.Max.Y-opts.Window.Min.Y
	far := max(math.Abs(opts.Window.Min.X), math.Abs(opts.Window.Min.Y), math.Abs(opts.Window.Max.X), math.Abs(opts.Window.Max.Y))
	if !(w > 0 && h > 0 && far <= 1000) {
		return nil, bad("window", fmt.Sprintf("from (%g, %g) to (%g, %g) mm is no window on the work", opts.Window.Min.X, opts.Window.Min.Y, opts.Window.Max.X, opts.Window.Max.Y),
			"give its left, lower, right and upper edge in mm")
	}
	if !(opts.Tolerance >= 0.0002 && opts.Tolerance <= 1) {
		return nil, bad("tolerance", fmt.Sprintf("%g um cannot be kept", opts.Tolerance*1000), "give a tolerance between 0.2 and 1000 um")
	}
	deepest := deepestTip(cuts)
	if !(opts.Base > deepest && opts.Base <= 1000) {
		return nil, bad("base", fmt.Sprintf("an underside %g mm below the surface leaves no metal under cuts %.4g mm deep", opts.Base, deepest),
			"put it lower than the deepest cut, for instance 1 mm")
	}
	carver, err := surface.NewCarver(cuts, c)
	if err != nil {
		return nil, err
	}
	r := &Relief{opts: opts, carver: carver, slope: steepest(cuts, c)}
	most := min(opts.Tolerance/2, opts.Tolerance/(math.Sqrt2*r.slope))
	nx := max(1, math.Ceil(w/most-1e-9))
	cell := w / nx
	ny := max(1, math.Ceil(h/cell-1e-9))
	if nx > maxReliefRow || ny > maxReliefRow*16 || nx*ny > MaxReliefCells {
		return nil, bad("tolerance", fmt.Sprintf("%g um over a window of %.4g × %.4g mm takes a grid of %.3g × %.3g cells, more than can be worked", opts.Tolerance*1000, w, h, nx, ny),
			"allow a coarser tolerance or choose a smaller window")
	}
	r.grid = surface.Grid{X0: opts.Window.Min.X, Y0: opts.Window.Min.Y, Cell: cell, Nx: int(nx) + 1, Ny: int(ny) + 1}
	r.mesh = newMesh(int(nx), int(ny))
	r.mesh.corners()
	if err := r.choose(ctx); err != nil {
		return nil, fmt.Errorf("export: choosing the triangles of %q: %w", opts.Name, err)
	}
	r.mesh.close()
	r.mesh.number()
	tx, ty := r.mesh.tiles()
	for j := range ty {
		for i := range tx {
			r.mesh.walk(i, j, func(tri) error { r.surface++; return nil })
		}
	}
	r.mesh.rim(func(int, int) { r.rim++ })
	return r, ctx.Err()
}

// Bound returns how far the upper side may lie above or below the carved surface,
// mm, except within a cell of the upright walls at the ends of cuts.
func (r *Relief) Bound() float64 { return r.opts.Tolerance/2 + r.slope*r.grid.Cell/math.Sqrt2 }

func deepestTip(cuts []engine.Cut) (deep float64) {
	for i := range cuts {
		for _, p := range cuts[i].Pieces {
			for _, v := range p.Path {
				deep = max(deep, -v.Z)
			}
		}
	}
	return deep
}

// steepest bounds the slope of the flanks. The gradient g of a flank satisfies
// g·u = ±cot α along the V and, at the distance t from the tip, g·(T + t·u′) = z′
// along the path (see surface.Carver.Slope). Where the V turns so sharply that the
// flank folds, at |T + t·u′| near 0, other flanks have taken the metal.
func steepest(cuts []engine.Cut, c cutter.Cutter) float64 {
	cot := 1 / math.Tan(c.Half())
	most := cot
	for i := range cuts {
		for _, p := range cuts[i].Pieces {
			for k := 1; k < len(p.Path); k++ {
				a, b := p.Path[k-1], p.Path[k]
				T := r2.Vec{X: b.X - a.X, Y: b.Y - a.Y}
				n := r2.Norm(T)
				if n == 0 {
					continue
				}
				T = r2.Scale(1/n, T)
				dz, turn := (b.Z-a.Z)/n, (b.Across-a.Across)/n
				wide := c.Flat/2 + max(0, -a.Z, -b.Z)/cot
				for _, across := range [2]float64{a.Across, b.Across} {
					sin, cos := math.Sincos(across)
					u, v := r2.Vec{X: cos, Y: sin}, r2.Vec{X: -sin, Y: cos}
					for _, t := range [3]float64{-wide, 0, wide} {
						way := r2.Add(T, r2.Scale(t*turn, v))
						if along := r2.Dot(way, v); math.Abs(along) > 0.05 {
							for _, s := range [2]float64{-cot, cot} {
								most = max(most, math.Hypot(cot, (dz-s*r2.Dot(way, u))/along))
							}
						}
					}
				}
			}
		}
	}
	return most
}

// rows carves the corners of one row of tiles after the other and shows them:
// z(i, j) for j in the row's own 0 to 256. The last line of a row is the first of
// the next, to the bit.
func (r *Relief) rows(ctx context.Context, show func(row int, f *surface.Field) error) error {
	_, ty := r.mesh.tiles()
	var last []float32
	for row := range ty {
		g := r.grid
		g.Y0 += float64(row*square) * g.Cell
		g.Ny = min(square, r.mesh.ny-row*square) + 1
		f, err := surface.NewField(g)
		if err != nil {
			return err
		}
		if err := r.carver.Carve(ctx, f); err != nil {
			return err
		}
		if row > 0 {
			copy(f.Row(0), last)
		}
		last = append(last[:0], f.Row(g.Ny-1)...)
		if err := show(row, f); err != nil {
			return err
		}
	}
	return nil
}

// choose takes the middle of every triangle that is off a corner it covers by more
// than half the tolerance: of all triangles, also of those within one that is true
// enough, since close may halve that one.
func (r *Relief) choose(ctx context.Context) error {
	var lock sync.Mutex
	return r.rows(ctx, func(row int, f *surface.Field) error {
		tx, _ := r.mesh.tiles()
		return eachTile(ctx, tx, func(i int) {
			var taken [][2]int
			k := checker{r.mesh, f, row * square, r.opts.Tolerance / 2}
			for _, t := range roots(i, row) {
				taken = k.check(t, taken)
			}
			lock.Lock() // neighbours share words and corners
			defer lock.Unlock()
			for _, p := range taken {
				r.mesh.take(p[0], p[1])
			}
		})
	})
}

// eachTile calls work for 0 to n−1 on all cores.
func eachTile(ctx context.Context, n int, work func(int)) error {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < n && ctx.Err() == nil; i = int(next.Add(1)) - 1 {
				work(i)
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}

// checker looks at triangles over a row of tiles that begins at the line y0.
type checker struct {
	mesh *mesh
	f    *surface.Field
	y0   int
	most float64
}

func (k *checker) z(x, y int) float64 { return float64(k.f.Z[(y-k.y0)*k.f.Stride+x]) }

func (k *checker) check(t tri, taken [][2]int) [][2]int {
	if t.least() || t.outside(k.mesh) {
		return taken
	}
	if !t.crossing(k.mesh) && k.off(t, k.most) > k.most {
		x, y := t.middle()
		taken = append(taken, [2]int{x, y})
	}
	a, b := t.halves()
	return k.check(b, k.check(a, taken))
}

// off is how far the triangle is off the corners it covers, or, once it is above
// enough, some number above enough.
func (k *checker) off(t tri, enough float64) float64 {
	za, zb, zc := k.z(t.ax, t.ay), k.z(t.bx, t.by), k.z(t.cx, t.cy)
	mx, my := t.middle()
	worst := math.Abs(k.z(mx, my) - (za+zb)/2)
	if worst > enough {
		return worst
	}
	// The plane: z = zc + gx·(x−cx) + gy·(y−cy).
	ux, uy, vx, vy := float64(t.ax-t.cx), float64(t.ay-t.cy), float64(t.bx-t.cx), float64(t.by-t.cy)
	det := ux*vy - uy*vx
	gx := ((za-zc)*vy - (zb-zc)*uy) / det
	gy := ((zb-zc)*ux - (za-zc)*vx) / det
	for y := min(t.ay, t.by, t.cy); y <= max(t.ay, t.by, t.cy); y++ {
		lo, hi := t.across(y)
		z := zc + gy*float64(y-t.cy) + gx*float64(lo-t.cx)
		for _, h := range k.f.Z[(y-k.y0)*k.f.Stride+lo : (y-k.y0)*k.f.Stride+hi+1] {
			worst = max(worst, math.Abs(float64(h)-z))
			z += gx
		}
		if worst > enough {
			return worst
		}
	}
	return worst
}

// across is where the row y enters and leaves the triangle, whose sides all run
// along the grid or at 45° to it.
func (t tri) across(y int) (lo, hi int) {
	lo, hi = math.MaxInt, math.MinInt
	for _, e := range [3][4]int{{t.ax, t.ay, t.bx, t.by}, {t.bx, t.by, t.cx, t.cy}, {t.cx, t.cy, t.ax, t.ay}} {
		switch {
		case y < min(e[1], e[3]) || y > max(e[1], e[3]):
		case e[1] == e[3]:
			lo, hi = min(lo, e[0], e[2]), max(hi, e[0], e[2])
		default:
			x := e[0] + (y-e[1])*(e[2]-e[0])/(e[3]-e[1])
			lo, hi = min(lo, x), max(hi, x)
		}
	}
	return lo, hi
}
