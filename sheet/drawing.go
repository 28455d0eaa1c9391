package sheet

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Drawing is lines and words on paper, millimetres, with the origin at the top
// left and y down. It knows nothing of PDF or SVG; both are written from it.
type Drawing struct {
	Width, Height float64
	Lines         []Line
	Labels        []Label
	Legend        []Key
	Caption       string // scale and what is drawn
}

// Line is an open or closed line of straight stretches.
type Line struct {
	Points []r2.Vec
	Closed bool
	Pen    Pen
}

// Label is words at a place; a label on lines has a white ground.
type Label struct {
	At     r2.Vec // its middle
	Text   string
	Size   float64 // height of the letters' body
	Bold   bool
	Ground bool
}

// Key tells what a pen stands for.
type Key struct {
	Pen  Pen
	Text string
}

// Pen is how a line looks; no two differ by colour alone.
type Pen int

// The pens of the drawing.
const (
	Edge      Pen = iota + 1 // outline of the metal
	Margin                   // border of the field
	Window                   // windows and ground kept clear
	FirstCut                 // the first cut
	LastCut                  // the last
	SomeCut                  // cuts between
	Foot                     // foot of the guide
	Direction                // arrows and scale
)

// pens are the width, dashes (mm) and grey (0 black) of each Pen.
var pens = map[Pen]struct {
	width float64
	dash  []float64
	grey  int
}{
	Edge:      {width: 0.5},
	Margin:    {width: 0.18, dash: []float64{0.4, 0.8}},
	Window:    {width: 0.35, dash: []float64{1.6, 0.8, 0.3, 0.8}},
	FirstCut:  {width: 0.55},
	LastCut:   {width: 0.55, dash: []float64{2.2, 1.2}},
	SomeCut:   {width: 0.15, grey: 70},
	Foot:      {width: 0.4},
	Direction: {width: 0.3},
}

// letter is the mean width of a digit or small letter as a share of the size:
// 0.556 for the Go fonts' digits.
const letter = 0.556

func (l Label) box() r2.Box {
	w, h := float64(len([]rune(l.Text)))*letter*l.Size, 0.8*l.Size
	if l.Bold {
		w *= 1.08
	}
	return r2.Box{Min: r2.Vec{X: l.At.X - w/2, Y: l.At.Y - h/2}, Max: r2.Vec{X: l.At.X + w/2, Y: l.At.Y + h/2}}
}

func overlap(a, b r2.Box, gap float64) bool {
	return a.Min.X < b.Max.X+gap && b.Min.X < a.Max.X+gap && a.Min.Y < b.Max.Y+gap && b.Min.Y < a.Max.Y+gap
}

// place sets the label at the first of the places where it meets no other, and
// says whether there was one.
func (d *Drawing) place(l Label, places []r2.Vec) bool {
	for _, at := range places {
		l.At = at
		box := l.box()
		if box.Min.X < 0 || box.Min.Y < 0 || box.Max.X > d.Width || box.Max.Y > d.Height {
			continue
		}
		free := true
		for _, other := range d.Labels {
			if overlap(box, other.box(), 0.5) {
				free = false
				break
			}
		}
		if free {
			d.Labels = append(d.Labels, l)
			return true
		}
	}
	return false
}

func (d *Drawing) line(pen Pen, closed bool, points ...r2.Vec) {
	if len(points) < 2 {
		return
	}
	for _, p := range points {
		if !finite(p.X, p.Y) {
			return
		}
	}
	d.Lines = append(d.Lines, Line{Points: points, Closed: closed, Pen: pen})
}

// arrow draws a line with an open head at its end.
func (d *Drawing) arrow(from, to r2.Vec) {
	d.line(Direction, false, from, to)
	u := r2.Sub(to, from)
	if n := r2.Norm(u); n > 0 {
		u = r2.Scale(1/n, u)
	}
	v := r2.Vec{X: -u.Y, Y: u.X}
	back := r2.Sub(to, r2.Scale(2, u))
	d.line(Direction, false, r2.Add(back, r2.Scale(0.8, v)), to, r2.Sub(back, r2.Scale(0.8, v)))
}

// circle draws a circle in straight stretches finer than print shows.
func (d *Drawing) circle(pen Pen, c r2.Vec, r float64) {
	n := 24 + int(min(r, 200)*4)
	points := make([]r2.Vec, n)
	for i := range points {
		s, co := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		points[i] = r2.Vec{X: c.X + r*co, Y: c.Y + r*s}
	}
	d.line(pen, true, points...)
}
