package blank

import (
	"errors"
	"fmt"
	"math"

	"brightcut/internal/fit"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
)

// Plane is z = Lift + Slope·p, with p from the chuck's centre.
type Plane struct {
	Lift  float64 // height over the chuck's centre, mm
	Slope r2.Vec  // rise in x and y, mm/mm
	// Covariance of Lift, Slope.X, Slope.Y. It holds the scatter of the readings
	// about the plane, bow and bumps with it.
	Covariance [3][3]float64
}

// At returns the height of the plane at p, mm.
func (p Plane) At(q r2.Vec) float64 { return p.Lift + p.Slope.X*q.X + p.Slope.Y*q.Y }

// Uncertainty returns the standard uncertainty of At(q), mm.
func (p Plane) Uncertainty(q r2.Vec) float64 {
	g := [3]float64{1, q.X, q.Y}
	var v float64
	for i := range g {
		for j := range g {
			v += g[i] * p.Covariance[i][j] * g[j]
		}
	}
	return math.Sqrt(max(0, v))
}

// Tilt returns the steepest slope, its standard uncertainty (mm/mm, so nearly
// rad) and the direction in which the work rises, rad from x. When the slope is
// not well above its uncertainty the direction means little.
func (p Plane) Tilt() (slope, uncertainty, direction float64) {
	slope = r2.Norm(p.Slope)
	if slope == 0 {
		return 0, math.Sqrt(max(p.Covariance[1][1], p.Covariance[2][2])), 0
	}
	u := r2.Scale(1/slope, p.Slope)
	v := u.X*u.X*p.Covariance[1][1] + 2*u.X*u.Y*p.Covariance[1][2] + u.Y*u.Y*p.Covariance[2][2]
	return slope, math.Sqrt(max(0, v)), math.Atan2(p.Slope.Y, p.Slope.X)
}

// frame centres and scales the places of readings, which keeps the arithmetic
// good wherever the readings lie.
type frame struct {
	centre r2.Vec
	scale  float64
}

func newFrame(points []Reading) frame {
	f := frame{centre: centroid(points)}
	for _, r := range points {
		f.scale = max(f.scale, r2.Norm(r2.Sub(r.Place, f.centre)))
	}
	if f.scale == 0 {
		f.scale = 1
	}
	return f
}

func (f frame) row(p r2.Vec) [3]float64 {
	return [3]float64{1, (p.X - f.centre.X) / f.scale, (p.Y - f.centre.Y) / f.scale}
}

// plane turns coefficients in the frame, with their covariance, into a Plane.
func (f frame) plane(b [3]float64, cov func(i, j int) float64) Plane {
	t := [3][3]float64{
		{1, -f.centre.X / f.scale, -f.centre.Y / f.scale},
		{0, 1 / f.scale, 0},
		{0, 0, 1 / f.scale},
	}
	var p Plane
	var out [3]float64
	for i := range 3 {
		for j := range 3 {
			out[i] += t[i][j] * b[j]
			for k := range 3 {
				for l := range 3 {
					p.Covariance[i][j] += t[i][k] * cov(k, l) * t[j][l]
				}
			}
		}
	}
	p.Lift, p.Slope = out[0], r2.Vec{X: out[1], Y: out[2]}
	return p
}

var errNoPlane = errors.New("the readings do not settle a plane: they are fewer than three or lie in one line; add one beside the line")

// errClose is met where readings less than a micron apart leave the exchange to
// rounding.
var errClose = errors.New("fitting a plane by its worst deviation: readings lie too near one another, or too nearly in line, to tell which of them hold the plane; give those of one place as one")

// settles says whether places lie apart in both directions.
func settles(points []Reading) bool {
	if len(points) < 3 {
		return false
	}
	length, width := spans(points)
	return length > 0 && width >= inLine*length
}

// LeastSquares returns the plane with the least sum of squared deviations of
// the readings, each place weighted by its count.
func LeastSquares(points []Reading) (Plane, error) {
	if !settles(points) {
		return Plane{}, fmt.Errorf("fitting a plane: %w", errNoPlane)
	}
	f := newFrame(points)
	x := mat.NewDense(len(points), 3, nil)
	y := make([]float64, len(points))
	for i, r := range points {
		w := math.Sqrt(float64(max(1, r.Count)))
		row := f.row(r.Place)
		x.SetRow(i, []float64{w, w * row[1], w * row[2]})
		y[i] = w * r.Z
	}
	l, err := fit.Solve(x, y)
	if err != nil {
		return Plane{}, fmt.Errorf("fitting a plane: %w", err)
	}
	s := l.Scatter()
	return f.plane([3]float64(l.Beta), func(i, j int) float64 { return s * s * l.Cofactor.At(i, j) }), nil
}

