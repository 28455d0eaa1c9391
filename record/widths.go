package record

import (
	"fmt"
	"math"
	"slices"

	"brightcut/bench"
)

// mostWidths bounds the table; the run's file has them all.
const mostWidths = 400

// widths are those that were measured, beside what the plan said there.
func (k *keeper) widths() Section {
	var all []bench.Event
	for _, e := range k.events {
		if e.Kind == bench.Measured {
			all = append(all, e)
		}
	}
	if len(all) == 0 {
		return Section{}
	}
	slices.SortStableFunc(all, func(a, b bench.Event) int { return a.Cut - b.Cut })
	unit := "mm"
	if k.program.Angle {
		unit = "°"
	}
	s := Section{Name: "Widths measured", Table: &Table{Head: []string{"Cut", "At (" + unit + ")", "Measured (µm)", "Planned (µm)", "Off (µm)", "Where"}}}
	c := &Chart{X: "cut", Y: "width, µm", Caption: "Measured widths (dots) and what the plan said there (line)."}
	var sum, sum2 float64
	n := 0
	for i, e := range all {
		at := e.Reading
		if k.program.Angle {
			at *= 180 / math.Pi
		}
		row := []string{fmt.Sprint(e.Cut), fmt.Sprintf("%.2f", at), fmt.Sprintf("%.1f", 1000*e.Width), "", "", e.Place}
		if w, ok := k.planned(e.Cut, e.Reading); ok {
			off := e.Width - w
			row[3], row[4] = fmt.Sprintf("%.1f", 1000*w), fmt.Sprintf("%+.1f", 1000*off)
			sum += off
			sum2 += off * off
			n++
			c.Line = append(c.Line, Point{float64(e.Cut), 1000 * w})
		}
		c.Dots = append(c.Dots, Point{float64(e.Cut), 1000 * e.Width})
		if i < mostWidths {
			s.Table.Rows = append(s.Table.Rows, row)
		}
	}
	if n > 0 {
		s.Text = append(s.Text, fmt.Sprintf("%s measured; on the mean %+.1f µm off the plan, %.1f µm root mean square.", many(len(all), "width"), 1000*sum/float64(n), 1000*math.Sqrt(sum2/float64(n))))
	}
	if len(all) > mostWidths {
		s.Text = append(s.Text, fmt.Sprintf("The first %d are printed here; the run's file has all.", mostWidths))
	}
	if len(c.Dots) > 1 {
		s.Chart = c
	}
	return s
}

// planned is the width that the plan said, by its prediction or by the wished depth.
func (k *keeper) planned(cut int, reading float64) (float64, bool) {
	if cut < 1 || cut > len(k.program.Cuts) {
		return 0, false
	}
	if p := k.program.Plan; p != nil && p.Prediction != nil {
		q, ok := p.Prediction.At(cut, reading)
		return q.Width, ok
	}
	return k.program.Job.Setup.Cutter.Width(k.program.Cuts[cut-1].Depth), true
}
