package surface

import (
	"fmt"
	"math"
)

// MaxFieldCells is the largest field NewField makes: 2³⁰ cells take 4 GiB.
// Pictures and figures stream by Bands instead and need no field.
const MaxFieldCells = 1 << 30

// MaxSide is the greatest number of cells along one side of a grid.
const MaxSide = 1 << 20

// Grid places cells on the work: cell (i, j) has its centre at
// (X0 + i·Cell, Y0 + j·Cell), in the frame of the work, mm.
type Grid struct {
	X0, Y0 float64
	Cell   float64
	Nx, Ny int
}

// At returns the centre of cell (i, j), mm.
func (g Grid) At(i, j int) (x, y float64) {
	return g.X0 + float64(float64(i)*g.Cell), g.Y0 + float64(float64(j)*g.Cell)
}

// check says what is wrong with a grid that cannot be carved.
func (g Grid) check() error {
	switch {
	case !(g.Cell > 0) || math.IsInf(g.Cell, 0):
		return fmt.Errorf("surface: a grid needs a cell size above 0 mm, not %v", g.Cell)
	case !finite(g.X0, g.Y0):
		return fmt.Errorf("surface: a grid cannot begin at (%v, %v)", g.X0, g.Y0)
	case g.Nx < 1 || g.Ny < 1:
		return fmt.Errorf("surface: a grid needs at least one cell each way, not %d by %d", g.Nx, g.Ny)
	case g.Nx > MaxSide || g.Ny > MaxSide:
		return fmt.Errorf("surface: a grid of %d by %d cells is larger than %d a side; choose a larger cell", g.Nx, g.Ny, MaxSide)
	}
	return nil
}

// Field is a field of heights. Row j starts at Z[j·Stride]; Stride is padded off
// a power of two, which would make rows collide in the cache.
type Field struct {
	Grid
	Stride int
	Z      []float32
}

// NewField makes a field of flat stock, every height 0. It refuses more than
// MaxFieldCells.
func NewField(g Grid) (*Field, error) {
	if err := g.check(); err != nil {
		return nil, err
	}
	stride := stride(g.Nx)
	if int64(stride)*int64(g.Ny) > MaxFieldCells {
		return nil, fmt.Errorf("surface: a field of %d by %d cells is more than the %d that fit in memory; choose a larger cell", g.Nx, g.Ny, MaxFieldCells)
	}
	return &Field{Grid: g, Stride: stride, Z: make([]float32, stride*g.Ny)}, nil
}

// Row returns the heights of row j.
func (f *Field) Row(j int) []float32 { return f.Z[j*f.Stride:][:f.Nx] }

// stride returns the length of a padded row: whole cache lines, an odd number
// of them.
func stride(nx int) int {
	const line = 16 // float32 in a cache line
	n := (nx + line - 1) / line
	return (n | 1) * line
}

func finite(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