// LeastWorst returns the plane whose greatest deviation from any reading is
// least, and that deviation, mm. Its covariance takes the given standard
// uncertainty of a reading, mm, which reaches the plane by the three or four
// readings that hold it.
//
// It is the linear programme min h, |z − plane| ≤ h, solved exactly by the
// revised simplex on its dual: a basis of four readings, exchanged one by one
// for the reading that deviates most (Stiefel's exchange, with Bland's rule
// against cycling; after V. Chvátal, Linear Programming, chapters 7 and 8, from
// memory).
func LeastWorst(points []Reading, reading float64) (plane Plane, worst float64, err error) {
	if !settles(points) {
		return Plane{}, 0, fmt.Errorf("fitting a plane by its worst deviation: %w", errNoPlane)
	}
	f := newFrame(points)
	// Heights above the least squares plane keep the digits for what matters.
	base, err := LeastSquares(points)
	if err != nil {
		return Plane{}, 0, err
	}
	var size float64
	for _, r := range points {
		size = max(size, math.Abs(r.Z-base.At(r.Place)))
	}
	const nothing = 1e-9 // a millionth of a micron: rounding
	if size < nothing || len(points) == 3 {
		return base, size, nil
	}
	e := exchange{frame: f, points: points, base: base, size: size}
	b, err := e.solve()
	if err != nil {
		return Plane{}, 0, err
	}
	// The basis gives (plane, h) = B⁻ᵀ·z, linear in the four heights.
	inverse := e.inverse
	p := f.plane([3]float64{b[0] * size, b[1] * size, b[2] * size}, func(i, j int) float64 {
		var c float64
		for k := range 4 {
			c += inverse.At(k, i) * inverse.At(k, j)
		}
		return reading * reading * c
	})
	p.Lift += base.Lift
	p.Slope = r2.Add(p.Slope, base.Slope)
	for _, r := range points {
		worst = max(worst, math.Abs(r.Z-p.At(r.Place)))
	}
	// With weights that are none below 0, what the basis holds is no more than any
	// plane's worst deviation (weak duality): the two prove one another.
	for k := range 4 {
		if !(inverse.At(k, 3) >= -1e-9) {
			return Plane{}, 0, errClose
		}
	}
	if !(math.Abs(worst-b[3]*size) <= 1e-6*size) {
		return Plane{}, 0, errClose
	}
	return p, worst, nil
}

// exchange is the search of LeastWorst. Its columns are readings with a sign:
// (s, s·x, s·y, 1), of cost s·z.
type exchange struct {
	frame   frame
	points  []Reading
	base    Plane
	size    float64
	basis   [4]int
	sign    [4]float64
	inverse mat.Dense // of the matrix of basis columns
}

// maxExchanges bounds the search; on real readings it takes 5 to 30.
const maxExchanges = 2000

func (e *exchange) height(i int) float64 {
	r := &e.points[i]
	return (r.Z - e.base.At(r.Place)) / e.size
}

func (e *exchange) column(i int, sign float64) []float64 {
	row := e.frame.row(e.points[i].Place)
	return []float64{sign, sign * row[1], sign * row[2], 1}
}

