package light

import "math"

// mirror is the surroundings as a mirror on the work shows them to the eye: radiance
// over the sideways part (x, y) of the mirror's normal, at full resolution and
// averaged over squares of 2, 4, 8 … cells. Asking for an average over what one facet
// stands for, instead of one place in it, lets a hundred facets do the work of a
// thousand (filtered importance sampling: Křivánek and Colbert 2008).
type mirror [mirrorLevels][]entry

const (
	mirrorSize   = 512 // cells across the unit circle's box
	mirrorLevels = 7   // the coarsest has 8×8 cells
)

func newMirror(s Scene) *mirror {
	var m mirror
	r, top := newSurroundings(s), s.top()
	eye := top.inward(s.Eye.direction())
	m[0] = make([]entry, mirrorSize*mirrorSize)
	for j := range mirrorSize {
		for i := range mirrorSize {
			x, y := (float64(i)+0.5)*(2.0/mirrorSize)-1, (float64(j)+0.5)*(2.0/mirrorSize)-1
			z := math.Sqrt(max(0, 1-float64(x*x)-float64(y*y)))
			out, share := top.outward(reflect(eye, vec{x, y, z}))
			l, lamp := r.radiance(s.Eye.toRoom(out))
			l = l.scale(share)
			m[0][j*mirrorSize+i] = entry{float32(l.R), float32(l.G), float32(l.B), float32(lamp * share)}
		}
	}
	for k := 1; k < mirrorLevels; k++ {
		n := mirrorSize >> k
		fine := m[k-1]
		m[k] = make([]entry, n*n)
		for j := range n {
			for i := range n {
				a := 4*j*n + 2*i
				b := a + 2*n
				for q := range 4 {
					m[k][j*n+i][q] = (fine[a][q] + fine[a+1][q] + fine[b][q] + fine[b+1][q]) / 4
				}
			}
		}
	}
	return &m
}

// at averages the radiance over a square of the given side round (x, y): the room's,
// and the lamp's.
func (m *mirror) at(x, y, side float64) (room RGB, lamp float64) {
	// The logarithm of the side in cells, straight between powers of two.
	cells := max(side*(mirrorSize/2), 1)
	f, e := math.Frexp(cells)
	k := e - 1
	if k >= mirrorLevels-1 {
		k, f = mirrorLevels-2, 1
	}
	t := float32(2*f - 1)
	a0, a1, a2, a3 := m.level(k, x, y)
	b0, b1, b2, b3 := m.level(k+1, x, y)
	return RGB{
		float64(a0 + float32(t*(b0-a0))), float64(a1 + float32(t*(b1-a1))), float64(a2 + float32(t*(b2-a2))),
	}, float64(a3 + float32(t*(b3-a3)))
}

// level interpolates between the cells of one level.
func (m *mirror) level(k int, x, y float64) (r, g, b, lamp float32) {
	n := mirrorSize >> k
	half := float64(n) / 2
	x = min(max(float64((x+1)*half)-0.5, 0), float64(n)-1.001)
	y = min(max(float64((y+1)*half)-0.5, 0), float64(n)-1.001)
	i, j := int(x), int(y)
	s, t := float32(x-float64(i)), float32(y-float64(j))
	w11 := float32(s * t)
	w01, w10 := s-w11, t-w11
	w00 := 1 - s - w10
	e, u := m[k][j*n+i:][:2], m[k][(j+1)*n+i:][:2]
	c00, c01, c10, c11 := &e[0], &e[1], &u[0], &u[1]
	r = float32(w00*c00[0]) + float32(w01*c01[0]) + float32(w10*c10[0]) + float32(w11*c11[0])
	g = float32(w00*c00[1]) + float32(w01*c01[1]) + float32(w10*c10[1]) + float32(w11*c11[1])
	b = float32(w00*c00[2]) + float32(w01*c01[2]) + float32(w10*c10[2]) + float32(w11*c11[2])
	lamp = float32(w00*c00[3]) + float32(w01*c01[3]) + float32(w10*c10[3]) + float32(w11*c11[3])
	return r, g, b, lamp
}
