package blank

import (
	"errors"
	"fmt"
	"math"

	"brightcut/fault"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
)

// Residual is what no truing takes out: bow, saddle, twist and bumps, smoothly
// fitted to the readings, with its standard uncertainty everywhere.
//
// The readings, less the nominal form, are taken as a plane plus a Gaussian
// process of Matérn 5/2 covariance plus noise:
//
//	z(p) = h(p)·β + f(p) + ε,  cov f = σ²·(1 + s + s²/3)·e^{−s},  s = √5·|p − q|/ℓ
//
// The plane has no prior, so that tilt and lift go out exactly and their
// uncertainty is in At's. σ is integrated out by its estimate, ℓ and the noise
// are those of the greatest restricted likelihood on a bounded grid. Formulas:
// C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine
// Learning, 2.2, 2.7, 4.2, 5.4 (from memory); the factor for the few degrees of
// freedom is the variance of Student's t.
//
// A Residual does not change and may be asked from several goroutines.
type Residual struct {
	Plane    Plane   // best plane by least squares, already taken out
	Length   float64 // ℓ, over which the form changes, mm
	Sigma    float64 // σ of the form, mm
	Noise    float64 // standard deviation of one reading, mm: estimated, or as given
	Readings int     // places fitted
	Averaged bool    // readings near one another were averaged first …
	Cell     float64 // … in squares of this side, mm
	Margin   float64 // how far beyond the readings' hull At still counts as inside, mm

	frame  frame
	points []Reading // averaged, heights less nominal and plane
	hull   []r2.Vec
	chol   mat.Cholesky  // of R + η·diag(1/count)
	trend  mat.Cholesky  // of HᵀK⁻¹H
	solved *mat.Dense    // K⁻¹H
	beta   [3]float64    // of the plane that remains beside f
	weight *mat.VecDense // K⁻¹(z − Hβ)
	spread float64       // σ² with the factor of Student's t
}

// ResidualOptions say what is known beforehand.
type ResidualOptions struct {
	Nominal Nominal // form of the work; the zero Nominal is flat
	Noise   float64 // standard deviation of one reading, mm; 0 estimates it
}

// The bounds of the fit.
const (
	minReadings = 6    // three settle the plane; three more leave a spread to tell
	maxFitted   = 600  // Cholesky of 600 is 15 ms; more are averaged
	maxSearched = 150  // readings from which ℓ and the noise are sought
	minNoise    = 1e-8 // least η, which keeps the matrix well conditioned
	maxNoise    = 10.0
)

// Residual fits the form that is left beside the nominal form and the plane.
//
// Six places or more are needed. Beyond 600 places, readings in squares of equal
// side are averaged until 600 or fewer are left, which Averaged and Cell tell; in
// a square of 1.5 mm on work bowed to 1 m radius that shifts a height by 0.1 µm.
func (rs *Readings) Residual(opts ResidualOptions) (*Residual, error) {
	if list := opts.Nominal.Check(); len(list) > 0 {
		for i := range list {
			list[i].Field = "nominal." + list[i].Field
		}
		return nil, list
	}
	if opts.Noise < 0 || math.IsNaN(opts.Noise) || math.IsInf(opts.Noise, 0) {
		return nil, fault.List{{Field: "noise", Problem: "it is not a length", Mend: "give the standard deviation of one reading in mm, or 0 to have it estimated"}}
	}
	origin := fault.Origin{File: rs.Name}
	surface := opts.Nominal.Surface()
	var points []Reading
	for _, r := range rs.Points {
		if z, _, _, ok := surface.Height(r.Place); ok {
			r.Z -= z
			points = append(points, r)
		}
	}
	if len(points) < minReadings {
		return nil, fault.List{{Origin: origin,
			Problem: fmt.Sprintf("%d places are too few to tell the form: three settle the plane", len(points)),
			Mend:    fmt.Sprintf("read %d more, spread over the work", minReadings-len(points))}}
	}
	if !settles(points) {
		return nil, fault.List{{Origin: origin, Problem: "the readings lie in one line; across it the form is unknown", Mend: "read places beside the line"}}
	}
	plane, err := LeastSquares(points)
	if err != nil {
		return nil, fmt.Errorf("fitting the form of %s: %w", rs.Name, err)
	}
	r := &Residual{Plane: plane, frame: newFrame(points), hull: hull(points)}
	for i := range points {
		points[i].Z -= plane.At(points[i].Place)
	}
	r.points = points
	if len(points) > maxFitted {
		r.Averaged = true
		r.points, r.Cell = average(points, maxFitted)
	}
	r.Readings = len(r.points)
	if err := r.fit(opts.Noise); err != nil {
		return nil, fmt.Errorf("fitting the form of %s: %w", rs.Name, err)
	}
	return r, nil
}

