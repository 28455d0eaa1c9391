package light

import (
	"math"
	"sync"
	"sync/atomic"
)

// sheen is what metal of any slope sends to an eye straight above it, under one
// lamp: a table over the sideways part of the surface's normal, of compressed
// radiance. It has to be made anew when the lamp or the metal changes, and nothing
// else does. The flanks of one cutter use a tenth of it, so a node of it is worked
// out when a cell beside it is first asked for. It may be asked from several
// goroutines at once.
type sheen struct {
	shade *shader
	cells [sheenCells * sheenCells]atomic.Bool // all nodes are known
	rows  [sheenCells + 1]row
}

// row is a row of the table's nodes.
type row struct {
	sync.Mutex
	known [sheenCells + 1]bool
	nodes [sheenCells + 1]entry
}

// entry is R, G, B and nothing, for the sake of alignment.
type entry [4]float32

// sheenCells to a side: a cell is 0.0078 of the normal's sideways part, less than a
// quarter of the finest roughness (TestSheenAgainstDirect).
const sheenCells = 256

// Roughness of the facets. Tool marks run along the cut; a sharp polished cutter
// leaves them fine. Plain metal is polished alike in all directions.
// (Chosen by eye; common practice gives no figures.)
const (
	roughAlong  = 0.035
	roughAcross = 0.07
	roughPlain  = 0.05
)

// reach is the greatest sideways part of a normal that is asked for: 78°. Steeper
// metal shows as much as that does.
const reach = 0.978

func newSheen(m Metal, l Lamp) *sheen { return &sheen{shade: newShader(m, l, facets)} }

// at looks up the compressed radiance of metal whose height changes by p along x
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
	l := s.shade.radiance(x, y)
	return entry{
		float32(compress(max(l.R, 0))), float32(compress(max(l.G, 0))), float32(compress(max(l.B, 0))),
	}
}

// shader works out single entries of the table.
type shader struct {
	mirror *mirror
	metal  *glance
	disc   [][2]float64 // points of the unit disc, evenly spread
}

// facets is how many a table asks for each slope; with thousands the picture
// changes by a level or two in 255 (TestSheenAgainstDirect).
const facets = 128

func newShader(m Metal, l Lamp, samples int) *shader {
	return &shader{mirror: newMirror(room{lamp: l.direction()}), metal: m.glance(), disc: spread(samples)}
}

// spread returns n points that cover the unit disc evenly: a spiral by the golden
// angle.
func spread(n int) [][2]float64 {
	golden := math.Pi * (3 - math.Sqrt(5))
	points := make([][2]float64, n)
	for i := range points {
		sin, cos := math.Sincos(float64(i) * golden)
		r := math.Sqrt((float64(i) + 0.5) / float64(n))
		points[i] = [2]float64{r * cos, r * sin}
	}
	return points
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
	hidden, seen := a.lambda(eye), a.seen(eye)
	// A facet's share of the visible ones, as an area of the mirror's plane.
	share := math.Pi * a.x * a.y * eye.z * (1 + hidden) / float64(len(s.disc))
	var total RGB
	for _, d := range s.disc {
		m := seen.facet(d[0], d[1])
		c := dot(eye, m)
		in := reflect(eye, m)
		if in.z <= 0 {
			continue // caught by the surface itself
		}
		h := sum(m.x, along, m.y, across, m.z, n)
		p, q := m.x/a.x, m.y/a.y
		q2 := float64(p*p) + float64(q*q) + float64(m.z*m.z) // D = 1/(π·αx·αy·q2²)
		l := s.mirror.at(h.x, h.y, q2*math.Sqrt(share*h.z/c))
		w := (1 + hidden) / (1 + hidden + a.lambda(in))
		total = total.plus(l.times(s.metal.at(c)), w)
	}
	return total.scale(1 / float64(len(s.disc)))
}
