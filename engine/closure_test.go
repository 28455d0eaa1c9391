package engine

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// spin is n rays, each a given share of a turn on.
func spin(n int, num, den int64, w Wheel, circle int) *Setup {
	s := straight(disc(36), repeat(n, cut(), turn(amount(num, den, Turns))))
	s.Engine.Index, s.Circle = w, circle
	s.Limits = &Limits{2, 17}
	return s
}

var oldCircles = Wheel{Worm: 1, Circles: []int{96, 112, 144, 360}} // Holtzapffel, vol. V, ch. V

// A round that should close by its wishes and does not for want of holes.
func TestRoundDoesNotClose(t *testing.T) {
	l := must(t, spin(100, 1, 100, oldCircles, 144))
	c := closes(t, l, IndexAxis, false)
	near(t, "gap", c.Gap, 44.0/144*2*math.Pi, 1e-12) // 100 moves of one hole leave 44
	if c.Cuts != 100 || len(c.Offers) != 4 {
		t.Fatalf("%+v", c)
	}
	for i, want := range []Offer{{Circle: 96, Count: 1, Cuts: 96}, {Circle: 360, Count: 4, Cuts: 90}, {Circle: 112, Count: 1, Cuts: 112}, {Circle: 360, Count: 3, Cuts: 120}} {
		o := c.Offers[i]
		o.Text = ""
		if o != want {
			t.Errorf("offer %d: %+v, want %+v", i+1, c.Offers[i], want)
		}
	}
	want := "The 100 cuts do not close: going round they come to 44 holes (110 deg) short of the first." +
		" It would close with 1 hole a step on the circle of 96, 96 cuts; or 4 holes a step on the circle of 360, 90 cuts;" +
		" or 1 hole a step on the circle of 112, 112 cuts; or 3 holes a step on the circle of 360, 120 cuts."
	if c.Text != want {
		t.Errorf("said:\n%s\nwant:\n%s", c.Text, want)
	}
}

// 42 divisions on a head of 40 turns are 20 holes of 21 (US Army ordnance
// course): the program finds the circle itself, and offers it on another.
func TestRoundByHandbook(t *testing.T) {
	l := must(t, spin(42, 1, 42, head40, 0))
	closes(t, l, IndexAxis, true)
	if l.Circle != 21 || l.Cuts[1].Moves[0].Count != 20 {
		t.Errorf("circle %d, %d holes", l.Circle, l.Cuts[1].Moves[0].Count)
	}
	c := closes(t, must(t, spin(42, 1, 42, head40, 18)), IndexAxis, false)
	near(t, "gap", c.Gap, 6.0/(40*18)*2*math.Pi, 1e-12) // 42 moves of 17 holes are 714 of 720
	if o := c.Offers[0]; o.Circle != 21 || o.Count != 20 || o.Cuts != 42 {
		t.Errorf("first offer %+v", o)
	}
	// 6 divisions: 6 turns and 12 of 18, or 26 of 39.
	for circle, holes := range map[int]int{18: 6*18 + 12, 39: 6*39 + 26} {
		l := must(t, spin(6, 1, 6, head40, circle))
		closes(t, l, IndexAxis, true)
		if got := l.Cuts[1].Moves[0].Count; got != holes {
			t.Errorf("circle of %d: %d holes, want %d", circle, got, holes)
		}
	}
}

// Without a circle the program takes the one on which every wish is exact, and
// of those the one with the fewest holes; or the least error.
func TestChooseCircle(t *testing.T) {
	for _, c := range []struct {
		num, den int64
		want     int
	}{{1, 48, 96}, {1, 7, 112}, {1, 9, 144}, {1, 5, 360}, {1, 16, 96}, {1, 11, 144} /* 13.09 → 13: 1/1584 of a turn off; 96: 1/264; 112: 1/616; 360: 1/990 */} {
		l := must(t, spin(3, c.num, c.den, oldCircles, 0))
		if l.Circle != c.want {
			t.Errorf("%d/%d of a turn: circle of %d, want %d", c.num, c.den, l.Circle, c.want)
		}
	}
}

