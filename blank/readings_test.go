package blank

import (
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"brightcut/fault"
	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

func mustRead(t testing.TB, text string, opts ReadingOptions) *Readings {
	t.Helper()
	rs, err := ReadReadings(strings.NewReader(text), "readings.csv", opts)
	if err != nil {
		t.Fatal(err)
	}
	return rs
}

func close(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }

func TestReadReadingsRound(t *testing.T) {
	rs := mustRead(t, "r mm;angle deg;z um\n0;0;1,0\n10;90;2,0\n10;-90;-3,0\n0;90;1,5\n8;0;0\n", ReadingOptions{})
	if len(rs.Points) != 4 || rs.Rows != 5 || rs.Repeats != 1 {
		t.Fatalf("%+v", rs)
	}
	if c := rs.Points[0]; c.Count != 2 || !close(c.Z, 0.00125, 1e-15) || c.Line != 2 {
		t.Errorf("centre %+v", c)
	}
	if p := rs.Points[2].Place; !close(p.X, 0, 1e-12) || p.Y != -10 {
		t.Errorf("place %v", p)
	}
	// Two readings 0.5 µm apart have the standard deviation 0.5/√2 µm.
	if !close(rs.Scatter, 0.0005/math.Sqrt2, 1e-12) {
		t.Errorf("scatter %v", rs.Scatter)
	}
	if polar := mustRead(t, "10,0,1\n10,90,0\n10,180,0\n", ReadingOptions{Polar: true}); !close(polar.Points[1].Place.Y, 10, 1e-12) {
		t.Errorf("without a header: %+v", polar)
	}
}

func TestReadReadingsFaults(t *testing.T) {
	disc := &Blank{Outline: Shape{Form: Disc, Diameter: 36}, Thickness: 1}
	for _, c := range []struct {
		text string
		opts ReadingOptions
		want string
	}{
		{"x,y,z\n1,2,0.1\n3,4,0\n1,2,0.2\n9,1,0\n", ReadingOptions{}, "readings.csv:4:1: z: it differs by 0.1 mm from line 2, which has the same place (1, 2)"},
		{"1,2,3\n", ReadingOptions{}, "all readings are of one place"},
		{"1,2,0.003\n1,2,0.004\n1,2,0.003\n", ReadingOptions{}, "all readings are of one place"},
		{"1,2,3\n2,3,4\n", ReadingOptions{}, "two places tell no plane"},
		{"1,2,3\n2,3,4\n3,4,4\n-7,-6,0\n", ReadingOptions{}, "the readings lie in one line"},
		{"r,angle,z\n-1,2,3\n2,3,4\n3,4,4\n", ReadingOptions{}, "readings.csv:2:1: r: the radius is -1 mm, below 0"},
		{"x in,y in,z um\n15,0,3\n-15,0,4\n0,15,4\n", ReadingOptions{Blank: disc}, "a factor of 21.1667; that is like a slip of a unit: an inch is 25.4 mm (they were read as x in, y in, z um)"},
		{"x,y,z\n.6,0,0.001\n-.6,0,0\n0,.6,0\n", ReadingOptions{Blank: disc}, "an inch is 25.4 mm"},
		{"x cm,y cm,z um\n16,0,3\n-16,0,4\n0,16,4\n", ReadingOptions{Blank: disc}, "a centimetre is 10 mm"},
		{"x,y,z\n15000,0,3\n-15000,0,4\n0,15000,4\n", ReadingOptions{Blank: disc}, "a millimetre is 1000 µm"},
		{"x,y,z\n25,0,.3\n-5,0,.4\n0,5,.4\n", ReadingOptions{Blank: disc}, "the blank reaches 18 mm"},
		{"x,y,z\n15,0,30\n-15,0,-4\n0,15,4\n", ReadingOptions{Blank: disc}, "the heights span 34 mm"},
		{"x,y,z\n15,0,nan\n", ReadingOptions{}, "readings.csv:2:6: z: \"nan\" is not a number"},
		{"1,2,3\n", ReadingOptions{Length: "ell"}, "length: \"ell\" is no unit of a length"},
	} {
		_, err := ReadReadings(strings.NewReader(c.text), "readings.csv", c.opts)
		var list fault.List
		if !errors.As(err, &list) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: want %q in\n%v", c.text, c.want, err)
		}
	}
	// Readings that fit raise no alarm, nor do a few near the middle.
	mustRead(t, "x,y,z\n15,0,.03\n-15,0,-.04\n0,15,.04\n", ReadingOptions{Blank: disc})
	mustRead(t, "x,y,z\n3,0,.03\n-3,0,-.04\n0,3,.04\n", ReadingOptions{Blank: disc})
}

