package surface

// Grid places cells on the work: cell (i, j) has its centre at
// (X0 + i·Cell, Y0 + j·Cell), in the frame of the work, mm.
type Grid struct {
	X0, Y0 float64
	Cell   float64
	Nx, Ny int
}

// Field is a field of heights. Row j starts at Z[j·Stride]; Stride is padded off
// a power of two, which would make rows collide in the cache.
type Field struct {
	Grid
	Stride int
	Z      []float32
}
