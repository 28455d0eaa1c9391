package export

import (
	"fmt"
	"io"
	"iter"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"brightcut/engine"
	"brightcut/fault"
	"brightcut/internal/polyline"
)

// Engraving says how the cuts are run on a machine with its own control, by a drag
// point or a V turned by a spindle.
type Engraving struct {
	Feed      float64 // mm/min
	Plunge    float64 // feed downwards, mm/min
	Spindle   float64 // turns a minute; 0 is a point that is dragged
	Safe      float64 // height between cuts above the highest place of the work under them, mm
	Tolerance float64 // by which stretches put together may be off the path, mm; 0 is DefaultTolerance
	Inch      bool
}

// Check returns what keeps the cuts from being run so. Fields: "feed", "plunge",
// "spindle", "safe", "tolerance".
func (e *Engraving) Check() (faults fault.List) {
	need := func(field string, v, least, most float64, unit string) {
		if !(v >= least && v <= most) {
			faults = append(faults, fault.Fault{Field: field, Problem: fmt.Sprintf("%g %s cannot be worked with", v, unit), Mend: fmt.Sprintf("give between %g and %g %s", least, most, unit)})
		}
	}
	need("feed", e.Feed, 1, 20000, "mm/min")
	need("plunge", e.Plunge, 1, 20000, "mm/min")
	need("spindle", e.Spindle, 0, 200000, "turns a minute")
	need("safe", e.Safe, 0.05, 200, "mm")
	need("tolerance", e.Tolerance, 0, 0.5, "mm")
	return faults
}

// probePitch is how far apart the surface is asked along a cut, mm: readings of
// stock lie millimetres apart, and its form is smooth between them.
const probePitch = 0.25

// Engrave writes the program that runs the cuts of the piece in their order. The
// tip stands everywhere below the surface of the stock by the wished depth, square
// to the nominal form; between cuts it is lifted clear. Places stand in the frame of the work, Z from the nominal
// surface.
func Engrave(w io.Writer, p *Piece, e Engraving) (Summary, error) {
	if faults := e.Check(); len(faults) > 0 {
		return Summary{}, faults
	}
	if _, err := p.measure("G-code"); err != nil {
		return Summary{}, err
	}
	if e.Tolerance == 0 {
		e.Tolerance = DefaultTolerance
	}
	remarks, high, unknown, places := p.engravingRemarks(e)
	g := newProgram(w, p.Name, e.Inch, append([]string{
		"X and Y from the middle of the chuck, Z 0 on the nominal surface of the work",
	}, remarks...))
	safe := high + e.Safe
	g.lift(safe)
	g.spindle(e.Spindle)
	pieces := 0
	for i := range p.Cuts {
		c := &p.Cuts[i]
		if len(c.Pieces) == 0 {
			continue
		}
		g.comment(fmt.Sprintf("cut %d", c.Number))
		for k := range c.Pieces {
			path := polyline.Simplify(p.onSurface(c.Pieces[k].Path), e.Tolerance, polyline.Off3)
			if len(path) < 2 {
				continue
			}
			pieces++
			g.above(r2.Vec{X: path[0].X, Y: path[0].Y})
			g.feedRate = e.Plunge
			g.cut(r2.Vec{X: path[0].X, Y: path[0].Y}, path[0].Z)
			g.feedRate = e.Feed
			for _, q := range path[1:] {
				g.cut(r2.Vec{X: q.X, Y: q.Y}, q.Z)
			}
			g.lift(safe)
		}
	}
	if err := g.finish(e.Spindle > 0); err != nil {
		return Summary{}, fmt.Errorf("export: writing G-code of %q: %w", p.Name, err)
	}
	s := g.summary(p.Name, e.Tolerance)
	s.Counts["cuts"], s.Counts["pieces"] = len(p.Cuts), pieces
	s.Counts["places"], s.Counts["places beyond the readings"] = places, unknown
	s.Remarks = remarks
	return s, nil
}

// engravingRemarks walks the cuts once: the highest place of the work under them,
// and how many places lie beyond the readings.
func (p *Piece) engravingRemarks(e Engraving) (remarks []string, high float64, unknown, places int) {
	for i := range p.Cuts {
		for k := range p.Cuts[i].Pieces {
			for v := range p.places(p.Cuts[i].Pieces[k].Path) {
				places++
				z, _, known := p.height(r2.Vec{X: v.X, Y: v.Y})
				high = max(high, z)
				if !known {
					unknown++
				}
			}
		}
	}
	if e.Spindle == 0 {
		remarks = append(remarks, "The spindle stands still: the point is dragged through the metal.")
	}
	remarks = append(remarks, "A round point cuts as wide along a wave's flank as on its crest; the engine's flat V, which does not turn, cuts narrower there.")
	if p.form != nil {
		remarks = append(remarks, "The work is not flat, and the cutter of this program does not lean: its groove leans on the slopes.")
	}
	switch {
	case p.stock == nil:
		remarks = append(remarks, "The work was not probed: Z takes it as flat and true. Probe it first, or the width of the cuts will not be even.")
	case unknown == places:
		remarks = append(remarks, "There are no readings of the work: Z takes it as true to its form. Probe it first, or the width of the cuts will not be even.")
	case unknown > 0:
		remarks = append(remarks, fmt.Sprintf("%.0f %% of the way lies beyond the readings of the work, where its height is a guess. Probe there too.", math.Ceil(100*float64(unknown)/float64(places))))
	}
	return remarks, high, unknown, places
}

// height is that of the uncut work, its nominal form and what the readings left of
// it, mm, and how much deeper than square to it a depth is measured upright.
func (p *Piece) height(q r2.Vec) (z, upright float64, known bool) {
	upright = 1
	if p.stock != nil {
		z, _, known = p.stock.Height(q)
	}
	if p.form != nil {
		form, slope, _, ok := p.form.Height(q)
		if !ok {
			return z, 1, false
		}
		z += form
		upright = math.Sqrt(1 + r2.Norm2(slope))
	}
	return z, upright, known
}

// places yields the tip's places below the nominal surface, so close that the form
// of the stock is followed.
func (p *Piece) places(path []engine.Vertex) iter.Seq[r3.Vec] {
	return func(yield func(r3.Vec) bool) {
		for i, v := range path {
			to := r3.Vec{X: v.X, Y: v.Y, Z: v.Z}
			if i > 0 && (p.stock != nil || p.form != nil) {
				from := r3.Vec{X: path[i-1].X, Y: path[i-1].Y, Z: path[i-1].Z}
				n := int(math.Ceil(r3.Norm(r3.Sub(to, from)) / probePitch))
				for k := 1; k < n; k++ {
					if !yield(r3.Add(from, r3.Scale(float64(k)/float64(n), r3.Sub(to, from)))) {
						return
					}
				}
			}
			if !yield(to) {
				return
			}
		}
	}
}

// onSurface is the path with the stock's own height added.
func (p *Piece) onSurface(path []engine.Vertex) []r3.Vec {
	out := make([]r3.Vec, 0, len(path))
	for v := range p.places(path) {
		z, upright, _ := p.height(r2.Vec{X: v.X, Y: v.Y})
		v.Z = z + v.Z*upright
		out = append(out, v)
	}
	return out
}
