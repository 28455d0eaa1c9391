package sheet

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"brightcut/engine"
	"brightcut/fault"
	"brightcut/job"
)

// expand tells the moves of every cut again from the table alone, as an operator
// does: row after row, over and over, until the block's last cut.
func expand(blocks []Block) (moves []string) {
	for _, b := range blocks {
		n := b.First
		for n <= b.Last {
			for _, r := range b.Rows {
				for i := 0; i < r.Run && n <= b.Last; i++ {
					moves = append(moves, tellMoves(r.Moves)+r.Hold)
					n++
				}
			}
		}
	}
	return moves
}

// tellMoves leaves out the reading after a move, which grows from cut to cut;
// only a move to a reading is known by it. Two lines of a job may ask for one
// motion; to the operator it is the same.
func tellMoves(moves []engine.Move) string {
	text := ""
	for _, m := range moves {
		if m.Motion != engine.Set {
			m.Reading = 0
		}
		m.Origin = fault.Origin{}
		text += fmt.Sprintf("%+v ", m)
	}
	return text
}

func told(k *speaker, l *engine.List, hold func(*engine.Cut) string) (moves []string) {
	for i := range l.Cuts {
		moves = append(moves, tellMoves(k.done(l, i))+hold(&l.Cuts[i]))
	}
	return moves
}

func same(t interface{ Fatalf(string, ...any) }, got, want []string) {
	if len(got) != len(want) {
		t.Fatalf("the table tells %d cuts, the list has %d", len(got), len(want))
	}
	for i := range got {
		if got[i] != want[i] {
			t.Fatalf("cut %d: the table tells %s, the list %s", i+1, got[i], want[i])
		}
	}
}

func TestTableTellsTheJobs(t *testing.T) {
	each(t, func(t *testing.T, j *job.Job, l *engine.List, s *Sheet) {
		same(t, expand(s.Table), told(s.voice, l, s.voice.holds(j, nil)))
		rows := 0
		for _, b := range s.Table {
			rows += len(b.Rows)
			if n := len(b.boxes(mostBoxes)); n == 0 {
				t.Errorf("no boxes for cuts %d–%d", b.First, b.Last)
			}
		}
		if rows > 5 {
			t.Errorf("%d rows tell a pattern that five can", rows)
		}
	})
}

// drawSequence makes a list by nested repeats, as sequences are written, with
// moves drawn from a few.
func drawSequence(t *rapid.T, j *job.Job) *engine.List {
	s := &stage{j: j}
	var play func(depth int)
	choice := rapid.IntRange(0, 6)
	play = func(depth int) {
		for range rapid.IntRange(1, 3).Draw(t, "items") {
			switch n := choice.Draw(t, "item"); {
			case n == 0 && depth < 3:
				// The body is played once and its moves told again, as a repeat does.
				from := len(s.l.Cuts)
				play(depth + 1)
				body := s.l.Cuts[from:]
				for range rapid.IntRange(0, 12).Draw(t, "times") {
					if len(s.l.Cuts)+len(body) > 600 {
						break
					}
					s.l.Cuts = append(s.l.Cuts, body...)
				}
			case n == 1:
				s.step(rapid.SampledFrom([]int{16, -16, 7}).Draw(t, "teeth"), engine.Amount{})
			case n == 2:
				s.shift(rapid.SampledFrom([]int{75, -75}).Draw(t, "shift"), engine.Amount{})
			case n == 3:
				s.moves = append(s.moves, engine.Move{Motion: engine.SetDepth, Depth: 0.05})
			default:
				s.l.Cuts = append(s.l.Cuts, engine.Cut{Moves: s.moves, Depth: rapid.SampledFrom([]float64{0.045, 0.05}).Draw(t, "depth")})
				s.moves = nil
			}
		}
	}
	play(0)
	for i := range s.l.Cuts {
		s.l.Cuts[i].Number = i + 1
		if rapid.IntRange(0, 20).Draw(t, "reading") == 0 {
			s.l.Cuts[i].Pieces = []engine.Piece{{Start: float64(i % 3), Stop: 9}}
		}
	}
	return &s.l
}

