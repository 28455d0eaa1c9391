package bench

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"brightcut/engine"
)

// Dials are what an operator reads on the engine; nil is a dial not read.
type Dials struct {
	Slide, Index, Shift, Chuck *int
	Bar                        string // the bar or rosette that is on, as the job calls it; "" when it was not looked at
}

// Rounds are the counts after which a dial shows the same again; 0 for one that
// never does.
type Rounds struct {
	Index int `json:"index,omitempty"` // holes of the circle
	Shift int `json:"shift,omitempty"` // teeth of the crossing wheel
	Chuck int `json:"chuck,omitempty"` // divisions

	// Waves are the teeth of the bar shift that make one whole wave of a bar,
	// where they are whole: the pattern is the same so far on.
	Waves map[string]int `json:"waves,omitempty"`
}

// Candidate is a place in the sequence at which the dials can be.
type Candidate struct {
	Next     int    // the cut to be made next, if it is so
	Last     int    // the cut made last; 0 when none is
	Moves    Moves  // how far the moves for Next are made
	Distance int    // counts by which the dials are off, all together
	Unlikely bool   // the log speaks for another place
	Text     string // whole sentences
}

// Moves says how far the moves before a cut are made.
type Moves int

// How far they are made.
const (
	NoneMade Moves = iota + 1
	SomeMade
	AllMade
)

// Found is what the dials tell of the place in the sequence.
type Found struct {
	Candidates []Candidate // the likeliest first
	Total      int         // of candidates, also those left out
	Exact      bool        // the dials fit; otherwise the candidates are the nearest
	Text       string
}

// mostCandidates are told; more are no help at the engine.
const mostCandidates = 40

// likely is how far the count can be off without more than a stroke or two
// forgotten or counted twice (common practice, no source).
const likely = 2

// reading is one dial read.
type reading struct {
	name, unit string
	shown      int
	round      int // 0 on a screw
	of         func(*engine.Settings) int
}

// Where tells where in a sequence the dials can be: with cut n made and nothing
// moved yet, in the midst of the moves, or with all set for the next cut. A wheel
// shows its place in the round only, and a bar may stand whole waves away; all
// places that fit are told, those near the count of the log first, of which next
// is the next cut. Where none fits the nearest are told, with how far off each
// dial is.
func Where(cuts []engine.Settings, rounds Rounds, shown Dials, next int) Found {
	var reads []reading
	add := func(v *int, name, unit string, round int, of func(*engine.Settings) int) {
		if v != nil {
			reads = append(reads, reading{name, unit, *v, round, of})
		}
	}
	add(shown.Slide, "slide", "tooth", 0, func(s *engine.Settings) int { return s.Slide })
	add(shown.Index, "index wheel", "hole", rounds.Index, func(s *engine.Settings) int { return s.Index })
	shift := "bar shift"
	if rounds.Shift > 0 {
		shift = "crossing wheel"
	}
	add(shown.Shift, shift, "tooth", rounds.Shift, func(s *engine.Settings) int { return s.Shift })
	add(shown.Chuck, "chuck", "division", rounds.Chuck, func(s *engine.Settings) int { return s.Chuck })
	if len(reads) == 0 && shown.Bar == "" {
		return Found{Text: "Read at least one dial: the index wheel or the slide tells most."}
	}
	w := where{cuts: cuts, rounds: rounds, bar: shown.Bar, reads: reads, next: next}
	all := w.exact()
	out := Found{Exact: len(all) > 0}
	if !out.Exact {
		all = w.nearest()
	}
	out.Total = len(all)
	slices.SortStableFunc(all, func(a, b Candidate) int {
		return cmp.Or(cmp.Compare(a.Distance, b.Distance), cmp.Compare(abs(a.Next-next), abs(b.Next-next)), cmp.Compare(a.Next, b.Next), cmp.Compare(a.Moves, b.Moves))
	})
	out.Candidates = all[:min(len(all), mostCandidates)]
	nearby := 0
	for i := range out.Candidates {
		c := &out.Candidates[i]
		c.Unlikely = abs(c.Next-next) > likely
		if !c.Unlikely {
			nearby++
		}
		c.Text = w.tell(c)
	}
	switch {
	case out.Total == 0:
		out.Text = "No cut of the run is made with what is on the engine; look at its bar or rosette again."
	case !out.Exact:
		out.Text = "The dials stand at no place of the sequence. The nearest are told; look at each dial again before you move one."
	case nearby == 1 && out.Total == 1:
		out.Text = "The dials stand at one place of the sequence, and the count says the same."
	case nearby == 0:
		out.Text = fmt.Sprintf("The dials fit, and not where the count is: it says that cut %d is the next. Look at the work before you go on.", next)
	case out.Total > len(out.Candidates):
		out.Text = fmt.Sprintf("The dials fit at %d places, of which the nearest to the count are told. Read another dial to tell them apart, or look at the work.", out.Total)
	case out.Total > 1:
		out.Text = "The dials fit at more than one place. Read another dial, or look at the work: is the last cut made?"
	}
	return out
}

