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
	pair   [2]line
	edge   []float64      // for a row of pixels: distance of the centres from the metal's edge
	parts  []part         // of a line in that row
	filter []float32      // kernel
	narrow [][3]float32   // one line, filtered along x
	rows   [][][3]float32 // sums of the rows of a task
}

func newWorker(p *picture) *worker {
	w := &worker{picture: p,
		pair:   [2]line{newLine(p.across()), newLine(p.across())},
		edge:   make([]float64, p.W),
		filter: kernel(p.Samples), narrow: make([][3]float32, p.W), rows: make([][][3]float32, p.rows),
	}
	for i := range w.rows {
		w.rows[i] = make([][3]float32, p.W)
	}
	return w
}

// make makes the rows of pixels of a task. It goes up the samples, so from the lowest
// row of pixels, and begins and ends one row of pixels and one line outside its own.
func (w *worker) make(t task) {
	n, from, to := w.Samples, t.from, t.to
	for i := range w.rows {
		clear(w.rows[i])
	}
	below, here := &w.pair[0], &w.pair[1]
	h := float32(w.lines.Cell)
	first, last := t.first+1, t.end-1 // the last line only places edges
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

// part is a stretch of a line, up to sample end, in which uncut ground has one
// slope: off the metal, on its plain face, or on one pixel of the bevel.
type part struct {
	end    int
	off    bool
	gx, gy float32
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
	w.parts = w.parts[:0]
	for i := range w.edge {
		// The first and the last pixel stand for the samples beyond them.
		p := part{end: 1 + (i+2)*w.Samples}
		if i == w.W-1 {
			p.end += w.Samples + 1
		}
		if skip > 0 {
			skip--
		} else {
			x := w.left + float64((float64(i)+0.5)*pixel)
			d = at(x, y)
			if d > -bevelWidth && d < 2*pixel {
				t := 1 + min(d, 0)/bevelWidth
				s := -bevelSlope * t * t / (2 * h)
				p.gx, p.gy = float32(s*(at(x+h, y)-at(x-h, y))), float32(s*(at(x, y+h)-at(x, y-h)))
			} else {
				// No distance changes faster than one walks: skip what is far from it.
				skip = int(min(max(d-2*pixel, -d-bevelWidth)/pixel, float64(w.W)))
			}
		}
		w.edge[i] = d
		p.off = d > 2*pixel
		if n := len(w.parts) - 1; n >= 0 && w.parts[n].off == p.off && w.parts[n].gx == p.gx && w.parts[n].gy == p.gy {
			w.parts[n].end = p.end
		} else {
			w.parts = append(w.parts, p)
		}
	}
}

// shade fills a line with row j of the samples.
func (w *worker) shade(l *line, j int) {
	l.z, l.facet = w.lines.line(j)
	y := w.lines.Y0 + float64(float64(j)*w.lines.Cell)
	i := 0
	for k := range w.parts {
		p := &w.parts[k]
		if p.off {
			clear(l.gx[i:p.end])
			clear(l.gy[i:p.end])
			clear(l.own[i:p.end])
			i = p.end
			continue
		}
		for i < p.end {
			f, from := l.facet[i], i
			for most := min(from+runSamples, p.end); i < most && l.facet[i] == f; {
				i++
			}
			w.run(l, p, from, i, y)
		}
	}
	copy(l.cell, l.own)
}

const (
	// runSamples is how many neighbouring samples of one facet are lit at once.
	runSamples = 16
	// runChange is by how much the slope may change from the first to the last:
	// light changes evenly over it, as in a cell of the sheen's table.
	runChange = 0.016
)

// lean is a slope: how much the height changes along x and along y.
type lean struct{ x, y float32 }

// run fills samples from to end of a line at y, all of one facet.
func (w *worker) run(l *line, p *part, from, end int, y float64) {
	first, last := lean{p.gx, p.gy}, lean{p.gx, p.gy}
	if f := l.facet[from]; f >= 0 {
		first = w.slope(f, from, y)
		last = first
		if end-from > 1 {
			last = w.slope(f, end-1, y)
		}
	}
	w.between(l, from, end, y, first, last)
}

// between fills a run whose first and last sample lean so: those are looked up, the
// others lie evenly between.
func (w *worker) between(l *line, from, end int, y float64, first, last lean) {
	n := end - from - 1
	if n > 1 && abs(last.x-first.x)+abs(last.y-first.y) > runChange {
		f, middle := l.facet[from], from+(n+1)/2
		w.between(l, from, middle, y, first, w.slope(f, middle-1, y))
		w.between(l, middle, end, y, w.slope(f, middle, y), last)
		return
	}
	sheen := w.sheens.of(l.facet[from])
	g, c := first, sheen.at(w.near.seen(first.x, first.y, w.x(from), y))
	l.gx[from], l.gy[from], l.own[from] = g.x, g.y, c
	if n == 0 {
		return
	}
	d := sheen.at(w.near.seen(last.x, last.y, w.x(end-1), y))
	t := 1 / float32(n)
	dx, dy := float32((last.x-g.x)*t), float32((last.y-g.y)*t)
	r, dr := c[0], float32((d[0]-c[0])*t)
	gr, dg := c[1], float32((d[1]-c[1])*t)
	b, db := c[2], float32((d[2]-c[2])*t)
	gx, gy, own := l.gx[from+1:end], l.gy[from+1:end], l.own[from+1:end]
	for i := range own {
		g.x, g.y = g.x+dx, g.y+dy
		r, gr, b = r+dr, gr+dg, b+db
		gx[i], gy[i] = g.x, g.y
		o := &own[i]
		o[0], o[1], o[2] = r, gr, b
	}
}

// x is where sample i of a line lies.
func (w *worker) x(i int) float64 { return w.lines.X0 + float64(float64(i)*w.lines.Cell) }

// slope is the lean of a facet at sample i of a line at y.
func (w *worker) slope(facet int32, i int, y float64) lean {
	p, q := w.carving.Slope(facet, w.x(i), y)
	return lean{float32(p), float32(q)}
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
			// The kernel may have swung a little below black.
			l := tone(RGB{float64(max(0, s[0])), float64(max(0, s[1])), float64(max(0, s[2]))})
			c = c.scale(1-metal).plus(l, metal)
		}
		for k, v := range [3]float64{c.R, c.G, c.B} {
			out[4*i+k] = byteOf[int(float64(min(max(v, 0), 1)*(1<<16))+0.5)]
		}
		out[4*i+3] = 255
	}
}
