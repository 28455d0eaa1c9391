package export

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/bar"
	"brightcut/depth"
	"brightcut/engine"
	"brightcut/fault"
	"brightcut/job"
)

// Subject is what leaves the program.
type Subject string

// The subjects.
const (
	Cuts    Subject = "cuts"    // paths of the tip over the work
	Places  Subject = "places"  // every place of those paths
	Surface Subject = "surface" // what they leave
	Edge    Subject = "bar"     // a bar or a rosette
)

// formats are the endings of the files that each subject can be written to, the
// usual first.
var formats = map[Subject][]string{
	Cuts:    {"svg", "dxf", "csv", "ngc", "pdf", "png"},
	Places:  {"csv"},
	Surface: {"stl", "3mf", "obj", "png"},
	Edge:    {"svg", "dxf", "stl", "3mf", "obj", "ngc", "pdf", "png"},
}

// Formats lists the endings of the files that a subject can be written to.
func Formats(s Subject) []string { return slices.Clone(formats[s]) }

// Usual returns what of a job is most likely wanted in a format.
func Usual(format string) Subject {
	if slices.Contains(formats[Cuts], format) {
		return Cuts
	}
	return Surface
}

// Order says what is to be written, and how; UsualOrder has the usual answers.
type Order struct {
	Subject Subject
	Format  string // ending of the file, "svg"

	DXF       DXFVersion
	Tolerance float64    // of outlines and of stretches put together, mm
	Shape     Shape      // of a bar or rosette besides its edge
	Thickness float64    // of a bar or rosette as a solid, mm
	Name      *Lettering // sunk into it; nil is none
	Milling   Milling
	Engraving Engraving
	Window    *r2.Box // of the surface, mm; nil is 5 mm square about the middle of the blank
	Relief    float64 // tolerance of the surface as a solid, mm
	Base      float64 // how far below the surface its underside lies, mm
	Pixels    float64 // to the millimetre, of a PNG; 0 makes its longer side 2000
	Paper     Paper
}

// UsualOrder is an order with the usual answers: a bar of 3 mm sheet milled by a
// cutter of 1 mm, a surface true to 5 µm. (The feeds are gentle ones for brass on a
// small machine; common practice, no source.)
func UsualOrder(s Subject, format string) Order {
	return Order{
		Subject: s, Format: format, DXF: DXF2000, Tolerance: DefaultTolerance, Thickness: 3, Relief: 0.005, Base: 0.5, Paper: A4,
		Milling:   Milling{Cutter: 1, Thickness: 3, Through: 0.1, Pass: 0.5, Feed: 120, Plunge: 40, Spindle: 8000, Safe: 5},
		Engraving: Engraving{Feed: 200, Plunge: 60, Safe: 1},
	}
}

// Check returns what keeps the order from being carried out, as far as that can be
// told beforehand. Fields: "what", "format".
func (o *Order) Check() fault.List {
	known, ok := formats[o.Subject]
	if !ok {
		return fault.List{{Field: "what", Problem: fmt.Sprintf("%q cannot be written", o.Subject), Mend: "write cuts, places, surface or bar"}}
	}
	if !slices.Contains(known, o.Format) {
		return fault.List{{Field: "format", Problem: fmt.Sprintf("%s cannot be written as .%s", told[o.Subject], o.Format), Mend: "write ." + strings.Join(known, ", .")}}
	}
	return nil
}

var told = map[Subject]string{Cuts: "cuts", Places: "places of cuts", Surface: "a surface", Edge: "a bar or rosette"}

// Job writes what was ordered of a job whose cuts are those of list; plan is nil
// when its depth was not planned, and stock what is known of the blank's form, nil
// for a flat one. It returns the summary of what was written, to be told as JSON.
func (o *Order) Job(ctx context.Context, w io.Writer, j *job.Job, list *engine.List, plan *depth.Plan, stock *depth.Stock) (any, error) {
	if err := o.Check().Err(); err != nil {
		return nil, err
	}
	if o.Subject == Surface {
		cuts := list.Cuts
		if plan != nil {
			cuts = plan.List(list).Cuts
		}
		return o.surface(ctx, w, j, cuts)
	}
	p := NewPiece(j, list, plan, stock)
	switch {
	case o.Subject == Places:
		return VerticesCSV(w, p)
	case o.Format == "csv":
		return CutsCSV(w, p)
	case o.Format == "ngc":
		e := o.Engraving
		if e.Tolerance == 0 {
			e.Tolerance = o.Tolerance
		}
		return Engrave(w, p, e)
	}
	return o.flat(w, p.Figure())
}

