package depth

import (
	"context"
	"fmt"
	"math"

	"brightcut/engine"
	"brightcut/fault"
	"brightcut/surface"

	"gonum.org/v1/gonum/spatial/r2"
)

// task is a Work made ready to predict the depth of its cuts in one order.
type task struct {
	work      *Work
	cuts      []engine.Cut // in the order of cutting
	written   []int        // their numbers in the job
	scale     scale
	total     int // spots of all cuts
	ground    *ground
	flex      float64 // of the guide under the hand, mm
	extension float64 // of the guide less the depth it is set for, mm
	tan       float64 // 2·tan α
	tolerance float64
	spare     columns // of a prediction that was dropped
}

// newTask makes the work ready, in the job's order. Its error is a fault.List
// where the work asks for more than can be done.
func newTask(ctx context.Context, w *Work, tolerance float64) (*task, error) {
	if err := w.Check().Err(); err != nil {
		return nil, err
	}
	m := &task{work: w, cuts: w.List.Cuts, tan: w.Cutter.Sensitivity(), tolerance: tolerance}
	m.written = make([]int, len(m.cuts))
	for i := range m.written {
		m.written[i] = i + 1
	}
	base := w.Depth
	if base == 0 {
		base = m.cuts[0].Depth
	}
	foot := 0.0
	if g := w.Guide; g != nil {
		m.extension, m.flex = g.Extension-base, g.Compliance*w.Pressure.Force
		foot = g.FootRadius + g.FootWidth/2
	}
	grid, err := w.grid(foot)
	if err != nil {
		return nil, err
	}
	if err := m.lay(grid.Cell); err != nil {
		return nil, err
	}
	m.ground, err = newGround(ctx, w, grid, foot)
	return m, err
}

// lay chooses the spots.
func (m *task) lay(cell float64) error {
	pitch := m.work.Pitch
	if pitch == 0 {
		pitch = 2 * cell
	}
	for {
		m.scale = newScale(m.cuts, pitch)
		m.total = 0
		for i := range m.cuts {
			m.total += m.scale.count(&m.cuts[i])
		}
		if m.total <= mostPlaces {
			break
		}
		if m.work.Pitch != 0 || pitch > 1000 {
			return fault.List{{Field: "pitch", Problem: fmt.Sprintf("the cuts have %d places %s mm apart, more than the %d that can be worked out", m.total, short(pitch), mostPlaces), Mend: "give a longer pitch, or none"}}
		}
		pitch *= max(1.01, float64(m.total)/mostPlaces)
	}
	if m.total == 0 {
		return fault.List{{Field: "sequence", Problem: "no cut has a path", Mend: "let the cuts pass over the field"}}
	}
	return nil
}

// grid lays cells over the metal that the cuts and the foot come to.
func (w *Work) grid(foot float64) (surface.Grid, error) {
	away := 1.0
	if w.Guide != nil {
		away += w.Guide.Offset + foot
	}
	low, high := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for i := range w.List.Cuts {
		for _, p := range w.List.Cuts[i].Pieces {
			for _, v := range p.Path {
				if !finite(v.X, v.Y, v.Z, v.Across) {
					return surface.Grid{}, fmt.Errorf("depth: cut %d has a place that is not finite", i+1)
				}
				low = r2.Vec{X: min(low.X, v.X), Y: min(low.Y, v.Y)}
				high = r2.Vec{X: max(high.X, v.X), Y: max(high.Y, v.Y)}
			}
		}
	}
	box := w.Blank.Bounds()
	low = r2.Vec{X: max(low.X-away, box.Min.X), Y: max(low.Y-away, box.Min.Y)}
	high = r2.Vec{X: min(high.X+away, box.Max.X), Y: min(high.Y+away, box.Max.Y)}
	width, height := high.X-low.X, high.Y-low.Y
	if !(width > 0) || !(height > 0) {
		return surface.Grid{}, fault.List{{Field: "sequence", Problem: "no cut lies on the work", Mend: "let the cuts pass over the blank"}}
	}
	cell := w.Cell
	cells := func(c float64) float64 { return math.Ceil(width/c) * math.Ceil(height/c) }
	if cell == 0 {
		cell = DefaultCell
		if n := cells(cell); n > mostCells {
			cell *= math.Sqrt(n/mostCells) * 1.001
		}
	}
	if n := cells(cell); n > mostCells || math.Ceil(max(width, height)/cell) > surface.MaxSide {
		return surface.Grid{}, fault.List{{Field: "cell", Problem: fmt.Sprintf("cells of %s mm make %.3g of them, more than the %d that can be held", short(cell), n, mostCells), Mend: "give a larger cell, or none"}}
	}
	return surface.Grid{X0: low.X + cell/2, Y0: low.Y + cell/2, Cell: cell, Nx: int(math.Ceil(width / cell)), Ny: int(math.Ceil(height / cell))}, nil
}

// spots returns the spots of cut i, from 0, in buffer if it is large enough.
func (m *task) spots(buffer []spot, i int) []spot { return m.scale.along(buffer[:0], &m.cuts[i]) }

// opens says whether spot k of cut i, from 0, begins a piece.
func (m *task) opens(i, k int) bool { return m.spots(nil, i)[k].first }

// foot returns where the guide's foot stands.
func (m *task) foot(s *spot) (x, y float64) {
	g := m.work.Guide.Offset * m.work.Guide.Side.sign()
	return s.x + float64(g*s.ux), s.y + float64(g*s.uy)
}

// width returns what Cutter.Width does, without its tangent.
func (m *task) width(depth float64) float64 {
	if depth <= 0 {
		return 0
	}
	return m.work.Cutter.Flat + float64(depth*m.tan)
}

// wished returns the width wished for cut i, from 0.
func (m *task) wished(i int) float64 { return m.work.Cutter.Width(m.cuts[i].Depth) }

func finite(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