func abs(n int) int { return max(n, -n) }

type where struct {
	cuts   []engine.Settings
	rounds Rounds
	bar    string
	reads  []reading
	next   int
}

// off is how many counts a dial shows past a setting, around the nearest way.
func (r *reading) off(s *engine.Settings) int {
	d := r.shown - r.of(s)
	if r.round > 0 {
		d %= r.round
		if d < 0 {
			d += r.round
		}
		if d > r.round/2 {
			d -= r.round
		}
	}
	return d
}

// waves is how many whole waves the bar stands away from a setting.
func (w *where) waves(r *reading, s *engine.Settings) (int, bool) {
	wave := w.rounds.Waves[s.Bar]
	if r.name != "bar shift" || wave <= 0 {
		return 0, false
	}
	d := r.off(s)
	return d / wave, d != 0 && d%wave == 0
}

// fits says whether a dial stands as for a setting; a bar may be whole waves away.
func (w *where) fits(r *reading, s *engine.Settings) bool {
	if r.off(s) == 0 {
		return true
	}
	_, ok := w.waves(r, s)
	return ok
}

func (w *where) barFits(s *engine.Settings) bool { return w.bar == "" || w.bar == s.Bar }

// all says whether every dial stands as for cut n.
func (w *where) all(n int) bool {
	s := &w.cuts[n-1]
	if !w.barFits(s) {
		return false
	}
	for i := range w.reads {
		if !w.fits(&w.reads[i], s) {
			return false
		}
	}
	return true
}

// exact lists the places at which every dial fits.
func (w *where) exact() []Candidate {
	var out []Candidate
	before := false // all dials stand as for cut n−1
	for n := 1; n <= len(w.cuts); n++ {
		here := w.all(n)
		if here {
			out = append(out, Candidate{Next: n, Last: n - 1, Moves: AllMade}, Candidate{Next: n + 1, Last: n, Moves: NoneMade})
		}
		if n > 1 && !here && !before && w.between(n) {
			out = append(out, Candidate{Next: n, Last: n - 1, Moves: SomeMade})
		}
		before = here
	}
	return out
}

// between says whether every dial stands as for cut n−1 or as for cut n.
func (w *where) between(n int) bool {
	a, b := &w.cuts[n-2], &w.cuts[n-1]
	if !w.barFits(a) && !w.barFits(b) {
		return false
	}
	for i := range w.reads {
		if r := &w.reads[i]; !w.fits(r, a) && !w.fits(r, b) {
			return false
		}
	}
	return true
}

