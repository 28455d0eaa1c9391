package depth

// crest is a crest, or the edge of a land, between two cells: where it lies, in
// cells, and how high, mm.
type crest struct{ x, y, z float32 }

// crests holds those of the tiles that were looked at since they were last cut.
type crests struct {
	pool  []crest
	first []int32 // of each tile's in pool
	count []uint8 // a tile has up to 2·tile² of them
}

// mostCrests bounds the pool: past it the tiles are looked at afresh.
const mostCrests = 1 << 17

// leastKink is the least turn of a slope, mm a cell, that is taken for a crest
// or an edge and not for rounding.
const leastKink = 1e-6

// of returns the crests of tile k.
func (c *crests) of(k int) []crest { return c.pool[c.first[k]:][:c.count[k]] }

// look takes the peak and the crests of a tile again: those between its cells and
// their neighbours to the right and above.
func (g *ground) look(ti, tj int) {
	if len(g.crests.pool) > mostCrests {
		g.crests.pool = g.crests.pool[:0]
		copy(g.stale, g.rough) // what is uncut has none
	}
	i0, i1 := ti*tile, min((ti+1)*tile, g.field.Nx)
	begin := len(g.crests.pool)
	peak := float32(nothing)
	stride, z := g.field.Stride, g.field.Z
	for j := tj * tile; j < min((tj+1)*tile, g.field.Ny); j++ {
		at := j * stride
		for _, h := range z[at:][i0:i1] {
			peak = max(peak, h)
		}
		for i := max(i0, 1); i < min(i1, g.field.Nx-2); i++ {
			k := at + i
			if t, h, ok := kink(z[k-1], z[k], z[k+1], z[k+2]); ok {
				g.note(float64(i)+t, float64(j), h)
			}
		}
		if j < 1 || j >= g.field.Ny-2 {
			continue
		}
		for i := i0; i < i1; i++ {
			k := at + i
			if t, h, ok := kink(z[k-stride], z[k], z[k+stride], z[k+2*stride]); ok {
				g.note(float64(i), float64(j)+t, h)
			}
		}
	}
	for _, c := range g.crests.pool[begin:] {
		peak = max(peak, c.z)
	}
	k := tj*g.tx + ti
	g.crests.first[k], g.crests.count[k] = int32(begin), uint8(len(g.crests.pool)-begin)
	g.peak[k], g.stale[k] = peak, false
}

// note adds a crest, no higher than the stock.
func (g *ground) note(x, y, z float64) {
	g.crests.pool = append(g.crests.pool, crest{float32(x), float32(y), float32(min(z, g.at(x, y)))})
}

// kink returns where between b and c the lines through a, b and through c, d
// meet, as a share of the way, and how high; ok is false when they turn the other
// way, meet elsewhere, or there is no metal.
func kink(a, b, c, d float32) (t, z float64, ok bool) {
	if !(b-a+(c-d) > leastKink) {
		return 0, 0, false
	}
	if a <= nothing || b <= nothing || c <= nothing || d <= nothing {
		return 0, 0, false
	}
	up, down := float64(b-a), float64(c-d)
	t = (float64(c-b) + down) / (up + down)
	return t, float64(b) + float64(up*t), t > 0 && t < 1
}
