package inspect

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"brightcut/fault"
	"brightcut/internal/table"
)

// Reading is one look through the microscope.
type Reading struct {
	Cut    int     // in the order of cutting, from 1
	Place  float64 // reading of the stroke, mm, or of the spindle, rad; not used when On is set
	On     bool    // X and Y tell the place
	X, Y   float64 // on the work, mm; the nearest place of the cut counts
	Width  float64 // mm
	Pitch  float64 // to the axis of the cut before, mm; 0 was not read
	After  int     // cuts that were cut when it was read; 0 is all of them
	Hours  float64 // when the cut was made, from any beginning; NaN is not known
	Note   string
	Origin fault.Origin
}

// mostReadings bounds a file of widths: a minute each, they are a working month.
const mostReadings = 10_000

// ReadWidths reads a file of measured widths. Its header names the columns and their
// units: cut and width, and either place (along the stroke, "place mm"), angle (of
// the spindle, "angle deg") or x and y on the work; and may name pitch, after,
// time ("10:42", or hours) and note. Lengths have no unit of their own accord.
//
// The error is a fault.List with every fault of the file.
func ReadWidths(r io.Reader, name string) ([]Reading, error) {
	cut := table.Column{Name: "cut", Kind: table.Word}
	rest := []table.Column{
		{Name: "pitch", Kind: table.Length, Optional: true},
		{Name: "after", Kind: table.Word, Optional: true},
		{Name: "time", Kind: table.Word, Optional: true},
		{Name: "note", Kind: table.Word, Optional: true},
	}
	width := table.Column{Name: "width", Kind: table.Length}
	layout := func(place ...table.Column) table.Layout {
		return append(append(append(table.Layout{cut}, place...), width), rest...)
	}
	t, err := table.Read(r, name,
		layout(table.Column{Name: "place", Kind: table.Length}),
		layout(table.Column{Name: "angle", Kind: table.Angle}),
		layout(table.Column{Name: "x", Kind: table.Length}, table.Column{Name: "y", Kind: table.Length}))
	if err != nil {
		return nil, err
	}
	if t.Rows() > mostReadings {
		return nil, fault.List{{Origin: fault.Origin{File: name}, Problem: fmt.Sprintf("it holds %d readings", t.Rows()), Mend: fmt.Sprintf("give %d at most", mostReadings)}}
	}
	at := 2 // column of the width
	if t.Layout == 2 {
		at = 3
	}
	var faults table.Faults
	out := make([]Reading, t.Rows())
	for i := range out {
		q := Reading{Place: t.Values[1][i], Width: t.Values[at][i], Hours: math.NaN(), Note: t.Words[at+4][i], Origin: t.Origin(i)}
		if t.Layout == 2 {
			q.On, q.X, q.Y, q.Place = true, t.Values[1][i], t.Values[2][i], 0
		}
		bad := func(field, problem, mend string) {
			faults.Add(fault.Fault{Origin: q.Origin, Field: field, Problem: problem, Mend: mend})
		}
		if q.Cut, err = strconv.Atoi(t.Words[0][i]); err != nil || q.Cut < 1 {
			bad("cut", fmt.Sprintf("%q is no number of a cut", t.Words[0][i]), "count the cuts from 1 in the order of cutting")
		}
		if p := t.Values[at+1][i]; !math.IsNaN(p) {
			if q.Pitch = p; !(p > 0 && p <= 20) {
				bad("pitch", fmt.Sprintf("%.4g mm is no distance between two cuts", p), "give it from axis to axis, look at its unit, or leave the field empty")
			}
		}
		if !(q.Width > 0 && q.Width <= 20) {
			bad("width", fmt.Sprintf("%.4g mm is no width of a groove", q.Width), "look at its unit; leave out a place that shows no groove")
		}
		if text := t.Words[at+2][i]; text != "" {
			if q.After, err = strconv.Atoi(text); err != nil || q.After < q.Cut {
				bad("after", fmt.Sprintf("the width of cut %s cannot be read after cut %q", t.Words[0][i], text), "give the last cut that was there when it was read, or leave the field empty")
			}
		}
		if text := t.Words[at+3][i]; text != "" {
			if q.Hours, err = hours(text); err != nil {
				bad("time", fmt.Sprintf("%q is no time", text), "write when the cut was made as 10:42, as 2031-03-14 10:42, or in hours as 1.75")
			}
		}
		out[i] = q
	}
	if faults.Any() {
		return nil, faults.List()
	}
	return out, nil
}

func hours(text string) (float64, error) {
	if v, err := strconv.ParseFloat(text, 64); err == nil {
		if !(v >= 0 && v < 1e5) {
			return 0, fmt.Errorf("out of range")
		}
		return v, nil
	}
	for _, form := range []string{"2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", time.RFC3339, "15:04:05", "15:04"} {
		if t, err := time.Parse(form, strings.TrimSpace(text)); err == nil {
			// From a day of its own, so that hours keep their digits.
			if t.Year() == 0 {
				return t.Sub(time.Date(0, 1, 1, 0, 0, 0, 0, time.UTC)).Hours(), nil
			}
			return t.Sub(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)).Hours(), nil
		}
	}
	return 0, fmt.Errorf("no time")
}
