package inspect

import (
	"context"
	"fmt"
	"math"
	"slices"
)

const (
	mostCauses = 3 // named at once
	mostWrong  = 4 // misreadings
	// alike is the difference of the criterion below which two causes count as not
	// told apart: evidence of e³, one to twenty.
	alike = 6
)

// search is the choice of causes.
type search struct {
	*model
	kinds   []*kind
	columns map[*shape][]float64
}

// penalty is what naming a term costs.
func (s *search) penalty(t *term) float64 {
	free := len(t.size)
	return float64(free)*math.Log(float64(len(s.obs))) + 2*math.Log(float64(t.kind.tried)) + 2*math.Log(float64(len(s.kinds)))
}

func (s *search) scored(v solution) solution {
	v.score = v.square
	for _, t := range v.terms {
		v.score += s.penalty(t)
		if u := t.kind.usual; u > 0 {
			v.score += dot(t.size, t.size) / (u * u)
		}
	}
	return v
}

func (s *search) column(p *shape) []float64 {
	c := s.columns[p]
	if c == nil {
		c = s.model.column(p)
		if p.misread == 0 {
			s.columns[p] = c
		}
	}
	return c
}

// basis returns an orthonormal basis of what the free terms do, to first order.
func (s *search) basis(terms []*term) (q [][]float64) {
	for _, t := range terms {
		if t.whole {
			continue
		}
		for i := range t.shapes {
			if v, ok := orthogonal(slices.Clone(s.column(&t.shapes[i])), q); ok {
				q = append(q, v)
			}
		}
	}
	return q
}

// orthogonal takes out of v what lies in q and brings it to unit length; ok is false
// when nothing is left.
func orthogonal(v []float64, q [][]float64) ([]float64, bool) {
	was := dot(v, v)
	for _, u := range q {
		axpy(v, -dot(u, v), u)
	}
	l := dot(v, v)
	if !(l > 1e-6*was) || l == 0 {
		return v, false
	}
	l = math.Sqrt(l)
	for i := range v {
		v[i] /= l
	}
	return v, true
}

func dot(a, b []float64) (sum float64) {
	for i, v := range a {
		sum += float64(v * b[i])
	}
	return sum
}

func axpy(v []float64, f float64, u []float64) {
	for i := range v {
		v[i] += float64(f * u[i])
	}
}

// candidate is a term with what it would take off χ², to first order.
type candidate struct {
	term *term
	gain float64 // after its penalty
}

