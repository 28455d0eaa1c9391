// Package fault says what is wrong with something a person wrote: where it
// stands, which field it is, why it cannot be used and what would mend it.
package fault

import (
	"fmt"
	"strings"
)

// Origin is a place in a file. The zero Origin is no place.
type Origin struct {
	File         string
	Line, Column int // from 1
}

// Fault is one thing to be mended.
type Fault struct {
	Origin  Origin
	Field   string // of the job, "sequence[3].step"; relative to the part when a part reports it
	Line    string // the line of the file as it stands, when there is one
	Problem string // why it cannot be used
	Mend    string // what would mend it
}

// List is every fault found in one reading. It is an error when it is not empty.
type List []Fault

// Error writes the faults one under another:
//
//	barleycorn.yaml:12:9: depth: 3 mm is deeper than the blank, which is 0.8 mm thick
//	    12 | depth: 3
//	    mend: give a depth between 0 and 0.8 mm
func (l List) Error() string {
	var b strings.Builder
	for i, f := range l {
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(f.Error())
	}
	return b.String()
}

// Error writes one fault as List.Error does.
func (f Fault) Error() string {
	var b strings.Builder
	if f.Origin.File != "" {
		b.WriteString(f.Origin.File)
		if f.Origin.Line > 0 {
			fmt.Fprintf(&b, ":%d:%d", f.Origin.Line, f.Origin.Column)
		}
		b.WriteString(": ")
	}
	if f.Field != "" {
		b.WriteString(f.Field + ": ")
	}
	b.WriteString(f.Problem)
	if f.Line != "" {
		fmt.Fprintf(&b, "\n    %d | %s", f.Origin.Line, f.Line)
	}
	if f.Mend != "" {
		b.WriteString("\n    mend: " + f.Mend)
	}
	return b.String()
}

// Err returns the list as an error, or nil when it is empty.
func (l List) Err() error {
	if len(l) == 0 {
		return nil
	}
	return l
}
