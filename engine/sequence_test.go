package engine

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"math"
	"math/big"
	"os"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"brightcut/fault"
)

// byHand writes a sequence out, motion by motion, as an operator with a pencil
// would: no repeats and no alternations are left. reached counts how often each
// alternation was come to.
func byHand(items []Item, reached map[*Item]int) []Item {
	var out []Item
	for i := range items {
		it := &items[i]
		switch it.Motion {
		case Repeat:
			for range it.Count {
				out = append(out, byHand(it.Body, reached)...)
			}
		case Alternate:
			n := reached[it]
			reached[it]++
			out = append(out, byHand(it.Choices[n%len(it.Choices)], reached)...)
		default:
			out = append(out, *it)
		}
	}
	return out
}

func randomItems(t *rapid.T, deep int) []Item {
	n := rapid.IntRange(1, 4).Draw(t, "items")
	items := make([]Item, 0, n)
	for range n {
		kinds := 8
		if deep > 0 {
			kinds = 10
		}
		switch rapid.IntRange(0, kinds-1).Draw(t, "kind") {
		case 0, 1:
			items = append(items, cut())
		case 2:
			items = append(items, step(amount(rapid.Int64Range(-40, 40).Draw(t, "step"), 70, Length)))
		case 3:
			items = append(items, shift(amount(rapid.Int64Range(-7, 7).Draw(t, "shift"), 7, Waves)))
		case 4:
			items = append(items, turn(amount(rapid.Int64Range(-30, 30).Draw(t, "turn"), 360, Turns)))
		case 5:
			items = append(items, Item{Motion: Set, Axis: SlideAxis, Amount: amount(rapid.Int64Range(-20, 20).Draw(t, "set"), 7, Length)})
		case 6:
			items = append(items, swap([]string{"sine", "coarse"}[rapid.IntRange(0, 1).Draw(t, "bar")]))
		case 7:
			items = append(items, Item{Motion: SetDepth, Depth: rapid.Float64Range(0.01, 0.1).Draw(t, "depth")}, Item{Motion: Note, Name: "look"})
		case 8:
			items = append(items, repeat(rapid.IntRange(1, 5).Draw(t, "times"), randomItems(t, deep-1)...))
		case 9:
			var c [][]Item
			for range rapid.IntRange(1, 3).Draw(t, "choices") {
				c = append(c, randomItems(t, deep-1))
			}
			items = append(items, alternate(c...))
		}
	}
	return items
}

// A sequence with repeats and alternations gives the cuts that the same sequence
// written out by hand gives, and the count made beforehand is right.
func TestSequenceAsByHand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := straight(disc(36), randomItems(t, 3)...)
		s.Bar, s.Circle = "sine", 360
		hand := *s
		hand.Sequence = byHand(s.Sequence, map[*Item]int{})
		if len(hand.Sequence) > 400 {
			t.Skip("too long to write out")
		}
		cuts := int64(0)
		for _, it := range hand.Sequence {
			if it.Motion == CutOne {
				cuts++
			}
		}
		p := s.program()
		if p.cuts != cuts {
			t.Fatalf("%d cuts counted beforehand, %d made", p.cuts, cuts)
		}
		a, errA := s.Cuts(context.Background())
		b, errB := hand.Cuts(context.Background())
		if (errA == nil) != (errB == nil) {
			t.Fatalf("as written %v, by hand %v", errA, errB)
		}
		if errA != nil {
			return
		}
		if !reflect.DeepEqual(a.Cuts, b.Cuts) || !reflect.DeepEqual(a.After, b.After) {
			t.Fatal("the cuts differ")
		}
		sums(t, s, a)
	})
}

// sums checks that dials, positions and roundings add up along the cuts.
func sums(t *rapid.T, s *Setup, l *List) {
	var reading [ChuckAxis + 1]int
	var sum [ChuckAxis + 1]float64
	wish := map[Axis]*big.Rat{SlideAxis: new(big.Rat), IndexAxis: new(big.Rat), ShiftAxis: new(big.Rat), ChuckAxis: new(big.Rat)}
	axes := s.Engine.axes(l.Circle)
	bar := s.Bar
	for i := range l.Cuts {
		c := &l.Cuts[i]
		for _, m := range c.Moves {
			switch m.Motion {
			case Swap:
				bar = m.Name
				continue
			case SetDepth, Note:
				continue
			}
			a := &axes[m.Axis]
			reading[m.Axis] += m.Count
			if m.Reading != reading[m.Axis] {
				t.Fatalf("cut %d: the dial shows %d after a move to %d", c.Number, m.Reading, reading[m.Axis])
			}
			w := a.inCounts(m.Wish, s.wave(bar))
			if m.Motion == Set {
				wish[m.Axis] = w
			} else {
				wish[m.Axis] = new(big.Rat).Add(wish[m.Axis], w)
				if got := float64(m.Count) - float(w); math.Abs(got) > 0.5 {
					t.Fatalf("cut %d: %s were worked as %d", c.Number, w, m.Count)
				}
			}
		}
		if got := (Settings{reading[SlideAxis], reading[IndexAxis], reading[ShiftAxis], reading[ChuckAxis], bar}); got != c.Settings {
			t.Fatalf("cut %d: moves lead to %+v, settings are %+v", c.Number, got, c.Settings)
		}
		if want := s.Engine.Slide.Length(c.Settings.Slide); math.Abs(c.Position-want) > 1e-12 {
			t.Fatalf("cut %d: stands at %v, by its teeth at %v", c.Number, c.Position, want)
		}
		for _, r := range c.Rounding {
			a := &axes[r.Axis]
			exact := a.gives(new(big.Rat).Sub(whole(int64(reading[r.Axis])), wish[r.Axis]))
			if math.Abs(r.Sum-exact) > 1e-9 {
				t.Fatalf("cut %d, axis %d: sum of roundings %v, the dial less all wishes %v", c.Number, r.Axis, r.Sum, exact)
			}
			sum[r.Axis] = r.Sum
		}
	}
}

