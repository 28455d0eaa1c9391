package record

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

const columns = 80

// WriteText writes the record as plain text, UTF-8, prose no wider than 80 columns.
func WriteText(w io.Writer, r *Record) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "%s\n%s\n", r.heading(), strings.Repeat("=", columns))
	for _, p := range r.Summary {
		fold(out, "", p)
	}
	for _, s := range r.Sections {
		fmt.Fprintf(out, "\n%s\n%s\n", s.Name, strings.Repeat("-", utf8.RuneCountInString(s.Name)))
		for _, p := range s.Text {
			fold(out, "", p)
		}
		for _, l := range s.List {
			fold(out, "- ", l)
		}
		if s.Table != nil {
			s.Table.write(out)
		}
	}
	for _, f := range r.Files {
		fmt.Fprintf(out, "\n%s\n%s\n%s", f.Name, strings.Repeat("-", utf8.RuneCountInString(f.Name)), f.Text)
		if !strings.HasSuffix(f.Text, "\n") {
			fmt.Fprintln(out)
		}
	}
	return out.Flush()
}

func (r *Record) heading() string {
	return fmt.Sprintf("%s: record of run %s, job %s", r.Title, r.Run, r.Digest)
}

// fold breaks a paragraph into lines, those behind the first set in as the mark is
// wide.
func fold(w io.Writer, mark, text string) {
	line, wide := mark, utf8.RuneCountInString(mark)
	in := strings.Repeat(" ", wide)
	empty := true
	for _, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		if !empty && wide+1+n > columns {
			fmt.Fprintln(w, line)
			line, wide, empty = in, len(in), true
		}
		if !empty {
			line, wide = line+" ", wide+1
		}
		line, wide, empty = line+word, wide+n, false
	}
	fmt.Fprintln(w, line)
}

// write sets the table's columns under one another, numbers to the right.
func (t *Table) write(w io.Writer) {
	wide := make([]int, len(t.Head))
	for _, row := range append([][]string{t.Head}, t.Rows...) {
		for i, c := range row {
			wide[i] = max(wide[i], utf8.RuneCountInString(c))
		}
	}
	for _, row := range append([][]string{t.Head}, t.Rows...) {
		var b strings.Builder
		for i, c := range row {
			pad := strings.Repeat(" ", wide[i]-utf8.RuneCountInString(c))
			if t.numbers(i) {
				b.WriteString(pad + c + "  ")
			} else {
				b.WriteString(c + pad + "  ")
			}
		}
		fmt.Fprintln(w, strings.TrimRight(b.String(), " "))
	}
}

// numbers says whether a column holds numbers alone.
func (t *Table) numbers(column int) bool {
	for _, row := range t.Rows {
		if c := row[column]; c != "" && !strings.ContainsRune("+-−0123456789", []rune(c)[0]) {
			return false
		}
	}
	return true
}
