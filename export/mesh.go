package export

import "math/bits"

// mesh is the choice of triangles over a grid of nx × ny cells, corners (i, j)
// from (0, 0) to (nx, ny).
//
// The grid is covered by squares of square cells, each halved by a diagonal, and
// every triangle may be halved from the middle of its longest side to the corner
// opposite, down to half a cell: a right-triangulated irregular network (W. Evans,
// D. Kirkpatrick, G. Townsend, 2001, from memory). Which middles are taken is one
// bit a corner. No crack opens when, of every middle taken, the corners that its
// two triangles had before were taken too; close sees to it, and needs no heights.
type mesh struct {
	nx, ny int
	stride int // words a row
	used   []uint64
	before []int32 // corners taken in the words before; made by number
}

// square is the side of the largest squares, in cells: a power of two.
const square = 256

func newMesh(nx, ny int) *mesh {
	// Rows and columns beyond the far edges belong to tiles that the edges cut.
	stride := (nx/square+1)*square/64 + 1
	m := &mesh{nx: nx, ny: ny, stride: stride, used: make([]uint64, stride*((ny/square+1)*square+1))}
	return m
}

func (m *mesh) word(i, j int) (*uint64, uint64) {
	return &m.used[j*m.stride+i>>6], 1 << (i & 63)
}

func (m *mesh) has(i, j int) bool {
	w, b := m.word(i, j)
	return *w&b != 0
}

func (m *mesh) take(i, j int) {
	w, b := m.word(i, j)
	*w |= b
}

// triangle of the mesh: a and b end its longest side, c lies opposite, and abc
// turns counter-clockwise.
type tri struct{ ax, ay, bx, by, cx, cy int }

func (t tri) middle() (x, y int) { return (t.ax + t.bx) / 2, (t.ay + t.by) / 2 }

// least says that the triangle is half a cell and is not halved.
func (t tri) least() bool { return (t.ax+t.bx)&1 != 0 || (t.ay+t.by)&1 != 0 }

func (t tri) halves() (tri, tri) {
	x, y := t.middle()
	return tri{t.cx, t.cy, t.ax, t.ay, x, y}, tri{t.bx, t.by, t.cx, t.cy, x, y}
}

// outside and crossing tell how the triangle lies to the far edges of the grid.
func (t tri) outside(m *mesh) bool {
	return min(t.ax, t.bx, t.cx) >= m.nx || min(t.ay, t.by, t.cy) >= m.ny
}

func (t tri) crossing(m *mesh) bool {
	return max(t.ax, t.bx, t.cx) > m.nx || max(t.ay, t.by, t.cy) > m.ny
}

// roots are the two triangles of the tile (i, j). The diagonals of neighbours
// mirror each other, so that their halves meet.
func roots(i, j int) [2]tri {
	x0, y0 := i*square, j*square
	x1, y1 := x0+square, y0+square
	if (i+j)&1 == 0 {
		return [2]tri{{x1, y1, x0, y0, x1, y0}, {x0, y0, x1, y1, x0, y1}}
	}
	return [2]tri{{x0, y1, x1, y0, x1, y1}, {x1, y0, x0, y1, x0, y0}}
}

func (m *mesh) tiles() (nx, ny int) {
	return (m.nx + square - 1) / square, (m.ny + square - 1) / square
}

// corners takes the corners of all tiles, and what halves the tiles that the far
// edges cut until no triangle crosses an edge.
func (m *mesh) corners() {
	var part func(t tri)
	part = func(t tri) {
		if t.outside(m) || !t.crossing(m) || t.least() {
			return
		}
		m.take(t.middle())
		a, b := t.halves()
		part(a)
		part(b)
	}
	tx, ty := m.tiles()
	for j := range ty {
		for i := range tx {
			for _, t := range roots(i, j) {
				for _, p := range [3][2]int{{t.ax, t.ay}, {t.bx, t.by}, {t.cx, t.cy}} {
					m.take(p[0], p[1])
				}
				part(t)
			}
		}
	}
}

