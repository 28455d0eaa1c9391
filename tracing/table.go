package tracing

import (
	"fmt"
	"io"

	"brightcut/fault"
	"brightcut/internal/table"
)

// readTable reads points: x, y or along, height of a bar; angle, radius or angle,
// height of a rosette. Lengths without a unit in the header are in Options.Unit or
// mm, angles in degrees. A unit that has no name multiplies whatever is read.
func readTable(r io.Reader, name string, o Options) (*Drawing, error) {
	bare, unit := "mm", o.Unit
	for _, known := range []string{"mm", "in", "cm", "thou", "um"} {
		if size, _ := table.Unit(known, table.Length); unit == size {
			bare, unit = known, 0
		}
	}
	if unit == 0 {
		unit = 1
	}
	length := func(name string, also ...string) table.Column {
		return table.Column{Name: name, Also: also, Kind: table.Length, Unit: bare}
	}
	angle := table.Column{Name: "angle", Also: []string{"theta", "θ"}, Kind: table.Angle, Unit: "deg"}
	t, err := table.Read(r, name,
		table.Layout{length("x"), length("y")},
		table.Layout{length("along", "place", "y"), length("height", "h")},
		table.Layout{angle, length("radius", "r")},
		table.Layout{angle, length("height", "h")})
	if err != nil {
		return nil, err
	}
	s := &sketch{file: name}
	polar := t.Layout >= 2
	if t.Layout == 3 && o.Radius == 0 {
		return nil, fault.List{{Origin: fault.Origin{File: name, Line: 1, Column: 1}, Field: "height", Problem: "heights on angles say nothing of how large the rosette is",
			Mend: "give its mean radius, or the column radius"}}
	}
	n := t.Rows()
	if !s.room(fault.Origin{File: name}, n) {
		return nil, s.faults.List()
	}
	line := Line{Kind: "table", Origin: fault.Origin{File: name, Line: 1, Column: 1}, Points: make([]Point, n)}
	for i := range n {
		x, y := t.Values[0][i], t.Values[1][i]
		if !polar {
			x *= unit
		}
		y *= unit
		if t.Layout == 3 {
			y += o.Radius
		}
		line.Points[i] = Point{x, y}
		if polar && !(y > 0) && !s.faults.Any() {
			s.fault(t.Origin(i), "radius", fmt.Sprintf("a radius of %.6g mm lies beyond the middle", y), "give radii above 0")
		}
	}
	if n > 0 {
		line.Origin = t.Origin(0)
	}
	s.add(line)
	d, err := s.drawing(unit)
	if err != nil {
		return nil, err
	}
	d.polar, d.rows = polar, t.Lines
	return d, nil
}
