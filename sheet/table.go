package sheet

import (
	"fmt"
	"strconv"
	"strings"

	"brightcut/engine"
)

// Block is a stretch of the sequence: its rows are gone through in turn, over
// and over, until its last cut. A barleycorn of 160 cuts is its first cut and one
// block of two rows; a basket weave with groups of four is one block of four
// rows, two of them of three cuts.
type Block struct {
	First, Last int // numbers of its first and last cut
	Rows        []Row
}

// Cycle returns the number of cuts in one turn through the rows. The last turn
// may end before its last row.
func (b Block) Cycle() int {
	n := 0
	for _, r := range b.Rows {
		n += r.Run
	}
	return n
}

// Row is one line of the table: cuts made with the same moves before them.
type Row struct {
	Mark   string        // letter of the row, a, b, …, when its block has several; its boxes carry it
	First  int           // number of its first cut in the block
	Last   int           // number of its last cut in the block
	Run    int           // cuts one after another each time round
	Moves  []engine.Move // made before each of its cuts
	Motion Sentence      // the moves in words; its values name the lines of the first cut
	From   []Dial        // readings at its first cut
	To     []Dial        // readings at its last cut
	Spans  []Span        // start and stop, for each piece of the cut
	Hold   string        // the depth and how it is held
}

// Dial is what one dial of the engine reads.
type Dial struct {
	Axis  engine.Axis
	Count int
	Name  string // "cross slide"
	Text  string // "−1250 (−12.500 mm)"
}

// Span is where a piece of a cut starts and stops: one reading, or from the
// least to the greatest when it varies from cut to cut.
type Span struct {
	Start, Stop string
	Varies      bool // told cut by cut in Sheet.Readings
	Reach       bool // from the least start to the greatest stop of cuts whose pieces differ in number
	Ring        bool // all the way round
}

// longest cycle looked for, in runs of equal cuts. A trade pattern has two to
// a dozen; 48 is a guess with room to spare.
const longestCycle = 48

// compress finds the shortest table that tells the keys again: cycles of runs,
// each gone through at least twice, the last time perhaps in part. It works
// backwards, keeping for every place the fewest rows that tell the rest; ties go
// to the shorter cycle. The cost is longestCycle for each run.
func compress(keys []int) []cycle {
	var runs []run
	for i, key := range keys {
		if n := len(runs); n > 0 && runs[n-1].key == key {
			runs[n-1].cuts++
		} else {
			runs = append(runs, run{key: key, cuts: 1, at: i})
		}
	}
	n := len(runs)
	rows := make([]int, n+1)         // fewest rows that tell runs[i:]
	period := make([]int, n)         // of the cycle that starts at i
	next := make([]int, n)           // run after it
	alike := [longestCycle + 1]int{} // runs from i on that equal the run p further
	for i := n - 1; i >= 0; i-- {
		rows[i], period[i], next[i] = rows[i+1]+1, 1, i+1
		for p := 1; p <= longestCycle && i+p < n; p++ {
			if runs[i] != (run{runs[i+p].key, runs[i+p].cuts, runs[i].at}) {
				alike[p] = 0
				continue
			}
			alike[p]++
			end := i + p + alike[p]
			if end < n && runs[end].key == runs[end-p].key && runs[end].cuts < runs[end-p].cuts {
				end++ // stopped within a run
			}
			if alike[p] >= p && p+rows[end] < rows[i] {
				rows[i], period[i], next[i] = p+rows[end], p, end
			}
		}
	}
	var out []cycle
	for i := 0; i < n; i = next[i] {
		end := len(keys)
		if next[i] < n {
			end = runs[next[i]].at
		}
		out = append(out, cycle{runs: runs[i : i+period[i]], end: end})
	}
	return out
}

type run struct {
	key, cuts int
	at        int // index of its first cut
}

// cycle goes through its runs until the cut before index end.
type cycle struct {
	runs []run
	end  int
}

