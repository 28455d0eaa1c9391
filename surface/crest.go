package surface

import (
	"math"
	"sync"
)

// Crests tells how far below the original surface the crests lie that flanks of
// two different cuts leave between them. Crests nearer together than a cell, as
// close to where two cuts cross, are missed: on crossing waves the median is up to
// a tenth too small with 24 cells to a groove.
type Crests struct {
	Count  int64   // places where a crest was met; 0 where lands part all cuts
	Least  float64 // depth of the highest crest, mm
	Median float64
	Most   float64
}

// crest notes the crest, if there is one, between two neighbouring cells: where
// the planes of their two flanks meet.
func (f *finding) crest(k *Carver, b Band, i0, j0, i1, j1 int) {
	p, q := j0*b.Stride+i0, j1*b.Stride+i1
	if b.Facet[p] < 0 || b.Facet[q] < 0 || k.Cut(b.Facet[p]) == k.Cut(b.Facet[q]) {
		return
	}
	px, py := b.slope(k, i0, j0)
	qx, qy := b.slope(k, i1, j1)
	// A crest is counted along the direction it crosses more squarely.
	alongX := i0 != i1
	if (math.Abs(px-qx) >= math.Abs(py-qy)) != alongX {
		return
	}
	gp, gq := px, qx
	if !alongX {
		gp, gq = py, qy
	}
	zp, zq := float64(b.Z[p]), float64(b.Z[q])
	// zp + gp·t = zq − gq·(cell − t)
	t := (zq - zp - float64(gq*b.Grid.Cell)) / (gp - gq)
	const slack = 0.05 // of a cell: the flanks are a little bent
	if !(t >= -slack*b.Grid.Cell && t <= (1+slack)*b.Grid.Cell) {
		return // a wall where a cut begins or ends
	}
	z := zp + float64(gp*t)
	if z > 0 || z < min(zp, zq)-float64(slack*b.Grid.Cell) {
		return // a land, or a tip, too narrow to have a cell of its own
	}
	f.crests = append(f.crests, -z)
}

// crestBins divides the depth of the deepest cut for the median.
const crestBins = 1 << 14

// crestCount counts crests by depth. Counting needs no order, so bands may come
// as they are done.
type crestCount struct {
	mu    sync.Mutex
	width float64 // of a bin, mm
	bin   [crestBins]int64
	n     int64
	least float64
	most  float64
}

func newCrestCount(deepest float64) *crestCount {
	return &crestCount{width: deepest / crestBins, least: math.Inf(1), most: math.Inf(-1)}
}

func (c *crestCount) join(depths []float64) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, d := range depths {
		i := int(d / c.width)
		c.bin[min(max(i, 0), crestBins-1)]++
		c.n++
		c.least, c.most = min(c.least, d), max(c.most, d)
	}
}

func (c *crestCount) figures() Crests {
	if c.n == 0 {
		return Crests{}
	}
	out := Crests{Count: c.n, Least: c.least, Most: c.most}
	below := int64(0)
	for i, n := range c.bin {
		if 2*(below+n) >= c.n {
			share := (float64(c.n)/2 - float64(below)) / float64(n)
			out.Median = min(max((float64(i)+share)*c.width, out.Least), out.Most)
			break
		}
		below += n
	}
	return out
}
