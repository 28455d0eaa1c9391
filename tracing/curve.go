package tracing

import "math"

// affine maps (x, y) to (ax+cy+e, bx+dy+f), as the matrix of SVG does.
type affine struct{ a, b, c, d, e, f float64 }

var identity = affine{a: 1, d: 1}

// times returns the map that does n first and m after it.
func (m affine) times(n affine) affine {
	return affine{
		m.a*n.a + m.c*n.b, m.b*n.a + m.d*n.b,
		m.a*n.c + m.c*n.d, m.b*n.c + m.d*n.d,
		m.a*n.e + m.c*n.f + m.e, m.b*n.e + m.d*n.f + m.f,
	}
}

func (m affine) point(p Point) Point {
	return Point{float64(m.a*p.X) + float64(m.c*p.Y) + m.e, float64(m.b*p.X) + float64(m.d*p.Y) + m.f}
}

// vector maps a difference of places.
func (m affine) vector(p Point) Point {
	return Point{float64(m.a*p.X) + float64(m.c*p.Y), float64(m.b*p.X) + float64(m.d*p.Y)}
}

func shift(x, y float64) affine   { return affine{1, 0, 0, 1, x, y} }
func scaling(x, y float64) affine { return affine{x, 0, 0, y, 0, 0} }

func turning(angle float64) affine {
	sin, cos := math.Sincos(angle)
	return affine{cos, sin, -sin, cos, 0, 0}
}

// steps returns how many equal steps of a parameter from 0 to 1 keep the chords
// within tolerance of a curve whose second derivative is at most bend: the chords
// of n steps stray by at most bend/(8n²). It is −1 when there would be too many.
func steps(bend, tolerance float64) int {
	n := math.Ceil(math.Sqrt(bend / (8 * tolerance)))
	if !(n <= MaxPoints) {
		return -1
	}
	return max(int(n), 1)
}

// bezier is a curve by its control points, 2 to 4 of them.
type bezier []Point

// bend bounds the second derivative: k(k−1) times the greatest second difference.
func (b bezier) bend() float64 {
	most := 0.0
	for i := 2; i < len(b); i++ {
		most = max(most, b[i].minus(b[i-1].times(2)).plus(b[i-2]).length())
	}
	k := float64(len(b) - 1)
	return k * (k - 1) * most
}

// at evaluates by de Casteljau's steps.
func (b bezier) at(t float64) Point {
	var q [4]Point
	n := copy(q[:], b)
	for n--; n > 0; n-- {
		for i := range n {
			q[i] = q[i].toward(q[i+1], t)
		}
	}
	return q[0]
}

// arc is the ellipse centre + cos φ·u + sin φ·v from one φ to another.
type arc struct {
	centre, u, v Point
	from, to     float64
}

func (a arc) at(φ float64) Point {
	sin, cos := math.Sincos(φ)
	return a.centre.plus(a.u.times(cos)).plus(a.v.times(sin))
}

func (a arc) under(m affine) arc {
	return arc{m.point(a.centre), m.vector(a.u), m.vector(a.v), a.from, a.to}
}

// bend is the square of the angle times the half major axis, the greater singular
// value of (u v).
func (a arc) bend() float64 {
	p := (a.u.length()*a.u.length() + a.v.length()*a.v.length()) / 2
	q := a.u.cross(a.v)
	major := math.Sqrt(p + math.Sqrt(math.Max(p*p-q*q, 0)))
	return (a.to - a.from) * (a.to - a.from) * major
}

// endpoints are joined exactly: rounding must open no gap.
func (a arc) follow(dst []Point, n int) []Point {
	for i := 1; i <= n; i++ {
		dst = append(dst, a.at(a.from+(a.to-a.from)*float64(i)/float64(n)))
	}
	return dst
}

// bulged returns the arc from p to q whose included angle has a quarter of tangent
// bulge, counter-clockwise when it is above 0 (DXF reference, group 42).
func bulged(p, q Point, bulge float64) arc {
	angle := 4 * math.Atan(bulge)
	chord := q.minus(p)
	// The centre lies cot(angle/2)/2 chords to the left of the middle.
	k := (1 - bulge*bulge) / (4 * bulge)
	centre := p.toward(q, 0.5).plus(Point{-chord.Y, chord.X}.times(k))
	r := p.minus(centre)
	from := math.Atan2(r.Y, r.X)
	radius := r.length()
	return arc{centre, Point{radius, 0}, Point{0, radius}, from, from + angle}
}

// weighted is a control point of a rational curve, (wx, wy, w).
type weighted struct{ x, y, w float64 }

func (p weighted) point() Point { return Point{p.x / p.w, p.y / p.w} }

func (p weighted) toward(q weighted, t float64) weighted {
	return weighted{p.x + (q.x-p.x)*t, p.y + (q.y-p.y)*t, p.w + (q.w-p.w)*t}
}

// followRational appends the rational Bézier curve after its first point; it halves
// it until its control points lie within the tolerance of the chord. It gives up
// and returns false when that takes more than most points.
func followRational(dst []Point, b []weighted, tolerance float64, most int) ([]Point, bool) {
	type part struct {
		b     []weighted
		depth int
	}
	todo := []part{{b, 0}}
	before := len(dst)
	for len(todo) > 0 {
		p := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if p.depth >= 40 || flat(p.b, tolerance) {
			if len(dst)-before >= most {
				return dst, false
			}
			dst = append(dst, p.b[len(p.b)-1].point())
			continue
		}
		left, right := halved(p.b)
		todo = append(todo, part{right, p.depth + 1}, part{left, p.depth + 1})
	}
	return dst, true
}

func flat(b []weighted, tolerance float64) bool {
	p, q := b[0].point(), b[len(b)-1].point()
	for _, c := range b[1 : len(b)-1] {
		if toSegment(c.point(), p, q) > tolerance {
			return false
		}
	}
	return true
}

func halved(b []weighted) (left, right []weighted) {
	n := len(b)
	q := append([]weighted(nil), b...)
	left, right = make([]weighted, n), make([]weighted, n)
	for i := range n {
		left[i], right[n-1-i] = q[0], q[n-1-i]
		for j := range n - 1 - i {
			q[j] = q[j].toward(q[j+1], 0.5)
		}
	}
	return left, right
}

// toSegment returns the distance of c from the straight line p to q.
func toSegment(c, p, q Point) float64 {
	d := q.minus(p)
	l := d.X*d.X + d.Y*d.Y
	if l == 0 {
		return c.distance(p)
	}
	e := c.minus(p)
	t := min(max((e.X*d.X+e.Y*d.Y)/l, 0), 1)
	return c.distance(p.toward(q, t))
}

// bezierSpan returns the control points of the B-spline over the knots k[i] to
// k[i+1]: the blossom at j times one end and degree−j times the other (Ramshaw;
// any text on B-splines).
func bezierSpan(c []weighted, k []float64, degree, i int) []weighted {
	out := make([]weighted, degree+1)
	d := make([]weighted, degree+1)
	for j := range out {
		copy(d, c[i-degree:i+1])
		for r := 1; r <= degree; r++ {
			t := k[i]
			if degree-r < j {
				t = k[i+1]
			}
			for s := degree; s >= r; s-- {
				lo, hi := k[i-degree+s], k[i+1+s-r]
				d[s] = d[s-1].toward(d[s], (t-lo)/(hi-lo))
			}
		}
		out[j] = d[degree]
	}
	return out
}
