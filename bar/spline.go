package bar

import "gonum.org/v1/gonum/mat"

// splineSlopes returns the slopes at the knots of the cubic spline through them
// whose second derivative is continuous: natural (no bending at its ends), or
// periodic when the last knot is the first of the next period. y ascends strictly.
//
// The slopes m solve, at each knot between intervals of lengths d and e with mean
// slopes p and q, m₋/d + 2m(1/d + 1/e) + m₊/e = 3(p/d + q/e); any text on splines.
func splineSlopes(y, h []float64, periodic bool) []float64 {
	n := len(y) - 1 // intervals
	if periodic && n < 3 {
		// Too few knots for the bordered system: take three periods.
		long := append([]float64(nil), y...)
		tall := append([]float64(nil), h...)
		for k := 1; k < 3; k++ {
			for i := 1; i <= n; i++ {
				long = append(long, y[i]+float64(k)*(y[n]-y[0]))
				tall = append(tall, h[i])
			}
		}
		m := splineSlopes(long, tall, true)[:n+1]
		m[n] = m[0]
		return m
	}
	d := make([]float64, n)
	p := make([]float64, n)
	for i := range n {
		d[i] = y[i+1] - y[i]
		p[i] = (h[i+1] - h[i]) / d[i]
	}
	size := n + 1
	if periodic {
		size = n
	}
	if size == 1 {
		return []float64{0, 0}
	}
	lower := make([]float64, size-1)
	diag := make([]float64, size)
	upper := make([]float64, size-1)
	rhs := make([]float64, size)
	for i := range size {
		if i > 0 {
			diag[i] += 2 / d[i-1]
			rhs[i] += 3 * p[i-1] / d[i-1]
			lower[i-1] = 1 / d[i-1]
		}
		if i < n {
			diag[i] += 2 / d[i]
			rhs[i] += 3 * p[i] / d[i]
			if i < size-1 {
				upper[i] = 1 / d[i]
			}
		}
	}
	if !periodic {
		return solveTridiagonal(lower, diag, upper, rhs)
	}
	// The last interval joins the last unknown to the first. Its matrix is
	// tridiagonal but for a corner c in either direction, which is the product
	// of (1, 0 … 0, 1) with itself times c: Sherman and Morrison's formula.
	c := 1 / d[n-1]
	rhs[0] += 3 * p[n-1] * c
	diag[0] += c // 2c for the interval, less c for the product
	diag[n-1] -= c
	u := make([]float64, n)
	u[0], u[n-1] = 1, 1
	x := solveTridiagonal(lower, diag, upper, rhs)
	z := solveTridiagonal(lower, diag, upper, u)
	k := c * (x[0] + x[n-1]) / (1 + c*(z[0]+z[n-1]))
	for i := range x {
		x[i] -= float64(k * z[i])
	}
	return append(x, x[0])
}

// solveTridiagonal solves a diagonally dominant system.
func solveTridiagonal(lower, diag, upper, rhs []float64) []float64 {
	n := len(diag)
	var x mat.VecDense
	t := mat.NewTridiag(n, append([]float64(nil), lower...), append([]float64(nil), diag...), append([]float64(nil), upper...))
	if err := t.SolveVecTo(&x, false, mat.NewVecDense(n, rhs)); err != nil {
		return make([]float64, n) // cannot happen: the rows are dominant
	}
	return x.RawVector().Data
}
