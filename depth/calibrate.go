package depth

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"brightcut/fault"
	"brightcut/internal/fit"
	"gonum.org/v1/gonum/mat"
)

// CalibrationOptions say what is known besides the test cuts.
type CalibrationOptions struct {
	Hands       []Hand
	Uncertainty float64 // standard uncertainty of a width, mm; 0 estimates it from the scatter
	Angle       *Known  // included angle of the cutter, rad
	Flat        *Known  // tip flat, mm
	Zero        *Known  // zero error of the extension, mm
	Compliance  *Known  // mm/N
}

// Estimate is one quantity found from the test cuts.
type Estimate struct {
	Name        string
	Unit        string // of Value: "rad", "mm", "mm/N"
	Value       float64
	Uncertainty float64 // standard
	Known       bool    // false: the test cuts do not determine it, and Value means nothing
	Why         string  // when not Known: with what it is confused
	Add         string  // when not Known: what would settle it
}

// Outlier is a test cut that does not agree with the others.
type Outlier struct {
	Index       int // of the test cut, from 0
	Name        string
	Residual    float64 // measured less fitted width, mm
	Studentised float64 // by the scatter of the others
	Limit       float64 // beyond which it counts as an outlier
}

// Calibration is what test cuts tell about cutter, guide and hand:
//
//	w = f + 2·tan(θ/2)·(e + e₀ + c·F)
//
// with the width w, the tip flat f, the included angle θ, the extension e, its
// zero error e₀, the compliance c and the force F of the hand.
//
// What can be told apart depends on the cuts. f and e₀ enter only together, as
// the width at no extension, unless one of them is known beforehand; c and e₀
// part only when hands differ; c itself needs newtons, else only the flex of each
// hand is found, or its difference from the usual hand's.
type Calibration struct {
	Estimates   []Estimate  // Angle, Flat, Zero, Compliance, then the flex of hands without newtons
	Correlation [][]float64 // between the Estimates; 0 where one is not Known
	Scatter     float64     // standard uncertainty of one width, mm: estimated, or as given
	Estimated   bool
	Freedom     float64 // degrees of freedom left for the scatter
	Birge       float64 // scatter found over the uncertainty given; 1 when it was estimated
	Residuals   []float64
	Outliers    []Outlier
	Remarks     []string // what a careful reader should doubt
	ZeroAtUsual string   // hand whose flex is part of Zero, or ""

	cuts  []TestCut
	model model
	fit   *fit.Newton
}

// The places of the first Estimates.
const (
	Angle = iota
	Flat
	Zero
	Compliance
)

// model says which unknown makes the flex of a cut.
type model struct {
	hands   []Hand
	columns []string // names of the unknowns
	share   int      // column of the flex at the usual hand, or −1
	own     map[string]int
	usual   string // hand whose flex counts to the zero, or ""
}

// flex returns the column of the unknown that makes the flex of a hand and its
// factor; column −1 is no flex beside the zero.
func (m *model) flex(hand string, force float64) (column int, factor float64, ok bool) {
	hand = cmp.Or(hand, UsualHand)
	if force > 0 {
		return Compliance, force, true
	}
	if h := m.find(hand); h != nil {
		if h.Newtons > 0 {
			return Compliance, h.Newtons, true
		}
		if h.Share > 0 && m.share >= 0 {
			return m.share, h.Share, true
		}
	}
	if column, ok := m.own[hand]; ok {
		return column, 1, true
	}
	return -1, 0, hand == m.usual
}

func (m *model) find(hand string) *Hand {
	for i := range m.hands {
		if strings.EqualFold(m.hands[i].Name, hand) {
			return &m.hands[i]
		}
	}
	return nil
}

func newModel(cuts []TestCut, hands []Hand) model {
	m := model{hands: hands, columns: []string{"included angle", "tip flat", "zero error", "compliance"}, share: -1, own: map[string]int{}}
	anchored := false
	var loose []string
	for _, c := range cuts {
		hand := cmp.Or(c.Hand, UsualHand)
		h := m.find(hand)
		switch {
		case c.Force > 0 || h != nil && h.Newtons > 0:
			anchored = true
		case h != nil && h.Share > 0:
			if m.share < 0 {
				m.share = len(m.columns)
				m.columns = append(m.columns, "flex at the usual hand")
			}
			anchored = true
		case !slices.Contains(loose, hand):
			loose = append(loose, hand)
		}
	}
	slices.Sort(loose)
	if !anchored && len(loose) > 0 {
		// No force is known at all: the flex of one hand cannot be told from the
		// zero error and is counted with it.
		m.usual = loose[0]
		if slices.Contains(loose, UsualHand) {
			m.usual = UsualHand
		}
	}
	for _, hand := range loose {
		if hand == m.usual {
			continue
		}
		m.own[hand] = len(m.columns)
		name := "flex of the " + hand + " hand"
		if m.usual != "" {
			name += ", more than of the " + m.usual + " hand"
		}
		m.columns = append(m.columns, name)
	}
	return m
}