// average puts readings into squares until at most most are left.
func average(points []Reading, most int) ([]Reading, float64) {
	low, high := points[0].Place, points[0].Place
	for _, r := range points {
		low = r2.Vec{X: min(low.X, r.Place.X), Y: min(low.Y, r.Place.Y)}
		high = r2.Vec{X: max(high.X, r.Place.X), Y: max(high.Y, r.Place.Y)}
	}
	w, h := high.X-low.X, high.Y-low.Y
	side := max(math.Sqrt(w*h/float64(most)), math.Hypot(w, h)/float64(most))
	for ; ; side *= 1.05 {
		nx, ny := int(w/side)+1, int(h/side)+1
		cells := make([]Reading, nx*ny)
		filled := 0
		for _, r := range points {
			c := &cells[int((r.Place.Y-low.Y)/side)*nx+int((r.Place.X-low.X)/side)]
			if c.Count == 0 {
				c.Line = r.Line
				filled++
			}
			n := float64(max(1, r.Count))
			c.Place = r2.Add(c.Place, r2.Scale(n, r.Place))
			c.Z += n * r.Z
			c.Count += max(1, r.Count)
		}
		if filled > most {
			continue
		}
		kept := make([]Reading, 0, filled)
		for _, c := range cells {
			if c.Count > 0 {
				n := 1 / float64(c.Count)
				c.Place, c.Z = r2.Scale(n, c.Place), n*c.Z
				kept = append(kept, c)
			}
		}
		return kept, side
	}
}

// fit finds ℓ and the noise, then solves for all readings.
func (r *Residual) fit(noise float64) error {
	seek := spreadOut(r.points, maxSearched)
	extent := r.frame.scale
	gap := math.Sqrt(area(r.hull) / float64(len(seek)))
	// ℓ from the gap between readings, below which nothing can be told, to four
	// times the work's radius, beyond which the form is a parabola all the same.
	shortest, longest := math.Log(min(gap, extent)), math.Log(4*extent)
	faintest, loudest := math.Log(minNoise), math.Log(maxNoise)
	var best likelihood
	best.log = math.Inf(-1)
	try := func(l, e float64) {
		l, e = min(max(l, shortest), longest), min(max(e, faintest), loudest)
		if got, ok := likely(seek, r.frame, math.Exp(l), math.Exp(e), noise); ok && got.log > best.log+1e-9 {
			best = got
		}
	}
	const steps = 8
	dl, de := (longest-shortest)/steps, (loudest-faintest)/steps
	for i := 0; i <= steps; i++ {
		for j := 0; j <= steps; j++ {
			try(shortest+float64(i)*dl, faintest+float64(j)*de)
		}
	}
	if math.IsInf(best.log, -1) {
		return errors.New("no length and noise suit the readings")
	}
	for range 4 {
		dl, de = dl/2, de/2
		l, e := math.Log(best.length), math.Log(best.eta)
		for i := -1; i <= 1; i++ {
			for j := -1; j <= 1; j++ {
				try(l+float64(i)*dl, e+float64(j)*de)
			}
		}
	}
	r.Length = best.length
	return r.solve(best.eta, noise)
}

// likelihood is the restricted log likelihood at a length and a noise.
type likelihood struct {
	length, eta, log float64
}

// system is the covariance of readings, taken apart.
type system struct {
	chol   mat.Cholesky
	trend  mat.Cholesky
	solved *mat.Dense    // K⁻¹H
	beta   *mat.VecDense // generalised least squares plane
	weight *mat.VecDense // K⁻¹(z − Hβ)
	square float64       // (z − Hβ)ᵀK⁻¹(z − Hβ)
}