func BenchmarkLeastWorst(b *testing.B) {
	points := sown(100_000, 17)
	random := noise(2)
	for i := range points {
		points[i].Z = 0.001 * random()
	}
	var worst float64
	for b.Loop() {
		_, worst, _ = LeastWorst(points, 0.001)
	}
	b.ReportMetric(1000*worst, "µm-worst")
	b.ReportMetric(float64(len(points))*float64(b.N)/b.Elapsed().Seconds(), "readings/s")
}

// A million rows are read, fitted and mapped in bounded time and memory.
func BenchmarkMillionRows(b *testing.B) {
	var text strings.Builder
	for i := range 1_000_000 {
		x, y := float64(i%1000)/28-17.8, float64(i/1000)/28-17.8
		fmt.Fprintf(&text, "%.3f,%.3f,%.2f\n", x, y, 1e3*(0.002*x-0.001*y)-(x*x+y*y)/2.25)
	}
	b.ReportAllocs()
	for b.Loop() {
		rs, err := ReadReadings(strings.NewReader(text.String()), "million.csv", ReadingOptions{Height: "um"})
		if err != nil {
			b.Fatal(err)
		}
		if _, _, err := LeastWorst(rs.Points, 0.001); err != nil {
			b.Fatal(err)
		}
		r, err := rs.Residual(ResidualOptions{})
		if err != nil {
			b.Fatal(err)
		}
		z, _, _ := r.At(r2.Vec{})
		b.ReportMetric(1000*z, "µm-at-centre")
	}
	b.ReportMetric(1e6*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}

func FuzzReadReadings(f *testing.F) {
	for _, seed := range []string{"x,y,z\n1,2,3\n4,5,6\n7,1,2\n", "r;angle;z um\n1,5;90;2\n0;0;1\n3;2;1\n", "1 2 3\n1 2 3.004\n"} {
		f.Add(seed)
	}
	disc := &Blank{Outline: Shape{Form: Disc, Diameter: 36}, Thickness: 1}
	f.Fuzz(func(t *testing.T, text string) {
		rs, err := ReadReadings(strings.NewReader(text), "fuzz.csv", ReadingOptions{Blank: disc})
		if err != nil {
			var list fault.List
			if !errors.As(err, &list) {
				t.Fatal(err)
			}
			return
		}
		p, err := LeastSquares(rs.Points)
		if err != nil {
			t.Fatal(err)
		}
		if z := p.At(r2.Vec{X: 1, Y: 2}); math.IsNaN(z) || math.IsInf(z, 0) {
			t.Fatalf("a plane of %v from %q", z, text)
		}
		q, worst, err := LeastWorst(rs.Points, 0.001)
		if err == nil && (math.IsNaN(worst) || math.IsNaN(q.Lift)) {
			t.Fatalf("%+v %v", q, worst)
		}
	})
}

// drawReadings draws readings that settle a plane.
func drawReadings(t *rapid.T, least, most int) []Reading {
	n := rapid.IntRange(least, most).Draw(t, "n")
	points := make([]Reading, n)
	for i := range points {
		// Places as a slide is set, in microns.
		points[i] = Reading{
			Place: r2.Vec{X: float64(rapid.IntRange(-18000, 18000).Draw(t, "x")) / 1000, Y: float64(rapid.IntRange(-15000, 15000).Draw(t, "y")) / 1000},
			Z:     rapid.Float64Range(-0.1, 0.1).Draw(t, "z"), Count: 1, Line: i + 1,
		}
	}
	if !settles(points) {
		t.Skip("in one line")
	}
	return points
}

// Plane of real heights: vega-datasets' volcano, whose least squares plane,
// peak-to-valley and root mean square were computed for this project with an
// independent program.
func TestPlaneOfTheVolcano(t *testing.T) {
	f, err := os.Open("testdata/volcano.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rs, err := ReadReadings(f, "volcano.csv", ReadingOptions{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := LeastSquares(rs.Points)
	if err != nil {
		t.Fatal(err)
	}
	if !close(p.Lift, 143.0281691, 5e-8) || !close(p.Slope.X, -0.40111558, 5e-9) || !close(p.Slope.Y, 0.1469222, 5e-8) {
		t.Errorf("plane %+v", p)
	}
	if flat := FlatnessOf(rs.Points, p); !close(flat.Total, 107.028862, 5e-7) || !close(flat.RMS, 23.643639, 5e-7) {
		t.Errorf("flatness %+v", flat)
	}
	// On a grid full of readings in line the exchange must still end, with four
	// readings at the worst deviation, on both sides.
	q, worst, err := LeastWorst(rs.Points, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	certify(t, rs.Points, q, worst)
	if flat := FlatnessOf(rs.Points, q); flat.Total > 107.028862 || !close(flat.Peak, flat.Valley, 1e-9) {
		t.Errorf("least worst %v, flatness %+v", worst, flat)
	}
}

// A place read four times counts as four readings.
func TestRepeatsCount(t *testing.T) {
	once := sown(7, 10)
	for i := range once {
		once[i].Z = warp(once[i].Place)
	}
	counted := append([]Reading(nil), once...)
	counted[3].Count = 4
	written := append(append([]Reading(nil), once...), once[3], once[3], once[3])
	a, err := LeastSquares(counted)
	b, err2 := LeastSquares(written)
	if err != nil || err2 != nil {
		t.Fatal(err, err2)
	}
	if !close(a.Lift, b.Lift, 1e-12) || !close(a.Slope.X, b.Slope.X, 1e-12) || !close(a.Slope.Y, b.Slope.Y, 1e-12) {
		t.Errorf("%+v, written out %+v", a, b)
	}
}

// certify proves a least worst plane: no plane does better when the readings at
// the worst deviation above and below cannot be told apart by a line (the
// condition of optimality: some convex combination of the upper ones is one of
// the lower ones).
func certify(t interface{ Errorf(string, ...any) }, points []Reading, p Plane, worst float64) {
	if worst < 1e-9 { // a plane through all of them
		return
	}
	var up, down []r2.Vec
	for _, r := range points {
		d := r.Z - p.At(r.Place)
		switch {
		case d > worst*(1-1e-7):
			up = append(up, r.Place)
		case d < -worst*(1-1e-7):
			down = append(down, r.Place)
		}
	}
	for k := range 3600 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 1800)
		low, high := math.Inf(1), math.Inf(-1)
		for _, q := range up {
			low = min(low, q.X*cos+q.Y*sin)
		}
		for _, q := range down {
			high = max(high, q.X*cos+q.Y*sin)
		}
		if low > high+1e-7 {
			t.Errorf("tilting about %.1f° lowers the worst deviation %v: above %v, below %v", float64(k)/10, worst, up, down)
			return
		}
	}
}

// The exchange against brute force: the best of all planes held by four readings.
func TestLeastWorstAgainstBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := drawReadings(t, 4, 9)
		if rapid.Bool().Draw(t, "grid") { // many in line
			for i := range points {
				points[i].Place = r2.Vec{X: math.Round(points[i].Place.X / 9), Y: math.Round(points[i].Place.Y / 9)}
			}
			if !settles(points) {
				t.Skip("in one line")
			}
		}
		p, worst, err := LeastWorst(points, 0.001)
		if err != nil {
			t.Fatal(err)
		}
		certify(t, points, p, worst)
		best := math.Inf(1)
		try := func(p Plane) {
			var w float64
			for _, r := range points {
				w = max(w, math.Abs(r.Z-p.At(r.Place)))
			}
			best = min(best, w)
		}
		n := len(points)
		for i := range n {
			for j := range i {
				for k := range j {
					for _, s := range [][3]float64{{1, 1, 1}, {-1, 1, 1}, {1, -1, 1}, {1, 1, -1}} {
						for l := range n {
							if p, ok := held(points, [4]int{i, j, k, l}, s); ok {
								try(p)
							}
						}
					}
				}
			}
		}
		if worst > best+1e-9 {
			t.Fatalf("worst deviation %.9f, by brute force %.9f", worst, best)
		}
	})
}