// begin chooses three readings that span the ground and any fourth, with the
// signs of their linear dependency: a feasible basis.
func (e *exchange) begin() {
	first, second, third := 0, 0, 0
	var far float64
	for i, r := range e.points {
		if d := r2.Norm(r2.Sub(r.Place, e.frame.centre)); d > far {
			first, far = i, d
		}
	}
	far = 0
	for i, r := range e.points {
		if d := r2.Norm(r2.Sub(r.Place, e.points[first].Place)); d > far {
			second, far = i, d
		}
	}
	side := r2.Sub(e.points[second].Place, e.points[first].Place)
	far = 0
	for i, r := range e.points {
		if d := math.Abs(r2.Cross(side, r2.Sub(r.Place, e.points[first].Place))); d > far {
			third, far = i, d
		}
	}
	fourth := 0
	for fourth == first || fourth == second || fourth == third {
		fourth++
	}
	e.basis = [4]int{first, second, third, fourth}
	// λ of the first three for the fourth with λ = −1: barycentric coordinates.
	var m, lambda mat.Dense
	m.CloneFrom(mat.NewDense(3, 3, nil))
	for k, i := range e.basis[:3] {
		row := e.frame.row(e.points[i].Place)
		m.SetCol(k, row[:])
	}
	row := e.frame.row(e.points[fourth].Place)
	_ = lambda.Solve(&m, mat.NewDense(3, 1, row[:])) // settles() has seen that m is regular
	for k := range 3 {
		e.sign[k] = math.Copysign(1, lambda.At(k, 0))
	}
	e.sign[3] = -1
}

func (e *exchange) solve() (b [4]float64, err error) {
	e.begin()
	last, stalls := -1.0, 0
	for range maxExchanges {
		m := mat.NewDense(4, 4, nil)
		for k, i := range e.basis {
			m.SetCol(k, e.column(i, e.sign[k]))
		}
		if err := e.inverse.Inverse(m); err != nil {
			if _, poor := err.(mat.Condition); !poor || math.IsInf(float64(err.(mat.Condition)), 1) {
				return b, errClose
			}
		}
		// Readings of the basis close to one another make the plane between them
		// uncertain by rounding; what is smaller than that decides nothing.
		small := 1e-12 + 4e-15*mat.Max(abs4(&e.inverse))
		// Prices: the plane and h that the basis holds.
		b = [4]float64{}
		for k, i := range e.basis {
			z := e.sign[k] * e.height(i)
			for j := range 4 {
				b[j] += e.inverse.At(k, j) * z
			}
		}
		if b[3] > last+small {
			last, stalls = b[3], 0
		} else {
			stalls++
		}
		// The reading that deviates most comes in; once the search has stalled,
		// the first that deviates too much (Bland).
		enter, sign, most := -1, 0.0, b[3]+small
		for i := range e.points {
			row := e.frame.row(e.points[i].Place)
			d := e.height(i) - b[0] - b[1]*row[1] - b[2]*row[2]
			if math.Abs(d) > most {
				enter, sign, most = i, math.Copysign(1, d), math.Abs(d)
				if stalls > 20 {
					break
				}
			}
		}
		if enter < 0 {
			return b, nil
		}
		column := e.column(enter, sign)
		leave, least := -1, math.Inf(1)
		for k := range 4 {
			var d float64
			for j := range 4 {
				d += e.inverse.At(k, j) * column[j]
			}
			if d <= small {
				continue
			}
			// The last column of B⁻¹ is B⁻¹·(0, 0, 0, 1): the weights λ.
			ratio := max(0, e.inverse.At(k, 3)) / d
			if ratio < least-small || ratio <= least+small && leave >= 0 && e.basis[k] < e.basis[leave] {
				leave, least = k, min(least, ratio)
			}
		}
		if leave < 0 {
			return b, errClose
		}
		e.basis[leave], e.sign[leave] = enter, sign
	}
	return b, errClose
}

func abs4(m *mat.Dense) mat.Matrix {
	var a mat.Dense
	a.Apply(func(_, _ int, v float64) float64 { return math.Abs(v) }, m)
	return &a
}

// Flatness is how far readings stand from a plane, after ISO 12781-1 (terms and
// formulas from memory), mm.
type Flatness struct {
	Total  float64 // FLTt: peak to valley
	Peak   float64 // FLTp: greatest above the plane
	Valley float64 // FLTv: greatest below it
	RMS    float64 // FLTq: root mean square
}

// FlatnessOf measures readings against a plane. The standard takes deviations
// square to the plane; they are taken upright here, which differs by the cosine
// of the tilt.
func FlatnessOf(points []Reading, p Plane) (f Flatness) {
	var squares, count float64
	for _, r := range points {
		d := r.Z - p.At(r.Place)
		f.Peak, f.Valley = max(f.Peak, d), max(f.Valley, -d)
		n := float64(max(1, r.Count))
		squares, count = squares+n*d*d, count+n
	}
	f.Total = f.Peak + f.Valley
	if count > 0 {
		f.RMS = math.Sqrt(squares / count)
	}
	return f
}
