package inspect

import (
	"fmt"
	"math"

	"brightcut/fault"
	"brightcut/internal/fit"

	"gonum.org/v1/gonum/mat"
)

// shape is what a cause of size 1 does to the cuts. A nil func moves nothing.
type shape struct {
	deep               func(j int, x, y float64) float64
	slide, turn, shift func(j int) float64
	tan, flat          float64
	misread            int // number of the observation, from 1, that it adds 1 to
}

// term is a cause that is being tried: its shapes with their sizes.
type term struct {
	kind   *kind
	shapes []shape
	size   []float64
	whole  bool // its size is so many whole teeth, and not fitted
	at     int  // cut, from 0, from which it acts
	teeth  int
	period float64 // turns
}

// observation is one number that was read.
type observation struct {
	reading int // number of the reading
	sight   int
	pitch   bool
	value   float64 // mm
}

// model foretells what was read.
type model struct {
	*rig
	sights []sight
	obs    []observation
	plan   []float64 // foretold, nothing being wrong
	sigma  float64   // standard uncertainty of one observation, mm
	slopes []slopes  // of each observation
}

// slopes are the derivatives of one observation: by cut of its sight and way of
// being moved, and by the V.
type slopes struct {
	by        [][4]float64
	tan, flat float64
}

// newModel finds the places that were read. Its error is a fault.List of readings
// that no cut of the piece can have shown.
func newModel(r *rig, readings []Reading) (*model, error) {
	m := &model{rig: r}
	var l fault.List
	for i := range readings {
		q := &readings[i]
		bad := func(field, problem, mend string) {
			if len(l) < 20 {
				l = append(l, fault.Fault{Origin: q.Origin, Field: field, Problem: problem, Mend: mend})
			}
		}
		if q.Cut < 1 || q.Cut > len(r.tracks) {
			bad("cut", fmt.Sprintf("there is no cut %d", q.Cut), fmt.Sprintf("the piece has cuts 1 to %d, counted in the order of cutting", len(r.tracks)))
			continue
		}
		if !(q.Width > 0) || math.IsInf(q.Width, 0) {
			bad("width", "it is no width of a groove", "give it above 0")
			continue
		}
		place := q.Place
		if q.On {
			far := 0.0
			place, far = r.tracks[q.Cut-1].nearest(q.X, q.Y)
			if far > 1 {
				bad("x", fmt.Sprintf("cut %d passes %.2g mm from this place", q.Cut, far), "look at the number of the cut, and measure x and y from the centre of the chuck")
				continue
			}
		}
		v, ok := r.look(q.Cut-1, place, q.After)
		if !ok {
			bad("place", fmt.Sprintf("cut %d is not in the metal at %s", q.Cut, r.placeText(place)), "look at the reading of the stroke or the spindle, and at the number of the cut")
			continue
		}
		at := make([]moved, len(v.near))
		width, pitch := r.width(&v, at, r.vee)
		if width <= 0 {
			bad("place", fmt.Sprintf("as planned, another cut takes cut %d away at %s", q.Cut, r.placeText(place)), "measure where its bottom is left, or look at the number of the cut")
			continue
		}
		k := len(m.sights)
		m.sights = append(m.sights, v)
		m.obs, m.plan = append(m.obs, observation{i, k, false, q.Width}), append(m.plan, width)
		if q.Pitch > 0 {
			if math.IsNaN(pitch) {
				bad("pitch", fmt.Sprintf("there is no cut before cut %d beside this place", q.Cut), "leave the field empty")
				continue
			}
			m.obs, m.plan = append(m.obs, observation{i, k, true, q.Pitch}), append(m.plan, pitch)
		}
	}
	if len(l) > 0 {
		return nil, l
	}
	m.differentiate()
	return m, nil
}