// close takes the middles that those taken rest on, from the finest up. A middle
// of a side of 2s along the grid rests on the centres of the squares on either
// side; a centre of a square of 2s on the two of its corners that are middles of
// sides of 4s.
func (m *mesh) close() {
	tx, ty := m.tiles()
	w, h := tx*square, ty*square
	also := func(i, j int) {
		if i >= 0 && j >= 0 && i <= w && j <= h {
			m.take(i, j)
		}
	}
	for s := 1; s < square; s *= 2 {
		m.each(s, func(i, j int) {
			switch {
			case i&s != 0 && j&s == 0:
				also(i, j-s)
				also(i, j+s)
			case i&s == 0 && j&s != 0:
				also(i-s, j)
				also(i+s, j)
			}
		})
		if 2*s == square {
			return
		}
		m.each(s, func(i, j int) {
			if i&s == 0 || j&s == 0 {
				return
			}
			if ((i-s)/(2*s)+(j-s)/(2*s))&1 != 0 {
				also(i-s, j-s)
				also(i+s, j+s)
			} else {
				also(i+s, j-s)
				also(i-s, j+s)
			}
		})
	}
}

// each calls visit for the corners taken whose coordinates are multiples of s,
// rows and corners in rising order. What visit takes is off the rows and columns
// of its own kind, so the order makes no difference.
func (m *mesh) each(s int, visit func(i, j int)) {
	mask := ^uint64(0)
	if s < 64 {
		mask = 0
		for b := 0; b < 64; b += s {
			mask |= 1 << b
		}
	} else {
		mask = 1
	}
	tx, ty := m.tiles()
	step := max(1, s/64)
	for j := 0; j <= ty*square; j += s {
		row := m.used[j*m.stride : (j+1)*m.stride]
		for w := 0; w <= tx*square/64; w += step {
			for word := row[w] & mask; word != 0; word &= word - 1 {
				visit(w*64+bits.TrailingZeros64(word), j)
			}
		}
	}
}

// walk yields the triangles of the tile (i, j).
func (m *mesh) walk(i, j int, yield func(tri) error) error {
	var part func(t tri) error
	part = func(t tri) error {
		if t.outside(m) {
			return nil
		}
		if !t.crossing(m) && (t.least() || !m.has(t.middle())) {
			return yield(t)
		}
		a, b := t.halves()
		if err := part(a); err != nil {
			return err
		}
		return part(b)
	}
	for _, t := range roots(i, j) {
		if err := part(t); err != nil {
			return err
		}
	}
	return nil
}

// number counts the corners taken, row by row, so that index can tell each its
// number.
func (m *mesh) number() {
	// What lies beyond the far edges is no corner of the solid.
	for j := range len(m.used) / m.stride {
		row := m.used[j*m.stride : (j+1)*m.stride]
		if j > m.ny {
			clear(row)
			continue
		}
		last := m.nx >> 6
		row[last] &= ^uint64(0) >> (63 - m.nx&63)
		clear(row[last+1:])
	}
	m.before = make([]int32, len(m.used)+1)
	for i, w := range m.used {
		m.before[i+1] = m.before[i] + int32(bits.OnesCount64(w))
	}
}

// count is how many corners are taken.
func (m *mesh) count() int { return int(m.before[len(m.used)]) }

// index is the number of a corner that is taken.
func (m *mesh) index(i, j int) int {
	w := j*m.stride + i>>6
	return int(m.before[w]) + bits.OnesCount64(m.used[w]&(1<<(i&63)-1))
}

// rim yields the corners taken on the rim of the grid, counter-clockwise from
// (0, 0).
func (m *mesh) rim(yield func(i, j int)) {
	for i := range m.nx {
		if m.has(i, 0) {
			yield(i, 0)
		}
	}
	for j := range m.ny {
		if m.has(m.nx, j) {
			yield(m.nx, j)
		}
	}
	for i := m.nx; i > 0; i-- {
		if m.has(i, m.ny) {
			yield(i, m.ny)
		}
	}
	for j := m.ny; j > 0; j-- {
		if m.has(0, j) {
			yield(0, j)
		}
	}
}