// nearest lists the places at which the dials are off by the fewest counts.
func (w *where) nearest() []Candidate {
	var out []Candidate
	least := math.MaxInt
	for n := 1; n <= len(w.cuts); n++ {
		s := &w.cuts[n-1]
		if !w.barFits(s) {
			continue
		}
		d := 0
		for i := range w.reads {
			if r := &w.reads[i]; !w.fits(r, s) {
				d += abs(r.off(s))
			}
		}
		if d < least {
			least, out = d, out[:0]
		}
		if d == least {
			out = append(out, Candidate{Next: n, Last: n - 1, Moves: AllMade, Distance: d}, Candidate{Next: n + 1, Last: n, Moves: NoneMade, Distance: d})
		}
	}
	return out
}

// tell says a candidate in words.
func (w *where) tell(c *Candidate) string {
	if c.Moves == SomeMade {
		a, b := &w.cuts[c.Next-2], &w.cuts[c.Next-1]
		var made, left []string
		for i := range w.reads {
			r := &w.reads[i]
			switch {
			case r.of(a) == r.of(b):
			case w.fits(r, b):
				made = append(made, "the "+r.name)
			default:
				left = append(left, "the "+r.name)
			}
		}
		if w.bar != "" && a.Bar != b.Bar {
			word := "the bar"
			if w.rounds.Shift > 0 {
				word = "the rosette"
			}
			if w.bar == b.Bar {
				made = append(made, word)
			} else {
				left = append(left, word)
			}
		}
		return fmt.Sprintf("Cut %d is made, and the moves for cut %d are begun: %s set, %s not yet.", c.Last, c.Next, joined(made, "is", "are"), joined(left, "is", "are"))
	}
	n := c.Next
	text := fmt.Sprintf("All is set for cut %d, which is the next.", n)
	if c.Moves == NoneMade {
		n = c.Last
		text = fmt.Sprintf("Cut %d is made and nothing is moved since; cut %d is the next.", n, c.Next)
		if c.Next > len(w.cuts) {
			text = fmt.Sprintf("Cut %d is made, the last.", n)
		}
	}
	s := &w.cuts[n-1]
	var off []string
	for i := range w.reads {
		r := &w.reads[i]
		d := r.off(s)
		if d == 0 {
			continue
		}
		if k, ok := w.waves(r, s); ok {
			text += fmt.Sprintf(" The bar stands %s away from where the count has it, which cuts the same.", plural(abs(k), "whole wave"))
			continue
		}
		way := "past"
		if d < 0 {
			way = "short of"
		}
		off = append(off, fmt.Sprintf("the %s reads %s %s it", r.name, plural(abs(d), r.unit), way))
	}
	if len(off) > 0 {
		text = fmt.Sprintf("Nearest to cut %d: %s. ", n, strings.Join(off, ", ")) + text
	}
	return text
}

func plural(n int, one string) string {
	switch {
	case n == 1:
		return "1 " + one
	case one == "tooth":
		return fmt.Sprintf("%d teeth", n)
	}
	return fmt.Sprintf("%d %ss", n, one)
}

func joined(names []string, one, many string) string {
	switch len(names) {
	case 0:
		return "nothing " + one
	case 1:
		return names[0] + " " + one
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1] + " " + many
}

// roundsOf tells the rounds of a set-up's dials.
func roundsOf(s *engine.Setup, circle int) Rounds {
	first := func(circles []int) int {
		if len(circles) == 0 {
			return 0
		}
		return circles[0]
	}
	r := Rounds{Index: circle, Chuck: first(s.Engine.Chuck.Circles)}
	if s.Engine.Kind == engine.Rose {
		r.Shift = first(s.Engine.Crossing.Circles)
		return r
	}
	one := s.Engine.Shift.Pitch / float64(max(1, s.Engine.Shift.Ratchet))
	for name, e := range s.Bars {
		teeth := e.Wave / one
		if n := math.Round(teeth); one > 0 && n >= 1 && n < 1e9 && math.Abs(teeth-n) < 1e-6*n {
			if r.Waves == nil {
				r.Waves = map[string]int{}
			}
			r.Waves[name] = int(n)
		}
	}
	return r
}