// best returns the best ways of each kind beside the terms there are, the most
// promising first.
func (s *search) best(now solution) []candidate {
	var out []candidate
	q := s.basis(now.terms)
	r := slices.Clone(now.misfit)
	for _, u := range q {
		axpy(r, -dot(u, r), u)
	}
	work := make([]float64, len(r))
	for _, k := range s.kinds {
		if !allowed(k, now.terms) {
			continue
		}
		var of []candidate
		if k.jumps != nil {
			for i, t := range k.jumps.terms {
				d := k.jumps.moves[i]
				gain := 2*dot(r, d) - dot(d, d)
				for _, u := range q {
					c := dot(u, d)
					gain += c * c
				}
				of = append(of, candidate{t, gain - s.penalty(t)})
			}
		}
		for _, t := range k.terms {
			gain := 0.0
			if m := t.shapes[0].misread; m > 0 {
				// The unit vector, with the basis taken out, in short.
				left := 1.0
				for _, u := range q {
					left -= u[m-1] * u[m-1]
				}
				if left > 1e-3 {
					gain = r[m-1] * r[m-1] / left
				}
			} else {
				var own [][]float64
				for i := range t.shapes {
					copy(work, s.column(&t.shapes[i]))
					v, ok := orthogonal(work, q)
					if ok {
						v, ok = orthogonal(v, own)
					}
					if ok {
						c := dot(v, r)
						gain += c * c
						own = append(own, slices.Clone(v))
					}
				}
			}
			of = append(of, candidate{t, gain - s.penalty(t)})
		}
		slices.SortStableFunc(of, func(a, b candidate) int { return compare(b.gain, a.gain) })
		out = append(out, of[:min(len(of), 2)]...)
	}
	slices.SortStableFunc(out, func(a, b candidate) int { return compare(b.gain, a.gain) })
	return out
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// allowed says whether one more cause of the kind may be named.
func allowed(k *kind, terms []*term) bool {
	same, causes, wrong := 0, 0, 0
	for _, t := range terms {
		if t.kind == k {
			same++
		}
		if t.kind.name == Misreading {
			wrong++
		} else {
			causes++
		}
	}
	if k.name == Misreading {
		return wrong < mostWrong
	}
	return same == 0 && causes < mostCauses
}

// run chooses the causes: one by one while the criterion falls, and after each it
// is tried to do without, or with another in the place of, one of those before.
func (s *search) run(ctx context.Context) (solution, error) {
	empty, _ := s.fitted(nil, true)
	now := s.scored(empty)
	for range mostCauses + mostWrong {
		if err := ctx.Err(); err != nil {
			return now, fmt.Errorf("inspect: look for causes: %w", err)
		}
		next, ok := s.add(now)
		if !ok {
			break
		}
		now = next
		for again := true; again && len(now.terms) > 1; {
			again = false
			for i := range now.terms {
				rest := slices.Delete(slices.Clone(now.terms), i, i+1)
				less, ok := s.fitted(rest, true)
				if !ok {
					continue
				}
				less = s.scored(less)
				other, better := s.add(less)
				if !better || less.score < other.score {
					other = less
				}
				if other.score < now.score-1e-6 {
					now, again = other, true
					break
				}
			}
		}
	}
	if fine, ok := s.fitted(now.terms, false); ok {
		now = s.scored(fine)
	}
	return now, nil
}

// add returns the best solution with one term more, if that lowers the criterion.
func (s *search) add(now solution) (best solution, ok bool) {
	best = now
	for i, c := range s.best(now) {
		// To first order a large displacement is taken too small or too large, so
		// others are looked at that come near.
		if c.gain < -10 && i > 0 || c.gain < best.squareGain(now)-40 {
			continue
		}
		v, fine := s.fitted(append(slices.Clone(now.terms), c.term), true)
		if !fine {
			continue
		}
		if v = s.scored(v); v.score < best.score-1e-6 {
			best, ok = v, true
		}
	}
	return best, ok
}

func (v solution) squareGain(from solution) float64 { return from.score - v.score }

// warned puts teeth lost in the place of a misreading that they explain nearly as
// well: one pitch that is off by whole teeth may be either, and the slip is what
// ruins the piece. The misreading is then told as the rival.
func (s *search) warned(now solution) solution {
	for i := range now.terms {
		if now.terms[i].kind.name != Misreading {
			continue
		}
		for _, v := range s.rivals(now, i) {
			if v.terms[i].kind.jumps != nil {
				now = v
				break
			}
		}
	}
	return now
}

// rivals returns, for one term of a solution, the other kinds that explain the
// readings nearly as well in its place, each at its best, the best first.
func (s *search) rivals(now solution, i int) (out []solution) {
	rest := slices.Delete(slices.Clone(now.terms), i, i+1)
	less, ok := s.fitted(rest, true)
	if !ok {
		return nil
	}
	best := map[*kind]solution{}
	for _, c := range s.best(less) {
		if c.term.kind == now.terms[i].kind || c.gain < less.score-now.score-60 {
			continue
		}
		terms := slices.Insert(slices.Clone(rest), i, c.term)
		v, ok := s.fitted(terms, false)
		if !ok {
			continue
		}
		v = s.scored(v)
		if was, there := best[c.term.kind]; v.score-now.score < alike && (!there || v.score < was.score) {
			best[c.term.kind] = v
		}
	}
	for _, k := range s.kinds {
		if v, there := best[k]; there {
			out = append(out, v)
		}
	}
	slices.SortStableFunc(out, func(a, b solution) int { return compare(a.score, b.score) })
	return out
}
