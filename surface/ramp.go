package surface

// rebase is the length of run after which a ramp is computed afresh: sixteen
// additions of float32 heights under 0.1 mm stay within 0.06 nm.
const rebase = 64

// ramp lowers z[i] to h + i·g. It is the innermost loop of carving.
func ramp(z []float32, h, g float32) {
	i := 0
	for ; len(z)-i > rebase; i += rebase {
		lower(z[i:i+rebase], h+float32(float32(i)*g), g)
	}
	lower(z[i:], h+float32(float32(i)*g), g)
}

func lower(z []float32, h, g float32) {
	// Four ramps side by side, so that no sum waits for the one before.
	h1, h2, h3, g4 := h+g, h+float32(2*g), h+float32(3*g), 4*g
	for len(z) >= 4 {
		if h < z[0] {
			z[0] = h
		}
		if h1 < z[1] {
			z[1] = h1
		}
		if h2 < z[2] {
			z[2] = h2
		}
		if h3 < z[3] {
			z[3] = h3
		}
		h, h1, h2, h3 = h+g4, h1+g4, h2+g4, h3+g4
		z = z[4:]
	}
	for i := range z {
		if h < z[i] {
			z[i] = h
		}
		h += g
	}
}

// mark does what ramp does, to the same bits, and writes id where it lowers.
func mark(z []float32, facet []int32, h, g float32, id int32) {
	i := 0
	for ; len(z)-i > rebase; i += rebase {
		lowerMark(z[i:i+rebase], facet[i:i+rebase], h+float32(float32(i)*g), g, id)
	}
	lowerMark(z[i:], facet[i:len(z)], h+float32(float32(i)*g), g, id)
}

func lowerMark(z []float32, facet []int32, h, g float32, id int32) {
	h1, h2, h3, g4 := h+g, h+float32(2*g), h+float32(3*g), 4*g
	for len(z) >= 4 && len(facet) >= 4 {
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
		h, h1, h2, h3 = h+g4, h1+g4, h2+g4, h3+g4
		z, facet = z[4:], facet[4:]
	}
	for i := range z {
		if h < z[i] {
			z[i], facet[i] = h, id
		}
		h += g
	}
}
