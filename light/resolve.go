package light

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// The edge of the metal is broken by a soft bevel.
const (
	bevelWidth = 0.2  // mm
	bevelSlope = 0.75 // at the very edge
)

// groundLight is what lies round the work and behind its open windows: dark and
// quiet, so that metal reads as metal.
var groundLight = RGB{0.0075, 0.0080, 0.0090}

// resolver turns rows of samples into rows of pixels. Each worker has its own.
type resolver struct {
	*picture
	samples *samplesOf
	lines   [2]line
	pixels  [2]pixels
}

// line is one row of samples: slope and compressed radiance.
type line struct {
	facet  []int32
	z      []float32
	gx, gy []float32
	c      [][3]float32
}

// pixels is one row of pixels in the making.
type pixels struct {
	edge  []float64    // distance of the centre from the metal's edge
	bevel [][2]float32 // slope of the bevel there
	sum   [][3]float32 // compressed radiance of the samples
}

func newResolver(p *picture, s *samplesOf) *resolver {
	r := &resolver{picture: p, samples: s}
	for i := range r.lines {
		r.lines[i] = line{gx: make([]float32, s.Nx), gy: make([]float32, s.Nx), c: make([][3]float32, s.Nx)}
		r.pixels[i] = pixels{make([]float64, p.W), make([][2]float32, p.W), make([][3]float32, p.W)}
	}
	return r
}

// rows makes the picture's rows from to to. It goes up the samples, so from the
// lowest row of pixels, and shades one row of samples on either side of its own
// to place the edges there.
func (r *resolver) rows(from, to int) {
	s, n := r.samples, r.Samples
	below, here := &r.lines[0], &r.lines[1]
	under, row := &r.pixels[0], &r.pixels[1]
	first := 1 + (s.to-to)*n // row of samples, the first of the row of pixels
	r.begin(under, to)
	r.shade(below, under, first-1)
	for y := to - 1; y >= from-1; y-- {
		r.begin(row, y)
		for j := first; j < first+n; j++ {
			r.shade(here, row, j)
			down, up := row.sum, row.sum
			if j == first {
				down = under.sum
			}
			r.placeLevel(below, here, down, up)
			if j == first && y < to-1 {
				r.finish(under, y+1)
			}
			if y < from {
				return
			}
			r.gather(here, row.sum)
			r.placeUpright(here, row.sum)
			below, here = here, below
		}
		first += n
		under, row = row, under
	}
}

// begin makes ready a row of pixels, which may lie just outside the picture.
func (r *resolver) begin(row *pixels, y int) {
	r.edges(y, row.edge)
	r.bevels(row, y)
	clear(row.sum)
}

// shade fills a line with row j of the samples.
func (r *resolver) shade(l *line, row *pixels, j int) {
	s := r.samples
	l.facet = s.facet[j*s.Nx : (j+1)*s.Nx]
	l.z = s.z[j*s.Nx : (j+1)*s.Nx]
	y := s.Y0 + float64(float64(j)*s.Cell)
	offY := float32(y * parallax)
	pixel := r.Pixel()
	for i, f := range l.facet {
		px := min(max(i-1, 0)/r.Samples, r.W-1)
		if row.edge[px] > pixel {
			l.gx[i], l.gy[i], l.c[i] = 0, 0, [3]float32{}
			continue
		}
		x := s.X0 + float64(float64(i)*s.Cell)
		gx, gy := row.bevel[px][0], row.bevel[px][1]
		if f >= 0 {
			dx, dy := r.carving.Slope(f, x, y)
			gx, gy = float32(dx), float32(dy)
		}
		l.gx[i], l.gy[i] = gx, gy
		l.c[i] = r.sheen.at(gx-float32(x*parallax), gy-offY)
	}
}

// gather gives each pixel its samples on a line.
func (r *resolver) gather(l *line, sum [][3]float32) {
	i := 1
	for px := range sum {
		p := &sum[px]
		for _, c := range l.c[i : i+r.Samples] {
			p[0] += c[0]
			p[1] += c[1]
			p[2] += c[2]
		}
		i += r.Samples
	}
}