// Places nearer to one another than any slide can be set: the answer is right or
// refused.
func TestLeastWorstOfTooNearPlaces(t *testing.T) {
	refused := 0
	rapid.Check(t, func(t *rapid.T) {
		points := drawReadings(t, 4, 8)
		for i := range points {
			if rapid.Bool().Draw(t, "near") {
				points[i].Place = r2.Add(points[0].Place, r2.Vec{X: rapid.Float64Range(0, 1e-5).Draw(t, "dx"), Y: rapid.Float64Range(0, 1e-5).Draw(t, "dy")})
			}
		}
		p, worst, err := LeastWorst(points, 0.001)
		if err != nil {
			refused++
			return
		}
		base, _ := LeastSquares(points)
		size := FlatnessOf(points, base)
		if w := max(size.Peak, size.Valley); worst > w*(1+2e-6)+1e-12 {
			t.Fatalf("%+v: worst deviation %v, of the least squares plane %v", p, worst, w)
		}
	})
	t.Logf("%d refused", refused)
}

// held solves z − plane = ±h at four readings, the last with +.
func held(points []Reading, at [4]int, sign [3]float64) (Plane, bool) {
	s := [4]float64{sign[0], sign[1], sign[2], 1}
	var m [4][5]float64
	for r, i := range at {
		m[r] = [5]float64{1, points[i].Place.X, points[i].Place.Y, s[r], points[i].Z}
	}
	for c := range 4 {
		pivot := c
		for r := c; r < 4; r++ {
			if math.Abs(m[r][c]) > math.Abs(m[pivot][c]) {
				pivot = r
			}
		}
		if math.Abs(m[pivot][c]) < 1e-9 {
			return Plane{}, false
		}
		m[c], m[pivot] = m[pivot], m[c]
		for r := range 4 {
			if r != c {
				q := m[r][c] / m[c][c]
				for k := c; k < 5; k++ {
					m[r][k] -= q * m[c][k]
				}
			}
		}
	}
	return Plane{Lift: m[0][4] / m[0][0], Slope: r2.Vec{X: m[1][4] / m[1][1], Y: m[2][4] / m[2][2]}}, true
}

