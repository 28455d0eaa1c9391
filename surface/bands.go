package surface

import "context"

// Band is some rows of a grid, carved: rows Row to Row+Rows−1 of Grid, the
// height of cell (i, Row+j) at Z[j·Stride+i] and the facet that made it at
// Facet[j·Stride+i], −1 where the blank is uncut. Facet is nil when facets were
// not asked for.
type Band struct {
	Grid      Grid
	Row, Rows int
	Stride    int
	Z         []float32
	Facet     []int32
}

// Carve lowers the heights of f to what the cuts leave. The caller has filled
// f.Z with the blank's own heights; a new field is flat stock.
func (k *Carver) Carve(ctx context.Context, f *Field) error {
	panic("surface: Carve is being written")
}

// Bands carves flat stock over a grid of any size, a band of rows at a time,
// and shows each band to visit once. Bands are visited concurrently and in no
// fixed order; a Band and its slices belong to visit only until it returns. The
// first error of visit ends the work and is returned.
func (k *Carver) Bands(ctx context.Context, g Grid, facets bool, visit func(Band) error) error {
	panic("surface: Bands is being written")
}
