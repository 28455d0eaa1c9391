package bench

import (
	"math/rand/v2"
	"strings"
	"testing"

	"brightcut/engine"
)

func at(n int) *int { return &n }

// steps is a sequence: 16 teeth of the slide between cuts, the bar up and down by
// half its wave of 150 teeth.
func steps(n int) ([]engine.Settings, Rounds) {
	cuts := make([]engine.Settings, n)
	for i := range cuts {
		cuts[i] = engine.Settings{Slide: -1280 + 16*i, Shift: 75 * (i % 2), Bar: "fine"}
	}
	return cuts, Rounds{Waves: map[string]int{"fine": 150}}
}

// turns is a dial: 3 holes of 360 between cuts, twice round.
func turns() ([]engine.Settings, Rounds) {
	cuts := make([]engine.Settings, 240)
	for i := range cuts {
		cuts[i] = engine.Settings{Slide: 1000 + 5*(i/120), Index: 3 * i, Bar: "plain"}
	}
	return cuts, Rounds{Index: 360}
}

func TestWhere(t *testing.T) {
	line, lineRounds := steps(160)
	round, roundRounds := turns()
	for _, c := range []struct {
		name   string
		cuts   []engine.Settings
		rounds Rounds
		shown  Dials
		next   int
		exact  bool
		total  int
		first  Candidate
		says   string
	}{
		{"the slide alone tells one cut, made or not", line, lineRounds, Dials{Slide: at(-1280 + 16*99)}, 101, true, 2,
			Candidate{Next: 101, Last: 100, Moves: NoneMade}, "Cut 100 is made and nothing is moved since; cut 101 is the next."},
		{"the count says that it is not made", line, lineRounds, Dials{Slide: at(-1280 + 16*99)}, 100, true, 2,
			Candidate{Next: 100, Last: 99, Moves: AllMade}, "All is set for cut 100, which is the next."},
		{"the bar a wave further up cuts the same", line, lineRounds, Dials{Slide: at(-1280 + 16*99), Shift: at(75 + 150)}, 101, true, 2,
			Candidate{Next: 101, Last: 100, Moves: NoneMade}, "The bar stands 1 whole wave away"},
		{"the slide is stepped, the bar not yet", line, lineRounds, Dials{Slide: at(-1280 + 16*100), Shift: at(75)}, 101, true, 2, // or the bar is set for cut 102 and the slide not
			Candidate{Next: 101, Last: 100, Moves: SomeMade}, "Cut 100 is made, and the moves for cut 101 are begun: the slide is set, the bar shift is not yet."},
		{"three teeth past", line, lineRounds, Dials{Slide: at(-1280 + 16*99 + 3), Shift: at(75)}, 101, false, 2,
			Candidate{Next: 101, Last: 100, Moves: NoneMade, Distance: 3}, "Nearest to cut 100: the slide reads 3 teeth past it."},
		{"one tooth short", line, lineRounds, Dials{Slide: at(-1280 + 16*99 - 1), Shift: at(75)}, 101, false, 2,
			Candidate{Next: 101, Last: 100, Moves: NoneMade, Distance: 1}, "the slide reads 1 tooth short of it"},
		{"a hole of the circle is passed twice", round, roundRounds, Dials{Index: at(141)}, 168, true, 4,
			Candidate{Next: 168, Last: 167, Moves: AllMade}, "All is set for cut 168"},
		{"the slide tells the rounds apart", round, roundRounds, Dials{Index: at(141), Slide: at(1000)}, 49, true, 2,
			Candidate{Next: 49, Last: 48, Moves: NoneMade}, "Cut 48 is made"},
		{"a hole that no cut stands at, the nearest way round", round, roundRounds, Dials{Index: at(359), Slide: at(1000)}, 1, false, 2,
			Candidate{Next: 1, Last: 0, Moves: AllMade, Distance: 1}, "the index wheel reads 1 hole short of it"},
		{"another bar", line, lineRounds, Dials{Slide: at(0), Bar: "coarse"}, 1, false, 0, Candidate{}, ""},
		{"nothing read", line, lineRounds, Dials{}, 1, false, 0, Candidate{}, ""},
		{"the last cut is made", line, lineRounds, Dials{Slide: at(-1280 + 16*159)}, 161, true, 2,
			Candidate{Next: 161, Last: 160, Moves: NoneMade}, "Cut 160 is made, the last."},
		{"far from the count", line, lineRounds, Dials{Slide: at(-1280 + 16*9)}, 101, true, 2,
			Candidate{Next: 11, Last: 10, Moves: NoneMade, Unlikely: true}, "cut 11 is the next"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Where(c.cuts, c.rounds, c.shown, c.next)
			if got.Exact != c.exact || got.Total != c.total || got.Text == "" && c.total != 1 {
				t.Fatalf("%+v", got)
			}
			if c.total == 0 {
				return
			}
			first := got.Candidates[0]
			text := first.Text
			first.Text = ""
			if first != c.first || !strings.Contains(text, c.says) {
				t.Fatalf("%+v: %s\nwant %+v: %s", first, text, c.first, c.says)
			}
		})
	}
}

// Of every job of the example workshop, whatever dials are read at whatever place,
// the place is among the candidates, and a candidate's dials are those read.
func TestWhereFindsThePlace(t *testing.T) {
	seed := uint64(20310314)
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 4))
	for _, name := range []string{"barleycorn", "basket-weave", "drifting-sunburst", "barleycorn-rings", "lantern-pendant", "bowed-dial"} {
		p := programOf(t, name)
		rounds := roundsOf(&p.Job.Setup, p.Circle)
		all := make([]engine.Settings, len(p.Cuts))
		for i := range all {
			all[i] = p.Cuts[i].Settings
		}
		for range 60 {
			n := 1 + random.IntN(len(all))
			s := all[n-1]
			if rounds.Index > 0 {
				s.Index = ((s.Index % rounds.Index) + rounds.Index) % rounds.Index // as the wheel shows it
			}
			var d Dials
			for i, to := range []**int{&d.Slide, &d.Index, &d.Shift, &d.Chuck} {
				if random.IntN(2) == 0 {
					*to = at([]int{s.Slide, s.Index, s.Shift, s.Chuck}[i])
				}
			}
			if random.IntN(2) == 0 || d == (Dials{}) {
				d.Bar = s.Bar
			}
			if d == (Dials{}) {
				continue // no bar is named and nothing was read
			}
			next := n + random.IntN(2)
			got := Where(all, rounds, d, next)
			if !got.Exact {
				t.Fatalf("%s, cut %d, %+v: %+v", name, n, d, got)
			}
			found := false
			for _, c := range got.Candidates {
				found = found || c.Next == next && c.Moves != SomeMade
			}
			if !found {
				t.Fatalf("%s: cut %d is not among %d places of %+v", name, next, got.Total, d)
			}
		}
	}
}
