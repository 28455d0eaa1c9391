package surface

// ramp lowers z[i] to h + i·g.
func ramp(z []float32, h, g float32) {
	for i := range z {
		v := h + float32(float32(i)*g)
		if v < z[i] {
			z[i] = v
		}
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
