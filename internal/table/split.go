package table

import (
	"encoding/csv"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// field is what stands between two separators.
type field struct {
	text   string
	column int // from 1, in characters
}

// separators in the order that breaks a tie.
var separators = [...]byte{'\t', ';', ',', ' '}

// separator chooses what separates the fields of these lines: that which leaves
// the most numbers and the fewest fields that are none. A line of one field, or
// without a number, says nothing.
func separator(lines []string) byte {
	best, most := separators[0], 0
	for k, s := range separators {
		score := 0
		for _, text := range lines {
			fields, at := split(nil, text, s)
			if at > 0 || len(fields) < 2 {
				continue
			}
			numbers := 0
			for _, f := range fields {
				if _, _, ok := parse(f.text, s); ok {
					numbers++
				}
			}
			if numbers > 0 { // a header says nothing either
				score += numbers - (len(fields) - numbers)
			}
		}
		if k == 0 || score > most {
			best, most = s, score
		}
	}
	if most > 0 {
		return best
	}
	// No numbers at all: go by what divides the lines most plainly.
	for _, s := range separators {
		for _, text := range lines {
			if strings.IndexByte(text, s) >= 0 {
				return s
			}
		}
	}
	return best
}

// split divides a line into its fields, trimmed, and leaves out a remark at its
// end. at is the column of a quotation mark without a partner, or 0.
func split(to []field, text string, between byte) (fields []field, at int) {
	if strings.IndexByte(text, '"') >= 0 {
		return splitQuoted(to, text, between)
	}
	column, from := 1, 0
	ascii := isASCII(text)
	take := func(end int) bool {
		raw := text[from:end]
		trimmed := strings.TrimSpace(raw)
		remark := strings.HasPrefix(trimmed, "#")
		if i := strings.Index(trimmed, " #"); i >= 0 {
			trimmed, remark = strings.TrimSpace(trimmed[:i]), true
		} else if remark {
			trimmed = ""
		}
		if trimmed != "" || between != ' ' && !remark {
			lead := len(raw) - len(strings.TrimLeft(raw, " \t"))
			to = append(to, field{trimmed, column + lead})
		}
		if ascii {
			column += len(raw) + 1
		} else {
			column += utf8.RuneCountInString(raw) + 1
		}
		return remark
	}
	for i := range len(text) {
		if c := text[i]; c == between || between == ' ' && c == '\t' {
			if take(i) {
				return trailing(to), 0
			}
			from = i + 1
		}
	}
	take(len(text))
	return trailing(to), 0
}

// trailing drops the empty fields that a separator at the end leaves.
func trailing(fields []field) []field {
	for len(fields) > 0 && fields[len(fields)-1].text == "" {
		fields = fields[:len(fields)-1]
	}
	return fields
}

func splitQuoted(to []field, text string, between byte) (fields []field, at int) {
	if between == ' ' {
		text = strings.ReplaceAll(text, "\t", " ")
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comma = rune(between)
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = between != '\t'
	record, err := r.Read()
	if err != nil {
		return to, strings.IndexByte(text, '"') + 1
	}
	for i, t := range record {
		if strings.HasPrefix(strings.TrimSpace(t), "#") {
			break
		}
		if t == "" && between == ' ' {
			continue
		}
		_, column := r.FieldPos(i)
		to = append(to, field{strings.TrimSpace(t), utf8.RuneCountInString(text[:min(column-1, len(text))]) + 1})
	}
	return trailing(to), 0
}

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// quoted shows a field in a message, cut short.
func quoted(s string) string {
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	return fmt.Sprintf("%q", s)
}

// isHeader says whether the first line names the columns: it holds no number
// and at least one field that starts with a letter and is no failed reading.
func isHeader(fields []field, between byte) bool {
	names := false
	for _, f := range fields {
		if _, _, ok := parse(f.text, between); ok {
			return false
		}
		lower := strings.ToLower(strings.TrimLeft(f.text, "+-"))
		if lower == "" || lower == "nan" || lower == "inf" || lower == "infinity" || lower == "na" || lower == "n/a" {
			continue
		}
		first, _ := utf8.DecodeRuneInString(lower)
		names = names || unicode.IsLetter(first)
	}
	return names
}
