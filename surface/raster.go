package surface

import "math"

// raster is the rows of a grid that facets are carved into.
type raster struct {
	grid      Grid
	per       float64 // cells to the mm
	row, rows int     // first row, count of rows
	stride    int
	z         []float32
	facet     []int32 // nil when not wanted
}

// slack, in cells, takes in a cell centre that lies on an edge of a facet from
// both sides, so that rounding leaves no pinhole between facets.
const slack = 1e-8

// meets says whether the rectangle from lo to hi touches the rows and columns.
func (r *raster) meets(lo, hi corner) bool {
	y0, y1 := (lo.y-r.grid.Y0)*r.per, (hi.y-r.grid.Y0)*r.per
	x0, x1 := (lo.x-r.grid.X0)*r.per, (hi.x-r.grid.X0)*r.per
	return y1 >= float64(r.row)-slack && y0 <= float64(r.row+r.rows-1)+slack &&
		x1 >= -slack && x0 <= float64(r.grid.Nx-1)+slack
}

// fill lowers the cells under a facet to its plane. The facet is cut at the
// heights of its corners into slabs, each with one edge to the left and one to
// the right.
func (r *raster) fill(f *facet, id int32) {
	var x, y, level [4]float64
	for i, c := range f.corner {
		x[i] = float64((c.x - r.grid.X0) * r.per)
		y[i] = float64((c.y - r.grid.Y0) * r.per)
	}
	level = y
	swap := func(i, j int) {
		if level[i] > level[j] {
			level[i], level[j] = level[j], level[i]
		}
	}
	swap(0, 1)
	swap(2, 3)
	swap(0, 2)
	swap(1, 3)
	swap(1, 2)
	top, bottom := float64(r.row), float64(r.row+r.rows-1)
	width := float64(r.grid.Nx - 1)
	gx := float64(f.plane.gx * r.grid.Cell)
	for s := range 3 {
		y0, y1 := level[s], level[s+1]
		j0, j1 := math.Max(math.Ceil(y0-slack), top), math.Min(math.Floor(y1+slack), bottom)
		if !(y0 < y1) || !(j0 <= j1) {
			continue
		}
		left, right, ok := slab(&x, &y, y0, y1)
		if !ok {
			continue
		}
		for j := int(j0); j <= int(j1); j++ {
			yj := math.Min(math.Max(float64(j), y0), y1)
			xl := math.Max(left.at(yj)-slack, 0)
			xr := math.Min(right.at(yj)+slack, width)
			if !(xl <= xr) {
				continue
			}
			i0, i1 := int(math.Ceil(xl)), int(xr)+1
			if i0 >= i1 {
				continue
			}
			px, py := r.grid.At(i0, j)
			h := f.plane.z + float64(f.plane.gx*(px-f.plane.x)) + float64(f.plane.gy*(py-f.plane.y))
			at := (j - r.row) * r.stride
			z := r.z[at+i0 : at+i1]
			if r.facet == nil {
				ramp(z, float32(h), float32(gx))
			} else {
				mark(z, r.facet[at+i0:at+i1], float32(h), float32(gx), id)
			}
		}
	}
}

// edge is a straight edge of a facet, x as it changes with y.
type edge struct{ x, y, slope float64 }

func (e edge) at(y float64) float64 { return e.x + float64((y-e.y)*e.slope) }

// slab returns the outer edges of the polygon that span the rows from y0 to y1.
func slab(x, y *[4]float64, y0, y1 float64) (left, right edge, ok bool) {
	mid := (y0 + y1) / 2
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range 4 {
		j := (i + 1) & 3
		if y[i] > y[j] {
			i, j = j, i
		}
		if !(y[i] <= y0 && y[j] >= y1) {
			continue
		}
		e := edge{x[i], y[i], (x[j] - x[i]) / (y[j] - y[i])}
		m := e.at(mid)
		if m < lo {
			lo, left = m, e
		}
		if m > hi {
			hi, right = m, e
		}
	}
	return left, right, lo <= hi
}
