package surface

// raster is the rows of a grid that facets are carved into. Its unit is the
// cell, from the centre of cell (0, 0).
type raster struct {
	grid   Grid
	per    float64 // cells to the mm
	vee    vee
	row    int // first row
	rows   int
	stride int
	z      []float32
	facet  []int32 // nil when not wanted

	low, high, right float64 // first row, last row, last column

	runs [64]run // of a slab, gathered
}

// raster returns the given rows of a grid, to be carved into z and facet.
func (k *Carver) raster(g Grid, row, rows, stride int, z []float32, facet []int32) *raster {
	per := 1 / g.Cell
	return &raster{
		grid: g, per: per, vee: k.vee.scaled(per),
		row: row, rows: rows, stride: stride, z: z, facet: facet,
		low: float64(row), high: float64(row + rows - 1), right: float64(g.Nx - 1),
	}
}

// tip returns t in cells.
func (r *raster) tip(t tip) tip {
	t.x = float64((t.x - r.grid.X0) * r.per)
	t.y = float64((t.y - r.grid.Y0) * r.per)
	return t
}

// meets says whether the rectangle from lo to hi touches the rows and columns.
func (r *raster) meets(lo, hi corner) bool {
	return hi.y >= r.low && lo.y <= r.high && hi.x >= 0 && lo.x <= r.right
}

// fill lowers the cells under a facet to its plane. The facet is cut at the
// heights of its corners into slabs, each with one edge to the left and one to
// the right. A cell whose centre lies on an edge belongs to it; an edge shared
// by two facets is computed from the same corners, so no cell falls between.
func (r *raster) fill(f *facet, id int32) {
	a, b, c, d := f.corner[0].y, f.corner[1].y, f.corner[2].y, f.corner[3].y
	// Sort the four heights.
	a, b = min(a, b), max(a, b)
	c, d = min(c, d), max(c, d)
	a, c = min(a, c), max(a, c)
	b, d = min(b, d), max(b, d)
	b, c = min(b, c), max(b, c)
	if d < r.low || a > r.high {
		return
	}
	r.slab(f, id, a, b)
	r.slab(f, id, b, c)
	r.slab(f, id, c, d)
}

// slab fills the part of a facet between the heights y0 and y1, where no corner
// lies between them.
func (r *raster) slab(f *facet, id int32, y0, y1 float64) {
	lo, hi := max(y0, r.low), min(y1, r.high)
	if !(lo <= hi) || !(y0 < y1) {
		return
	}
	j0, j1 := ceil(lo), int(hi)
	if j0 > j1 {
		return
	}
	left, right, ok := f.edges(y0, y1)
	if !ok {
		return
	}
	p := &f.plane
	gx, gy := p.gx, p.gy
	c := p.z - float64(gx*p.x) - float64(gy*p.y)
	runs, n, edge := &r.runs, 0, r.right
	at := (j0 - r.row) * r.stride
	for j := j0; j <= j1; j, at = j+1, at+r.stride {
		y := float64(j)
		xl, xr := left.at(y), right.at(y)
		if xl < 0 {
			xl = 0
		}
		if xr > edge {
			xr = edge
		}
		if !(xl <= xr) {
			continue
		}
		i0, i1 := ceil(xl), int(xr)+1
		hy := c + float64(gy*y)
		for i0 < i1 {
			if n == len(runs) {
				r.cut(runs[:n], gx, id)
				n = 0
			}
			i := min(i0+longest, i1)
			runs[n] = run{int32(at + i0), int32(at + i), float32(hy + float64(gx*float64(i0)))}
			n++
			i0 = i
		}
	}
	r.cut(runs[:n], gx, id)
}

// cut lowers the cells of runs.
func (r *raster) cut(runs []run, gx float64, id int32) {
	if r.facet == nil {
		lower(r.z, runs, float32(gx))
	} else {
		mark(r.z, r.facet, runs, float32(gx), id)
	}
}

// ceil returns the least whole number not below x, which is not below 0.
func ceil(x float64) int {
	i := int(x)
	if float64(i) < x {
		i++
	}
	return i
}

// edge is a straight edge of a facet, x as it changes with y.
type edge struct{ x, y, slope float64 }

func (e edge) at(y float64) float64 { return e.x + float64((y-e.y)*e.slope) }

// edges returns the outermost edges that span the heights from y0 to y1.
func (f *facet) edges(y0, y1 float64) (left, right edge, ok bool) {
	mid := (y0 + y1) / 2
	var lo, hi float64
	p := f.corner[3]
	for _, q := range f.corner {
		a, b := p, q
		if a.y > b.y {
			a, b = b, a
		}
		p = q
		if a.y > y0 || b.y < y1 {
			continue
		}
		e := edge{a.x, a.y, (b.x - a.x) / (b.y - a.y)}
		m := e.at(mid)
		if !ok || m < lo {
			lo, left = m, e
		}
		if !ok || m > hi {
			hi, right = m, e
		}
		ok = true
	}
	return left, right, ok
}