// Edge writes a bar or a rosette.
func (o *Order) Edge(ctx context.Context, w io.Writer, e bar.Edge) (any, error) {
	if err := o.Check().Err(); err != nil {
		return nil, err
	}
	s := o.Shape
	if s.Name == "" {
		s.Name = e.Name
	}
	if s.Tolerance == 0 {
		s.Tolerance = o.Tolerance
	}
	if e.Radius == 0 && s.Back == 0 {
		s.Back = usualBack
	}
	if from, _ := e.Span(); e.Radius == 0 && s.From == s.To && math.IsInf(from, 0) {
		s.From, s.To = -usualReach, usualReach
	}
	t, err := NewTemplate(e, s)
	if err != nil {
		return nil, err
	}
	switch o.Format {
	case "ngc":
		return Mill(w, t, o.Milling)
	case "stl", "3mf", "obj":
		b, err := NewBody(t.Name, t.Loops(o.Tolerance), o.Thickness, o.lettering(e, s, t))
		if err != nil {
			return nil, err
		}
		return o.solid(ctx, w, b)
	}
	return o.flat(w, t.Figure())
}

// Of sets what the job's engine says of a bar: one as long as it needs to be bears
// its edge all along the stroke.
func (o *Order) Of(j *job.Job) {
	if e := &j.Setup.Engine; o.Shape.From == o.Shape.To && e.Kind == engine.StraightLine {
		o.Shape.From, o.Shape.To = e.StrokeMin, e.StrokeMax
	}
}

// usualReach is to where a bar without a length bears its edge to either side of 0
// when no engine tells, mm.
const usualReach = 50.0

// usualBack is how far a bar's back lies below the datum of its edge when nothing
// else is asked for, mm.
const usualBack = 10.0

// lettering is the sunk name with a place and a size where none are given: below
// the edge of a bar in its middle, or half-way between bore and edge of a rosette.
func (o *Order) lettering(e bar.Edge, s Shape, t *Template) *Lettering {
	if o.Name == nil || o.Name.Height != 0 {
		return o.Name
	}
	l := *o.Name
	l.Depth = min(0.3, o.Thickness/4)
	if e.Radius > 0 {
		inner := s.Bore / 2
		l.Height, l.At = min(3, (e.Radius-inner)/4), r2.Vec{Y: -(e.Radius + inner) / 2}
		return &l
	}
	box := nobox()
	t.Outer.grow(&box)
	down := 0.6 // below the hollows of the edge
	if e.Other != nil {
		down = 0.5
	}
	l.Height, l.At = min(3, s.Back/3), r2.Vec{X: (box.Min.X + box.Max.X) / 2, Y: -down * s.Back}
	return &l
}

// flat writes a figure in a flat format.
func (o *Order) flat(w io.Writer, f Figure) (any, error) {
	switch o.Format {
	case "svg":
		return SVG(w, f)
	case "dxf":
		return DXF(w, f, o.DXF)
	case "pdf":
		return PDF(w, f, o.Paper)
	}
	pixels := o.Pixels
	if pixels == 0 {
		box := nobox()
		for l := range f.Lines {
			l.grow(&box)
		}
		if box.Max.X < box.Min.X {
			return nil, fault.List{{Field: "what", Problem: "there is nothing to draw", Mend: "let the job make a cut"}}
		}
		pixels = usualPixels / max(box.Max.X-box.Min.X, box.Max.Y-box.Min.Y, 1e-3)
	}
	return PNG(w, f, pixels)
}

// usualPixels is the longer side of a PNG when nothing else is asked for.
const usualPixels = 2000

func (o *Order) solid(ctx context.Context, w io.Writer, s Solid) (any, error) {
	switch o.Format {
	case "stl":
		return STL(ctx, w, s)
	case "3mf":
		return ThreeMF(ctx, w, s)
	}
	return OBJ(ctx, w, s)
}

// surface writes what the cuts leave.
func (o *Order) surface(ctx context.Context, w io.Writer, j *job.Job, cuts []engine.Cut) (any, error) {
	box := j.Setup.Blank.Bounds()
	window := o.Window
	if window == nil {
		if o.Format == "png" {
			window = &box
		} else {
			const half = 2.5
			c := r2.Scale(0.5, r2.Add(box.Min, box.Max))
			window = &r2.Box{Min: r2.Vec{X: c.X - half, Y: c.Y - half}, Max: r2.Vec{X: c.X + half, Y: c.Y + half}}
		}
	}
	if o.Format == "png" {
		pixels := o.Pixels
		if pixels == 0 {
			pixels = usualPixels / max(window.Max.X-window.Min.X, window.Max.Y-window.Min.Y)
		}
		return Heights(ctx, w, cuts, j.Setup.Cutter, HeightsOptions{Name: j.Title, Window: *window, Pixel: 1 / pixels})
	}
	r, err := NewRelief(ctx, cuts, j.Setup.Cutter, ReliefOptions{Name: j.Title, Window: *window, Tolerance: o.Relief, Base: o.Base})
	if err != nil {
		return nil, err
	}
	return o.solid(ctx, w, r)
}