// table compresses the list into blocks. Rows are made by the moves alone, or
// also by where the stroke starts and stops if that costs few rows more: long
// and short rays by turns deserve two rows, a window in the middle of a basket
// weave does not deserve twenty. It stops before the block that brings the rows
// past most and counts those it leaves out.
func (k *speaker) table(l *engine.List, spans spanned, hold func(*engine.Cut) string, most int) (blocks []Block, leftOut int) {
	moves := make([]int, len(l.Cuts))
	both := make([]int, len(l.Cuts))
	known := map[string]int{}
	id := func(key string) int {
		n, ok := known[key]
		if !ok {
			n = len(known)
			known[key] = n
		}
		return n
	}
	for i := range l.Cuts {
		key := moveKey(k.done(l, i)) + hold(&l.Cuts[i])
		moves[i], both[i] = id(key), id(key+spans.keys[i])
	}
	cycles := compress(moves)
	if fine := compress(both); lines(fine) <= 2*lines(cycles)+1 {
		cycles = fine
	}
	axes := dials(l)
	rows := 0
	for i, c := range cycles {
		if rows += len(c.runs); rows > most {
			return blocks, lines(cycles[i:])
		}
		blocks = append(blocks, k.block(l, c, spans, axes, hold))
	}
	return blocks, 0
}

func lines(cycles []cycle) int {
	n := 0
	for _, c := range cycles {
		n += len(c.runs)
	}
	return n
}

func (k *speaker) block(l *engine.List, c cycle, spans spanned, axes []engine.Axis, hold func(*engine.Cut) string) Block {
	b := Block{First: l.Cuts[c.runs[0].at].Number, Last: l.Cuts[c.end-1].Number}
	length := 0
	for _, r := range c.runs {
		length += r.cuts
	}
	for i, r := range c.runs {
		first, moves := &l.Cuts[r.at], k.done(l, r.at)
		var over spanRange
		last := r.at
		for turn := r.at; turn < c.end; turn += length {
			for n := turn; n < min(turn+r.cuts, c.end); n++ {
				over.add(spans.of[n])
				last = n
			}
		}
		row := Row{First: first.Number, Last: l.Cuts[last].Number, Run: r.cuts, Moves: moves, Motion: k.before(moves, k.barBefore(l, r.at)),
			From: k.read(axes, first), To: k.read(axes, &l.Cuts[last]), Spans: over.spans(k), Hold: hold(first)}
		if len(c.runs) > 1 {
			row.Mark = mark(i)
		}
		b.Rows = append(b.Rows, row)
	}
	return b
}

// mark is the letter of a row: a to z, then A to Z.
func mark(i int) string {
	const letters = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
	return letters[i : i+1]
}

// moveKey is equal for moves that the operator makes alike.
func moveKey(moves []engine.Move) string {
	var b strings.Builder
	for _, m := range moves {
		fmt.Fprintf(&b, "%d %d %d %q %v ", m.Motion, m.Axis, m.Count, m.Name, m.Depth)
		if m.Motion == engine.Set {
			b.WriteString(strconv.Itoa(m.Reading))
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// dials are the axes whose readings the sheet tells: those that ever move.
func dials(l *engine.List) []engine.Axis {
	var axes []engine.Axis
	for _, a := range []engine.Axis{engine.SlideAxis, engine.IndexAxis, engine.ShiftAxis, engine.ChuckAxis} {
		if len(l.Cuts) > 0 && changes(l, a) {
			axes = append(axes, a)
		}
	}
	return axes
}

func changes(l *engine.List, a engine.Axis) bool {
	n := counts(l.Cuts[0].Settings, a)
	for i := range l.Cuts {
		if counts(l.Cuts[i].Settings, a) != n {
			return true
		}
	}
	return false
}

// read returns what the dials show at a cut.
func (k *speaker) read(axes []engine.Axis, c *engine.Cut) []Dial {
	out := make([]Dial, 0, len(axes))
	for _, a := range axes {
		n := counts(c.Settings, a)
		text, exact := k.show(a, n)
		out = append(out, Dial{Axis: a, Count: n, Name: k.dial(a), Text: text + " (" + exact + ")"})
	}
	return out
}