// width returns the width at the unknowns b and, in slope, its derivatives.
func (m *model) width(b []float64, extension float64, column int, factor float64, slope []float64) float64 {
	tan := math.Tan(b[Angle] / 2)
	depth := extension + b[Zero]
	if column >= 0 {
		depth += factor * b[column]
	}
	clear(slope)
	slope[Angle] = (1 + tan*tan) * depth
	slope[Flat] = 1
	slope[Zero] = 2 * tan
	if column >= 0 {
		slope[column] = 2 * tan * factor
	}
	return b[Flat] + 2*tan*depth
}

// leastWidth is the least standard uncertainty of a width, mm: a nanometre, far
// below any microscope, keeps cuts made by a formula from dividing by nothing.
const leastWidth = 1e-6

// Calibrate fits the test cuts by least squares, each weighted by the
// uncertainty of its width, with what is known beforehand as further
// observations.
//
// What the cuts do not determine is marked in the Estimates and listed by
// Missing. The error is a fault.List when not even the angle is determined,
// nothing is left to tell the scatter by, or the cuts make no sense.
func Calibrate(cuts []TestCut, opts CalibrationOptions) (*Calibration, error) {
	if list := opts.check(cuts); len(list) > 0 {
		return nil, list
	}
	c := &Calibration{cuts: slices.Clone(cuts), model: newModel(cuts, opts.Hands), Estimated: opts.Uncertainty == 0}
	c.ZeroAtUsual = c.model.usual
	start, err := c.start(opts)
	if err != nil {
		return nil, err
	}
	known := []struct {
		column int
		k      *Known
	}{{Angle, opts.Angle}, {Flat, opts.Flat}, {Zero, opts.Zero}, {Compliance, opts.Compliance}}
	rows := len(cuts)
	for _, k := range known {
		if k.k != nil {
			rows++
		}
	}
	// The scatter and the weights of what is known beforehand depend on one
	// another: they are found in turns.
	sigma := cmp.Or(opts.Uncertainty, 1e-3)
	own := func(i int) float64 { return cmp.Or(cuts[i].Uncertainty, sigma) }
	settled := false
	for range 100 {
		c.fit, err = fit.GaussNewton(rows, start, func(b, misfit []float64, slope *mat.Dense) {
			for i, cut := range cuts {
				column, factor, _ := c.model.flex(cut.Hand, cut.Force)
				row := slope.RawRowView(i)
				misfit[i] = (cut.Width - c.model.width(b, cut.Extension, column, factor, row)) / own(i)
				for j := range row {
					row[j] /= own(i)
				}
			}
			i := len(cuts)
			for _, k := range known {
				if k.k != nil {
					row := slope.RawRowView(i)
					clear(row)
					row[k.column] = 1 / k.k.Uncertainty
					misfit[i] = (k.k.Value - b[k.column]) / k.k.Uncertainty
					i++
				}
			}
		})
		if err != nil {
			return nil, fmt.Errorf("fitting the test cuts: %w", err)
		}
		var squares float64
		c.Freedom = float64(len(cuts))
		for i := range cuts {
			squares += c.fit.Residual[i] * c.fit.Residual[i]
			c.Freedom -= c.fit.Leverage[i]
		}
		if !c.Estimated {
			c.Birge = 1
			if c.Freedom > 0.5 {
				c.Birge = math.Sqrt(squares / c.Freedom)
			}
			settled = true
			break
		}
		if c.Freedom < 0.5 {
			return nil, c.tooFew()
		}
		c.Birge = 1
		next := max(leastWidth, sigma*math.Sqrt(squares/c.Freedom))
		start = c.fit.Beta
		if settled = math.Abs(next-sigma) <= 1e-9*sigma; settled {
			break
		}
		sigma = next
	}
	if !settled {
		return nil, fault.List{{Problem: "the scatter of the widths did not settle beside what is known beforehand", Mend: "give the microscope's standard uncertainty"}}
	}
	c.Scatter = sigma
	c.estimate()
	c.outliers()
	c.doubt()
	if !c.Estimates[Angle].Known {
		return nil, c.Missing()
	}
	if angle := c.Estimates[Angle].Value; !(angle > 10*math.Pi/180 && angle < 179*math.Pi/180) {
		return nil, fault.List{{Field: "width", Problem: fmt.Sprintf("the widths would need an included angle of %.1f°", angle*180/math.Pi), Mend: "look at the units of extension and width"}}
	}
	return c, nil
}