// The same wish is always worked as the same count, so that the operator makes
// the same move each time.
func TestConstantWishConstantCount(t *testing.T) {
	l := must(t, straight(disc(36), repeat(60, cut(), step(amount(156, 1000, Length)))))
	for _, c := range l.Cuts[1:] {
		if len(c.Moves) != 1 || c.Moves[0].Count != 16 {
			t.Fatalf("cut %d: %+v", c.Number, c.Moves)
		}
	}
	c := l.Cuts[59]
	near(t, "exact", c.Moves[0].Exact, 0.16, 1e-15)
	near(t, "error", c.Moves[0].Error, 0.004, 1e-15)
	near(t, "sum", c.Rounding[0].Sum, 59*0.004, 1e-12)
	if len(l.After) != 1 || l.After[0].Count != 16 {
		t.Errorf("after the last cut: %+v", l.After)
	}
}

// Too much is refused before it is worked.
func TestTooLong(t *testing.T) {
	for name, c := range map[string]struct {
		items []Item
		want  string
	}{
		"a billion billions": {[]Item{repeat(1e9, repeat(1e9, repeat(1e9, cut())))}, "the sequence makes more than 9e18 cuts, more than the 100000 the program works out"},
		"one too many":       {[]Item{cut(), repeat(MaxCuts, cut())}, "the sequence makes 100001 cuts, more than the 100000 the program works out"},
		"steps":              {[]Item{cut(), repeat(1e9, step(amount(0, 1, Length)))}, "the sequence makes 2000000002 motions, more than the 1000000 the program works out"},
		"empty rounds":       {[]Item{cut(), repeat(2e9, alternate([]Item{}, []Item{}))}, "the sequence makes 4000000002 motions, more than the 1000000 the program works out"},
	} {
		_, err := straight(disc(36), c.items...).Cuts(context.Background())
		var l fault.List
		if !errors.As(err, &l) || len(l) != 1 || l[0].Problem != c.want {
			t.Errorf("%s: %v", name, err)
		}
	}
	// Long paths are refused by their vertices.
	s := straight(panel(28, 80), repeat(20000, cut(), Item{Motion: Set, Axis: SlideAxis, Amount: amount(1, 1, Length)}))
	s.Bar = "sine"
	_, err := s.Cuts(context.Background())
	var l fault.List
	if !errors.As(err, &l) || len(l) != 1 || l[0].Problem != "the paths need more than 8000000 vertices" {
		t.Errorf("vertices: %v", err)
	}
}

func TestCountsStayAtTheTop(t *testing.T) {
	const top = math.MaxInt64
	for _, c := range []struct{ got, want int64 }{
		{mul(1e10, 1e10), top}, {mul(1<<32, 1<<32), top}, {mul(3, 4), 12}, {mul(0, top), 0}, {mul(top, 1), top},
		{add(top-1, 1), top}, {add(top, top), top}, {add(3, 4), 7},
	} {
		if c.got != c.want {
			t.Errorf("got %d, want %d", c.got, c.want)
		}
	}
}

// As many cuts as are taken, in bounded memory.
func TestMostCuts(t *testing.T) {
	s := straight(disc(36), repeat(MaxCuts, cut(), turn(amount(1, 360, Turns))))
	s.Limits = &Limits{2, 17}
	if l := must(t, s); len(l.Cuts) != MaxCuts || l.Cuts[MaxCuts-1].Number != MaxCuts {
		t.Errorf("%d cuts", len(l.Cuts))
	}
}

