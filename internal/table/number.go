package table

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// number reads a field that should be a number, and says otherwise why it is none.
func (d *reader) number(text string) (v float64, problem, mend string) {
	v, comma, ok := parse(text, d.between)
	if !ok {
		return 0, fmt.Sprintf("%s is not a number", quoted(text)), why(text)
	}
	if comma && d.point > 0 {
		return 0, fmt.Sprintf("%s has a decimal comma, where line %d has decimal points", quoted(text), d.point), "write all numbers alike"
	}
	if d.comma && !comma && strings.ContainsRune(text, '.') {
		return 0, fmt.Sprintf("%s has a decimal point, where other numbers have decimal commas", quoted(text)), "write all numbers alike"
	}
	if comma {
		d.comma = true
	} else if d.point == 0 && strings.ContainsRune(text, '.') {
		d.point = d.line
	}
	return v, "", ""
}

// parse reads a number with a decimal point or, where fields are not separated
// by commas, a decimal comma.
func parse(text string, between byte) (v float64, comma, ok bool) {
	if text == "" {
		return 0, false, false
	}
	if strings.HasPrefix(text, "−") { // the typographic minus
		text = "-" + strings.TrimPrefix(text, "−")
	}
	digits := 0
	for i := range len(text) {
		switch c := text[i]; {
		case '0' <= c && c <= '9':
			digits++
		case c == '+', c == '-', c == '.', c == 'e', c == 'E':
		case c == ',' && between != ',' && !comma && !strings.ContainsRune(text, '.'):
			comma = true
		default:
			return 0, false, false
		}
	}
	if digits == 0 {
		return 0, false, false
	}
	if comma {
		text = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, comma, err == nil && !math.IsInf(v, 0)
}

// why guesses what a field that is no number was meant to be.
func why(text string) string {
	lower := strings.ToLower(strings.TrimLeft(text, "+-"))
	switch {
	case lower == "nan" || lower == "na" || lower == "n/a" || lower == "-":
		return "leave the line out where nothing was read"
	case strings.HasPrefix(lower, "inf"):
		return "leave the line out; the probe was past its range"
	case strings.ContainsRune(text, ',') && strings.ContainsRune(text, '.'):
		return "leave out what divides the thousands"
	case lower != "" && '0' <= lower[0] && lower[0] <= '9':
		return "write the number alone; its unit belongs in the header"
	}
	return "write a number"
}
