package fit

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// rankTolerance is the share of the largest singular value below which a
// combination of the unknowns counts as untouched by the measurements. Exact
// confusions come out near 1e-16 of it; the worst of the NIST sets that the
// tests solve, Wampler1, stands at 2e-5 and Filip, which they do not, at 1e-10.
const rankTolerance = 1e-11

// Linear is the solution of min ‖y − X·β‖.
type Linear struct {
	Beta      []float64
	Cofactor  *mat.SymDense // (XᵀX)⁺: times the variance of an observation of weight 1 it is the covariance of Beta
	Residual  []float64     // y − X·β
	Leverage  []float64     // diagonal of the hat matrix, 0 to 1
	Squares   float64       // sum of the squared residuals
	Rank      int
	Untouched []mat.VecDense // directions of β that no observation touches, of unit length in scaled columns; empty at full rank
	scale     []float64      // length of each column of X
}

// Freedom returns the degrees of freedom left for the scatter: rows less rank.
func (l *Linear) Freedom() int { return len(l.Residual) - l.Rank }

// Scatter returns the residual standard deviation √(Σr²/ν), and 0 when no
// degree of freedom is left to estimate it.
func (l *Linear) Scatter() float64 {
	if l.Freedom() <= 0 {
		return 0
	}
	return math.Sqrt(l.Squares / float64(l.Freedom()))
}

// Determines says whether the observations determine the combination g·β.
func (l *Linear) Determines(g []float64) bool { return l.share(g) < 1e-6 }

// share is the greatest part of g, in scaled columns, that lies along a
// direction no observation touches.
func (l *Linear) share(g []float64) float64 {
	var norm, worst float64
	for i, v := range g {
		norm = math.Hypot(norm, v/l.scale[i])
	}
	if norm == 0 {
		return 0
	}
	for k := range l.Untouched {
		var dot float64
		for i, v := range g {
			dot += v / l.scale[i] * l.Untouched[k].AtVec(i)
		}
		worst = max(worst, math.Abs(dot)/norm)
	}
	return worst
}

// Solve returns the least squares solution, the shortest one (in scaled
// columns) when the observations leave some combination untouched. x has one
// row an observation and one column an unknown; more unknowns than
// observations are allowed. The error says that a number is not finite.
func Solve(x *mat.Dense, y []float64) (*Linear, error) {
	n, p := x.Dims()
	if len(y) != n {
		panic(fmt.Sprintf("fit: %d rows and %d observations", n, len(y)))
	}
	scaled := mat.DenseCopyOf(x)
	l := &Linear{scale: make([]float64, p), Beta: make([]float64, p)}
	for j := range p {
		l.scale[j] = mat.Norm(x.ColView(j), 2)
		if l.scale[j] == 0 {
			l.scale[j] = 1
		}
	}
	for i := range n {
		row := scaled.RawRowView(i)
		for j := range row {
			row[j] /= l.scale[j]
		}
	}
	var svd mat.SVD
	if !svd.Factorize(scaled, mat.SVDThinU|mat.SVDFullV) {
		return nil, errors.New("fit: the singular values of the observations were not found: a number among them is not finite")
	}
	sigma := svd.Values(nil)
	for _, s := range sigma {
		if math.IsNaN(s) || math.IsInf(s, 0) {
			return nil, errors.New("fit: a number among the observations is not finite")
		}
		if s > rankTolerance*sigma[0] {
			l.Rank++
		}
	}
	var u, v mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	for j := l.Rank; j < p; j++ {
		l.Untouched = append(l.Untouched, *mat.VecDenseCopyOf(v.ColView(j)))
	}

	along := make([]float64, l.Rank)
	for i, w := range y {
		for k, q := range u.RawRowView(i)[:l.Rank] {
			along[k] += q * w
		}
	}
	for j := range l.Beta {
		for k, a := range along {
			l.Beta[j] += v.At(j, k) * a / (sigma[k] * l.scale[j])
		}
	}
	l.Residual = append([]float64(nil), y...)
	for i := range l.Residual {
		for j, w := range x.RawRowView(i) {
			l.Residual[i] -= w * l.Beta[j]
		}
	}
	if l.Squares = sum(l.Residual); math.IsNaN(l.Squares) || math.IsInf(l.Squares, 0) {
		return nil, errors.New("fit: a number among the observations is not finite, or too large to square")
	}

	l.Cofactor = mat.NewSymDense(p, nil)
	for i := range p {
		for j := i; j < p; j++ {
			var c float64
			for k := range l.Rank {
				c += v.At(i, k) * v.At(j, k) / (sigma[k] * sigma[k])
			}
			l.Cofactor.SetSym(i, j, c/(l.scale[i]*l.scale[j]))
		}
	}
	l.Leverage = make([]float64, n)
	for i := range n {
		for _, q := range u.RawRowView(i)[:l.Rank] {
			l.Leverage[i] += q * q
		}
	}
	return l, nil
}

// Studentised returns the externally studentised residuals
// t = r/(s₍ᵢ₎·√(1−h)), each judged by the scatter of all the others; an
// observation that nothing else checks (leverage 1) or a set without a spare
// degree of freedom gives 0. When sigma is above 0 it is the known scatter and
// is used in place of s₍ᵢ₎.
func (l *Linear) Studentised(sigma float64) []float64 {
	t := make([]float64, len(l.Residual))
	nu := float64(l.Freedom())
	for i, r := range l.Residual {
		free := 1 - l.Leverage[i]
		if free < 1e-9 {
			continue
		}
		s := sigma
		if s == 0 {
			if nu <= 1 {
				continue
			}
			s = math.Sqrt(max(0, l.Squares-r*r/free) / (nu - 1))
		}
		// A set without any scatter has no outlier either: the floor keeps
		// rounding errors from being judged against one another.
		s = max(s, 1e-12*math.Sqrt(l.Squares/float64(len(l.Residual)))+1e-300)
		t[i] = r / (s * math.Sqrt(free))
	}
	return t
}