// The covariance of either plane is that of its slope by each height, found by
// differences.
func TestPlaneCovarianceByDifferences(t *testing.T) {
	points := sown(9, 12)
	random := noise(6)
	for i := range points {
		points[i].Place = r2.Add(points[i].Place, r2.Vec{X: 30, Y: -8}) // far from the centre
		points[i].Z = 0.01 * random()
	}
	squares := func(p []Reading) Plane {
		got, err := LeastSquares(p)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	worst := func(p []Reading) Plane {
		got, _, err := LeastWorst(p, 0.002)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	flat := FlatnessOf(points, squares(points))
	scatter := flat.RMS * math.Sqrt(9.0/6) // nine readings, three unknowns
	for name, c := range map[string]struct {
		plane func([]Reading) Plane
		sd    float64
	}{"squares": {squares, scatter}, "worst": {worst, 0.002}} {
		var want [3][3]float64
		base := c.plane(points)
		for i := range points {
			const h = 1e-7
			points[i].Z += h
			p := c.plane(points)
			points[i].Z -= h
			d := [3]float64{(p.Lift - base.Lift) / h, (p.Slope.X - base.Slope.X) / h, (p.Slope.Y - base.Slope.Y) / h}
			for j := range 3 {
				for k := range 3 {
					want[j][k] += c.sd * c.sd * d[j] * d[k]
				}
			}
		}
		for j := range 3 {
			for k := range 3 {
				if scale := math.Sqrt(want[j][j] * want[k][k]); !close(base.Covariance[j][k], want[j][k], 1e-5*scale) {
					t.Errorf("%s: covariance %d, %d is %v, by differences %v", name, j, k, base.Covariance[j][k], want[j][k])
				}
			}
		}
	}
}

// Both planes follow a tilt and lift of the work exactly, and turn with it.
func TestPlanesFollowTheWork(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := drawReadings(t, 5, 30)
		add := Plane{Lift: rapid.Float64Range(-1, 1).Draw(t, "lift"), Slope: r2.Vec{X: rapid.Float64Range(-.05, .05).Draw(t, "sx"), Y: rapid.Float64Range(-.05, .05).Draw(t, "sy")}}
		turn := rapid.Float64Range(-3, 3).Draw(t, "turn")
		sin, cos := math.Sincos(turn)
		moved := make([]Reading, len(points))
		for i, r := range points {
			moved[i] = r
			moved[i].Place = r2.Vec{X: cos*r.Place.X - sin*r.Place.Y, Y: sin*r.Place.X + cos*r.Place.Y}
			moved[i].Z += add.At(moved[i].Place)
		}
		a, err := LeastSquares(points)
		b, err2 := LeastSquares(moved)
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		_, worst, err := LeastWorst(points, 0)
		_, worst2, err2 := LeastWorst(moved, 0)
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if !close(worst, worst2, 1e-10) {
			t.Fatalf("worst deviation %v, moved %v", worst, worst2)
		}
		for i, r := range points {
			q := moved[i].Place
			if !close(a.At(r.Place)+add.At(q), b.At(q), 1e-10) {
				t.Fatalf("least squares: %v, moved %v", a.At(r.Place)+add.At(q), b.At(q))
			}
			if !close(a.Uncertainty(r.Place), b.Uncertainty(q), 1e-10) {
				t.Fatalf("uncertainty %v, moved %v", a.Uncertainty(r.Place), b.Uncertainty(q))
			}
		}
	})
}
