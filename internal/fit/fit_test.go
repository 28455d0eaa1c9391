package fit

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// load reads the columns of a file of numbers under their names.
func load(t *testing.T, name string) map[string][]float64 {
	t.Helper()
	rows := rows(t, name)
	columns := map[string][]float64{}
	for _, row := range rows[1:] {
		for j, field := range row {
			v, err := strconv.ParseFloat(strings.TrimSpace(field), 64)
			if err != nil {
				t.Fatal(err)
			}
			columns[rows[0][j]] = append(columns[rows[0][j]], v)
		}
	}
	return columns
}

func rows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s: %.15g, certified %.15g: relative error %.2g above %.2g", what, got, want, math.Abs(got/want-1), relative)
	}
}

// powers makes the design of a polynomial in x.
func powers(x []float64, from, to int) *mat.Dense {
	m := mat.NewDense(len(x), to-from+1, nil)
	for i, v := range x {
		for k := from; k <= to; k++ {
			m.Set(i, k-from, math.Pow(v, float64(k)))
		}
	}
	return m
}

// NIST StRD, linear regression. The tolerances are digits that double precision
// can keep at the set's condition: 1e-10 for all but the two stiff ones.
func TestLinearStandardSets(t *testing.T) {
	designs := map[string]struct {
		x        func(c map[string][]float64) *mat.Dense
		relative float64
	}{
		"Norris":  {func(c map[string][]float64) *mat.Dense { return powers(c["x"], 0, 1) }, 1e-12},
		"Pontius": {func(c map[string][]float64) *mat.Dense { return powers(c["x"], 0, 2) }, 1e-11},
		"Noint1":  {func(c map[string][]float64) *mat.Dense { return powers(c["x"], 1, 1) }, 1e-13},
		"Noint2":  {func(c map[string][]float64) *mat.Dense { return powers(c["x"], 1, 1) }, 1e-13},
		"Longley": {func(c map[string][]float64) *mat.Dense {
			m := mat.NewDense(len(c["y"]), 7, nil)
			for i := range c["y"] {
				m.Set(i, 0, 1)
				for k := 1; k <= 6; k++ {
					m.Set(i, k, c["x"+strconv.Itoa(k)][i])
				}
			}
			return m
		}, 1e-11},
	}
	certified := rows(t, "linear_certified_recomputed.csv")[1:]
	for name, d := range designs {
		c := load(t, name+".csv")
		l, err := Solve(d.x(c), c["y"])
		if err != nil {
			t.Fatal(err)
		}
		seen := 0
		for _, row := range certified {
			if strings.Fields(row[0])[0] != name {
				continue
			}
			k := int(number(t, row[1][1:]))
			near(t, name+" "+row[1], l.Beta[k], number(t, row[2]), d.relative)
			near(t, name+" sd of "+row[1], l.Scatter()*math.Sqrt(l.Cofactor.At(k, k)), number(t, row[3]), d.relative)
			near(t, name+" residual sd", l.Scatter(), number(t, row[4]), d.relative)
			if l.Freedom() != int(number(t, row[5])) {
				t.Errorf("%s: %d degrees of freedom, certified %s", name, l.Freedom(), row[5])
			}
			seen++
		}
		if seen != len(l.Beta) {
			t.Errorf("%s: %d certified values for %d unknowns", name, seen, len(l.Beta))
		}
	}
	// Wampler1: every coefficient 1, scatter 0.
	c := load(t, "Wampler1.csv")
	l, err := Solve(powers(c["x"], 0, 5), c["y"])
	if err != nil {
		t.Fatal(err)
	}
	for k, b := range l.Beta {
		near(t, "Wampler1 B"+strconv.Itoa(k), b, 1, 1e-9)
	}
}

