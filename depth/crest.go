package depth

// leastKink is the least turn of a slope, mm a cell, that is taken for a crest
// or an edge and not for rounding.
const leastKink = 1e-6

// kinks shows the crests and edges that lie between cells from i0 up to i1 of row
// j and their neighbours to the right and above, with their heights.
func (g *ground) kinks(j, i0, i1 int, show func(i, j, z float64)) {
	stride := g.field.Stride
	z := g.field.Z[j*stride:]
	for i := max(i0, 1); i < min(i1, g.field.Nx-2); i++ {
		if t, h, ok := kink(z[i-1], z[i], z[i+1], z[i+2]); ok {
			x, y := float64(i)+t, float64(j)
			show(x, y, min(h, g.at(x, y)))
		}
	}
	if j < 1 || j >= g.field.Ny-2 {
		return
	}
	z = g.field.Z[(j-1)*stride:]
	for i := i0; i < i1; i++ {
		if t, h, ok := kink(z[i], z[i+stride], z[i+2*stride], z[i+3*stride]); ok {
			x, y := float64(i), float64(j)+t
			show(x, y, min(h, g.at(x, y)))
		}
	}
}

// kink returns where between b and c the lines through a, b and through c, d
// meet, as a share of the way, and how high; ok is false when they turn the other
// way, meet elsewhere, or there is no metal.
func kink(a, b, c, d float32) (t, z float64, ok bool) {
	up, down := float64(b-a), float64(c-d)
	if bend := up + down; bend > leastKink && a > nothing && d > nothing && b > nothing && c > nothing {
		if t = (float64(c-b) + down) / bend; t > 0 && t < 1 {
			return t, float64(b) + float64(up*t), true
		}
	}
	return 0, 0, false
}

// refresh takes the peak of a tile again, crests with it.
func (g *ground) refresh(ti, tj int) {
	i0, i1 := ti*tile, min((ti+1)*tile, g.field.Nx)
	peak := float64(nothing)
	for j := tj * tile; j < min((tj+1)*tile, g.field.Ny); j++ {
		for _, z := range g.field.Z[j*g.field.Stride:][i0:i1] {
			peak = max(peak, float64(z))
		}
		g.kinks(j, i0, i1, func(_, _, z float64) { peak = max(peak, z) })
	}
	k := tj*g.tx + ti
	g.peak[k], g.stale[k] = float32(peak)+float32(g.hair), false
}
