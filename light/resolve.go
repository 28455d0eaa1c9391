package light

import "math"

// line is one row of samples: their facets and heights, the slope of each flank,
// and radiance.
type line struct {
	facet  []int32
	z      []float32
	gx, gy []float32
	own    [][3]float32 // of the flank at the sample
	cell   [][3]float32 // mean over the sample's cell
}

func newLine(n int) line {
	return line{gx: make([]float32, n), gy: make([]float32, n), own: make([][3]float32, n), cell: make([][3]float32, n)}
}

// placeUpright moves the edges between neighbours on a line, which sampling
// takes to lie midway, to where the flanks meet, if they are nearer to upright
// than to level. An edge is so moved along rows or along columns, never both.
func (l *line) placeUpright(h float32) {
	for i := 1; i < len(l.facet); i++ {
		if l.facet[i] == l.facet[i-1] {
			continue
		}
		dx, dy := l.gx[i-1]-l.gx[i], l.gy[i-1]-l.gy[i]
		if abs(dx) < abs(dy) {
			continue
		}
		if w, ok := meeting(l.z[i-1], l.z[i], l.gx[i], dx, h); ok {
			owner := &l.cell[i-1] // the sample whose ground changes hands
			if w > 0 {
				owner = &l.cell[i]
			}
			exchange(owner, w, &l.own[i-1], &l.own[i])
		}
	}
}

// placeLevel does the same for edges nearer to level, between a line and the one
// above it.
func placeLevel(below, above *line, h float32) {
	for i := range below.facet {
		if below.facet[i] == above.facet[i] {
			continue
		}
		dx, dy := below.gx[i]-above.gx[i], below.gy[i]-above.gy[i]
		if abs(dy) <= abs(dx) {
			continue
		}
		if w, ok := meeting(below.z[i], above.z[i], above.gy[i], dy, h); ok {
			owner := &below.cell[i]
			if w > 0 {
				owner = &above.cell[i]
			}
			exchange(owner, w, &below.own[i], &above.own[i])
		}
	}
}

// meeting places the edge between two neighbouring samples, a distance h apart,
// with the heights a and b: the planes through them, which differ in slope by
// difference and of which the second rises by slope, meet at (w + ½)·h from the
// first. It is not ok when they do not meet between the samples: then the edge is
// a wall, or something else lies there too.
func meeting(a, b, slope, difference, h float32) (w float32, ok bool) {
	t := (b - a - float32(slope*h)) / float32(difference*h)
	return t - 0.5, t > 0 && t < 1
}

// exchange gives the share w of a cell, which has colour b, to the neighbour's
// colour a; a negative share goes the other way.
func exchange(cell *[3]float32, w float32, a, b *[3]float32) {
	cell[0] += float32(w * (a[0] - b[0]))
	cell[1] += float32(w * (a[1] - b[1]))
	cell[2] += float32(w * (a[2] - b[2]))
}

func abs(x float32) float32 {
	return math.Float32frombits(math.Float32bits(x) &^ (1 << 31))
}

// kernel returns the weights, summing to 1, with which the samples of a pixel
// and of its two neighbours, n to a pixel, make up its value along one axis:
// Lanczos's window of radius 1½ pixels. Of grooves 1.2 pixels apart a plain mean
// over the pixel would let through a fifth, as false rings; this lets through a
// twentieth, and of grooves four pixels apart still 0.86 against the mean's 0.90.
func kernel(n int) []float32 {
	w := make([]float64, 3*n)
	var total float64
	for k := range w {
		x := (float64(k)+0.5)/float64(n) - 1.5
		w[k] = sinc(x) * sinc(x/1.5)
		total += w[k]
	}
	f := make([]float32, len(w))
	for k := range w {
		f[k] = float32(w[k] / total)
	}
	return f
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// narrow filters a line into pixels: out[i] takes the samples of pixels i−1 to
// i+1, of which the line's first n, after one that only places edges, lie before
// the picture.
func (l *line) narrow(out [][3]float32, weights []float32) {
	n := len(weights) / 3
	for i := range out {
		var a, b, c float32
		cells := l.cell[1+i*n:][:len(weights)]
		for k, w := range weights {
			s := &cells[k]
			a += float32(w * s[0])
			b += float32(w * s[1])
			c += float32(w * s[2])
		}
		o := &out[i]
		o[0], o[1], o[2] = a, b, c
	}
}
