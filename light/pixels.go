package light

import "gonum.org/v1/gonum/spatial/r2"

// The edge of the metal is broken by a soft bevel.
const (
	bevelWidth = 0.2  // mm
	bevelSlope = 0.75 // at the very edge
)

// groundLight is what lies round the work and behind its open windows: dark and
// quiet, so that metal reads as metal.
var groundLight = RGB{0.0075, 0.0080, 0.0090}

// worker turns rows of samples into rows of pixels, one task at a time.
type worker struct {
	*picture
	slopes *slopes
	lines  [2]line
	edge   []float64      // for a row of pixels: distance of the centres from the metal's edge
	bevel  [][2]float32   // slope of the bevel there
	filter []float32      // kernel
	narrow [][3]float32   // one line, filtered along x
	rows   [][][3]float32 // sums of the rows of a task
}

func newWorker(p *picture) *worker {
	w := &worker{picture: p, slopes: newSlopes(p.carving, p.Pixel()/float64(p.Samples)),
		lines: [2]line{newLine(p.across()), newLine(p.across())},
		edge:  make([]float64, p.W), bevel: make([][2]float32, p.W),
		filter: kernel(p.Samples), narrow: make([][3]float32, p.W), rows: make([][][3]float32, taskRows),
	}
	for i := range w.rows {
		w.rows[i] = make([][3]float32, p.W)
	}
	return w
}

// make makes the picture's rows from to to, at most taskRows. It goes up the
// samples, so from the lowest row of pixels, and begins and ends one row of pixels
// and one line outside its own.
func (w *worker) make(from, to int) {
	n := w.Samples
	for i := range w.rows {
		clear(w.rows[i])
	}
	below, here := &w.lines[0], &w.lines[1]
	h := float32(w.strip.Cell)
	first := 1 + (w.strip.to-to)*n
	last := first + (to-from+2)*n // this line only places edges
	w.begin(to)
	w.shade(below, first-1)
	for j := first; j <= last; j++ {
		up := (j - first) / n // rows of pixels above row to
		if (j-first)%n == 0 {
			w.begin(min(max(to-up, from-1), to))
		}
		w.shade(here, j)
		placeLevel(below, here, h)
		here.placeUpright(h)
		if j > first {
			w.spread(below, j-1-first, to, from)
		}
		below, here = here, below
	}
	for y := from; y < to; y++ {
		w.begin(y)
		w.finish(y, w.rows[y-from])
	}
}

// spread adds a finished line, k lines above the first, to the rows of pixels
// that its kernel reaches.
func (w *worker) spread(l *line, k, to, from int) {
	n := w.Samples
	l.narrow(w.narrow, w.filter)
	own := to - k/n // row of pixels that the line lies in
	for y := max(own-1, from); y <= min(own+1, to-1); y++ {
		f := w.filter[k%n+(y-own+1)*n]
		row := w.rows[y-from]
		for i := range row {
			p, s := &row[i], &w.narrow[i]
			p[0] += float32(f * s[0])
			p[1] += float32(f * s[1])
			p[2] += float32(f * s[2])
		}
	}
}

// begin finds where the metal ends in a row of pixels, which may lie just
// outside the picture, and the slope of the bevel there. A distance is exact near
// the edge; elsewhere it only says on which side the pixel lies.
func (w *worker) begin(row int) {
	const h = 1e-4 // mm, for the direction of the edge
	pixel := w.Pixel()
	y := w.top - float64((float64(row)+0.5)*pixel)
	at := func(x, y float64) float64 { return w.ground.Distance(r2.Vec{X: x, Y: y}) }
	skip, d := 0, 0.0
	for i := range w.edge {
		w.bevel[i] = [2]float32{}
		if skip > 0 {
			skip--
			w.edge[i] = d
			continue
		}
		x := w.left + float64((float64(i)+0.5)*pixel)
		d = at(x, y)
		w.edge[i] = d
		if d > -bevelWidth && d < 2*pixel {
			t := 1 + min(d, 0)/bevelWidth
			s := -bevelSlope * t * t / (2 * h)
			w.bevel[i] = [2]float32{float32(s * (at(x+h, y) - at(x-h, y))), float32(s * (at(x, y+h) - at(x, y-h)))}
			continue
		}
		// No distance changes faster than one walks: skip what is far from it.
		skip = int(min(max(d-2*pixel, -d-bevelWidth)/pixel, float64(w.W)))
	}
}

// shade fills a line with row j of the samples.
func (w *worker) shade(l *line, j int) {
	s := &w.strip
	l.facet = s.facet[j*s.Nx : (j+1)*s.Nx]
	l.z = s.z[j*s.Nx : (j+1)*s.Nx]
	y := s.Y0 + float64(float64(j)*s.Cell)
	offY := float32(y * parallax)
	off := 2 * w.Pixel()
	i := 0
	for px := -2; px <= w.W+1; px++ {
		here := min(max(px, 0), w.W-1)
		d, bevel := w.edge[here], w.bevel[here]
		// Pixels −2 and W+1 are the single samples at the ends of the line.
		n := w.Samples
		if px == -2 || px == w.W+1 {
			n = 1
		}
		if d > off {
			for ; n > 0; n-- {
				l.gx[i], l.gy[i], l.own[i] = 0, 0, [3]float32{}
				i++
			}
			continue
		}
		for ; n > 0; n-- {
			x := s.X0 + float64(float64(i)*s.Cell)
			gx, gy := bevel[0], bevel[1]
			if f := l.facet[i]; f >= 0 {
				gx, gy = w.slopes.at(f, x, y)
			}
			l.gx[i], l.gy[i] = gx, gy
			l.own[i] = w.sheen.at(gx-float32(x*parallax), gy-offY)
			i++
		}
	}
	copy(l.cell, l.own)
}

// finish writes a row of sums into the picture.
func (w *worker) finish(y int, row [][3]float32) {
	pixel := w.Pixel()
	byteOf := levels()
	out := w.image.Pix[y*w.image.Stride:]
	for i, d := range w.edge {
		c := groundLight
		if metal := min(max(0.5-d/pixel, 0), 1); metal > 0 {
			s := row[i]
			l := tone(RGB{lift(s[0]), lift(s[1]), lift(s[2])})
			c = c.scale(1-metal).plus(l, metal)
		}
		for k, v := range [3]float64{c.R, c.G, c.B} {
			out[4*i+k] = byteOf[int(float64(min(max(v, 0), 1)*(1<<16))+0.5)]
		}
		out[4*i+3] = 255
	}
}

// lift expands a mean of compressed radiance. The kernel may have swung a little
// below black.
func lift(c float32) float64 { return expand(max(0, float64(c))) }