// differentiate takes the slopes of every observation as planned.
func (m *model) differentiate() {
	m.slopes = make([]slopes, len(m.obs))
	for o := 0; o < len(m.obs); {
		v := &m.sights[m.obs[o].sight]
		both := o+1 < len(m.obs) && m.obs[o+1].sight == m.obs[o].sight
		at := make([]moved, len(v.near))
		by := [2][][4]float64{make([][4]float64, len(v.near)), make([][4]float64, len(v.near))}
		arm := max(0.5, math.Hypot(v.x, v.y))
		for k := range v.near {
			for way, step := range [4]float64{0.0005, 0.0005, 0.0005 / arm, 0.002} {
				to := [4]*float64{&at[k].deep, &at[k].slide, &at[k].turn, &at[k].shift}[way]
				*to = step
				w1, p1 := m.width(v, at, m.vee)
				*to = -step
				w0, p0 := m.width(v, at, m.vee)
				*to = 0
				by[0][k][way] = (w1 - w0) / (2 * step)
				if both {
					by[1][k][way] = (p1 - p0) / (2 * step)
				}
			}
		}
		const step = 0.001
		c := m.vee
		c.tan += step
		w1, _ := m.width(v, at, c)
		c.tan -= 2 * step
		w0, _ := m.width(v, at, c)
		m.slopes[o] = slopes{by: by[0], tan: (w1 - w0) / (2 * step)}
		c = m.vee
		c.flat += step
		w1, _ = m.width(v, at, c)
		m.slopes[o].flat = (w1 - m.plan[o]) / step
		o++
		if both {
			m.slopes[o] = slopes{by: by[1]}
			o++
		}
	}
}

// column returns what one shape does to the observations, to first order, over
// their standard uncertainty.
func (m *model) column(s *shape) []float64 {
	out := make([]float64, len(m.obs))
	if s.misread > 0 {
		out[s.misread-1] = 1 / m.sigma
		return out
	}
	for o := range m.obs {
		v := &m.sights[m.obs[o].sight]
		d := &m.slopes[o]
		sum := d.tan*s.tan + d.flat*s.flat
		for k, j := range v.near {
			if s.deep != nil && d.by[k][0] != 0 {
				sum += d.by[k][0] * s.deep(j, v.x, v.y)
			}
			if s.slide != nil && d.by[k][1] != 0 {
				sum += d.by[k][1] * s.slide(j)
			}
			if s.turn != nil && d.by[k][2] != 0 {
				sum += d.by[k][2] * s.turn(j)
			}
			if s.shift != nil && d.by[k][3] != 0 {
				sum += d.by[k][3] * s.shift(j)
			}
		}
		out[o] = sum / m.sigma
	}
	return out
}

// scene of one sight under the terms.
func (m *model) moved(v *sight, terms []*term, at []moved) vee {
	c := m.vee
	clear(at)
	for _, t := range terms {
		for i := range t.shapes {
			s, b := &t.shapes[i], t.size[i]
			c.tan += b * s.tan
			c.flat += b * s.flat
			for k, j := range v.near {
				if s.deep != nil {
					at[k].deep += b * s.deep(j, v.x, v.y)
				}
				if s.slide != nil {
					at[k].slide += b * s.slide(j)
				}
				if s.turn != nil {
					at[k].turn += b * s.turn(j)
				}
				if s.shift != nil {
					at[k].shift += b * s.shift(j)
				}
			}
		}
	}
	return c
}

// foretell returns the observations under the terms, by the forward model. A V
// without an opening, or a flat below nothing, is not foretold.
func (m *model) foretell(terms []*term, out []float64) ([]float64, bool) {
	out = out[:0]
	var at []moved
	for o := 0; o < len(m.obs); o++ {
		v := &m.sights[m.obs[o].sight]
		if cap(at) < len(v.near) {
			at = make([]moved, 2*len(v.near))
		}
		at = at[:len(v.near)]
		c := m.moved(v, terms, at)
		if !(c.tan > 0.05) || c.flat < -1e-9 {
			return out, false
		}
		w, p := m.width(v, at, c)
		out = append(out, w)
		if o+1 < len(m.obs) && m.obs[o+1].sight == m.obs[o].sight {
			o++
			if math.IsNaN(p) {
				p = m.plan[o]
			}
			out = append(out, p)
		}
	}
	for _, t := range terms {
		for i := range t.shapes {
			if k := t.shapes[i].misread; k > 0 {
				out[k-1] += t.size[i]
			}
		}
	}
	return out, true
}

