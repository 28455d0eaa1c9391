package sheet

import (
	"fmt"
	"math"
	"strings"
	"unicode"

	"brightcut/engine"
	"brightcut/job"
)

// What a sheet lists at most. Whatever is left out is said to be left out. The
// figures keep the longest sheet (100 000 cuts, none like another) below some
// two hundred pages; they are guesses at what anyone would still read on paper.
const (
	mostRows     = 400  // rows of the table
	mostBoxes    = 3000 // boxes to tick
	mostReadings = 6000 // cuts in the appendix
	mostWarnings = 40
	mostWindows  = 40
	mostText     = 20_000 // characters of the notes
)

// Sheet is a cut sheet before it is set in type.
type Sheet struct {
	Title    string
	Digest   string // first eight characters of the job's digest
	Units    job.Units
	Totals   []Sentence // strokes, length, time
	Setup    []Sentence // the bench made ready, in order
	Warnings []Sentence // what was found while the cuts were made
	Cautions []string   // against harm; always told
	Table    []Block
	LeftOut  int      // rows of the sequence past mostRows
	Dials    []string // names of the dials that move, "cross slide"
	Readings []Reading
	Closures []Sentence // whether rounds close, and what whole teeth add up to
	Notes    []string   // paragraphs
	Drawing  *Drawing   // nil when there is nothing to draw

	Strokes int
	Length  float64 // of all strokes in the metal, mm
	Seconds float64 // 0 when the engine's pace is unknown

	noReadings int // cuts past mostReadings

	scale string // what start and stop are read on
	voice *speaker
	list  *engine.List
}

// New makes the cut sheet of a job and its list of cuts, both read only. It
// keeps the list: Action and Moves speak of it.
func New(j *job.Job, l *engine.List) *Sheet {
	k := &speaker{units: units(j.Units), setup: &j.Setup, circle: circle(j, l), fields: fieldsOf(&j.Setup)}
	s := &Sheet{Title: oneLine(orElse(j.Title, "Cut sheet")), Digest: clip(j.Digest, 8), Units: j.Units,
		Strokes: len(l.Cuts), scale: k.scale(), voice: k, list: l}
	for i := range l.Cuts {
		s.Length += cutLength(&l.Cuts[i])
	}
	if t := j.Setup.Engine.SecondsPerStroke; t > 0 && finite(t) {
		s.Seconds = t * float64(s.Strokes)
	}
	s.Totals = k.totals(s)
	s.Setup = k.setUp(j, l)
	s.Warnings = k.warnings(l)
	s.Cautions = cautions(j, l)
	blocks := k.table(l, k.holds(j))
	s.Readings, s.noReadings = k.readings(l, blocks)
	s.Table, s.LeftOut = fewer(blocks)
	for _, a := range dials(l) {
		s.Dials = append(s.Dials, k.dial(a))
	}
	s.Closures = append(k.closures(l), k.rounding(l)...)
	s.Notes = paragraphs(j.Notes)
	s.Drawing = k.draw(j, l)
	return s
}

// Action is what to do before a cut, as short as can be called out: "Step 16
// teeth. Bar up 75 teeth."
func (s *Sheet) Action(c *engine.Cut) string {
	if a := s.voice.action(c.Moves); a != "" {
		return a
	}
	return "Cut."
}

// Moves tells the same in a full sentence with what the counts give: "Step the
// cross slide 16 teeth (0.160 mm) and lift the bar 75 teeth (1.500 mm, half a
// wave)." It is empty when nothing is moved.
func (s *Sheet) Moves(c *engine.Cut) Sentence {
	bar := s.voice.setup.Bar
	if i := c.Number - 2; i >= 0 && i < len(s.list.Cuts) {
		bar = s.list.Cuts[i].Settings.Bar
	}
	return s.voice.before(c.Moves, bar)
}

// circle of the index wheel that the counts belong to.
func circle(j *job.Job, l *engine.List) int {
	if l.Circle > 0 {
		return l.Circle
	}
	return j.Setup.Circle
}

func cutLength(c *engine.Cut) float64 {
	sum := 0.0
	for _, p := range c.Pieces {
		for i := 1; i < len(p.Path); i++ {
			a, b := p.Path[i-1], p.Path[i]
			if d := math.Hypot(b.X-a.X, b.Y-a.Y); finite(d) {
				sum += d
			}
		}
	}
	return sum
}

func (k *speaker) totals(s *Sheet) []Sentence {
	out := say(count(s.Strokes, "stroke", "strokes"), ", ", k.far(s.Length), " cut in the metal")
	if s.Seconds > 0 {
		out = say(out, ", about ", duration(s.Seconds), " at the engine (",
			value("engine.seconds_per_stroke", trimmed(k.setup.Engine.SecondsPerStroke, 1)+" s", "s", ""), " a stroke)")
	}
	return []Sentence{say(out, ".")}
}

// holds tells how the depth of a cut is held.
func (k *speaker) holds(j *job.Job) func(*engine.Cut) string {
	by := "stop or hand"
	if j.Guide != nil {
		by = "guide"
	}
	return func(c *engine.Cut) string { return k.micron(c.Depth) + ", " + by }
}

