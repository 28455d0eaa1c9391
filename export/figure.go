package export

import (
	"fmt"
	"iter"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Figure is lines in layers, mm, y up: what every flat format is written from.
// Lines may be walked any number of times and gives the same each time.
type Figure struct {
	Name      string
	Layers    []string // in the order in which they are written; letters, digits and '-'
	Lines     iter.Seq[Line]
	Tolerance float64 // mm by which the lines may be off the true curves
}

// MaxNodes is how many corners a figure may have: a drawing of 200 MB.
const MaxNodes = 8_000_000

// Summary tells what was written.
type Summary struct {
	Format    string         `json:"format"` // "SVG", "DXF R12", "DXF 2000", "CSV", "G-code", "PDF", "PNG"
	Name      string         `json:"name"`
	Units     string         `json:"units"` // of the file: "mm", "inch"
	Box       [4]float64     `json:"box_mm"`
	Length    float64        `json:"length_mm"` // of all lines; G-code: of the way in the metal
	Tolerance float64        `json:"tolerance_mm"`
	Counts    map[string]int `json:"counts"`            // by what is counted: "lines", "nodes", "arcs", a layer's name, "pages", "passes"
	Remarks   []string       `json:"remarks,omitempty"` // what the reader of the file should know
}

// measure walks the figure once: its box, length and counts.
func (f *Figure) measure(format string) (Summary, error) {
	s := Summary{Format: format, Name: f.Name, Units: "mm", Tolerance: f.Tolerance, Counts: map[string]int{}}
	box := nobox()
	known := map[string]bool{}
	for _, l := range f.Layers {
		known[l] = true
	}
	nodes := 0
	for l := range f.Lines {
		if !known[l.Layer] {
			panic("export: a line lies in the layer " + l.Layer + ", which its figure does not name")
		}
		if nodes += len(l.Nodes); nodes > MaxNodes {
			return s, fmt.Errorf("export: drawing %q: it has more than %d corners, more than a file that others can read; draw it to a coarser tolerance or export fewer cuts", f.Name, MaxNodes)
		}
		for _, n := range l.Nodes {
			if math.IsNaN(n.X+n.Y+n.Bulge) || math.IsInf(n.X+n.Y+n.Bulge, 0) {
				return s, fmt.Errorf("export: drawing %q: a line of the layer %s runs to no finite place", f.Name, l.Layer)
			}
			if n.Bulge != 0 {
				s.Counts["arcs"]++
			}
		}
		s.Counts["lines"]++
		s.Counts[l.Layer]++
		s.Length += l.Length()
		l.grow(&box)
	}
	if s.Counts["lines"] == 0 {
		return s, fmt.Errorf("export: drawing %q: there is nothing to draw", f.Name)
	}
	s.Counts["nodes"] = nodes
	s.setBox(box)
	return s, nil
}

func (s *Summary) setBox(b r2.Box) { s.Box = [4]float64{b.Min.X, b.Min.Y, b.Max.X, b.Max.Y} }

func (s *Summary) box() r2.Box {
	return r2.Box{Min: r2.Vec{X: s.Box[0], Y: s.Box[1]}, Max: r2.Vec{X: s.Box[2], Y: s.Box[3]}}
}
