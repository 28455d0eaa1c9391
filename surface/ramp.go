package surface

// ramp lowers z[i] to h + i·g.
func ramp(z []float32, h, g float32) {
	// Four ramps side by side: one sum each for four cells.
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

// mark does what ramp does and writes id where it lowers.
func mark(z []float32, facet []int32, h, g float32, id int32) {
	facet = facet[:len(z)]
	for i := range z {
		v := h + float32(float32(i)*g)
		if v < z[i] {
			z[i] = v
			facet[i] = id
		}
	}
}
