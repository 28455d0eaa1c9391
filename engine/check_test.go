package engine

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"brightcut/fault"
)

// What is said of each thing wrong in a set-up stands in testdata/check.txt.
func TestCheck(t *testing.T) {
	nan := math.NaN()
	var said strings.Builder
	for _, c := range []struct {
		name   string
		change func(*Setup)
	}{
		{"no kind", func(s *Setup) { s.Engine.Kind = 0 }},
		{"slide", func(s *Setup) { s.Engine.Slide = Screw{Pitch: -1, Ratchet: 0, Min: 5, Max: 5} }},
		{"travel", func(s *Setup) { s.Engine.Slide.Min, s.Engine.Shift.Max = nan, 1e9 }},
		{"stroke and lever", func(s *Setup) { s.Engine.StrokeMin, s.Engine.Lever = 60, 0 }},
		{"wheels", func(s *Setup) { s.Engine.Index, s.Engine.Chuck.Circles = Wheel{Circles: []int{96, 0}}, []int{1 << 40} }},
		{"seconds", func(s *Setup) { s.Engine.SecondsPerStroke = nan }},
		{"rose", func(s *Setup) {
			s.Engine = roseEngine()
			s.Engine.Rocking, s.Engine.Pumping, s.Engine.Crossing.Worm = math.Inf(1), -1e9, 0
		}},
		{"bar", func(s *Setup) { s.Bar = "other" }},
		{"pump", func(s *Setup) { s.Pump = "sine" }},
		{"still pump", func(s *Setup) { *s = *rose(disc(36), cut()); s.Pump = "8"; s.Engine.Pumping = 0 }},
		{"bar on a rose engine", func(s *Setup) { s.Engine = roseEngine() }},
		{"touchpiece", func(s *Setup) { s.Touch = nan }},
		{"depth", func(s *Setup) { s.Depth = 0.8 }},
		{"limits", func(s *Setup) { s.Limits = &Limits{-60, 70} }},
		{"limits of a rose engine", func(s *Setup) { *s = *rose(disc(36), cut()); s.Limits = &Limits{0, 7} }},
		{"periodic errors", func(s *Setup) {
			s.Engine.Slide.Error = &Periodic{Size: 2, Turns: nan, From: -1}
			s.Engine.Index.Error = &Periodic{Size: nan, Turns: 2, From: 2}
		}},
		{"circle", func(s *Setup) { s.Engine.Index, s.Circle = Wheel{}, 96 }},
	} {
		s := straight(disc(36), cut())
		c.change(s)
		l := s.Check()
		if len(l) == 0 {
			t.Errorf("%s: nothing found", c.name)
		}
		said.WriteString("# " + c.name + "\n" + l.Error() + "\n\n")
	}
	golden(t, "testdata/check.txt", said.String())
	for name, s := range jobs() {
		if l := s.Check(); len(l) > 0 {
			t.Errorf("%s: %v", name, l)
		}
	}
}

// Whatever is put in, an error or sound cuts come out: no panic, nothing that is
// not a number, no fault without words.
func TestAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := func(what string) float64 {
			return rapid.OneOf(rapid.Float64Range(-30, 30), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), 1e300, -1e-300, 1})).Draw(t, what)
		}
		mostly := func(v float64, what string) float64 {
			if rapid.IntRange(0, 9).Draw(t, "odd "+what) == 0 {
				return number(what)
			}
			return v
		}
		s := straight(disc(mostly(30, "diameter")), anyItems(t, 2, number)...)
		if rapid.Bool().Draw(t, "rose") {
			sequence := s.Sequence
			s = rose(s.Blank, sequence...)
			s.Bar, s.Pump = "24", rapid.SampledFrom([]string{"", "8"}).Draw(t, "pump")
		} else {
			s.Bar = rapid.SampledFrom([]string{"", "sine", "plain"}).Draw(t, "bar")
		}
		s.Touch, s.Depth, s.Chord = mostly(0.3, "touch"), mostly(0.05, "depth"), mostly(0.001, "chord")
		s.Cutter.Included = mostly(s.Cutter.Included, "included")
		s.Engine.Slide.Pitch, s.Engine.Lever = mostly(1, "pitch"), mostly(1, "lever")
		s.Engine.Rocking, s.Engine.Pumping = mostly(1, "rocking"), mostly(0.5, "pumping")
		s.Engine.StrokeMax = mostly(45, "stroke")
		if rapid.Bool().Draw(t, "limited") {
			s.Limits = &Limits{number("from"), number("to")}
		}
		s.Starts = []Start{{Axis: Axis(rapid.IntRange(0, 5).Draw(t, "axis")), Amount: anyAmount(t, number)}}
		l, err := s.Cuts(context.Background())
		if err != nil {
			var list fault.List
			if !errors.As(err, &list) || len(list) == 0 {
				t.Fatalf("no fault but %v", err)
			}
			for _, f := range list {
				if f.Field == "" || f.Problem == "" || f.Mend == "" {
					t.Fatalf("a fault without words: %+v", f)
				}
			}
			return
		}
		for i := range l.Cuts {
			for _, p := range l.Cuts[i].Pieces {
				for k, v := range p.Path {
					if !finite(v.X) || !finite(v.Y) || !finite(v.Z) || !finite(v.Across) || !finite(p.Readings[k]) {
						t.Fatalf("cut %d: %+v", i+1, v)
					}
				}
			}
		}
		for _, w := range l.Warnings {
			if w.Text == "" || !finite(w.Margin) {
				t.Fatalf("%+v", w)
			}
		}
	})
}

func anyAmount(t *rapid.T, number func(string) float64) Amount {
	if rapid.Bool().Draw(t, "exact") {
		return amount(rapid.Int64Range(-9, 9).Draw(t, "num"), rapid.Int64Range(1, 9).Draw(t, "den"), Unit(rapid.IntRange(0, 6).Draw(t, "unit")))
	}
	return Amount{Value: number("amount"), Unit: Unit(rapid.IntRange(0, 6).Draw(t, "unit"))}
}

func anyItems(t *rapid.T, deep int, number func(string) float64) []Item {
	var items []Item
	for range rapid.IntRange(0, 3).Draw(t, "items") {
		it := Item{
			Motion: Motion(rapid.IntRange(0, 12).Draw(t, "motion")), Axis: Axis(rapid.IntRange(0, 5).Draw(t, "axis")),
			Count: rapid.SampledFrom([]int{1, 2, 3, 0, -1, math.MaxInt}).Draw(t, "count"),
			Name:  rapid.SampledFrom([]string{"sine", "24", "none"}).Draw(t, "name"), Amount: anyAmount(t, number),
		}
		if it.Motion == SetDepth {
			it.Depth = number("depth")
		}
		if deep > 0 {
			it.Body = anyItems(t, deep-1, number)
			for range rapid.IntRange(0, 2).Draw(t, "choices") {
				it.Choices = append(it.Choices, anyItems(t, deep-1, number))
			}
		}
		items = append(items, it, cut())
	}
	return items
}
