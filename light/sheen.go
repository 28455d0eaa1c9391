package light

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"
)

// sheen is what metal of any slope sends to an eye straight above it, under one
// lamp: a table over the horizontal part of the surface's normal. It has to be
// made anew when the lamp or the metal changes, and nothing else does.
type sheen struct {
	cells []entry // sheenSize rows over the normal's y, of sheenSize over its x
}

// entry is compressed radiance: R, G, B.
type entry [4]float32

// sheenSize makes a cell 0.0078 of the normal's sideways part: less than a
// quarter of the finest roughness, so that interpolation is within 1 % of white
// of a direct calculation (TestSheenAgainstDirect).
const sheenSize = 257

// Roughness of the facets. Tool marks run along the cut; a sharp polished cutter
// leaves them fine. Plain metal is polished alike in all directions.
// (Chosen by eye; common practice gives no figures.)
const (
	roughAlong  = 0.035
	roughAcross = 0.07
	roughPlain  = 0.05
)

// newSheen works out the table: one reflection from a GGX surface with the
// metal's Fresnel colour, integrated over the visible facets.
func newSheen(m Metal, l Lamp) *sheen {
	s := &sheen{cells: make([]entry, sheenSize*sheenSize)}
	shade := newShader(m, l)
	var next atomic.Int32
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for j := int(next.Add(1)) - 1; j < sheenSize; j = int(next.Add(1)) - 1 {
				s.row(shade, j)
			}
		})
	}
	wg.Wait()
	return s
}

func (s *sheen) row(shade *shader, j int) {
	for i := range sheenSize {
		nx, ny := node(i), node(j)
		r2 := float64(nx*nx) + float64(ny*ny)
		if r2 > reach*reach {
			if r2 > (reach+0.02)*(reach+0.02) {
				continue // no table entry within the unit circle needs it
			}
			f := reach / math.Sqrt(r2)
			nx, ny = nx*f, ny*f
		}
		l := shade.radiance(nx, ny)
		s.cells[j*sheenSize+i] = entry{
			float32(compress(max(l.R, 0))), float32(compress(max(l.G, 0))), float32(compress(max(l.B, 0))),
		}
	}
}

// reach is the greatest sideways part of a normal that the table holds: 78°.
// Steeper metal shows as much as that does.
const reach = 0.978

func node(i int) float64 { return float64(2*i)/(sheenSize-1) - 1 }

// at looks up the compressed radiance of metal whose height changes by p along x
// and by q along y.
func (s *sheen) at(p, q float32) [3]float32 {
	l := 1 + float32(p*p) + float32(q*q)
	f := float32(-1 / math.Sqrt(float64(l)))
	x, y := float32(p*f), float32(q*f)
	if n := float32(x*x) + float32(y*y); n > reach*reach {
		f := reach / float32(math.Sqrt(float64(n)))
		x, y = x*f, y*f
	}
	const half = (sheenSize - 1) / 2
	x, y = float32(x*half)+half, float32(y*half)+half
	i, j := int(x), int(y)
	x, y = x-float32(i), y-float32(j)
	k := j*sheenSize + i
	e, u := s.cells[k:k+2:k+2], s.cells[k+sheenSize:k+sheenSize+2:k+sheenSize+2]
	w11 := float32(x * y)
	w01, w10 := x-w11, y-w11
	w00 := 1 - x - w10
	mix := func(c int) float32 {
		return float32(w00*e[0][c]) + float32(w01*e[1][c]) + float32(w10*u[0][c]) + float32(w11*u[1][c])
	}
	return [3]float32{mix(0), mix(1), mix(2)}
}

// shader works out single entries of the table.
type shader struct {
	room  room
	metal *glance
	disc  [][2]float64 // points of the unit disc, evenly spread
}

// shaderSamples facets are asked for each slope; with more the picture changes
// by less than a level in 255 (TestSheenAgainstDirect).
const shaderSamples = 48

func newShader(m Metal, l Lamp) *shader { return newShaderOf(m, l, shaderSamples) }

func newShaderOf(m Metal, l Lamp, samples int) *shader {
	s := &shader{room: room{lamp: l.direction()}, metal: m.glance()}
	// Fibonacci's spiral: radius by the square root, turns by the golden angle.
	golden := math.Pi * (3 - math.Sqrt(5))
	for i := range samples {
		sin, cos := math.Sincos(float64(i) * golden)
		r := math.Sqrt((float64(i) + 0.5) / float64(samples))
		s.disc = append(s.disc, [2]float64{r * cos, r * sin})
	}
	return s
}

// radiance is what an eye straight above sees of metal with the normal
// (nx, ny, √(1−nx²−ny²)). The tool marks lie level on it, square to its slope.
func (s *shader) radiance(nx, ny float64) RGB {
	n := vec{nx, ny, math.Sqrt(max(0, 1-float64(nx*nx)-float64(ny*ny)))}
	along, tilt := vec{1, 0, 0}, math.Sqrt(float64(nx*nx)+float64(ny*ny))
	if tilt > 0 {
		along = vec{-ny / tilt, nx / tilt, 0}
	}
	across := cross(n, along)
	// Nearly level metal is plain, or the floor of a flat cutter.
	cut := smooth((tilt - 0.1) / 0.12)
	a := roughness{
		x: roughPlain + float64(cut*(roughAlong-roughPlain)),
		y: roughPlain + float64(cut*(roughAcross-roughPlain)),
	}
	eye := vec{along.z, across.z, n.z} // the vertical in the flank's own frame
	hidden := a.lambda(eye)
	var total RGB
	for _, d := range s.disc {
		m := a.facet(eye, d[0], d[1])
		in := reflect(eye, m)
		if in.z <= 0 {
			continue // caught by the surface itself
		}
		w := (1 + hidden) / (1 + hidden + a.lambda(in))
		l := s.room.radiance(sum(in.x, along, in.y, across, in.z, n))
		total = total.plus(l.times(s.metal.at(dot(eye, m))), w)
	}
	return total.scale(1 / float64(len(s.disc)))
}
