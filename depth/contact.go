package depth

import "math"

// The foot rests on the highest ground under it: the greyscale dilation of the
// ground by the foot. For a ball of radius R whose axis stands at p that is
//
//	max over q of z(q) − (R − √(R² − |q − p|²)),  |q − p| ≤ R
//
// and a flat foot is a level disc, its rim broken at 45° over bevel, that takes
// the highest ground under it.
//
// The ground is known at the centres of cells. Crests and the edges of lands lie
// between them, and the flanks of a wide V are steep enough for half a cell to
// matter (10 µm of cell lose 2 µm of a crest at 130°). So the straight lines
// through the pairs of cells to either side, along the row and along the column,
// are carried on to where they meet, and the foot may touch there too, though
// never above the uncut stock. Flanks are planes and lands are smooth, which makes
// that exact but where three of them meet within four cells. Under the foot's own
// axis the uncut stock counts wherever it stands.
//
// Ground is never higher than the uncut stock, nor a tile than its peak, so most
// cells need no look; the answer is that of looking at every one.

// contact is where a foot rests.
type contact struct {
	z     float64 // height of the foot's lowest point, mm
	touch float64 // of the ground it touches, mm; nothing when it comes to the floor
	x, y  float64 // where, in cells
}

// bevel is the width by which the rim of a flat foot is broken, mm: a sharp one
// would dig in (common practice, no source for the width).
const bevel = 0.02

// feeler is a foot over a ground.
type feeler struct {
	*ground
	radius float64 // in cells
	ball   float64 // radius of a round foot, mm; 0 is flat
	curve  float64 // 1/(2R), of heights in mm over squares in cells; 0 is flat
}

func newFeeler(g *ground, guide *Guide) feeler {
	if guide.FootRadius == 0 {
		return feeler{ground: g, radius: guide.FootWidth / 2 * g.per}
	}
	r := guide.FootRadius
	return feeler{ground: g, radius: r * g.per, ball: r, curve: 1 / (2 * r * g.per * g.per)}
}

// rest returns where the foot rests with its axis at a place in cells, no lower
// than floor.
func (f *feeler) rest(x, y, floor float64) contact {
	c := contact{z: floor, touch: nothing}
	if !(x > -f.radius-1 && y > -f.radius-1 && x < float64(f.field.Nx)+f.radius && y < float64(f.field.Ny)+f.radius) {
		return c
	}
	if f.ball == 0 {
		f.restFlat(&c, x, y)
		return c
	}
	high, s := f.at(x, y), f.slope(x, y)*f.ball*f.per*f.per // slope · R, in cells
	if f.whole(x, y) {
		f.try(&c, x, y, x, y, high)
	}
	i, j := int(math.Round(x)), int(math.Round(y))
	if inside := i >= 0 && j >= 0 && i < f.field.Nx && j < f.field.Ny; inside {
		f.try(&c, x, y, float64(i), float64(j), float64(f.field.Z[j*f.field.Stride+i]))
		f.scan(&c, x, y, f.reach(high, s, c.z), i/tile, j/tile)
	} else {
		i, j = -tile, -tile
	}
	r := f.reach(high, s, c.z)
	i0, i1, j0, j1 := f.tiles(x, y, r+1)
	for tj := j0; tj <= j1; tj++ {
		for ti := i0; ti <= i1; ti++ {
			if ti != i/tile || tj != j/tile {
				f.scan(&c, x, y, r, ti, tj)
			}
		}
	}
	return c
}

// whole says whether a place lies between four cells of uncut metal: there the
// stock itself stands, and not only at their centres.
func (f *feeler) whole(x, y float64) bool {
	i, j := int(math.Floor(x)), int(math.Floor(y))
	if i < 0 || j < 0 || i+1 >= f.field.Nx || j+1 >= f.field.Ny {
		return false
	}
	low, up := f.field.Z[j*f.field.Stride+i:][:2], f.field.Z[(j+1)*f.field.Stride+i:][:2]
	if !f.rough[j/tile*f.tx+i/tile] { // nor is there a cut within some cells of it
		return low[0] > nothing && low[1] > nothing && up[0] > nothing && up[1] > nothing
	}
	u, v := float64(i), float64(j)
	return f.uncut(u, v, float64(low[0])) && f.uncut(u+1, v, float64(low[1])) && f.uncut(u, v+1, float64(up[0])) && f.uncut(u+1, v+1, float64(up[1]))
}

