package surface

// run is a stretch of neighbouring cells under one facet: z[from:to], with the
// facet's height at the first.
type run struct {
	from, to int32
	h        float32
}

// longest is the greatest length of a run: the sums of float32 heights under
// 0.1 mm that its ramp is made of stay within 0.1 nm.
const longest = 64

// lower lowers the cells of runs, of at most longest cells each, to their facet,
// which rises by g from cell to cell. It is the innermost loop of carving.
func lower(z []float32, runs []run, g float32) {
	g2, g3, g4 := 2*g, 3*g, 4*g
	for i := range runs {
		r := &runs[i]
		z, h := z[r.from:r.to], r.h
		if len(z) < 4 {
			for i := range z {
				z[i] = min(z[i], h)
				h += g
			}
			continue
		}
		// Four ramps side by side, so that no sum waits for the one before; the last
		// four cells may have been lowered already.
		end, e := z[len(z)-4:], h+float32(float32(len(z)-4)*g)
		h1, h2, h3 := h+g, h+g2, h+g3
		for len(z) > 4 {
			z[0], z[1], z[2], z[3] = min(z[0], h), min(z[1], h1), min(z[2], h2), min(z[3], h3)
			h, h1, h2, h3 = h+g4, h1+g4, h2+g4, h3+g4
			z = z[4:]
		}
		end[0], end[1], end[2], end[3] = min(end[0], e), min(end[1], e+g), min(end[2], e+g2), min(end[3], e+g3)
	}
}

// mark does what lower does, to the same bits, and writes id where it lowers.
func mark(z []float32, facet []int32, runs []run, g float32, id int32) {
	g2, g3, g4 := 2*g, 3*g, 4*g
	for i := range runs {
		r := &runs[i]
		z, facet, h := z[r.from:r.to], facet[r.from:r.to], r.h
		if len(z) < 4 {
			for i := range z {
				if h < z[i] {
					z[i], facet[i] = h, id
				}
				h += g
			}
			continue
		}
		e := h + float32(float32(len(z)-4)*g)
		end, last := z[len(z)-4:], facet[len(z)-4:]
		h1, h2, h3 := h+g, h+g2, h+g3
		for len(z) > 4 && len(facet) > 4 {
			four(z, facet, h, h1, h2, h3, id)
			h, h1, h2, h3 = h+g4, h1+g4, h2+g4, h3+g4
			z, facet = z[4:], facet[4:]
		}
		four(end, last, e, e+g, e+g2, e+g3, id)
	}
}

func four(z []float32, facet []int32, h, h1, h2, h3 float32, id int32) {
	_, _ = z[3], facet[3]
	if h < z[0] {
		z[0], facet[0] = h, id
	}
	if h1 < z[1] {
		z[1], facet[1] = h1, id
	}
	if h2 < z[2] {
		z[2], facet[2] = h2, id
	}
	if h3 < z[3] {
		z[3], facet[3] = h3, id
	}
}
