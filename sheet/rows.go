package sheet

import (
	"fmt"
	"strconv"
	"strings"
)

// What the three writers say alike of blocks and rows.

// heading tells which cuts a block makes and how often its rows are gone through.
func (b Block) heading() string {
	h := capital(cutsFromTo(b.First, b.Last))
	if len(b.Rows) == 1 {
		return h
	}
	cuts := b.Last - b.First + 1
	h += fmt.Sprintf(": rows a–%s in turn, %d cuts, %d times", mark(len(b.Rows)-1), b.Cycle(), cuts/b.Cycle())
	if more := cuts % b.Cycle(); more > 0 {
		h += fmt.Sprintf(" and %s more", count(more, "cut", "cuts"))
	}
	return h
}

// cuts tells the numbers of a row's cuts: "2–160"; "2, 4, … 160"; "2–4, 6–8, …
// 158–160".
func (b Block) cuts(r Row) string {
	one := func(t int) string {
		from := r.First + t*b.Cycle()
		to := min(from+r.Run-1, b.Last)
		if from == to {
			return strconv.Itoa(from)
		}
		return fmt.Sprintf("%d–%d", from, to)
	}
	times := (b.Last-r.First)/b.Cycle() + 1
	if times > 3 {
		return one(0) + ", " + one(1) + ", … " + one(times-1)
	}
	out := make([]string, times)
	for t := range out {
		out[t] = one(t)
	}
	return strings.Join(out, ", ")
}

// motion is the row's moves, or that there are none.
func (r Row) motion() Sentence {
	if len(r.Motion) == 0 {
		return words("As set up; nothing is moved.")
	}
	return r.Motion
}

// dialLines tells each dial at the row's first and last cut.
func (r Row) dialLines() []string {
	var out []string
	for i, d := range r.From {
		text := d.Name + " " + hard(d.Text)
		if to := r.To[i]; r.First != r.Last && to.Text != d.Text {
			text += " to" + hardSpace + hard(to.Text)
		}
		out = append(out, text)
	}
	return out
}

// spanLines tells the start and stop of each piece.
func spanLines(spans []Span) []string {
	if len(spans) == 0 {
		return []string{"does not touch the field"}
	}
	var out []string
	for _, p := range spans {
		switch {
		case p.Ring:
			out = append(out, "all round")
		case p.Reach:
			out = append(out, hard("between "+p.Start)+" "+hard("and "+p.Stop)+", see the readings cut by cut")
		case p.Varies:
			out = append(out, hardRange("start "+p.Start)+", "+hardRange("stop "+p.Stop)+", see the readings cut by cut")
		default:
			out = append(out, hard("start "+p.Start)+", "+hard("stop "+p.Stop))
		}
	}
	return out
}

// tens is a group of boxes that ends at a cut whose number stands behind it.
type tens struct {
	Skip  int      // places left empty before the first box
	Marks []string // the row's letter in each box, "" for none
	Last  int
}

// boxes groups a block's cuts by tens. No more than most are given.
func (b Block) boxes(most int) []tens {
	var marks []string // of one cycle
	for _, r := range b.Rows {
		for range r.Run {
			marks = append(marks, r.Mark)
		}
	}
	var out []tens
	for n := b.First; n <= b.Last && most > 0; n, most = n+1, most-1 {
		if len(out) == 0 || n%10 == 1 {
			out = append(out, tens{Skip: (n + 9) % 10})
		}
		g := &out[len(out)-1]
		g.Marks = append(g.Marks, marks[(n-b.First)%len(marks)])
		g.Last = n
	}
	return out
}

// stints deals the boxes out to the blocks, with a word where they end.
func (s *Sheet) stints() (groups [][]tens, leftOut string) {
	most := mostBoxes
	total := 0
	for _, b := range s.Table {
		groups = append(groups, b.boxes(most))
		n := b.Last - b.First + 1
		total += n
		most = max(0, most-n)
	}
	if total > mostBoxes {
		leftOut = fmt.Sprintf("Boxes are printed for the first %d cuts only; count the others at the engine with the program.", mostBoxes)
	}
	return groups, leftOut
}

// leftOutRows says what the table does not list.
func (s *Sheet) leftOutRows() string {
	if s.LeftOut == 0 {
		return ""
	}
	return fmt.Sprintf("%s more are left out here: the sequence repeats too little for a table. Count them at the engine with the program.", count(s.LeftOut, "row", "rows"))
}

// leftOutReadings says what the appendix does not list.
func (s *Sheet) leftOutReadings() string {
	if s.noReadings == 0 {
		return ""
	}
	return fmt.Sprintf("The readings of %s more are left out here.", count(s.noReadings, "cut", "cuts"))
}

// howToTick explains the boxes.
func (s *Sheet) howToTick() string {
	how := "Tick a box for every cut, before you move anything for the next; the number behind ten boxes is that of the last of them."
	for _, b := range s.Table {
		if len(b.Rows) > 1 {
			return how + " The letter in a box is that of the row to do before the cut."
		}
	}
	return how
}

// howToRead explains start and stop.
func (s *Sheet) howToRead() string {
	unit := "millimetres"
	switch {
	case s.voice.rose():
		unit = "degrees"
	case s.voice.inch():
		unit = "inches"
	}
	return "Start and stop are readings of " + s.scale + ", in " + unit + "."
}

// howToReadings explains the appendix.
func (s *Sheet) howToReadings() string {
	return "Where each cut starts and stops; the dials stand as told at the first of the cuts named. " + s.howToRead()
}

// numbers of the cuts that a reading holds for.
func (r Reading) numbers() string {
	if r.First == r.Last {
		return strconv.Itoa(r.First)
	}
	return fmt.Sprintf("%d–%d", r.First, r.Last)
}

// hard keeps a text on one line.
func hard(text string) string { return strings.ReplaceAll(text, " ", hardSpace) }

// hardRange keeps the numbers of "start 2.00 to 9.00" with the words before them.
func hardRange(text string) string {
	return strings.ReplaceAll(hard(text), hardSpace+"to"+hardSpace, " to"+hardSpace)
}