// JCGM 100:2008 (GUM), H.3: calibration of a thermometer; t₀ = 20 °C. The
// exact values are recomputed with fractions from Table H.6 and round to the
// printed −0.1712(29), 0.00218(67), −0.930, −0.1494(41).
func TestThermometerOfTheGUM(t *testing.T) {
	c := load(t, "gum_h3_thermometer.csv")
	x := mat.NewDense(len(c["k"]), 2, nil)
	for i, v := range c["t_k_degC"] {
		x.SetRow(i, []float64{1, v - 20})
	}
	l, err := Solve(x, c["b_k_degC"])
	if err != nil {
		t.Fatal(err)
	}
	s := l.Scatter()
	cov := func(i, j int) float64 { return s * s * l.Cofactor.At(i, j) }
	near(t, "intercept", l.Beta[0], -0.171203790131, 1e-10)
	near(t, "u(intercept)", math.Sqrt(cov(0, 0)), 0.00287759783516, 1e-10)
	near(t, "slope", l.Beta[1], 0.00218269773989, 1e-10)
	near(t, "u(slope)", math.Sqrt(cov(1, 1)), 0.000667938773228, 1e-10)
	near(t, "correlation", cov(0, 1)/math.Sqrt(cov(0, 0)*cov(1, 1)), -0.930429603093, 1e-10)
	near(t, "s", s, 0.00349756396, 2e-9) // the value has nine digits
	near(t, "b(30)", l.Beta[0]+10*l.Beta[1], -0.149376812732, 1e-10)
	near(t, "u(b(30))", math.Sqrt(cov(0, 0)+20*cov(0, 1)+100*cov(1, 1)), 0.00413859575, 1e-8)
}

// NIST StRD, non-linear regression, from both published starts.
func TestNonlinearStandardSets(t *testing.T) {
	type value func(x float64, b []float64) (y float64, by []float64)
	models := map[string]value{
		"Misra1a": func(x float64, b []float64) (float64, []float64) {
			e := math.Exp(-b[1] * x)
			return b[0] * (1 - e), []float64{1 - e, b[0] * x * e}
		},
		"Misra1b": func(x float64, b []float64) (float64, []float64) {
			q := 1 + b[1]*x/2
			return b[0] * (1 - 1/(q*q)), []float64{1 - 1/(q*q), b[0] * x / (q * q * q)}
		},
		"DanWood": func(x float64, b []float64) (float64, []float64) {
			v := math.Pow(x, b[1])
			return b[0] * v, []float64{v, b[0] * v * math.Log(x)}
		},
		"Chwirut2": func(x float64, b []float64) (float64, []float64) {
			e, q := math.Exp(-b[0]*x), b[1]+b[2]*x
			return e / q, []float64{-x * e / q, -e / (q * q), -x * e / (q * q)}
		},
		"Rat42": func(x float64, b []float64) (float64, []float64) {
			e := math.Exp(b[1] - b[2]*x)
			q := 1 + e
			return b[0] / q, []float64{1 / q, -b[0] * e / (q * q), b[0] * e * x / (q * q)}
		},
	}
	certified := rows(t, "nonlinear_certified.csv")[1:]
	for name, model := range models {
		c := load(t, name+".csv")
		var want [][]string
		for _, row := range certified {
			if row[0] == name {
				want = append(want, row)
			}
		}
		for begin := 2; begin <= 3; begin++ {
			start := make([]float64, len(want))
			for k, row := range want {
				start[k] = number(t, row[begin])
			}
			n, err := GaussNewton(len(c["y"]), start, func(b, misfit []float64, slope *mat.Dense) {
				for i, x := range c["x"] {
					y, by := model(x, b)
					misfit[i] = c["y"][i] - y
					slope.SetRow(i, by)
				}
			})
			if err != nil {
				t.Fatalf("%s from start %d: %v", name, begin-1, err)
			}
			for k, row := range want {
				near(t, name+" "+row[1], n.Beta[k], number(t, row[4]), 1e-9)
				near(t, name+" sd of "+row[1], n.Scatter()*math.Sqrt(n.Cofactor.At(k, k)), number(t, row[5]), 1e-8)
				near(t, name+" sum of squares", n.Squares, number(t, row[6]), 1e-9)
			}
		}
	}
}

