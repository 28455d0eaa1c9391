package depth

import (
	"math"

	"brightcut/blank"

	"gonum.org/v1/gonum/spatial/r2"
)

// marks tells whether a place lies on ground that must stay unmarked, at the cost
// of a distance only when the place may have come to its edge.
type marks struct {
	windows []blank.Window
	at      r2.Vec
	free    float64 // within this of at nothing changes
	in      bool
}

func (m *marks) begin() { m.free = -1 }

func (m *marks) clear(p r2.Vec) bool {
	if len(m.windows) == 0 {
		return false
	}
	if d := r2.Sub(p, m.at); m.free > 0 && float64(d.X*d.X)+float64(d.Y*d.Y) < float64(m.free*m.free) {
		return m.in
	}
	d := math.Inf(1)
	for _, w := range m.windows {
		d = min(d, w.Shape.Distance(p)-w.Border)
	}
	m.at, m.free, m.in = p, math.Abs(d), d <= 0
	return m.in
}
