package record

import (
	"fmt"
	"math"
	"slices"

	"brightcut/inspect"
)

// mostWidths bounds the table; the run's file has them all.
const mostWidths = 400

// widths are those that were measured, beside what the plan said there.
func (k *keeper) widths(found *inspect.Report) Section {
	if found == nil || len(found.Residuals) == 0 {
		return Section{}
	}
	all := slices.Clone(found.Residuals)
	slices.SortStableFunc(all, func(a, b inspect.Residual) int { return a.Cut - b.Cut })
	unit := "mm"
	if k.program.Angle {
		unit = "°"
	}
	s := Section{Name: "Widths measured", Table: &Table{Head: []string{"Cut", "At (" + unit + ")", "Measured (µm)", "Planned (µm)", "Off (µm)", "Where"}}}
	c := &Chart{X: "cut", Y: "off the plan, µm", Caption: "How far each width is off what the plan said there (dots), and what the causes make of it (line)."}
	sum := 0.0
	for i, r := range all {
		at := r.Place
		if k.program.Angle {
			at *= 180 / math.Pi
		}
		off := fmt.Sprintf("%+.1f", 1000*r.Off)
		if r.Out {
			off += " !"
		}
		if i < mostWidths {
			s.Table.Rows = append(s.Table.Rows, []string{fmt.Sprint(r.Cut), fmt.Sprintf("%.2f", at), fmt.Sprintf("%.1f", 1000*r.Width), fmt.Sprintf("%.1f", 1000*r.Planned), off, r.Note})
		}
		sum += r.Off
		c.Dots = append(c.Dots, Point{float64(r.Cut), 1000 * r.Off})
		c.Line = append(c.Line, Point{float64(r.Cut), 1000 * (r.Told - r.Planned)})
	}
	s.Text = append(s.Text, fmt.Sprintf("%s measured; on the mean %+.1f µm off the plan, %.1f µm root mean square. Those out of tolerance are marked !.", many(len(all), "width"), 1000*sum/float64(len(all)), 1000*found.Off))
	if len(all) > mostWidths {
		s.Text = append(s.Text, fmt.Sprintf("The first %d are printed here; the run's file has all.", mostWidths))
	}
	if len(c.Dots) > 1 {
		s.Chart = c
	}
	return s
}
