package export

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
)

// VerticesCSV writes every place of the tip's paths: a row each, with a header.
// The reading is of the stroke, mm, or of the spindle, degrees; across is the
// direction in which the V lies.
func VerticesCSV(w io.Writer, p *Piece) (Summary, error) {
	s, err := p.measure("CSV of vertices")
	if err != nil {
		return s, err
	}
	o := newOut(w)
	reading := "reading_mm"
	if p.Rose {
		reading = "reading_deg"
	}
	o.put("cut,piece,x_mm,y_mm,z_mm,", reading, ",across_deg,hold\n")
	for i := range p.Cuts {
		c := &p.Cuts[i]
		hold := p.Hold(c.Number).String()
		number := strconv.Itoa(c.Number)
		for k := range c.Pieces {
			q := &c.Pieces[k]
			piece := strconv.Itoa(k + 1)
			for n, v := range q.Path {
				o.put(number, ",", piece)
				read := q.Readings[n]
				if p.Rose {
					read *= 180 / math.Pi
				}
				for _, x := range [...]float64{v.X, v.Y, v.Z, read, v.Across * 180 / math.Pi} {
					o.put(",")
					o.num(x, 6)
				}
				o.put(",", hold, "\n")
			}
		}
	}
	if err := o.end(); err != nil {
		return s, fmt.Errorf("export: writing the vertices of %q: %w", p.Name, err)
	}
	return s, nil
}

// CutsCSV writes a row for every cut: its settings, and where it starts and stops,
// the first start and the last stop when it is in several pieces.
func CutsCSV(w io.Writer, p *Piece) (Summary, error) {
	s, err := p.measure("CSV of cuts")
	if err != nil {
		return s, err
	}
	o := csv.NewWriter(w)
	unit := "mm"
	scale := 1.0
	if p.Rose {
		unit, scale = "deg", 180/math.Pi
	}
	o.Write([]string{"cut", "hold", "slide", "index", "shift", "chuck", "bar", "pieces", "start_" + unit, "stop_" + unit, "length_mm", "depth_um"})
	for i := range p.Cuts {
		c := &p.Cuts[i]
		start, stop, length := "", "", 0.0
		if n := len(c.Pieces); n > 0 {
			start, stop = numText(c.Pieces[0].Start*scale, 4), numText(c.Pieces[n-1].Stop*scale, 4)
		}
		for k := range c.Pieces {
			length += c.Pieces[k].Length()
		}
		g := c.Settings
		o.Write([]string{strconv.Itoa(c.Number), p.Hold(c.Number).String(), strconv.Itoa(g.Slide), strconv.Itoa(g.Index), strconv.Itoa(g.Shift), strconv.Itoa(g.Chuck), g.Bar,
			strconv.Itoa(len(c.Pieces)), start, stop, numText(length, 4), numText(c.Depth*1000, 3)})
	}
	o.Flush()
	if err := o.Error(); err != nil {
		return s, fmt.Errorf("export: writing the cuts of %q: %w", p.Name, err)
	}
	return s, nil
}

// measure tells of the cuts alone, without the metal.
func (p *Piece) measure(format string) (Summary, error) {
	f := p.Figure()
	all := f.Lines
	f.Lines = func(yield func(Line) bool) {
		for l := range all {
			if l.Layer != MetalLayer && l.Layer != WindowLayer && l.Layer != ClearLayer && !yield(l) {
				return
			}
		}
	}
	s, err := f.measure(format)
	s.Tolerance = p.Chord
	s.Counts["cuts"] = len(p.Cuts)
	return s, err
}
