package blank

import "gonum.org/v1/gonum/spatial/r2"

// Field is a part of the work, made ready for many questions. It may be asked
// from several goroutines at once.
type Field struct {
	outline edge
	border  float64
	holes   []hole
	bounds  r2.Box
}

// hole is a shape, grown by its border, that is not part of the field.
type hole struct {
	edge   edge
	border float64
	centre r2.Vec  // of a circle round the shape
	reach  float64 // its radius, with the border
}

// Field returns the ground to be cut: the outline drawn in by its border, less
// the windows and the ground to be kept clear, each grown by its own border.
// The blank must have passed Check.
func (b *Blank) Field() *Field {
	f := b.field(b.Border)
	for _, w := range b.Windows {
		f.less(w.Shape, w.Border)
	}
	for _, w := range b.KeepClear {
		f.less(w.Shape, w.Border)
	}
	return f
}

// Ground returns the metal that is there: the outline less the open windows.
// The blank must have passed Check.
func (b *Blank) Ground() *Field {
	f := b.field(0)
	for _, w := range b.Windows {
		if w.Open {
			f.less(w.Shape, 0)
		}
	}
	return f
}

// Distance returns the signed distance from p to the edge of the metal itself,
// the outline less the open windows, as Field.Distance does. To ask many times,
// ask the Ground.
func (b *Blank) Distance(p r2.Vec) float64 {
	d := b.Outline.Distance(p)
	for _, w := range b.Windows {
		if w.Open {
			d = max(d, -w.Shape.Distance(p))
		}
	}
	return d
}

// Bounds returns the smallest upright box round the outline.
func (b *Blank) Bounds() r2.Box { return b.Outline.Bounds() }

func (b *Blank) field(border float64) *Field {
	f := &Field{outline: newEdge(b.Outline), border: border, bounds: b.Outline.Bounds()}
	in := r2.Vec{X: border, Y: border}
	f.bounds = r2.Box{Min: r2.Add(f.bounds.Min, in), Max: r2.Sub(f.bounds.Max, in)}
	return f
}

func (f *Field) less(s Shape, border float64) {
	box := s.Bounds()
	c := r2.Scale(0.5, r2.Add(box.Min, box.Max))
	f.holes = append(f.holes, hole{
		edge: newEdge(s), border: border,
		centre: c, reach: length(box.Max.X-c.X, box.Max.Y-c.Y) + border,
	})
}

// Distance returns a signed distance from p to the edge of the field, mm:
// negative in the field, positive outside.
//
// In the field it is exact. Outside it is never more than the true distance to
// the field. Everywhere it changes by no more than p moves, so a path can be
// marched by it without stepping over an edge.
func (f *Field) Distance(p r2.Vec) float64 {
	d := f.outline.distance(p) + f.border
	for i := range f.holes {
		h := &f.holes[i]
		// The hole cannot matter when even the circle round it is farther.
		// reach − |p − centre| ≤ d, without the root:
		if far := h.reach - d; far <= 0 {
			continue
		} else if x, y := p.X-h.centre.X, p.Y-h.centre.Y; float64(x*x)+float64(y*y) >= float64(far*far) {
			continue
		}
		d = max(d, h.border-h.edge.distance(p))
	}
	return d
}

// Bounds returns a box that holds the whole field: the outline's, drawn in by
// the border.
func (f *Field) Bounds() r2.Box { return f.bounds }
