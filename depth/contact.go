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

// touch is a foot feeling for ground with its axis at a place in cells.
type touch struct {
	contact
	x, y  float64
	high  float64 // of the uncut stock there
	slope float64 // bound of it in reach, mm a cell
}

// rest returns where the foot rests with its axis at a place in cells, no lower
// than floor.
func (f *feeler) rest(x, y, floor float64) contact {
	t := touch{contact: contact{z: floor, touch: nothing}, x: x, y: y}
	if !(x > -f.radius-1 && y > -f.radius-1 && x < float64(f.field.Nx)+f.radius && y < float64(f.field.Ny)+f.radius) {
		return t.contact
	}
	t.high, t.slope = f.at(x, y), f.slope(x, y)
	if f.whole(x, y) {
		f.try(&t, x, y, t.high)
	}
	if f.ball == 0 {
		f.highest(&t)
	} else if i, j := int(math.Round(x)), int(math.Round(y)); i >= 0 && j >= 0 && i < f.field.Nx && j < f.field.Ny {
		f.try(&t, float64(i), float64(j), float64(f.field.Z[j*f.field.Stride+i]))
	}
	// Tiles round about, the nearer ones first, as far as ground may matter.
	ci, cj := int(math.Floor(x/tile)), int(math.Floor(y/tile))
	for ring := 0; float64((ring-1)*tile) <= f.reach(&t); ring++ {
		for tj := max(0, cj-ring); tj <= min(f.ty-1, cj+ring); tj++ {
			step := 2 * ring
			if tj == cj-ring || tj == cj+ring || ring == 0 {
				step = 1
			}
			for ti := ci - ring; ti <= ci+ring; ti += step {
				if ti >= 0 && ti < f.tx {
					f.scan(&t, ti, tj)
				}
			}
		}
	}
	return t.contact
}

// reach returns how far from the axis, in cells, ground may be that lifts the foot
// further: at a distance ρ it stands no higher than high + slope·ρ, and a ball no
// lower than ρ²/(2R).
func (f *feeler) reach(t *touch) float64 {
	if f.ball == 0 {
		return f.radius + 1
	}
	s := t.slope / (2 * f.curve)
	q := float64(s*s) + (t.high-t.z+f.hair)/f.curve
	if !(q > 0) {
		return 0
	}
	return min(f.radius, s+math.Sqrt(q)) + 1 // crests lie up to a cell beyond theirs
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

// try lets the foot touch ground of height z at a place in cells.
func (f *feeler) try(t *touch, i, j, z float64) {
	dx, dy := i-t.x, j-t.y
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
	if low > t.z {
		t.contact = contact{low, z, i, j}
	}
}

// scan looks at the ground of a tile, as far as it may lift the foot.
func (f *feeler) scan(t *touch, ti, tj int) {
	i0, j0 := ti*tile, tj*tile
	// Ground between cells may lie a cell beyond them.
	dx := max(float64(i0)-t.x, t.x-float64(i0+tile), 0)
	dy := max(float64(j0)-t.y, t.y-float64(j0+tile), 0)
	q := float64(dx*dx) + float64(dy*dy)
	k := tj*f.tx + ti
	if f.stale[k] {
		// Uncut stock would not lift it either: no need to look.
		if t.high+f.hair+float64(t.slope*(math.Sqrt(q)+2*tile))-float64(q*f.curve) <= t.z {
			return
		}
		f.look(ti, tj)
	}
	if float64(f.peak[k])-float64(q*f.curve) <= t.z {
		return
	}
	r := f.reach(t)
	i1, j1 := min(i0+tile, f.field.Nx), min(j0+tile, f.field.Ny)
	i0, i1 = max(i0, int(math.Ceil(t.x-r))), min(i1, int(t.x+r)+1)
	j0, j1 = max(j0, int(math.Ceil(t.y-r))), min(j1, int(t.y+r)+1)
	if i0 >= i1 {
		return
	}
	for j := j0; j < j1; j++ {
		dy := float64(j) - t.y
		yy := float64(dy*dy) * f.curve
		for i, z := range f.field.Z[j*f.field.Stride:][i0:i1] {
			dx := float64(i+i0) - t.x
			if float64(z)-yy-float64(float64(dx*dx)*f.curve) > t.z {
				f.try(t, float64(i+i0), float64(j), float64(z))
			}
		}
	}
	if !f.rough[k] {
		return
	}
	for _, p := range f.crests.of(k) {
		dx, dy := float64(p.x)-t.x, float64(p.y)-t.y
		if float64(p.z)-(float64(dx*dx)+float64(dy*dy))*f.curve > t.z {
			f.try(t, float64(p.x), float64(p.y), float64(p.z))
		}
	}
}

// highest starts a flat foot with the ground of the tile under it that has the
// highest peak: it leaves little to the others.
func (f *feeler) highest(t *touch) {
	r := f.radius
	first, high := -1, float32(nothing)
	for tj := max(0, int(t.y-r)/tile); tj <= min(f.ty-1, int(t.y+r)/tile); tj++ {
		for ti := max(0, int(t.x-r)/tile); ti <= min(f.tx-1, int(t.x+r)/tile); ti++ {
			k := tj*f.tx + ti
			if f.peak[k] > high && f.covers(t.x, t.y, ti, tj) {
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
		f.scan(t, first%f.tx, first/f.tx)
	}
}

// covers says whether a whole tile lies under a flat foot.
func (f *feeler) covers(x, y float64, ti, tj int) bool {
	dx := max(math.Abs(float64(ti*tile)-x), math.Abs(float64(ti*tile+tile)-x))
	dy := max(math.Abs(float64(tj*tile)-y), math.Abs(float64(tj*tile+tile)-y))
	return float64(dx*dx)+float64(dy*dy) <= float64(f.radius*f.radius)
}