// solution is the best fit of some terms.
type solution struct {
	terms  []*term
	square float64       // χ²
	misfit []float64     // over the standard uncertainty
	cov    *mat.SymDense // of the free sizes, in their order; nil when none is free
	score  float64
}

// fitted finds the sizes of the free terms by Gauss–Newton: with the slopes as planned
// when rough is true, through the forward model otherwise. ok is false where no
// size that can be is found.
func (m *model) fitted(terms []*term, rough bool) (s solution, ok bool) {
	s.terms = make([]*term, len(terms))
	var free []*float64
	var shapes []*shape
	for i, t := range terms {
		c := *t
		c.size = append([]float64(nil), t.size...)
		s.terms[i] = &c
		if !t.whole {
			for k := range c.size {
				free, shapes = append(free, &c.size[k]), append(shapes, &c.shapes[k])
			}
		}
	}
	n := len(m.obs)
	misfit := func() ([]float64, float64, bool) {
		out, ok := m.foretell(s.terms, make([]float64, 0, n))
		if !ok {
			return nil, 0, false
		}
		sum := 0.0
		for o := range out {
			out[o] = (m.obs[o].value - out[o]) / m.sigma
			sum += out[o] * out[o]
		}
		return out, sum, true
	}
	if s.misfit, s.square, ok = misfit(); !ok {
		return s, false
	}
	x := mat.NewDense(n, max(1, len(free)), nil)
	columns := func() {
		for c := range free {
			if rough {
				x.SetCol(c, m.column(shapes[c]))
				continue
			}
			col := m.column(shapes[c])
			big := 0.0
			for _, v := range col {
				big = max(big, math.Abs(v))
			}
			if big == 0 {
				x.SetCol(c, col)
				continue
			}
			step := 0.3 / big // a third of an uncertainty where it does most
			was := *free[c]
			*free[c] = was + step
			up, ok1 := m.foretell(s.terms, nil)
			*free[c] = was - step
			down, ok0 := m.foretell(s.terms, nil)
			*free[c] = was
			if !ok1 || !ok0 {
				x.SetCol(c, col)
				continue
			}
			for o := range col {
				col[o] = (up[o] - down[o]) / (2 * step * m.sigma)
			}
			x.SetCol(c, col)
		}
	}
	if len(free) == 0 {
		return s, true
	}
	rounds := 3
	if !rough {
		rounds = 6
	}
	var last *fit.Linear
	for round := range rounds {
		if round == 0 || !rough {
			columns()
		}
		l, err := fit.Solve(x, s.misfit)
		if err != nil {
			return s, false
		}
		last = l
		gain := 0.0
		for share := 1.0; share > 0.1; share /= 2 {
			for c := range free {
				*free[c] += share * l.Beta[c]
			}
			misfits, square, fine := misfit()
			if fine && square < s.square {
				gain = s.square - square
				s.misfit, s.square = misfits, square
				break
			}
			for c := range free {
				*free[c] -= share * l.Beta[c]
			}
		}
		if gain < 0.01 {
			break
		}
	}
	if last.Rank < len(free) {
		return s, false
	}
	s.cov = last.Cofactor
	for _, t := range s.terms {
		for _, b := range t.size {
			if math.IsNaN(b) || t.kind.most > 0 && math.Abs(b) > t.kind.most || t.kind.below != 0 && b < 0 {
				return s, false
			}
		}
	}
	return s, true
}