func (opts CalibrationOptions) check(cuts []TestCut) (list fault.List) {
	add := func(field, problem, mend string) {
		list = append(list, fault.Fault{Field: field, Problem: problem, Mend: mend})
	}
	if len(cuts) == 0 {
		add("", "there are no test cuts", "cut a few grooves at different extensions and measure their width")
	}
	if len(cuts) > maxTestCuts {
		add("", fmt.Sprintf("there are %d test cuts", len(cuts)), fmt.Sprintf("give %d at most", maxTestCuts))
		return list
	}
	for i, c := range cuts {
		for _, f := range c.check() {
			f.Origin, f.Field = c.Origin, fmt.Sprintf("cuts[%d].%s", i, f.Field)
			list = append(list, f)
		}
	}
	if !(opts.Uncertainty >= 0 && opts.Uncertainty <= 1) {
		add("uncertainty", fmt.Sprintf("%v mm is no uncertainty of a width", opts.Uncertainty), "give the microscope's standard uncertainty, or 0 to have it estimated")
	}
	for i, h := range opts.Hands {
		if !(h.Newtons >= 0 && h.Newtons <= 1000 && h.Share >= 0 && h.Share <= 1000) {
			add(fmt.Sprintf("hands[%d]", i), fmt.Sprintf("%v N, %v times the usual hand, is no hand", h.Newtons, h.Share), "give its newtons, or its multiple of the usual hand, above 0")
		}
	}
	for _, k := range []struct {
		field    string
		k        *Known
		from, to float64
	}{
		{"angle", opts.Angle, 10 * math.Pi / 180, 179 * math.Pi / 180}, {"flat", opts.Flat, 0, 5}, {"zero", opts.Zero, -5, 5}, {"compliance", opts.Compliance, 0, 1},
	} {
		if k.k == nil {
			continue
		}
		if !(k.k.Value >= k.from && k.k.Value <= k.to) {
			add(k.field, fmt.Sprintf("%v is out of all bounds", k.k.Value), fmt.Sprintf("give it between %.4g and %.4g (rad, mm or mm/N)", k.from, k.to))
		}
		if !(k.k.Uncertainty > 1e-9 && k.k.Uncertainty <= 10) {
			add(k.field, fmt.Sprintf("%v is no standard uncertainty", k.k.Uncertainty), "say how well it is known; nothing is known exactly")
		}
	}
	return list
}

// start takes what is known beforehand and, for the angle, the straight line of
// width over extension.
func (c *Calibration) start(opts CalibrationOptions) ([]float64, error) {
	b := make([]float64, len(c.model.columns))
	x, y := mat.NewDense(len(c.cuts), 2, nil), make([]float64, len(c.cuts))
	for i, cut := range c.cuts {
		x.SetRow(i, []float64{1, cut.Extension})
		y[i] = cut.Width
	}
	line, err := fit.Solve(x, y)
	if err != nil {
		return nil, fmt.Errorf("fitting the test cuts: %w", err)
	}
	b[Angle] = 2 * math.Pi / 3
	if line.Rank == 2 {
		if opts.Angle == nil && line.Beta[1] <= 0 {
			return nil, fault.List{{Field: "width", Problem: "the widths do not grow with the extension", Mend: "see whether the columns are exchanged, or the extension counts the other way"}}
		}
		if line.Beta[1] > 0 {
			b[Angle] = 2 * math.Atan(line.Beta[1]/2)
		}
	}
	for column, k := range []*Known{Angle: opts.Angle, Flat: opts.Flat, Zero: opts.Zero, Compliance: opts.Compliance} {
		if k != nil {
			b[column] = k.Value
		}
	}
	return b, nil
}

func (c *Calibration) tooFew() fault.List {
	return fault.List{{
		Problem: fmt.Sprintf("%d test cuts leave nothing to tell the scatter of the widths by", len(c.cuts)),
		Mend:    "repeat one of the cuts and measure it, or give the microscope's standard uncertainty",
	}}
}

// estimate reads the unknowns off the fit.
func (c *Calibration) estimate() {
	n := len(c.model.columns)
	for j, name := range c.model.columns {
		one := make([]float64, n)
		one[j] = 1
		e := Estimate{Name: name, Unit: "mm", Known: c.fit.Determines(one)}
		switch j {
		case Angle:
			e.Unit = "rad"
		case Zero:
			if c.model.usual != "" {
				e.Name += ", with the flex of the " + c.model.usual + " hand"
			}
		case Compliance:
			e.Unit = "mm/N"
		}
		if e.Known {
			e.Value, e.Uncertainty = c.fit.Beta[j], math.Sqrt(c.fit.Cofactor.At(j, j))
		} else {
			e.Why, e.Add = c.why(j)
		}
		c.Estimates = append(c.Estimates, e)
	}
	c.Correlation = make([][]float64, n)
	for i := range n {
		c.Correlation[i] = make([]float64, n)
		for j := range n {
			if u := c.Estimates[i].Uncertainty * c.Estimates[j].Uncertainty; u > 0 {
				c.Correlation[i][j] = c.fit.Cofactor.At(i, j) / u
			}
		}
	}
	for i, cut := range c.cuts {
		c.Residuals = append(c.Residuals, c.fit.Residual[i]*cmp.Or(cut.Uncertainty, c.Scatter))
	}
}