// Nothing is said of sequences that do not mean to go round.
func TestNoRound(t *testing.T) {
	for name, s := range map[string]*Setup{
		"a quarter of the dial": spin(90, 1, 360, oldCircles, 360),
		"two directions":        straight(disc(20), repeat(2, repeat(3, cut(), step(amount(1, 1, Length))), chuck(amount(90, 360, Turns)))),
		"three directions":      straight(disc(20), repeat(3, repeat(3, cut(), step(amount(1, 1, Length))), turn(amount(60, 360, Turns)))),
		"two of 150 deg":        straight(disc(20), repeat(2, repeat(3, cut(), step(amount(1, 1, Length))), turn(amount(150, 360, Turns)))),
		"to and fro":            straight(disc(20), repeat(9, cut(), alternate([]Item{turn(amount(1, 12, Turns))}, []Item{turn(amount(-1, 12, Turns))}))),
	} {
		if c := must(t, s).Closures; len(c) != 0 {
			t.Errorf("%s: %s", name, c[0].Text)
		}
	}
}

// A sequence closes as well when its last step is left to the reader, when it
// goes round twice, and in groups.
func TestRoundsOfOtherForms(t *testing.T) {
	third := amount(1, 3, Turns)
	for name, s := range map[string]*Setup{
		"last step left out": straight(disc(20), cut(), repeat(11, turn(amount(1, 12, Turns)), cut())),
		"twice round":        straight(disc(20), repeat(2, repeat(12, cut(), turn(amount(1, 12, Turns))), step(amount(1, 10, Length)))),
		"clockwise":          straight(disc(20), repeat(12, cut(), turn(amount(-1, 12, Turns)))),
		"in groups":          straight(disc(20), repeat(12, repeat(4, cut(), turn(amount(1, 72, Turns))), turn(amount(2, 72, Turns)))),
		"three of 120 deg":   straight(disc(20), repeat(3, cut(), turn(third))),
		"with the chuck":     straight(disc(20), repeat(3, cut(), chuck(third))),
	} {
		axis := IndexAxis
		if name == "with the chuck" {
			axis = ChuckAxis
		}
		s.Limits = &Limits{1, 8}
		c := closes(t, must(t, s), axis, true)
		t.Log(c.Text)
	}
}

// Whatever is offered closes when it is done; nearer numbers of rays do not.
func TestOffersClose(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Wheel{Worm: rapid.SampledFrom([]int{1, 40}).Draw(t, "worm"), Circles: rapid.SliceOfNDistinct(rapid.IntRange(20, 400), 1, 4, rapid.ID[int]).Draw(t, "circles")}
		rays := rapid.IntRange(4, 200).Draw(t, "rays")
		s := spin(rays, 1, int64(rays), w, w.Circles[0])
		l, err := s.Cuts(context.Background())
		if err != nil || len(l.Closures) == 0 || l.Closures[0].Closes {
			t.Skip("too coarse, or closes")
		}
		c := l.Closures[0]
		if got := float64(l.Cuts[rays-1].Settings.Index+l.After[0].Count) / float64(w.Circles[0]*w.Worm); math.Abs(c.Gap-(1-got)*2*math.Pi) > 1e-9 {
			t.Fatalf("gap %v after %v turns", c.Gap, got)
		}
		far := 0
		for _, o := range c.Offers {
			if o.Cuts*o.Count != o.Circle*w.Worm {
				t.Fatalf("%+v does not close", o)
			}
			far = max(far, o.Cuts-rays, rays-o.Cuts)
		}
		// The brute-force twin: the nearest number of rays that any circle closes.
		if len(c.Offers) == 0 {
			return
		}
		nearest := math.MaxInt
		for n := 1; n < 2*rays; n++ {
			for _, circle := range w.Circles {
				if circle*w.Worm%n == 0 {
					nearest = min(nearest, max(n-rays, rays-n))
				}
			}
		}
		if o := c.Offers[0]; max(o.Cuts-rays, rays-o.Cuts) > nearest {
			t.Fatalf("first offer %+v, though %d away another closes", o, nearest)
		}
	})
}

