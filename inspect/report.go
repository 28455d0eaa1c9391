package inspect

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"brightcut/depth"
	"brightcut/engine"
)

// Report is what an inspection found. Lengths are mm, as each key's ending says.
type Report struct {
	Tolerance     float64    `json:"tolerance"`            // share of the width
	Repeatability float64    `json:"repeatability_mm"`     // of one width, standard
	Basis         string     `json:"repeatability_basis"`  // "as given", "from 12 repeats", "as usual"
	Scatter       float64    `json:"scatter_mm,omitempty"` // found in its place where the widths scatter more
	Residuals     []Residual `json:"residuals"`            // in the order of the readings
	Out           float64    `json:"out_of_tolerance"`     // share of the widths
	Off           float64    `json:"rms_mm"`               // of the widths against the plan
	Left          float64    `json:"rms_left_mm"`          // of all that was read against the plan with its causes
	Causes        []Cause    `json:"causes"`               // the strongest first
	Misread       []Misread  `json:"misread"`
	Remarks       []string   `json:"remarks"`

	place func(float64) string
	kind  engine.Kind
}

// Residual is one width against the plan.
type Residual struct {
	Cut     int     `json:"cut"`
	Place   float64 `json:"place"` // mm of the stroke, rad of the spindle
	X       float64 `json:"x_mm"`
	Y       float64 `json:"y_mm"`
	Width   float64 `json:"width_mm"`
	Planned float64 `json:"planned_mm"`
	Off     float64 `json:"off_mm"`
	Out     bool    `json:"out_of_tolerance"`
	Told    float64 `json:"told_mm"` // what the causes make of the plan
	Note    string  `json:"note,omitempty"`
}

// Cause is one cause with its size and what to do.
type Cause struct {
	Kind      string      `json:"kind"`
	Sizes     []Size      `json:"sizes"`
	From      int         `json:"from_cut,omitempty"` // cut from which it acts
	Evidence  float64     `json:"evidence"`           // by how much the criterion falls
	Words     string      `json:"evidence_words"`
	Text      string      `json:"text"` // a sentence: what, how much
	Bench     string      `json:"bench"`
	Caution   string      `json:"caution,omitempty"`
	Rivals    []Rival     `json:"rivals"` // what the readings cannot tell it from
	Undecided string      `json:"undecided,omitempty"`
	Measure   []Measure   `json:"measure"` // what would decide it
	Corrects  *Correction `json:"corrects,omitempty"`
}

// Size is one number of a cause.
type Size struct {
	Name        string  `json:"name"`
	Value       float64 `json:"value"`
	Uncertainty float64 `json:"uncertainty"` // standard; 0 where the size is so many whole teeth
	Unit        string  `json:"unit"`
}

// Rival is another cause that explains the readings nearly as well.
type Rival struct {
	Kind     string      `json:"kind"`
	Text     string      `json:"text"`
	Behind   float64     `json:"behind"` // of the criterion; below 0 it is ahead
	Corrects *Correction `json:"corrects,omitempty"`
}

// Measure is a place at which a further reading would tell two causes apart.
type Measure struct {
	Cut   int     `json:"cut"`
	Place float64 `json:"place"` // mm of the stroke, rad of the spindle
	Apart float64 `json:"apart_mm"`
}

// Misread is a reading that does not fit the others and is left out.
type Misread struct {
	Cut   int     `json:"cut"`
	Place float64 `json:"place"`
	Pitch bool    `json:"pitch"`
	Off   float64 `json:"off_mm"`
	Text  string  `json:"text"`
}

// Correction is the value of the workshop that a cause corrects, as it would be kept;
// one of them is not nil. Tilt, bow and lost teeth are of the piece and correct none.
type Correction struct {
	Angle      *depth.Known     `json:"angle_rad,omitempty"`
	Flat       *depth.Known     `json:"flat_mm,omitempty"`
	Zero       *depth.Known     `json:"zero_mm,omitempty"` // of the extension
	Compliance *depth.Known     `json:"compliance_mm_per_n,omitempty"`
	Wear       *depth.Known     `json:"wear_mm_per_m,omitempty"`
	Slide      *engine.Periodic `json:"slide,omitempty"`
	Index      *engine.Periodic `json:"index,omitempty"`
}

// Largest returns the residuals by their size, the largest first.
func (r *Report) Largest() []Residual {
	out := slices.Clone(r.Residuals)
	slices.SortStableFunc(out, func(a, b Residual) int { return cmp.Compare(math.Abs(b.Off), math.Abs(a.Off)) })
	return out
}

// placeText tells a reading of the stroke or the spindle.
func (r *rig) placeText(v float64) string {
	if r.rose {
		return fmt.Sprintf("%.4g°", v*180/math.Pi)
	}
	return fmt.Sprintf("%.4g mm", v)
}

func (m *model) residuals(r *Report, readings []Reading) {
	out, sum, n := 0, 0.0, 0
	for o, b := range m.obs {
		if b.pitch {
			continue
		}
		v := &m.sights[b.sight]
		off := b.value - m.plan[o]
		q := Residual{Cut: v.cut + 1, Place: v.reading, X: v.x, Y: v.y, Width: b.value, Planned: m.plan[o], Off: off, Told: m.plan[o],
			Out: math.Abs(off) > r.Tolerance*m.plan[o], Note: readings[b.reading].Note}
		if q.Out {
			out++
		}
		sum += off * off
		n++
		r.Residuals = append(r.Residuals, q)
	}
	r.Out, r.Off = float64(out)/float64(n), math.Sqrt(sum/float64(n))
	r.Left = r.Off
}

