package fit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Model gives, at the unknowns b, each observation's misfit (observed less
// computed, divided by its uncertainty) and the slope of the computed value by
// each unknown, divided likewise: one row an observation.
type Model func(b []float64, misfit []float64, slope *mat.Dense)

// Newton is a Gauss–Newton solution: the linear solution at the end, in which
// Beta are the unknowns themselves and Residual their misfits.
type Newton struct {
	*Linear
	Steps int
}

// maxSteps bounds the work: the NIST sets take 5 to 40 steps.
const maxSteps = 200

// GaussNewton minimises the sum of squared misfits of n observations, starting
// at start, with steps halved until they lower it. Combinations that no
// observation touches stay as they are in start and are listed in Untouched.
//
// The error tells that the model is not finite at the start, or where the search
// stood when it gave up.
func GaussNewton(n int, start []float64, model Model) (*Newton, error) {
	p := len(start)
	b := append([]float64(nil), start...)
	misfit := make([]float64, n)
	slope := mat.NewDense(n, p, nil)
	model(b, misfit, slope)
	squares := sum(misfit)
	if math.IsNaN(squares) || math.IsInf(squares, 0) {
		return nil, fmt.Errorf("fit: the model gives no finite value at the start %v", start)
	}
	trial := make([]float64, p)
	tried := make([]float64, n)
	slopes := mat.NewDense(n, p, nil)
	before := math.Inf(1)
	for step := 1; step <= maxSteps; step++ {
		l, err := Solve(slope, misfit)
		if err != nil {
			return nil, err
		}
		// How far the step would carry the computed values, against the scatter
		// that stays: the relative offset of Bates and Watts, Nonlinear
		// Regression Analysis and Its Applications, 2.2 (from memory). Near the
		// end the sum of squares no longer tells better from worse, so the
		// steps are taken whole until they shrink no further.
		carry := carries(slope, l.Beta)
		offset := carry / (math.Sqrt(squares) + 1e-300)
		// Measurements without any scatter have no offset to go by: there the
		// carry is held against the computed values themselves.
		var computed float64
		for j, v := range b {
			computed = max(computed, math.Abs(v)*l.scale[j])
		}
		near := offset < 1e-4 || carry <= 1e-10*computed
		if offset <= 1e-13 || carry <= 1e-15*computed || near && offset > before/2 {
			l.Beta = b
			copy(l.Residual, misfit)
			l.Squares = squares
			return &Newton{Linear: l, Steps: step}, nil
		}
		if near {
			before = offset
		}
		for shorter := 1.0; ; shorter /= 2 {
			for i := range trial {
				trial[i] = b[i] + shorter*l.Beta[i]
			}
			model(trial, tried, slopes)
			if next := sum(tried); next <= squares || near && (next <= squares*(1+1e-6) || carry <= 1e-10*computed) {
				squares = next
				break
			}
			if shorter < 1e-12 {
				return nil, fmt.Errorf("fit: no step from %v lowers the sum of squares, %g", b, squares)
			}
		}
		copy(b, trial)
		copy(misfit, tried)
		slope, slopes = slopes, slope
	}
	return nil, fmt.Errorf("fit: no answer after %d steps; the last stood at %v with a sum of squares of %g", maxSteps, b, squares)
}

// carries is the length of the change that a step makes in the computed values.
func carries(slope *mat.Dense, step []float64) float64 {
	var change mat.VecDense
	change.MulVec(slope, mat.NewVecDense(len(step), step))
	return mat.Norm(&change, 2)
}

func sum(v []float64) (s float64) {
	for _, x := range v {
		s += x * x
	}
	return s
}