// tiles returns the first and last tiles of rows and columns within r of a place.
func (f *feeler) tiles(x, y, r float64) (i0, i1, j0, j1 int) {
	return max(0, int(x-r)/tile), min(f.tx-1, int(x+r)/tile), max(0, int(y-r)/tile), min(f.ty-1, int(y+r)/tile)
}

// reach returns how far from the axis, in cells, ground may be that lifts the
// foot above best: at a distance ρ it stands no higher than high + s·ρ/R, and the
// ball no lower than ρ²/(2R).
func (f *feeler) reach(high, s, best float64) float64 {
	q := float64(s*s) + (high-best+f.hair)/f.curve
	if !(q > 0) {
		return 0
	}
	return min(f.radius, s+math.Sqrt(q))
}

// try lets the foot touch ground of height z at a place in cells.
func (f *feeler) try(c *contact, x, y, i, j, z float64) {
	dx, dy := i-x, j-y
	q := float64(dx*dx) + float64(dy*dy)
	if z <= nothing || q > float64(f.radius*f.radius) {
		return
	}
	low := z
	if f.ball > 0 {
		low -= ball(f.ball, q/(f.per*f.per))
	} else if in := f.radius - bevel*f.per; q > float64(in*in) {
		low -= (math.Sqrt(q) - in) / f.per
	}
	if low > c.z {
		*c = contact{low, z, i, j}
	}
}

// scan looks at the ground of a tile within r of the axis that may lift the foot.
func (f *feeler) scan(c *contact, x, y, r float64, ti, tj int) {
	k := tj*f.tx + ti
	if f.stale[k] {
		f.look(ti, tj)
	}
	i0, j0 := ti*tile, tj*tile
	// Ground between cells may lie a cell beyond them.
	dx := max(float64(i0)-x, x-float64(i0+tile), 0)
	dy := max(float64(j0)-y, y-float64(j0+tile), 0)
	if float64(f.peak[k])-(float64(dx*dx)+float64(dy*dy))*f.curve <= c.z {
		return
	}
	i1, j1 := min(i0+tile, f.field.Nx), min(j0+tile, f.field.Ny)
	i0, i1 = max(i0, int(math.Ceil(x-r))-1), min(i1, int(x+r)+1)
	j0, j1 = max(j0, int(math.Ceil(y-r))-1), min(j1, int(y+r)+1)
	if i0 >= i1 {
		return
	}
	for j := j0; j < j1; j++ {
		dy := float64(j) - y
		yy := float64(dy*dy) * f.curve
		for i, z := range f.field.Z[j*f.field.Stride:][i0:i1] {
			dx := float64(i+i0) - x
			if float64(z)-yy-float64(float64(dx*dx)*f.curve) > c.z {
				f.try(c, x, y, float64(i+i0), float64(j), float64(z))
			}
		}
	}
	if !f.rough[k] {
		return
	}
	for _, p := range f.crests.of(k) {
		dx, dy := float64(p.x)-x, float64(p.y)-y
		if float64(p.z)-(float64(dx*dx)+float64(dy*dy))*f.curve > c.z {
			f.try(c, x, y, float64(p.x), float64(p.y), float64(p.z))
		}
	}
}

// restFlat takes the highest ground under a level disc: first that of the tile
// under it with the highest peak, which leaves little to the others.
func (f *feeler) restFlat(c *contact, x, y float64) {
	i0, i1, j0, j1 := f.tiles(x, y, f.radius+1)
	first, high := -1, float32(nothing)
	for tj := j0; tj <= j1; tj++ {
		for ti := i0; ti <= i1; ti++ {
			k := tj*f.tx + ti
			if f.peak[k] > high && f.covers(x, y, ti, tj) {
				if f.stale[k] {
					f.look(ti, tj)
				}
				if f.peak[k] > high {
					first, high = k, f.peak[k]
				}
			}
		}
	}
	if first >= 0 {
		f.scan(c, x, y, f.radius, first%f.tx, first/f.tx)
	}
	for tj := j0; tj <= j1; tj++ {
		for ti := i0; ti <= i1; ti++ {
			f.scan(c, x, y, f.radius, ti, tj)
		}
	}
}

// covers says whether a whole tile lies under a flat foot.
func (f *feeler) covers(x, y float64, ti, tj int) bool {
	dx := max(math.Abs(float64(ti*tile)-x), math.Abs(float64(ti*tile+tile)-x))
	dy := max(math.Abs(float64(tj*tile)-y), math.Abs(float64(tj*tile+tile)-y))
	return float64(dx*dx)+float64(dy*dy) <= float64(f.radius*f.radius)
}