// tell fills in what the search found.
func (s *search) tell(r *Report, now solution) {
	var causes []*term
	for _, t := range now.terms {
		if t.kind.name != Misreading {
			causes = append(causes, t)
		}
	}
	told, _ := s.foretell(causes, nil)
	k, left := 0, 0.0
	for o, b := range s.obs {
		left += now.misfit[o] * now.misfit[o]
		if !b.pitch {
			r.Residuals[k].Told = told[o]
			k++
		}
	}
	r.Left = s.sigma * math.Sqrt(left/float64(len(s.obs)))
	free := 0 // place in the covariance
	for i, t := range now.terms {
		sd := make([]float64, len(t.size))
		for c := range sd {
			if !t.whole {
				sd[c] = math.Sqrt(now.cov.At(free, free))
				free++
			}
		}
		if t.kind.name == Misreading {
			o := s.obs[t.shapes[0].misread-1]
			v := &s.sights[o.sight]
			what := "width"
			if o.pitch {
				what = "pitch"
			}
			r.Misread = append(r.Misread, Misread{v.cut + 1, v.reading, o.pitch, t.size[0],
				fmt.Sprintf("The %s of cut %d at %s reads %+.1f µm off what all the others say, and is left out. Measure it again.", what, v.cut+1, s.placeText(v.reading), 1000*t.size[0])})
			continue
		}
		c := s.cause(t, sd)
		if less, ok := s.fitted(slices.Delete(slices.Clone(now.terms), i, i+1), false); ok {
			c.Evidence = s.scored(less).score - now.score
		}
		c.Words = evidenceWords(c.Evidence)
		s.undecided(&c, now, i)
		r.Causes = append(r.Causes, c)
	}
	slices.SortStableFunc(r.Causes, func(a, b Cause) int { return cmp.Compare(b.Evidence, a.Evidence) })
}

// evidenceWords after Kass and Raftery 1995, J. Am. Stat. Assoc. 90:773 (from
// memory): differences of the criterion above 2, 6 and 10.
func evidenceWords(d float64) string {
	switch {
	case d > 30:
		return "beyond doubt, as far as widths can tell"
	case d > 10:
		return "very strong"
	case d > 6:
		return "strong"
	case d > 2:
		return "fair"
	}
	return "weak"
}

// undecided lists the rivals of a term and where to measure to tell them apart.
func (s *search) undecided(c *Cause, now solution, i int) {
	c.Rivals, c.Measure = []Rival{}, []Measure{}
	rivals := s.rivals(now, i)
	if len(rivals) == 0 {
		return
	}
	for _, v := range rivals {
		sd, at := make([]float64, len(v.terms[i].size)), 0
		for k, t := range v.terms {
			for b := range t.size {
				if !t.whole {
					if k == i {
						sd[b] = math.Sqrt(v.cov.At(at, at))
					}
					at++
				}
			}
		}
		one := s.cause(v.terms[i], sd)
		c.Rivals = append(c.Rivals, Rival{v.terms[i].kind.name, one.Text, v.score - now.score, one.Corrects})
	}
	name := nameOf(now.terms[i].kind.name)
	for _, v := range rivals {
		other := nameOf(v.terms[i].kind.name)
		if v.terms[i].kind.name == Misreading {
			c.Undecided += fmt.Sprintf("It rests on few readings: it may as well be a slip of the microscope at cut %d. Measure that again. ", s.sights[s.obs[v.terms[i].shapes[0].misread-1].sight].cut+1)
			continue
		}
		places := s.apart(now, v)
		if len(places) == 0 {
			c.Undecided += fmt.Sprintf("No width on this piece tells %s from %s. Cut test grooves at two other depths, half and one and a half times this one, and measure those. ", name, other)
			continue
		}
		text := fmt.Sprintf("Not enough readings to tell %s from %s: measure cut %d at %s", name, other, places[0].Cut, s.placeText(places[0].Place))
		if len(places) > 1 {
			text += fmt.Sprintf(" and cut %d at %s", places[1].Cut, s.placeText(places[1].Place))
		}
		c.Undecided += text + ". "
		if len(c.Measure) == 0 {
			c.Measure = places
		}
	}
	c.Undecided = c.Undecided[:len(c.Undecided)-1]
}

// apart returns the places of the piece at which two explanations foretell the most
// different widths, where that is at least two uncertainties: at most two, on
// different cuts.
func (s *search) apart(a, b solution) (out []Measure) {
	const mostCuts = 200
	n := len(s.tracks)
	step := max(1, n/mostCuts)
	var all []Measure
	for j := 0; j < n; j += step {
		for i := range s.tracks[j].pieces {
			p := &s.tracks[j].pieces[i]
			from, to := p.reading[0], p.reading[len(p.reading)-1]
			for _, share := range [5]float64{0.02, 0.25, 0.5, 0.75, 0.98} {
				place := from + share*(to-from)
				v, ok := s.look(j, place, 0)
				if !ok || !s.clear(&v) {
					continue
				}
				at := make([]moved, len(v.near))
				ca := s.moved(&v, a.terms, at)
				wa, _ := s.width(&v, at, ca)
				cb := s.moved(&v, b.terms, at)
				wb, _ := s.width(&v, at, cb)
				if wa > 0 && wb > 0 && math.Abs(wa-wb) >= 2*s.sigma {
					all = append(all, Measure{j + 1, place, math.Abs(wa - wb)})
				}
			}
		}
	}
	slices.SortStableFunc(all, func(x, y Measure) int { return cmp.Compare(y.Apart, x.Apart) })
	for _, q := range all {
		if len(out) == 0 || q.Cut != out[0].Cut {
			if out = append(out, q); len(out) == 2 {
				break
			}
		}
	}
	return out
}
