package inspect

import (
	"context"
	"fmt"
	"math"
	"slices"

	"brightcut/fault"

	"gonum.org/v1/gonum/stat/distuv"
)

// DefaultRepeatability is the standard deviation with which one person reads the same
// width again, mm (common practice, no source: a micrometer eyepiece at ×100).
const DefaultRepeatability = 0.0015

// Options are what is known besides the readings.
type Options struct {
	Repeatability float64 // standard uncertainty of one width, mm; 0 has it told by repeats or taken as usual
}

// fewest readings that causes are looked for in.
const fewest = 6

// Look compares readings with what was planned, and looks for the causes of what is
// off. Its error is a fault.List of readings that cannot be of the piece, or ctx's
// own. The same readings give the same report on any number of cores.
func Look(ctx context.Context, p Piece, readings []Reading, o Options) (*Report, error) {
	if len(readings) == 0 {
		return nil, fault.List{{Field: "width", Problem: "there are no readings", Mend: "measure some widths under the microscope"}}
	}
	if len(readings) > mostReadings {
		return nil, fault.List{{Field: "width", Problem: fmt.Sprintf("there are %d readings", len(readings)), Mend: fmt.Sprintf("give %d at most", mostReadings)}}
	}
	if !(o.Repeatability >= 0 && o.Repeatability <= 1) {
		return nil, fault.List{{Field: "repeatability", Problem: "it is no uncertainty of a width", Mend: "give what the same width is read with again, as 1.5 um"}}
	}
	g, err := newRig(p)
	if err != nil {
		return nil, err
	}
	g.hours = hoursOf(readings, len(g.tracks))
	m, err := newModel(g, readings)
	if err != nil {
		return nil, err
	}
	r := &Report{Tolerance: p.Tolerance(), Causes: []Cause{}, Misread: []Misread{}, Remarks: []string{}, place: g.placeText, kind: p.Job.Setup.Engine.Kind}
	if n := m.crowded(); n > 0 {
		r.Remarks = append(r.Remarks, fmt.Sprintf("%d of the readings stand where another groove runs within %.0f µm of the one measured: which edge was seen there is not sure. Measure where a groove stands by itself.", n, 1000*blurred))
	}
	m.sigma, r.Basis = o.Repeatability, "as given"
	if sd, freedom := m.repeats(); o.Repeatability == 0 && freedom >= 5 {
		m.sigma, r.Basis = sd, fmt.Sprintf("from %d repeats", freedom)
	} else if o.Repeatability == 0 {
		m.sigma, r.Basis = DefaultRepeatability, "as usual"
	}
	m.sigma = max(m.sigma, 1e-5)
	r.Repeatability = m.sigma
	m.residuals(r, readings)
	if len(m.obs) < fewest {
		r.Remarks = append(r.Remarks, fmt.Sprintf("Causes are not looked for in fewer than %d readings.", fewest))
		return r, nil
	}
	force := p.Job.Hand.Force
	find := func() (*search, solution, error) {
		s := &search{model: m, kinds: m.kinds(force), columns: map[*shape][]float64{}}
		now, err := s.run(ctx)
		return s, now, err
	}
	s, now, err := find()
	if err != nil {
		return nil, err
	}
	// More scatter than was said: judge by what is there.
	if ratio := s.birge(now); ratio > 1 {
		m.sigma *= ratio
		r.Scatter = m.sigma
		r.Remarks = append(r.Remarks, fmt.Sprintf("The widths scatter by %.1f µm about the best explanation, %.1f times the repeatability: causes are judged by that. Either the readings are less sure than was said, or something is at work that is not among the causes looked for.", 1000*m.sigma, ratio))
		if s, now, err = find(); err != nil {
			return nil, err
		}
	}
	s.tell(r, s.warned(now))
	return r, nil
}

// birge returns by how much the scatter left over exceeds the standard uncertainty,
// and 1 where that can be chance (one in a thousand).
func (s *search) birge(v solution) float64 {
	free := 0
	for _, t := range v.terms {
		free += len(t.size)
	}
	freedom := len(s.obs) - free
	if freedom < 3 || v.square <= (distuv.ChiSquared{K: float64(freedom)}).Quantile(0.999) {
		return 1
	}
	return math.Sqrt(v.square / float64(freedom))
}

// crowded counts the readings at places where two grooves run in one.
func (m *model) crowded() (n int) {
	for i := range m.sights {
		if !m.clear(&m.sights[i]) {
			n++
		}
	}
	return n
}

// repeats pools the scatter of readings of the same place: its standard deviation
// and the degrees of freedom.
func (m *model) repeats() (sd float64, freedom int) {
	type key struct {
		cut   int
		place int64
		pitch bool
	}
	groups := map[key][]float64{}
	var order []key
	for _, o := range m.obs {
		v := &m.sights[o.sight]
		k := key{v.cut, int64(math.Round(v.reading * 1000)), o.pitch}
		if groups[k] == nil {
			order = append(order, k)
		}
		groups[k] = append(groups[k], o.value)
	}
	sum := 0.0
	for _, k := range order {
		g := groups[k]
		mean := 0.0
		for _, v := range g {
			mean += v / float64(len(g))
		}
		for _, v := range g {
			sum += (v - mean) * (v - mean)
		}
		freedom += len(g) - 1
	}
	if freedom == 0 {
		return 0, 0
	}
	return math.Sqrt(sum / float64(freedom)), freedom
}

// hoursOf spreads the times of the readings over the cuts; nil when fewer than three
// cuts have one.
func hoursOf(readings []Reading, n int) []float64 {
	at := map[int]float64{}
	for _, q := range readings {
		if !math.IsNaN(q.Hours) && q.Cut >= 1 && q.Cut <= n {
			at[q.Cut-1] = q.Hours
		}
	}
	if len(at) < 3 {
		return nil
	}
	var cuts []int
	for j := range at {
		cuts = append(cuts, j)
	}
	slices.Sort(cuts)
	out := make([]float64, n)
	for j := range out {
		k, _ := slices.BinarySearch(cuts, j)
		k = min(max(k, 1), len(cuts)-1)
		a, b := cuts[k-1], cuts[k]
		out[j] = at[a] + float64(j-a)/float64(b-a)*(at[b]-at[a])
	}
	first := out[0]
	for j := range out {
		out[j] -= first
	}
	return out
}