// Observations without scatter end at the unknowns that made them.
func TestNonlinearWithoutScatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(0.5, 3).Draw(t, "a")
		b := rapid.Float64Range(-0.5, 0.5).Draw(t, "b")
		n, err := GaussNewton(8, []float64{1, 0}, func(u []float64, misfit []float64, slope *mat.Dense) {
			for i := range 8 {
				x := float64(i) / 2
				misfit[i] = a*math.Exp(b*x) - u[0]*math.Exp(u[1]*x)
				slope.SetRow(i, []float64{math.Exp(u[1] * x), u[0] * x * math.Exp(u[1]*x)})
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(n.Beta[0]-a) > 1e-9 || math.Abs(n.Beta[1]-b) > 1e-9 {
			t.Fatalf("%v, made with %v %v", n.Beta, a, b)
		}
	})
}

// What is confused is found, and what is not confused is answered.
func TestUntouchedCombinations(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(-3, 3).Draw(t, "a")
		b := rapid.Float64Range(0.1, 1000).Draw(t, "b")
		n := rapid.IntRange(3, 12).Draw(t, "n")
		x := mat.NewDense(n, 3, nil)
		y := make([]float64, n)
		for i := range n {
			v := float64(i) * 1.7
			// The second and third unknown enter only as u + b·w.
			x.SetRow(i, []float64{v, 1, b})
			y[i] = a*v + 5
		}
		l, err := Solve(x, y)
		if err != nil {
			t.Fatal(err)
		}
		if l.Rank != 2 || len(l.Untouched) != 1 {
			t.Fatalf("rank %d", l.Rank)
		}
		if !l.Determines([]float64{1, 0, 0}) || !l.Determines([]float64{0, 1, b}) {
			t.Fatal("a determined combination counts as untouched")
		}
		if l.Determines([]float64{0, 1, 0}) || l.Determines([]float64{0, 0, 1}) {
			t.Fatal("a confused unknown counts as determined")
		}
		if got := l.Beta[1] + b*l.Beta[2]; math.Abs(got-5) > 1e-9 || math.Abs(l.Beta[0]-a) > 1e-9 {
			t.Fatalf("answers %v", l.Beta)
		}
	})
}

// Studentised residuals against their definition: leave the observation out,
// predict it from the rest.
func TestStudentisedByLeavingOut(t *testing.T) {
	x := []float64{0.3, 1.1, 2.4, 3.1, 4.7, 5.2}
	y := []float64{1.2, 1.9, 3.6, 9.0, 5.4, 6.3}
	l, err := Solve(powers(x, 0, 1), y)
	if err != nil {
		t.Fatal(err)
	}
	for i, got := range l.Studentised(0) {
		var xs, ys []float64
		for j := range x {
			if j != i {
				xs, ys = append(xs, x[j]), append(ys, y[j])
			}
		}
		rest, err := Solve(powers(xs, 0, 1), ys)
		if err != nil {
			t.Fatal(err)
		}
		c := rest.Cofactor
		u := rest.Scatter() * math.Sqrt(1+c.At(0, 0)+2*x[i]*c.At(0, 1)+x[i]*x[i]*c.At(1, 1))
		near(t, "t"+strconv.Itoa(i), got, (y[i]-rest.Beta[0]-rest.Beta[1]*x[i])/u, 1e-9)
	}
}

func TestNotFinite(t *testing.T) {
	x := mat.NewDense(2, 1, []float64{1, math.NaN()})
	if _, err := Solve(x, []float64{1, 2}); err == nil {
		t.Error("a NaN was fitted")
	}
	if _, err := Solve(mat.NewDense(2, 1, []float64{1, 1}), []float64{1, math.Inf(1)}); err == nil {
		t.Error("an infinite observation was fitted")
	}
}

func BenchmarkSolvePlane(b *testing.B) {
	const n = 100_000
	x := mat.NewDense(n, 3, nil)
	y := make([]float64, n)
	for i := range n {
		x.SetRow(i, []float64{1, math.Sin(float64(i)), math.Cos(2 * float64(i))})
		y[i] = math.Sin(3 * float64(i))
	}
	for b.Loop() {
		if _, err := Solve(x, y); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}
