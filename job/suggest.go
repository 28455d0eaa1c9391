package job

import (
	"slices"
	"strconv"
	"strings"
)

// suggest says what a word that is not known was meant to be, or lists what
// there is behind lead.
func suggest(word string, known []string, lead string) string {
	best, least := "", max(1, len([]rune(word))/3)+1
	for _, k := range known {
		if d := distance(strings.ToLower(word), strings.ToLower(k)); d < least {
			best, least = k, d
		}
	}
	if best != "" {
		return "did you mean " + best + "?"
	}
	return lead + " " + listed(known)
}

// mostListed keeps a message readable.
const mostListed = 24

// listed joins words for a message.
func listed(words []string) string {
	if len(words) == 0 {
		return "none"
	}
	if n := len(words) - mostListed; n > 0 {
		words = append(slices.Clone(words[:mostListed]), strconv.Itoa(n)+" more")
	}
	return strings.Join(words, ", ")
}

// quoted shows what was written, cut short where it is long.
func quoted(text string) string {
	const most = 60
	if r := []rune(text); len(r) > most {
		text = string(r[:most-1]) + "…"
	}
	return strconv.Quote(text)
}

// distance is the number of letters put in, left out, changed or swapped with
// their neighbour that turn a into b (restricted Damerau–Levenshtein). Words
// longer than any key are far from all of them.
func distance(a, b string) int {
	s, t := []rune(a), []rune(b)
	if len(s) > 64 || len(t) > 64 {
		return max(len(s), len(t))
	}
	rows := make([][]int, len(s)+1)
	for i := range rows {
		rows[i] = make([]int, len(t)+1)
		rows[i][0] = i
	}
	for j := range t {
		rows[0][j+1] = j + 1
	}
	for i := range s {
		for j := range t {
			change := 1
			if s[i] == t[j] {
				change = 0
			}
			d := min(rows[i][j+1]+1, rows[i+1][j]+1, rows[i][j]+change)
			if i > 0 && j > 0 && s[i] == t[j-1] && s[i-1] == t[j] {
				d = min(d, rows[i-1][j-1]+1)
			}
			rows[i+1][j+1] = d
		}
	}
	return rows[len(s)][len(t)]
}