// What is said of each thing that a person may write wrongly stands, to be read,
// in testdata/faults.txt; run with -update to write it anew.
func TestFaults(t *testing.T) {
	mm := func(num, den int64) Amount { return amount(num, den, Length) }
	at := func(line int, it Item) Item {
		it.Origin = fault.Origin{File: "job.yaml", Line: line, Column: 5}
		return it
	}
	var said strings.Builder
	with := func(s *Setup, change func(*Setup)) *Setup { change(s); return s }
	for _, c := range []struct {
		name  string
		setup *Setup
	}{
		{"no cut", straight(disc(36), step(mm(1, 1)))},
		{"no index wheel", with(straight(disc(36), cut(), at(7, turn(amount(1, 360, Turns)))), func(s *Setup) { s.Engine.Index = Wheel{} })},
		{"no bar", with(straight(disc(36), cut(), shift(amount(3, 1, Teeth))), func(s *Setup) { s.Bar = "" })},
		{"no wave", straight(disc(36), cut(), shift(amount(1, 2, Waves)))},
		{"holes of which circle", straight(disc(36), cut(), turn(amount(3, 1, Teeth)))},
		{"wrong units", straight(disc(36), cut(), step(amount(1, 2, Turns)), turn(mm(1, 1)), shift(amount(1, 8, Turns)), chuck(amount(1, 1, Waves)))},
		{"no crossing wheel", with(rose(disc(36), cut(), shift(amount(1, 2, Waves))), func(s *Setup) { s.Engine.Crossing = Wheel{} })},
		{"length of phase", rose(disc(36), cut(), shift(mm(1, 1)))},
		{"half a tooth", straight(disc(36), cut(), step(amount(33, 2, Teeth)))},
		{"less than a tooth", straight(disc(36), cut(), at(9, step(mm(4, 1000))))},
		{"less than a hole", with(straight(disc(36), repeat(360, cut(), turn(Amount{Value: 1.0 / 360, Num: 1, Den: 360, Unit: Turns, Text: "360 round"}))), func(s *Setup) { s.Circle = 96 })},
		{"no such bar", straight(disc(36), cut(), swap("fine"), cut())},
		{"no such circle", with(sunburst(), func(s *Setup) { s.Circle = 100 })},
		{"too deep", straight(disc(36), Item{Motion: SetDepth, Depth: 0.8}, Item{Motion: CutOne, Depth: -1})},
		{"past the stroke", straight(disc(36), Item{Motion: CutOne, Limits: &Limits{-50, 3}})},
		{"limits the wrong way", with(sunburst(), func(s *Setup) { s.Limits = &Limits{17, 2} })},
		{"past the travel, and off the field", straight(disc(36), repeat(10, at(4, cut()), at(5, step(mm(5, 1)))))},
		{"off the field now and then", with(straight(disc(10), repeat(4, cut(), alternate([]Item{step(mm(8, 1))}, []Item{step(mm(-8, 1))}))), func(*Setup) {})},
		{"short bar", with(straight(panel(20, 20), cut(), shift(mm(25, 1)), cut()), func(s *Setup) {
			e := s.Bars["sine"]
			e.Length = 60
			s.Bars["sine"], s.Bar = e, "sine"
		})},
		{"bar too short behind", with(straight(panel(20, 20), shift(mm(-25, 1)), cut()), func(s *Setup) {
			e := s.Bars["sine"]
			e.Length = 60
			s.Bars["sine"], s.Bar = e, "sine"
		})},
		{"short stroke", with(straight(panel(20, 20), cut()), func(s *Setup) { s.Engine.StrokeMax = 6 })},
		{"ring without radius", rose(disc(36), cut(), step(mm(5, 100)), cut(), step(mm(5, 1)), cut())},
		{"pumped through", with(rose(disc(36), step(mm(5, 1)), cut()), func(s *Setup) { s.Pump, s.Engine.Pumping = "8", 40 })},
		{"rosette on a straight line engine", with(straight(disc(36), cut()), func(s *Setup) { s.Bars["plain"] = rose(disc(1)).Bars["24"] })},
		{"start past the travel", with(straight(disc(36), cut()), func(s *Setup) {
			s.Starts = []Start{{Axis: SlideAxis, Amount: mm(31, 1), Origin: fault.Origin{File: "job.yaml", Line: 3, Column: 9}}}
		})},
		{"repeats and choices of nothing", straight(disc(36), cut(), repeat(0), alternate())},
		{"in a choice", straight(disc(36), cut(), repeat(2, alternate([]Item{cut(), step(amount(1, 2, Turns))}, []Item{shift(amount(1, 2, Waves))})))},
		{"not a number", straight(disc(36), cut(), step(Amount{Value: math.NaN(), Unit: Length}))},
	} {
		_, err := c.setup.Cuts(context.Background())
		var l fault.List
		if !errors.As(err, &l) {
			t.Errorf("%s: no fault but %v", c.name, err)
			continue
		}
		fmt.Fprintf(&said, "# %s\n%s\n\n", c.name, l.Error())
	}
	golden(t, "testdata/faults.txt", said.String())
}

var update = flag.Bool("update", false, "write testdata anew")

// golden compares with a file, and shows the first line that differs.
func golden(t *testing.T, name, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(name, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	g, w := strings.Split(got, "\n"), strings.Split(string(want), "\n")
	for i := range max(len(g), len(w)) {
		a, b := "(end)", "(end)"
		if i < len(g) {
			a = g[i]
		}
		if i < len(w) {
			b = w[i]
		}
		if a != b {
			t.Fatalf("%s:%d\n got %s\nwant %s", name, i+1, a, b)
		}
	}
}
