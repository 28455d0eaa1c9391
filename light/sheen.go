package light

import (
	"math"
	"sync"
	"sync/atomic"
)

// sheen is what metal of any slope sends to the eye in one scene: a table over the
// sideways part of the surface's normal, of radiance. It has to be made
// anew when the scene changes, and by nothing else. The flanks of one cutter use a
// tenth of it, so a node of it is worked out when a cell beside it is first asked
// for. It may be asked from several goroutines at once.
type sheen struct {
	radiance func(nx, ny float64) RGB
	cells    [sheenCells * sheenCells]atomic.Bool // all nodes are known
	rows     [sheenCells + 1]row
}

// row is a row of the table's nodes.
type row struct {
	sync.Mutex
	known [sheenCells + 1]bool
	nodes [sheenCells + 1]entry
}

// entry is three or four values; a fourth keeps tables aligned.
type entry [4]float32

// sheenCells to a side: a cell is 0.0104 of the normal's sideways part, less than a
// third of the finest roughness (TestSheenAgainstDirect).
const sheenCells = 192

// reach is the greatest sideways part of a normal that is asked for: 78°. Steeper
// metal shows as much as that does.
const reach = 0.978

// sheens are the two tables of a scene: for the flanks of cuts and for the ground
// between them, whose finish is another and which no flank faces.
type sheens struct{ cut, land *sheen }

func newSheens(s Scene) sheens {
	h := newShader(s, facets)
	return sheens{
		cut:  &sheen{radiance: func(nx, ny float64) RGB { return h.radiance(h.flank(nx, ny)) }},
		land: &sheen{radiance: func(nx, ny float64) RGB { return h.radiance(h.ground(nx, ny)) }},
	}
}

// of is the table for a facet of the carved surface.
func (s *sheens) of(facet int32) *sheen {
	if facet < 0 {
		return s.land
	}
	return s.cut
}

// at looks up the radiance of metal whose height changes by p along x
// and by q along y.
func (s *sheen) at(p, q float32) [3]float32 {
	l := 1 + float32(p*p) + float32(q*q)
	f := -1 / float32(math.Sqrt(float64(l)))
	x, y := float32(p*f), float32(q*f)
	if n := float32(x*x) + float32(y*y); n > reach*reach {
		f := reach / float32(math.Sqrt(float64(n)))
		x, y = x*f, y*f
	}
	const half = sheenCells / 2
	x, y = float32(x*half)+half, float32(y*half)+half
	i, j := int(x), int(y)
	x, y = x-float32(i), y-float32(j)
	if !s.cells[j*sheenCells+i].Load() {
		s.work(i, j)
	}
	low, high := s.rows[j].nodes[i:][:2], s.rows[j+1].nodes[i:][:2]
	a, b, c, d := &low[0], &low[1], &high[0], &high[1]
	w11 := float32(x * y)
	w01, w10 := x-w11, y-w11
	w00 := 1 - x - w10
	return [3]float32{
		float32(w00*a[0]) + float32(w01*b[0]) + float32(w10*c[0]) + float32(w11*d[0]),
		float32(w00*a[1]) + float32(w01*b[1]) + float32(w10*c[1]) + float32(w11*d[1]),
		float32(w00*a[2]) + float32(w01*b[2]) + float32(w10*c[2]) + float32(w11*d[2]),
	}
}

// work works out the nodes round a cell.
func (s *sheen) work(i, j int) {
	for n := j; n <= j+1; n++ {
		r := &s.rows[n]
		r.Lock()
		for m := i; m <= i+1; m++ {
			if !r.known[m] {
				r.nodes[m], r.known[m] = s.node(m, n), true
			}
		}
		r.Unlock()
	}
	s.cells[j*sheenCells+i].Store(true)
}

// node works out one node.
func (s *sheen) node(i, j int) entry {
	const half = sheenCells / 2
	x, y := float64(i)/half-1, float64(j)/half-1
	// The nodes just outside the circle of reach serve interpolation there.
	if r := math.Sqrt(float64(x*x) + float64(y*y)); r > reach {
		x, y = x*reach/r, y*reach/r
	}
	l := s.radiance(x, y)
	return entry{float32(max(l.R, 0)), float32(max(l.G, 0)), float32(max(l.B, 0))}
}