// A phase that drifts on the way round has to come back to whole waves.
func TestPhaseOfTheRound(t *testing.T) {
	s := drifting()
	s.Sequence[0].Body[2].Amount = amount(1, 100, Waves) // 1.5 teeth, worked as 2
	c := closes(t, must(t, s), ShiftAxis, false)
	// 180 moves of 2 teeth are 360 teeth; 150 to the wave: 2.4 waves, 60 teeth past two.
	near(t, "gap", c.Gap, -60*0.02, 1e-12)
	if len(c.Offers) != 1 || c.Offers[0].Count != 5 {
		t.Errorf("offers %+v, want 5 teeth: 180·5 = 900 = 6 waves, the first above", c.Offers)
	}
	// 45 rays cannot go to and fro; 40 and 60 can on 360 holes.
	s = straight(disc(36), repeat(45, cut(), turn(amount(1, 45, Turns)),
		alternate([]Item{shift(amount(1, 2, Waves))}, []Item{shift(amount(-1, 2, Waves))})))
	s.Bar, s.Touch, s.Circle = "sine", 0, 360
	s.Limits = &Limits{3, 16}
	c = closes(t, must(t, s), ShiftAxis, false)
	near(t, "gap", math.Abs(c.Gap), 1.5, 1e-12)
	if len(c.Offers) != 2 || c.Offers[0].Cuts != 40 || c.Offers[1].Cuts != 60 {
		t.Errorf("%+v", c.Offers)
	}
	s.Sequence[0].Count, s.Sequence[0].Body[1].Amount = 40, amount(1, 40, Turns)
	closes(t, must(t, s), ShiftAxis, true)
}

// Half a bump of a rosette of 20 is 4.8 teeth of a crossing wheel of 192.
func TestFractionOfAWave(t *testing.T) {
	s := rings()
	s.Bar = "20"
	l := must(t, s)
	c := closes(t, l, ShiftAxis, false)
	near(t, "gap of two half bumps", c.Gap, 2*(4.8-5)/192*2*math.Pi, 1e-12)
	if c.Cuts != 2 || len(c.Offers) != 2 {
		t.Fatalf("%+v", c)
	}
	if a, b := c.Offers[0], c.Offers[1]; a.Text != "a rosette of 16 bumps, 6 teeth" || b.Text != "a rosette of 24 bumps, 4 teeth" {
		t.Errorf("%+v", c.Offers)
	}
	near(t, "sum over the sequence", l.Cuts[149].Rounding[1].Sum, 149*0.2/192*2*math.Pi, 1e-9)
	// With 24 bumps nothing is to be said, and the roundings are nothing at all.
	l = must(t, rings())
	if len(l.Closures) != 0 || len(l.Warnings) != 1 || l.Warnings[0].Kind != "heel" || l.Cuts[149].Rounding[1].Sum != 0 {
		t.Errorf("%+v %+v", l.Closures, l.Warnings)
	}
}

func TestRoundingWarning(t *testing.T) {
	s := straight(disc(36), repeat(60, cut(), step(amount(156, 1000, Length))))
	w := must(t, s).Warnings
	// 4 µm a step; a tenth of the step of 160 µm is passed at the fifth, cut 6 (0.02 > 0.016).
	if len(w) != 1 || w[0].Kind != "rounding" || w[0].First != 6 {
		t.Fatalf("%+v", w)
	}
	near(t, "worst", w[0].Margin, -59*0.004, 1e-12)
}
