package sheet

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"unicode"

	"brightcut/depth"
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
	Depth    []Sentence // how the depth is held, when it was planned, and how the cutter stands on curved work
	Warnings []Sentence // what was found while the cuts were made
	Cautions []string   // against harm; always told
	Table    []Block
	LeftOut  int      // rows of the sequence that the table does not list
	Dials    []string // names of the dials that move, "cross slide"
	Readings []Reading
	Closures []Sentence // whether rounds close, and what whole teeth add up to
	Notes    []string   // paragraphs
	Drawing  *Drawing   // nil when there is nothing to draw
	Look     *Look      // nil unless whoever made the sheet adds it; text has none

	Strokes int
	Length  float64 // of all strokes in the metal, mm
	Seconds float64 // 0 when the engine's pace is unknown

	noReadings int // cuts past mostReadings

	scale string // what start and stop are read on
	voice *speaker
	list  *engine.List
	axes  []engine.Axis // of Dials
}

// New makes the cut sheet of a job and its list of cuts, both read only. It
// keeps the list: Action and Moves speak of it.
func New(j *job.Job, l *engine.List) *Sheet { return NewPlanned(j, l, nil) }

// NewPlanned makes the cut sheet of a job whose depth was planned: the list is
// that of the plan, in its order, and the sheet tells how each cut is held. A nil
// plan is none.
func NewPlanned(j *job.Job, l *engine.List, p *depth.Plan) *Sheet {
	k := &speaker{units: units(j.Units), setup: &j.Setup, circle: circle(j, l), lines: j.SequenceLines(), edges: j.EdgeField}
	k.fields = fieldsOf(&j.Setup, k.lines)
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
	s.Depth = append(planned(j, p), k.stances(j, l)...)
	s.Warnings = k.warnings(l)
	s.Cautions = cautions(j, l)
	spans := k.allSpans(l)
	s.Table, s.LeftOut = k.table(l, spans, k.holds(j, p), mostRows)
	if varies(s.Table) || s.LeftOut > 0 {
		s.Readings, s.noReadings = k.readings(l, spans)
	}
	s.axes = dials(l)
	for _, a := range s.axes {
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
	if a := s.voice.action(s.doneFor(c)); a != "" {
		return a
	}
	return "Cut."
}

// Moves tells the same in a full sentence with what the counts give: "Step the
// cross slide 16 teeth (0.160 mm) and lift the bar 75 teeth (1.500 mm, half a
// wave)." It is empty when nothing is moved.
func (s *Sheet) Moves(c *engine.Cut) Sentence {
	bar := s.voice.setup.Bar
	if i, ok := s.index(c); ok {
		bar = s.voice.barBefore(s.list, i)
	}
	return s.voice.before(s.doneFor(c), bar)
}

// index finds a cut of the sheet's list by its number.
func (s *Sheet) index(c *engine.Cut) (int, bool) {
	i := c.Number - 1
	return i, i >= 0 && i < len(s.list.Cuts)
}

func (s *Sheet) doneFor(c *engine.Cut) []engine.Move {
	if i, ok := s.index(c); ok {
		return s.voice.done(s.list, i)
	}
	return c.Moves
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
func (k *speaker) holds(j *job.Job, p *depth.Plan) func(*engine.Cut) string {
	if p != nil {
		by := heldBy(p)
		return func(c *engine.Cut) string { return k.micron(c.Depth) + ", " + by(c.Number) }
	}
	by := "stop or hand"
	if j.Guide != nil {
		by = "guide"
	}
	return func(c *engine.Cut) string { return k.micron(c.Depth) + ", " + by }
}

// warnings are those of the list, what does not close, and cuts that touch
// nothing.
func (k *speaker) warnings(l *engine.List) []Sentence {
	var out []Sentence
	more := 0
	warn := func(text func() string) {
		if len(out) == mostWarnings {
			more++
			return
		}
		out = append(out, words(text()))
	}
	for _, w := range l.Warnings {
		if w.Kind != "closure" { // told below, with what would close
			warn(func() string { return warning(w) })
		}
	}
	for _, c := range l.Closures {
		if !c.Closes {
			warn(func() string { return gap(c) })
		}
	}
	if more > 0 {
		out = append(out, words("Left out here: "+count(more, "warning", "warnings")+" more; the program's check lists them all."))
	}
	if s := missing(l); s != nil {
		out = append(out, s)
	}
	return compact(out)
}

func warning(w engine.Warning) string {
	text := stop(typeset(w.Text))
	if span := cutsFromTo(w.First, max(w.First, w.Last)); w.First > 0 && !strings.Contains(strings.ToLower(text), span) {
		text = capital(span) + ": " + text
	}
	return text
}

// gap tells of a round that does not close, with what would.
func gap(c engine.Closure) string {
	text := stop(typeset(c.Text))
	var offers []string
	for _, o := range c.Offers {
		offers = append(offers, typeset(o.Text))
	}
	if len(offers) > 0 {
		text += " Whole settings that close: " + stop(strings.Join(offers, "; "))
	}
	return text
}

// typeset gives words of the other packages, which are written for a terminal,
// the signs of print.
func typeset(text string) string {
	text = oneLine(text)
	for _, r := range prints {
		text = r.from.ReplaceAllString(text, r.to)
	}
	return text
}

var prints = []struct {
	from *regexp.Regexp
	to   string
}{
	{regexp.MustCompile(`(\d) deg\b`), "$1°"},
	{regexp.MustCompile(`(\d) um\b`), "$1 µm"},
	{regexp.MustCompile(`(^|[\s(])-(\d)`), "$1−$2"},
	{regexp.MustCompile(`"([^"]*)"`), "“$1”"},
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

// closures tells the rounds that close, and what is to be done when all is cut.
func (k *speaker) closures(l *engine.List) []Sentence {
	var out []Sentence
	for _, c := range l.Closures {
		if c.Closes {
			out = append(out, words(stop(typeset(c.Text))))
		}
	}
	if n := notes(l.After); len(n) > 0 {
		out = append(out, words("After the last cut: "+strings.Join(n, " ")))
	}
	return compact(out)
}

// rounding tells what whole counts make of the wishes by the last cut.
func (k *speaker) rounding(l *engine.List) []Sentence {
	if len(l.Cuts) == 0 {
		return nil
	}
	for _, w := range l.Warnings {
		if w.Kind == "rounding" {
			return nil // told among the warnings
		}
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
