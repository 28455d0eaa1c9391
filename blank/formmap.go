package blank

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
)

// FormMap is a Residual worked out on a grid once, for readers that ask it
// millions of times. It may be asked from several goroutines.
type FormMap struct {
	residual *Residual
	z, sd    lattice
}

// lattice is a grid of nodes: (i, j) stands at low + step·(i, j).
type lattice struct {
	low    r2.Vec
	step   float64
	nx, ny int
	value  []float64
}

// maxNodes is the most nodes of heights along a side; the price of one is the
// number of readings.
const maxNodes = 257

// sdNodes is the most nodes of uncertainties along a side; the price of one is
// the square of the number of readings, so that of all is held near 10⁹.
func sdNodes(readings int) int { return min(maxNodes/2, max(maxNodes/8, 31_600/readings)) }

// Map works the form out over a box: heights every ℓ/12 or a sixth
// of the gap between readings, uncertainties every ℓ/8 or a quarter of the gap,
// whichever is less, and coarser where that would take too many nodes. Between the nodes
// heights go by cubic convolution and uncertainties by straight lines.
func (r *Residual) Map(box r2.Box) (*FormMap, error) {
	w, h := box.Max.X-box.Min.X, box.Max.Y-box.Min.Y
	if !(w > 0) || !(h > 0) || math.IsInf(w, 0) || math.IsInf(h, 0) {
		return nil, errors.New("blank: a map of the form needs a box with a width and a height")
	}
	m := &FormMap{residual: r}
	gap := math.Sqrt(area(r.hull) / float64(len(r.points)))
	m.z = newLattice(box, min(r.Length/12, gap/6), maxNodes)
	m.sd = newLattice(box, min(r.Length/8, gap/4), sdNodes(len(r.points)))
	n := len(r.points)
	k := mat.NewVecDense(n, nil)
	for i := range m.z.value {
		p := m.z.place(i)
		r.correlations(k.RawVector().Data, p)
		row := r.frame.row(p)
		m.z.value[i] = row[0]*r.beta[0] + row[1]*r.beta[1] + row[2]*r.beta[2] + mat.Dot(k, r.weight)
	}
	const batch = 256 // solved together, eight times as fast as one by one
	places := make([]r2.Vec, 0, batch)
	for from := 0; from < len(m.sd.value); from += batch {
		to := min(from+batch, len(m.sd.value))
		places = places[:0]
		for i := from; i < to; i++ {
			places = append(places, m.sd.place(i))
		}
		r.uncertainties(m.sd.value[from:to], places)
	}
	return m, nil
}

// newLattice covers the box with one node to spare on every side.
func newLattice(box r2.Box, step float64, most int) lattice {
	w, h := box.Max.X-box.Min.X, box.Max.Y-box.Min.Y
	step = max(step, max(w, h)/float64(most-4))
	l := lattice{step: step, nx: int(math.Ceil(w/step)) + 3, ny: int(math.Ceil(h/step)) + 3}
	l.low = r2.Vec{X: box.Min.X - step, Y: box.Min.Y - step}
	l.value = make([]float64, l.nx*l.ny)
	return l
}

func (l *lattice) place(i int) r2.Vec {
	return r2.Vec{X: l.low.X + l.step*float64(i%l.nx), Y: l.low.Y + l.step*float64(i/l.nx)}
}

// cell finds the cell of p, kept inside the lattice, and where in it p lies.
func (l *lattice) cell(p r2.Vec) (i, j int, u, v float64) {
	find := func(t float64, n int) (int, float64) {
		t = min(max(t, 1), float64(n-2))
		k := min(int(t), n-3)
		return k, t - float64(k)
	}
	i, u = find((p.X-l.low.X)/l.step, l.nx)
	j, v = find((p.Y-l.low.Y)/l.step, l.ny)
	return
}

// At returns what Residual.At does, read from the map. Beyond the map's box the
// edge's values are given and inside is false.
func (m *FormMap) At(p r2.Vec) (z, sd float64, inside bool) {
	i, j, u, v := m.z.cell(p)
	wu, wv := convolution(u), convolution(v)
	for b := range 4 {
		row := m.z.value[(j-1+b)*m.z.nx+i-1:][:4]
		z += wv[b] * (wu[0]*row[0] + wu[1]*row[1] + wu[2]*row[2] + wu[3]*row[3])
	}
	i, j, u, v = m.sd.cell(p)
	low, high := m.sd.value[j*m.sd.nx+i:][:2], m.sd.value[(j+1)*m.sd.nx+i:][:2]
	sd = (1-v)*((1-u)*low[0]+u*low[1]) + v*((1-u)*high[0]+u*high[1])
	q := r2.Scale(1/m.z.step, r2.Sub(p, m.z.low))
	on := q.X >= 1 && q.Y >= 1 && q.X <= float64(m.z.nx-2) && q.Y <= float64(m.z.ny-2)
	return z, sd, on && m.residual.Inside(p)
}

// convolution gives the weights of four nodes in a row for a place u of the way
// from the second to the third (R. G. Keys, 1981, a = −1/2; from memory).
func convolution(u float64) [4]float64 {
	return [4]float64{
		((-0.5*u+1)*u - 0.5) * u,
		(1.5*u-2.5)*u*u + 1,
		((-1.5*u+2)*u + 0.5) * u,
		(0.5*u - 0.5) * u * u,
	}
}