// placeUpright moves the edges between neighbours on a line, which gather has
// taken to lie midway, to where the flanks meet, if they are nearer to upright
// than to level. An edge is so moved along rows or along columns, never both.
func (r *resolver) placeUpright(l *line, sum [][3]float32) {
	for i := 1; i < len(l.facet); i++ {
		if l.facet[i] == l.facet[i-1] {
			continue
		}
		dx, dy := l.gx[i-1]-l.gx[i], l.gy[i-1]-l.gy[i]
		if abs(dx) < abs(dy) {
			continue
		}
		w, ok := meeting(l.z[i-1], l.z[i], l.gx[i], dx, float32(r.cell))
		if !ok {
			continue
		}
		owner := i - 1 // the sample whose ground changes hands
		if w > 0 {
			owner = i
		}
		if owner >= 1 && owner <= len(l.facet)-2 {
			exchange(&sum[(owner-1)/r.Samples], w, l.c[i-1], l.c[i])
		}
	}
}

// placeLevel does the same for edges nearer to level, between a line and the one
// above it. Down and up are the rows of pixels that the two lines belong to.
func (r *resolver) placeLevel(below, above *line, down, up [][3]float32) {
	for i := 1; i < len(below.facet)-1; i++ {
		if below.facet[i] == above.facet[i] {
			continue
		}
		dx, dy := below.gx[i]-above.gx[i], below.gy[i]-above.gy[i]
		if abs(dy) <= abs(dx) {
			continue
		}
		w, ok := meeting(below.z[i], above.z[i], above.gy[i], dy, float32(r.cell))
		if !ok {
			continue
		}
		owner := down
		if w > 0 {
			owner = up
		}
		exchange(&owner[(i-1)/r.Samples], w, below.c[i], above.c[i])
	}
}

// exchange gives the share w of a sample's ground, which has colour b, to the
// neighbour's colour a; a negative share goes the other way.
func exchange(sum *[3]float32, w float32, a, b [3]float32) {
	for k := range sum {
		sum[k] += float32(w * (a[k] - b[k]))
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

func abs(x float32) float32 {
	return math.Float32frombits(math.Float32bits(x) &^ (1 << 31))
}

// bevels sets the slope of the bevel in each pixel of a row.
func (r *resolver) bevels(row *pixels, j int) {
	pixel := r.Pixel()
	y := r.top - float64((float64(j)+0.5)*pixel)
	for i, d := range row.edge {
		row.bevel[i] = [2]float32{}
		if d < -bevelWidth || d > pixel {
			continue
		}
		x := r.left + float64((float64(i)+0.5)*pixel)
		const h = 1e-4
		gx := (r.ground.Distance(r2.Vec{X: x + h, Y: y}) - r.ground.Distance(r2.Vec{X: x - h, Y: y})) / (2 * h)
		gy := (r.ground.Distance(r2.Vec{X: x, Y: y + h}) - r.ground.Distance(r2.Vec{X: x, Y: y - h})) / (2 * h)
		t := 1 + min(d, 0)/bevelWidth
		s := -bevelSlope * t * t
		row.bevel[i] = [2]float32{float32(gx * s), float32(gy * s)}
	}
}

// finish writes the sums of a row into the picture.
func (r *resolver) finish(row *pixels, y int) {
	pixel := r.Pixel()
	share := 1 / float64(r.Samples*r.Samples)
	ground := tone(groundLight)
	out := r.image.Pix[y*r.image.Stride:]
	for i, d := range row.edge {
		c := ground
		if metal := min(max(0.5-d/pixel, 0), 1); metal > 0 {
			s := row.sum[i]
			l := tone(RGB{
				expand(float64(s[0]) * share), expand(float64(s[1]) * share), expand(float64(s[2]) * share),
			})
			c = ground.scale(1-metal).plus(l, metal)
		}
		out[4*i], out[4*i+1], out[4*i+2], out[4*i+3] = level(c.R), level(c.G), level(c.B), 255
	}
}

// level is the value of a byte for linear light.
func level(v float64) uint8 { return uint8(encode(min(max(v, 0), 1))*255 + 0.5) }