// take builds the covariance of readings over σ² and solves it for the heights.
func take(points []Reading, f frame, length, eta float64) (*system, bool) {
	n := len(points)
	k := mat.NewSymDense(n, nil)
	data := k.RawSymmetric().Data
	inverse := math.Sqrt(5) / length
	for i := range n {
		row := data[i*n : i*n+n]
		p := points[i].Place
		row[i] = 1 + eta/float64(max(1, points[i].Count))
		for j := i + 1; j < n; j++ {
			q := points[j].Place
			row[j] = matern(inverse * math.Sqrt((p.X-q.X)*(p.X-q.X)+(p.Y-q.Y)*(p.Y-q.Y)))
		}
	}
	s := &system{}
	if !s.chol.Factorize(k) {
		return nil, false
	}
	h, z := mat.NewDense(n, 3, nil), mat.NewVecDense(n, nil)
	for i, p := range points {
		row := f.row(p.Place)
		h.SetRow(i, row[:])
		z.SetVec(i, p.Z)
	}
	s.solved = new(mat.Dense)
	_ = s.chol.SolveTo(s.solved, h) // a poor condition is bounded by minNoise
	var t mat.Dense
	t.Mul(h.T(), s.solved)
	a := mat.NewSymDense(3, nil)
	for i := range 3 {
		for j := i; j < 3; j++ {
			a.SetSym(i, j, (t.At(i, j)+t.At(j, i))/2)
		}
	}
	if !s.trend.Factorize(a) {
		return nil, false
	}
	var right, rest mat.VecDense
	right.MulVec(s.solved.T(), z)
	s.beta = new(mat.VecDense)
	_ = s.trend.SolveVecTo(s.beta, &right)
	rest.MulVec(h, s.beta)
	rest.SubVec(z, &rest)
	s.weight = new(mat.VecDense)
	_ = s.chol.SolveVecTo(s.weight, &rest)
	s.square = max(0, mat.Dot(&rest, s.weight))
	return s, true
}

// matern is the Matérn 5/2 correlation at s = √5·d/ℓ.
func matern(s float64) float64 { return (1 + s + s*s/3) * math.Exp(-s) }

// likely returns the restricted log likelihood, up to a constant. With the noise
// known, σ² follows from η; else it is at its best.
func likely(points []Reading, f frame, length, eta, noise float64) (likelihood, bool) {
	s, ok := take(points, f, length, eta)
	if !ok {
		return likelihood{}, false
	}
	free := float64(len(points) - 3)
	v := variance(s.square, free, eta, noise)
	log := -0.5 * (s.square/v + free*math.Log(v) + s.chol.LogDet() + s.trend.LogDet())
	if math.IsNaN(log) {
		return likelihood{}, false
	}
	return likelihood{length, eta, log}, true
}

// leastScatter stands in for a scatter of nothing, as of heights made by a
// formula: a nanometre.
const leastScatter = 1e-6

// variance is σ²: what the noise says when it is known, else the best.
func variance(square, free, eta, noise float64) float64 {
	if noise > 0 {
		return noise * noise / eta
	}
	return max(square/free, leastScatter*leastScatter)
}

// solve fits all readings at the chosen length and noise.
func (r *Residual) solve(eta, noise float64) error {
	s, ok := take(r.points, r.frame, r.Length, eta)
	if !ok {
		return errors.New("the readings lie too near one another to be told apart")
	}
	free := float64(len(r.points) - 3)
	v := variance(s.square, free, eta, noise)
	r.Sigma, r.Noise = math.Sqrt(v), math.Sqrt(v*eta)
	r.spread = v
	if noise == 0 {
		// Student's t takes two degrees of freedom; ℓ and the noise, chosen to
		// suit the readings, take two more. Held below 3, for the fewest readings.
		r.spread *= free / (free - min(4, free*2/3))
	}
	r.chol, r.trend, r.solved, r.weight = s.chol, s.trend, s.solved, s.weight
	r.beta = [3]float64{s.beta.AtVec(0), s.beta.AtVec(1), s.beta.AtVec(2)}
	// A quarter of ℓ beyond the readings the correlation is still 0.95; and never
	// farther than the readings stand from one another.
	r.Margin = min(r.Length/4, math.Sqrt(area(r.hull)/float64(len(r.points))))
	return nil
}

