package sheet

import (
	"regexp"
	"strings"
)

// stretch is a piece of a line in one weight of type.
type stretch struct {
	text string
	bold bool
}

const hardSpace = "\u00a0"

var measures = regexp.MustCompile(`(\d) (mm|in|µm|thou|m|s|min|h)\b`)

// stretches sets the values of a sentence bold and keeps each value on one line.
func stretches(s Sentence) []stretch {
	var out []stretch
	for _, p := range s {
		if !p.Value {
			out = append(out, stretch{text: measures.ReplaceAllString(p.Text, "$1"+hardSpace+"$2")})
			continue
		}
		text := p.Text
		if len(text) < 30 {
			text = strings.ReplaceAll(text, " ", hardSpace)
		}
		out = append(out, stretch{text: text, bold: true})
		if p.Exact != "" {
			// Numbers stay with their units.
			words := strings.Split(p.Exact, ", ")
			for i, w := range words {
				if len(w) < 20 {
					words[i] = hard(w)
				}
			}
			out = append(out, stretch{text: " (" + strings.Join(words, ", ") + ")"})
		}
	}
	return out
}

// wrap breaks stretches into lines no wider than width. It breaks at spaces;
// what has none and is wider than a line is broken where it must be.
func wrap(in []stretch, width float64, measure func(stretch) float64) [][]stretch {
	var lines [][]stretch
	var line, word []stretch
	var lineWide, wordWide float64
	endLine := func() {
		lines = append(lines, line)
		line, lineWide = nil, 0
	}
	endWord := func() {
		if len(word) == 0 {
			return
		}
		if len(line) > 0 {
			space := measure(stretch{text: " "})
			if lineWide+space+wordWide > width {
				endLine()
			} else {
				line, lineWide = append(line, stretch{text: " ", bold: line[len(line)-1].bold && word[0].bold}), lineWide+space
			}
		}
		for wordWide > width {
			var head []stretch
			head, word = breakWord(word, width, measure)
			line = head
			endLine()
			wordWide = 0
			for _, s := range word {
				wordWide += measure(s)
			}
		}
		line, lineWide = append(line, word...), lineWide+wordWide
		word, wordWide = nil, 0
	}
	for _, s := range in {
		rest := s.text
		for {
			text, after, space := strings.Cut(rest, " ")
			if text != "" {
				part := stretch{text: text, bold: s.bold}
				word, wordWide = append(word, part), wordWide+measure(part)
			}
			if !space {
				break
			}
			endWord()
			rest = after
		}
	}
	endWord()
	if len(line) > 0 {
		endLine()
	}
	for i := range lines {
		lines[i] = merge(lines[i])
	}
	return lines
}

// breakWord cuts a word so that its head is no wider than width, but at least
// one character long.
func breakWord(word []stretch, width float64, measure func(stretch) float64) (head, tail []stretch) {
	wide := 0.0
	for i, s := range word {
		for at, r := range s.text {
			w := measure(stretch{text: string(r), bold: s.bold})
			if wide+w > width && (at > 0 || i > 0) {
				head = append(head, word[:i]...)
				if at > 0 {
					head = append(head, stretch{text: s.text[:at], bold: s.bold})
				}
				tail = append(tail, stretch{text: s.text[at:], bold: s.bold})
				return head, append(tail, word[i+1:]...)
			}
			wide += w
		}
	}
	return word, nil
}

// merge joins neighbours of one weight.
func merge(line []stretch) []stretch {
	out := line[:0]
	for _, s := range line {
		if n := len(out); n > 0 && out[n-1].bold == s.bold {
			out[n-1].text += s.text
		} else {
			out = append(out, s)
		}
	}
	return out
}