// TestTableTellsTheList holds the compressed table against the brute force of
// telling every cut.
func TestTableTellsTheList(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := panel()
		l := drawSequence(t, j)
		k := New(j, l).voice
		blocks, _ := k.table(l, k.allSpans(l), k.holds(j, nil), len(l.Cuts))
		same(t, expand(blocks), told(k, l, k.holds(j, nil)))
		next := 1
		for _, b := range blocks {
			if b.First != next {
				t.Fatalf("a block begins at cut %d, not at %d", b.First, next)
			}
			next = b.Last + 1
			seen := 0
			for _, g := range b.boxes(len(l.Cuts)) {
				seen += len(g.Marks)
			}
			if seen != b.Last-b.First+1 {
				t.Fatalf("%d boxes for cuts %d–%d", seen, b.First, b.Last)
			}
			for _, r := range b.Rows {
				if r.First < b.First || r.Last > b.Last || r.From == nil && r.To != nil {
					t.Fatalf("row %d–%d outside its block %d–%d", r.First, r.Last, b.First, b.Last)
				}
			}
		}
	})
}

// TestCompressIsShort: what comes back is what went in, in no more rows than
// the runs alone.
func TestCompressIsShort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		keys := rapid.SliceOfN(rapid.IntRange(0, 2), 1, 14).Draw(t, "keys")
		cycles := compress(keys)
		var back []int
		for _, c := range cycles {
			var turn []int
			for _, r := range c.runs {
				for range r.cuts {
					turn = append(turn, r.key)
				}
			}
			for i := 0; len(back) < c.end; i++ {
				back = append(back, turn[i%len(turn)])
			}
		}
		if fmt.Sprint(back) != fmt.Sprint(keys) {
			t.Fatalf("%v came back as %v", keys, back)
		}
		if got, runs := lines(cycles), lines(plainRuns(keys)); got > runs {
			t.Fatalf("%d rows where the runs alone are %d", got, runs)
		}
	})
}

func plainRuns(keys []int) (out []cycle) {
	for i, key := range keys {
		if i == 0 || keys[i-1] != key {
			out = append(out, cycle{runs: []run{{key: key}}})
		}
	}
	return out
}

func TestRowsOfPatterns(t *testing.T) {
	// a, b … are moves; the table as block: rows × run, to the last cut.
	for _, c := range []struct{ name, keys, want string }{
		{"parallel lines", "abbbbbbbb", "a1→1 b8→9"},
		{"barleycorn", "a" + strings.Repeat("bc", 40), "a1→1 b1c1→81"},
		{"barleycorn, odd", "a" + strings.Repeat("bc", 40) + "b", "a1→1 b1c1→82"},
		{"basket weave", "a" + strings.Repeat("bbbc", 20) + "bbb", "a1→1 b3c1→84"},
		{"basket weave cut short", "a" + strings.Repeat("bbbc", 20) + "bb", "a1→1 b3c1→83"},
		{"groups within groups", "a" + strings.Repeat(strings.Repeat("bc", 10)+"d", 6), "a1→1 b1c1→21 d1→22 b1c1→42 d1→43 b1c1→63 d1→64 b1c1→84 d1→85 b1c1→105 d1→106 b1c1→126 d1→127"},
		{"not twice through", "abcdabc", "a1→1 b1→2 c1→3 d1→4 a1→5 b1→6 c1→7"},
		{"nothing repeats", "abcd", "a1→1 b1→2 c1→3 d1→4"},
		{"long and short rays", "a" + strings.Repeat("bc", 3) + "d", "a1→1 b1c1→7 d1→8"},
	} {
		var keys []int
		for _, r := range c.keys {
			keys = append(keys, int(r-'a'))
		}
		var got []string
		for _, cy := range compress(keys) {
			text := ""
			for _, r := range cy.runs {
				text += fmt.Sprintf("%c%d", 'a'+rune(r.key), r.cuts)
			}
			got = append(got, fmt.Sprintf("%s→%d", text, cy.end))
		}
		if g := strings.Join(got, " "); g != c.want {
			t.Errorf("%s: %s, want %s", c.name, g, c.want)
		}
	}
}

// BenchmarkNewHundredThousandCuts makes the sheet of the most cuts that the
// engine makes, none like another.
func BenchmarkNewHundredThousandCuts(b *testing.B) {
	j := panel()
	s := &stage{j: j}
	for i := range 100_000 {
		s.step(1+i*i%97, engine.Amount{})
		s.l.Cuts = append(s.l.Cuts, engine.Cut{Number: i + 1, Settings: s.at, Moves: s.moves, Depth: 0.045,
			Pieces: []engine.Piece{{Start: -float64(i % 500), Stop: float64(i % 300), Path: []engine.Vertex{{Y: -9}, {Y: 9}}}}})
		s.moves = nil
	}
	b.ResetTimer()
	for b.Loop() {
		sh := New(j, &s.l)
		b.ReportMetric(float64(len(sh.Table)), "blocks")
	}
}