// correlations fills k with the correlation of p with every reading.
func (r *Residual) correlations(k []float64, p r2.Vec) {
	inverse := math.Sqrt(5) / r.Length
	for i := range r.points {
		q := r.points[i].Place
		k[i] = matern(inverse * math.Sqrt((p.X-q.X)*(p.X-q.X)+(p.Y-q.Y)*(p.Y-q.Y)))
	}
}

// At returns the height of the residual form at p, mm, its standard uncertainty,
// that of tilt and lift with it, and whether p lies inside the readings: in their
// hull, grown by Margin. Outside z and sd still hold under the fit's assumptions
// and should be used only as a warning of how little is known.
func (r *Residual) At(p r2.Vec) (z, sd float64, inside bool) {
	n := len(r.points)
	k := mat.NewVecDense(n, nil)
	r.correlations(k.RawVector().Data, p)
	h := r.frame.row(p)
	z = h[0]*r.beta[0] + h[1]*r.beta[1] + h[2]*r.beta[2] + mat.Dot(k, r.weight)
	var solved mat.VecDense
	_ = r.chol.SolveVecTo(&solved, k)
	v := 1 - mat.Dot(k, &solved) + r.trendVariance(h, k)
	return z, math.Sqrt(max(0, v*r.spread)), r.Inside(p)
}

// trendVariance is what the plane's own uncertainty adds.
func (r *Residual) trendVariance(h [3]float64, k mat.Vector) float64 {
	var g, s mat.VecDense
	g.MulVec(r.solved.T(), k)
	g.SubVec(mat.NewVecDense(3, h[:]), &g)
	_ = r.trend.SolveVecTo(&s, &g)
	return mat.Dot(&g, &s)
}

// covariance returns K⁻¹K* of places and their plane's part, the factors of
// their covariance given the readings:
// C = K** − K*ᵀ(K⁻¹K*) + GᵀA⁻¹G, with G = H* − HᵀK⁻¹K*.
func (r *Residual) covariance(places []r2.Vec) (cross, solved, g, plane *mat.Dense) {
	n, m := len(r.points), len(places)
	cross, solved, g, plane = mat.NewDense(n, m, nil), new(mat.Dense), mat.NewDense(3, m, nil), new(mat.Dense)
	column := make([]float64, n)
	for j, p := range places {
		r.correlations(column, p)
		cross.SetCol(j, column)
		row := r.frame.row(p)
		g.SetCol(j, row[:])
	}
	_ = r.chol.SolveTo(solved, cross)
	var t mat.Dense
	t.Mul(r.solved.T(), cross)
	g.Sub(g, &t)
	_ = r.trend.SolveTo(plane, g)
	return cross, solved, g, plane
}

// uncertainties fills sd with the standard uncertainty at each place: At's, for
// many places at once.
func (r *Residual) uncertainties(sd []float64, places []r2.Vec) {
	cross, solved, g, plane := r.covariance(places)
	for j := range sd {
		sd[j] = 1
	}
	add := func(a, b *mat.Dense, sign float64) {
		rows, _ := a.Dims()
		for i := range rows {
			x, y := a.RawRowView(i), b.RawRowView(i)
			for j := range sd {
				sd[j] += sign * x[j] * y[j]
			}
		}
	}
	add(cross, solved, -1)
	add(g, plane, 1)
	for j, v := range sd {
		sd[j] = math.Sqrt(max(0, v*r.spread))
	}
}

// Inside says whether p lies in the readings' hull, grown by Margin.
func (r *Residual) Inside(p r2.Vec) bool {
	return polygonDistance(r.hull, p) <= r.Margin
}

// Form returns the height of the work as it was read at p, less the nominal
// form: plane and residual together, mm.
func (r *Residual) Form(p r2.Vec) (z, sd float64, inside bool) {
	z, sd, inside = r.At(p)
	return z + r.Plane.At(p), sd, inside
}