func (k *speaker) warnings(l *engine.List) []Sentence {
	var out []Sentence
	for i, w := range l.Warnings {
		if i == mostWarnings {
			out = append(out, words(fmt.Sprintf("%s more; the program's check lists them all.", count(len(l.Warnings)-i, "warning", "warnings"))))
			break
		}
		text := stop(oneLine(w.Text))
		if w.First > 0 && !strings.Contains(text, cutsFromTo(w.First, w.Last)) {
			text = capital(cutsFromTo(w.First, max(w.First, w.Last))) + ": " + text
		}
		out = append(out, words(text))
	}
	if s := missing(l); s != nil {
		out = append(out, s)
	}
	return out
}

// missing tells the cuts that touch nothing.
func missing(l *engine.List) Sentence {
	var ranges []string
	n := 0
	for i := 0; i < len(l.Cuts); i++ {
		from := i
		for i < len(l.Cuts) && len(l.Cuts[i].Pieces) == 0 {
			i++
		}
		if i > from {
			n += i - from
			ranges = append(ranges, cutsFromTo(l.Cuts[from].Number, l.Cuts[i-1].Number))
		}
	}
	if n == 0 {
		return nil
	}
	if len(ranges) > 6 {
		ranges = append(ranges[:6], "others")
	}
	if n == 1 {
		return words("One stroke does not touch the field: " + list(ranges) + ". Make it all the same, so that the count holds.")
	}
	return words(count(n, "stroke does", "strokes do") + " not touch the field: " + list(ranges) + ". Make them all the same, so that the count holds.")
}

func (k *speaker) closures(l *engine.List) []Sentence {
	var out []Sentence
	for _, c := range l.Closures {
		name, _, _ := k.axis(c.Axis)
		round := "The round of " + count(c.Cuts, "cut", "cuts") + " on " + name
		gap := k.length(math.Abs(c.Gap))
		if c.Axis == engine.IndexAxis || c.Axis == engine.ChuckAxis || k.rose() && c.Axis == engine.ShiftAxis {
			gap = degrees(math.Abs(c.Gap))
		}
		switch {
		case c.Closes:
			out = append(out, words(round+" closes: the cut after its last would fall on its first."))
			continue
		case c.Gap > 0:
			round += " does not close: " + gap + " is missing."
		default:
			round += " does not close: it runs " + gap + " past its beginning."
		}
		var offers []string
		for _, o := range c.Offers {
			offers = append(offers, oneLine(o.Text))
		}
		if len(offers) > 0 {
			round += " Whole settings that close: " + stop(strings.Join(offers, "; "))
		}
		out = append(out, words(round))
	}
	return out
}

// rounding tells what whole counts make of the wishes by the last cut.
func (k *speaker) rounding(l *engine.List) []Sentence {
	if len(l.Cuts) == 0 {
		return nil
	}
	var out []Sentence
	end := &l.Cuts[len(l.Cuts)-1]
	for _, r := range end.Rounding {
		_, angle := k.gives(r.Axis, 1)
		off := k.off(r.Sum, angle)
		if off == "" {
			continue
		}
		name, unit, _ := k.axis(r.Axis)
		more := " further on than"
		if r.Sum < 0 {
			more = " short of"
		}
		by := k.length(math.Abs(r.Sum))
		if angle {
			by = degrees(math.Abs(r.Sum))
		}
		out = append(out, words(fmt.Sprintf("Whole %s add up: at cut %d %s stands %s%s the wish.", unit, end.Number, name, by, more)))
	}
	return out
}

// fewer keeps the rows that a sheet lists and counts the others.
func fewer(blocks []Block) (kept []Block, leftOut int) {
	rows := 0
	for i, b := range blocks {
		if rows += len(b.Rows); rows > mostRows {
			kept = blocks[:i]
			for _, b := range blocks[i:] {
				leftOut += len(b.Rows)
			}
			return kept, leftOut
		}
	}
	return blocks, 0
}

// paragraphs splits the notes at their line ends.
func paragraphs(notes string) []string {
	notes = strings.ReplaceAll(notes, "\r", "")
	if cut := clip(notes, mostText); cut != notes {
		notes = cut + "\n… The rest of the notes is left out here."
	}
	var out []string
	for line := range strings.SplitSeq(notes, "\n") {
		if line = oneLine(line); line != "" {
			out = append(out, line)
		}
	}
	return out
}

// oneLine makes one line of a text that a person wrote: runs of space become
// single spaces, and characters that no page may hold are left out.
func oneLine(text string) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r) || r == 0xa0:
			return ' '
		case unicode.IsControl(r) || r == 0xfeff || r == 0xfffe || r == 0xffff:
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, "\ufffd"))
	return strings.Join(strings.Fields(text), " ")
}

// clip keeps the first n characters.
func clip(text string, n int) string {
	for i := range text {
		if n == 0 {
			return text[:i]
		}
		n--
	}
	return text
}
