package sheet

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

const columns = 80

// WriteText writes the sheet as plain text, UTF-8, no line longer than 80
// columns.
func WriteText(w io.Writer, s *Sheet) error {
	t := &textWriter{w: bufio.NewWriter(w)}
	title := s.Title
	if s.Digest != "" {
		title += "   (job " + s.Digest + ")"
	}
	t.hang("", "", words(title))
	t.line(strings.Repeat("=", columns))
	for _, p := range s.Totals {
		t.hang("", "", p)
	}
	t.section("Before you begin")
	for _, c := range s.Cautions {
		t.hang("! ", "  ", words(c))
	}
	if len(s.Warnings) > 0 {
		t.section("Warnings")
		for _, p := range s.Warnings {
			t.hang("! ", "  ", p)
		}
	}
	t.section("Set-up")
	for i, p := range s.Setup {
		t.hang(fmt.Sprintf("%2d. ", i+1), "    ", p)
	}
	if len(s.Depth) > 0 {
		t.section("Depth")
		for _, p := range s.Depth {
			t.hang("- ", "  ", p)
		}
	}
	if len(s.Closures) > 0 {
		t.section("How it comes out")
		for _, p := range s.Closures {
			t.hang("- ", "  ", p)
		}
	}
	if len(s.Notes) > 0 {
		t.section("Notes")
		for _, p := range s.Notes {
			t.hang("", "", words(p))
		}
	}
	if len(s.Table) > 0 {
		t.section("Sequence")
		t.hang("", "", words(s.howToRead()+" "+strings.ReplaceAll(s.howToTick(), "Tick a box", "Strike out a box")))
	}
	groups, leftOut := s.stints()
	for i, b := range s.Table {
		t.block(s, b, groups[i])
	}
	for _, p := range []string{s.leftOutRows(), leftOut} {
		if p != "" {
			t.line("")
			t.hang("", "", words(p))
		}
	}
	if len(s.Readings) > 0 {
		t.section("Readings, cut by cut")
		t.readings(s)
	}
	return t.w.Flush()
}

type textWriter struct{ w *bufio.Writer }

// line writes a line; a failing writer is reported by the last Flush.
func (t *textWriter) line(text string) {
	t.w.WriteString(strings.TrimRight(strings.ReplaceAll(text, hardSpace, " "), " "))
	t.w.WriteByte('\n')
}

func (t *textWriter) section(name string) {
	t.line("")
	t.line(strings.ToUpper(name))
	t.line(strings.Repeat("-", utf8.RuneCountInString(name)))
}

// hang writes a paragraph whose first line begins with one text and whose
// others begin with another as wide.
func (t *textWriter) hang(begin, then string, s Sentence) {
	width := float64(columns - utf8.RuneCountInString(begin))
	for _, l := range wrap(stretches(s), width, func(s stretch) float64 { return float64(utf8.RuneCountInString(s.text)) }) {
		text := begin
		for _, p := range l {
			text += p.text
		}
		t.line(text)
		begin = then
	}
}

func (t *textWriter) block(s *Sheet, b Block, groups []tens) {
	t.line("")
	t.line(b.heading())
	for _, r := range b.Rows {
		begin := "  "
		if r.Mark != "" {
			begin += r.Mark + "  "
			t.hang(begin, "     ", words("cuts "+b.cuts(r)))
			begin = "     "
		}
		t.hang(begin, begin, r.motion())
		for _, d := range r.dialLines() {
			t.hang(begin, begin+"  ", words(d))
		}
		t.hang(begin, begin+"  ", words(strings.Join(spanLines(r.Spans), "; then ")))
		t.hang(begin, begin+"  ", words("depth "+r.Hold))
	}
	text := ""
	for i, g := range groups {
		text += "  " + strings.Repeat(" ", g.Skip)
		for _, m := range g.Marks {
			if m == "" {
				m = "□"
			}
			text += m
		}
		text += fmt.Sprintf(" %-6d", g.Last)
		if i%4 == 3 {
			t.line(text)
			text = ""
		}
	}
	if text != "" {
		t.line(text)
	}
}

func (t *textWriter) readings(s *Sheet) {
	t.hang("", "", words(s.howToReadings()))
	t.line("")
	head := fmt.Sprintf("%10s", "cuts")
	for _, d := range s.Dials {
		head += fmt.Sprintf(" %14s", d)
	}
	t.line(head + fmt.Sprintf("   %8s %8s", "start", "stop"))
	for _, r := range s.Readings {
		text := fmt.Sprintf("%10s", r.numbers())
		for _, d := range r.Dials {
			text += fmt.Sprintf(" %14s", d)
		}
		text += " "
		for _, p := range r.Spans {
			piece := fmt.Sprintf("%8s %8s", p.Start, p.Stop)
			if p.Ring {
				piece = fmt.Sprintf("%17s", "all round")
			}
			if utf8.RuneCountInString(text)+2+utf8.RuneCountInString(piece) > columns {
				t.line(text)
				text = strings.Repeat(" ", 11+15*len(r.Dials))
			}
			text += "  " + piece
		}
		if len(r.Spans) == 0 {
			text += "  none"
		}
		t.line(text)
	}
	if more := s.leftOutReadings(); more != "" {
		t.hang("", "", words(more))
	}
}
