package sheet

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Part is a stretch of a sentence: plain words, or a value that the job sets.
type Part struct {
	Text  string `json:"text"`
	Unit  string `json:"unit,omitempty"`  // of a value: "mm", "teeth", "°", "" for a name
	Field string `json:"field,omitempty"` // of the job that sets it, "cutter.included"; "" for plain words
	Exact string `json:"exact,omitempty"` // what a whole setting gives, told in brackets behind it
	Value bool   `json:"value,omitempty"` // a setting, to be set off from the words round it
	Kind  Kind   `json:"kind,omitempty"`  // of a value
	Count int    `json:"count,omitempty"` // of an Amount: teeth, holes or divisions, with their sign
}

// Kind says what a value is, for those who change it in its sentence.
type Kind string

// The kinds of value.
const (
	Length Kind = "length"
	Depth  Kind = "depth" // a length shown in microns or thou
	Angle  Kind = "angle"
	Amount Kind = "amount" // a wish in whole counts of a dial, written as any unit of its motion
	Count  Kind = "count"
	Number Kind = "number"
	Place  Kind = "place"
	Named  Kind = "part" // a part of the workshop
	Metal  Kind = "metal"
	Choice Kind = "choice"
	List   Kind = "list"
	Words  Kind = "text"
)

// kindOf tells the kind of a value by the unit that it is shown in and by its
// key.
func kindOf(field, text, unit string) Kind {
	key := field[strings.LastIndexByte(field, '.')+1:]
	switch unit {
	case "mm", "in":
		if strings.HasPrefix(text, "(") {
			return Place
		}
		return Length
	case "µm", "thou":
		return Depth
	case "°":
		return Angle
	case "s", "µm/N":
		return Number
	case "bumps", "times":
		return Count
	case "teeth", "holes", "divisions":
		if key == "index_circle" {
			return Count
		}
		return Amount
	}
	switch key {
	case "metal":
		return Metal
	case "side", "figure":
		return Choice
	case "points", "heights":
		return List
	case "lever", "rocking", "pumping":
		return Number
	case "name", "note":
		return Words
	}
	return Named
}

// String returns the part as it is read.
func (p Part) String() string {
	if p.Exact == "" {
		return p.Text
	}
	return p.Text + " (" + p.Exact + ")"
}

// Sentence is a sentence of the sheet, from its capital to its full stop.
type Sentence []Part

// String returns the sentence as it is read.
func (s Sentence) String() string {
	var b strings.Builder
	for _, p := range s {
		b.WriteString(p.String())
	}
	return b.String()
}

// words makes a sentence of plain words.
func words(text string) Sentence {
	if text == "" {
		return nil
	}
	return Sentence{{Text: text}}
}

// say builds a sentence from plain strings and Parts, Sentences included.
func say(parts ...any) Sentence {
	var s Sentence
	for _, p := range parts {
		switch p := p.(type) {
		case string:
			s = s.add(Part{Text: p})
		case Part:
			s = s.add(p)
		case Sentence:
			for _, q := range p {
				s = s.add(q)
			}
		default:
			panic("sheet: say takes strings, Parts and Sentences")
		}
	}
	return s
}

// add puts a part behind s; plain words join those before them.
func (s Sentence) add(p Part) Sentence {
	n := len(s)
	switch {
	case p.Value:
		return append(s, p)
	case n > 0 && !s[n-1].Value:
		s[n-1].Text += p.Text
	case p.Text != "":
		return append(s, Part{Text: p.Text})
	}
	return s
}

// value is a setting of the job in a sentence.
func value(field, text, unit, exact string) Part {
	text = oneLine(text)
	return Part{Text: text, Unit: unit, Field: field, Exact: oneLine(exact), Value: true, Kind: kindOf(field, text, unit)}
}

// counted gives a value its count on the dial.
func (p Part) counted(n int) Part {
	p.Count = n
	return p
}

// named is a value that is a name, in quotation marks.
func named(field, name string) Sentence { return say("“", value(field, name, "", ""), "”") }

// join makes one sentence of phrases, with commas and an "and", a capital and a
// full stop.
func join(phrases []Sentence) Sentence {
	var all []any
	for i, p := range phrases {
		switch {
		case i == 0:
		case i == len(phrases)-1:
			all = append(all, " and ")
		default:
			all = append(all, ", ")
		}
		all = append(all, p)
	}
	s := say(all...)
	if len(s) == 0 {
		return nil
	}
	s[0].Text = capital(s[0].Text)
	return s.add(Part{Text: "."})
}

// capital returns the text with its first letter a capital.
func capital(text string) string {
	r, n := utf8.DecodeRuneInString(text)
	if n == 0 {
		return text
	}
	return string(unicode.ToUpper(r)) + text[n:]
}

// stop closes words of the user with a full stop unless they have their own.
func stop(text string) string {
	text = oneLine(text)
	if text == "" || strings.ContainsAny(text[len(text)-1:], ".!?:") || strings.HasSuffix(text, "…") {
		return text
	}
	return text + "."
}
