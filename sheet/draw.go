package sheet

import (
	"fmt"
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
	"brightcut/depth"
	"brightcut/engine"
	"brightcut/internal/polyline"
	"brightcut/job"
)

const (
	drawWidth  = 176.0 // mm on paper; fits A4 and Letter
	drawHeight = 172.0
	drawFrame  = 17.0 // kept round the piece for numbers and arrows
	finest     = 0.03 // mm on paper: what a line is drawn true to, below what print shows
	mostCuts   = 220  // drawn
)

// scales are those that a scale rule or a plain head can turn back.
var scales = []float64{20, 10, 8, 5, 4, 3, 2, 1.5, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01}

// view places the work on the paper.
type view struct {
	d      *Drawing
	scale  float64
	middle r2.Vec // of the work
}

func (v view) at(x, y float64) r2.Vec {
	return r2.Vec{X: v.d.Width/2 + (x-v.middle.X)*v.scale, Y: v.d.Height/2 - (y-v.middle.Y)*v.scale}
}

// draw draws the piece with its first, last and every tenth cut.
func (k *speaker) draw(j *job.Job, l *engine.List) *Drawing {
	b := &j.Setup.Blank
	box := b.Outline.Bounds()
	size := r2.Sub(box.Max, box.Min)
	if b.Outline.Form == 0 || !finite(size.X, size.Y, box.Min.X, box.Min.Y) || !(size.X > 0 && size.Y > 0) {
		return nil
	}
	scale := 0.0
	for _, s := range scales {
		if size.X*s <= drawWidth-2*drawFrame && size.Y*s <= drawHeight-2*drawFrame {
			scale = s
			break
		}
	}
	if scale == 0 {
		return nil // wider than 14 m: no engine holds it
	}
	d := &Drawing{Width: drawWidth, Height: size.Y*scale + 2*drawFrame}
	v := view{d: d, scale: scale, middle: r2.Scale(0.5, r2.Add(box.Min, box.Max))}

	step := 10
	for len(l.Cuts)/step > mostCuts {
		step *= 10
	}
	firstCut, lastCut := ends(l)
	for i := range l.Cuts {
		if c := &l.Cuts[i]; c.Number%step == 0 && i != firstCut && i != lastCut {
			v.cut(SomeCut, c)
		}
	}
	v.outlines(b)
	if lastCut > firstCut {
		v.cut(LastCut, &l.Cuts[lastCut])
	}
	if firstCut >= 0 {
		v.cut(FirstCut, &l.Cuts[firstCut])
	}
	v.furniture(k, j, l, firstCut)
	if firstCut >= 0 {
		v.number(b, &l.Cuts[firstCut], true)
	}
	if lastCut > firstCut {
		v.number(b, &l.Cuts[lastCut], true)
	}
	unnumbered := false
	for i := range l.Cuts {
		if c := &l.Cuts[i]; c.Number%step == 0 && i != firstCut && i != lastCut && len(c.Pieces) > 0 {
			unnumbered = !v.number(b, c, false) || unnumbered
		}
	}
	v.legend(b, firstCut, lastCut, step, len(l.Cuts))
	d.Caption = "Scale " + ratio(scale) + ", seen from the cutter."
	if unnumbered {
		d.Caption += " Cuts whose number finds no room are drawn without it."
	}
	if guideDrawn := j.Guide != nil && firstCut >= 0; guideDrawn {
		d.Caption += " The guide's foot is shown at the start of the first cut."
	}
	return d
}

// ends are the first and the last cut that touch the field; −1 for none.
func ends(l *engine.List) (first, last int) {
	first, last = -1, -1
	for i := range l.Cuts {
		if len(l.Cuts[i].Pieces) > 0 {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	return first, last
}

func ratio(scale float64) string {
	if scale >= 1 {
		return trimmed(scale, 1) + " : 1"
	}
	return "1 : " + trimmed(1/scale, 1)
}

func (v view) cut(pen Pen, c *engine.Cut) {
	for _, p := range c.Pieces {
		points := make([]r2.Vec, 0, len(p.Path))
		for _, q := range p.Path {
			points = append(points, v.at(q.X, q.Y))
		}
		v.d.line(pen, false, polyline.Simplify(points, finest, polyline.Off)...)
	}
}

// outlines draws the edge of the metal, the windows, the ground kept clear and
// the borders.
func (v view) outlines(b *blank.Blank) {
	v.shape(Edge, b.Outline)
	v.margin(b.Outline, -b.Border)
	for _, w := range b.Windows {
		pen := Window
		if w.Open {
			pen = Edge
		}
		v.shape(pen, w.Shape)
		v.margin(w.Shape, w.Border)
		v.name(w)
	}
	for _, w := range b.KeepClear {
		v.shape(Window, w.Shape)
		v.margin(w.Shape, w.Border)
		v.name(w)
	}
}

func (v view) shape(pen Pen, s blank.Shape) {
	for _, loop := range s.Outline(finest / v.scale) {
		points := make([]r2.Vec, len(loop))
		for i, p := range loop {
			points[i] = v.at(p.X, p.Y)
		}
		v.d.line(pen, true, points...)
	}
}

// margin draws the line that stands off the edge of a shape by a border,
// outwards when it is above 0. Every point of the edge is moved square to it and
// kept where the shape's own distance says that no other part of the edge is
// nearer, so that corners meet as the field's do.
func (v view) margin(s blank.Shape, border float64) {
	const mostCorners = 400 // a distance looks at every corner
	if border == 0 || !finite(border) || len(s.Points) > mostCorners {
		return
	}
	pitch := 0.4 / v.scale
	for _, loop := range s.Outline(finest / v.scale) {
		var line []r2.Vec
		keep := func(p r2.Vec) {
			if math.Abs(s.Distance(p)-border) < 2*finest/v.scale {
				line = append(line, v.at(p.X, p.Y))
			}
		}
		for i, a := range loop {
			b := loop[(i+1)%len(loop)]
			edge := r2.Sub(b, a)
			length := r2.Norm(edge)
			if length == 0 {
				continue
			}
			// The metal is on the left of a loop, so outwards is on the right.
			out := r2.Vec{X: edge.Y / length, Y: -edge.X / length}
			before := r2.Sub(a, loop[(i+len(loop)-1)%len(loop)])
			if n := r2.Norm(before); n > 0 {
				from := r2.Vec{X: before.Y / n, Y: -before.X / n}
				for t := 1; t < 8; t++ { // round the corner
					turn := r2.Add(r2.Scale(1-float64(t)/8, from), r2.Scale(float64(t)/8, out))
					if n := r2.Norm(turn); n > 0.1 {
						keep(r2.Add(a, r2.Scale(border/n, turn)))
					}
				}
			}
			n := 1 + int(min(length/pitch, 2000))
			for t := range n + 1 {
				keep(r2.Add(r2.Add(a, r2.Scale(float64(t)/float64(n), edge)), r2.Scale(border, out)))
			}
		}
		v.d.line(Margin, true, polyline.Simplify(line, finest/2, polyline.Off)...)
	}
}

// name writes the name of a window in its middle when it has room there.
func (v view) name(w blank.Window) {
	c := w.Shape.Centre
	l := Label{Text: clip(oneLine(w.Name), 24), Size: 2.8}
	if l.Text == "" {
		return
	}
	box, room := l.box(), w.Shape.Bounds()
	if box.Max.X-box.Min.X < (room.Max.X-room.Min.X)*v.scale {
		l.Ground = true
		v.d.place(l, []r2.Vec{v.at(c.X, c.Y)})
		return
	}
	half := (room.Max.Y-room.Min.Y)/2*v.scale + 2.5
	l.Ground = true
	v.d.place(l, []r2.Vec{r2.Add(v.at(c.X, c.Y), r2.Vec{Y: half}), r2.Add(v.at(c.X, c.Y), r2.Vec{Y: -half})})
}

// number writes the number of a cut: beyond the edge of the metal past its ends
// where there is room, otherwise on the line itself.
func (v view) number(b *blank.Blank, c *engine.Cut, bold bool) bool {
	l := Label{Text: strconv.Itoa(c.Number), Size: 2.6, Bold: bold, Ground: true}
	if bold {
		l.Size = 3.4
	}
	var places []r2.Vec
	head, tail := c.Pieces[0].Path, c.Pieces[len(c.Pieces)-1].Path
	if len(head) == 0 || len(tail) == 0 {
		return false
	}
	if !c.Pieces[0].Closed {
		places = append(places, v.beyond(b, tail[len(tail)-1], tail[0], l)...)
		places = append(places, v.beyond(b, head[0], head[len(head)-1], l)...)
	}
	for i := range 24 {
		// Rings begin at the top, so that their numbers stand one above another.
		p := tail[len(tail)*((2*i+12)%48)/48]
		places = append(places, v.at(p.X, p.Y))
	}
	return v.d.place(l, places)
}

// beyond are places past the end of a path, along the stroke, from where a label
// clears the metal; the nearest first.
func (v view) beyond(b *blank.Blank, end, begin engine.Vertex, l Label) []r2.Vec {
	s, c := math.Sincos(end.Across)
	u := r2.Vec{X: -s, Y: c} // the stroke stands square to the V
	if r2.Dot(u, r2.Vec{X: end.X - begin.X, Y: end.Y - begin.Y}) < 0 {
		u = r2.Scale(-1, u)
	}
	box := l.box()
	half := math.Abs(u.X)*(box.Max.X-box.Min.X)/2 + math.Abs(u.Y)*(box.Max.Y-box.Min.Y)/2
	const reach = 15.0 // mm on paper; further off nobody sees to which cut it belongs
	var places []r2.Vec
	for off := half + 0.8; off < reach && len(places) < 3; off += 0.4 {
		p := r2.Vec{X: end.X + u.X*off/v.scale, Y: end.Y + u.Y*off/v.scale}
		if b.Outline.Distance(p)*v.scale < half+0.5 {
			continue
		}
		places = append(places, v.at(p.X, p.Y))
		off += 2.6
	}
	return places
}

// furniture draws the arrows, the scale and the guide.
func (v view) furniture(k *speaker, j *job.Job, l *engine.List, firstCut int) {
	d := v.d
	turned := 0.0
	if firstCut >= 0 && !k.rose() && finite(l.Cuts[firstCut].Turned) {
		turned = l.Cuts[firstCut].Turned
	}
	s, c := math.Sincos(turned)
	across, along := r2.Vec{X: c, Y: -s}, r2.Vec{X: -s, Y: -c} // on paper, y down
	corner := r2.Vec{X: 9, Y: d.Height - 9}
	words := func(tip, u r2.Vec, text string) {
		l := Label{Text: text, Size: 2.8}
		half := float64(len([]rune(text))) * letter * l.Size / 2
		l.At = r2.Add(tip, r2.Vec{X: u.X * (half + 1), Y: u.Y * 2.2})
		l.At.X = max(l.At.X, half+0.5)
		l.At.Y = min(max(l.At.Y, 1.5), d.Height-1.5)
		d.Labels = append(d.Labels, l)
	}
	if !k.rose() {
		d.arrow(corner, r2.Add(corner, r2.Scale(9, along)))
		words(r2.Add(corner, r2.Scale(9, along)), along, "stroke")
		d.arrow(corner, r2.Add(corner, r2.Scale(9, across)))
		words(r2.Add(corner, r2.Scale(9, across)), across, "across")
	} else {
		v.turning()
	}
	v.bar(k)
	if g := j.Guide; g != nil && firstCut >= 0 && len(l.Cuts[firstCut].Pieces[0].Path) > 0 {
		v.guide(g, l.Cuts[firstCut].Pieces[0].Path[0])
	}
}

// turning draws the way in which the reading of the spindle grows on the work.
func (v view) turning() {
	middle, r := r2.Vec{X: 12, Y: v.d.Height - 8}, 6.0
	var arc []r2.Vec
	for i := range 17 {
		s, c := math.Sincos(math.Pi * (0.05 + 0.7*float64(i)/16))
		arc = append(arc, r2.Vec{X: middle.X + r*c, Y: middle.Y - r*s})
	}
	n := len(arc)
	v.d.line(Direction, false, arc[:n-1]...)
	v.d.arrow(arc[n-2], arc[n-1])
	v.d.Labels = append(v.d.Labels, Label{At: r2.Vec{X: middle.X, Y: middle.Y + 2}, Text: "spindle reading", Size: 2.8})
}

// bar draws a scale of a round length.
func (v view) bar(k *speaker) {
	unit := 1.0
	if k.inch() {
		unit = inch
	}
	length := unit
	for _, n := range []float64{0.05, 0.1, 0.25, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000} {
		if n*unit*v.scale <= 42 {
			length = n * unit
		}
	}
	to := r2.Vec{X: v.d.Width - 4, Y: v.d.Height - 4}
	from := r2.Vec{X: to.X - length*v.scale, Y: to.Y}
	tick := r2.Vec{Y: 1.2}
	v.d.line(Direction, false, r2.Sub(from, tick), r2.Add(from, tick))
	v.d.line(Direction, false, from, to)
	v.d.line(Direction, false, r2.Sub(to, tick), r2.Add(to, tick))
	v.d.Labels = append(v.d.Labels, Label{At: r2.Vec{X: (from.X + to.X) / 2, Y: to.Y - 2.6}, Text: k.size(length), Size: 2.8})
}

// guide draws the tip and the foot beside it.
func (v view) guide(g *depth.Guide, p engine.Vertex) {
	side := 1.0
	if g.Side == depth.Left {
		side = -1
	}
	s, c := math.Sincos(p.Across)
	tip := v.at(p.X, p.Y)
	foot := v.at(p.X+side*g.Offset*c, p.Y+side*g.Offset*s)
	if !finite(tip.X, tip.Y, foot.X, foot.Y) {
		return
	}
	v.d.line(Foot, false, tip, foot)
	// The mark shows where the foot rests, not how large it is.
	v.d.circle(Foot, foot, 0.9)
	v.d.circle(Foot, tip, 0.3)
	l := Label{Text: "guide", Size: 2.8, Ground: true}
	u := r2.Sub(foot, tip)
	if r2.Norm(u) == 0 {
		u = r2.Vec{X: side}
	}
	u = r2.Unit(u)
	var places []r2.Vec
	for _, gap := range []float64{6, 8, 11} {
		places = append(places, r2.Add(foot, r2.Scale(gap, u)), r2.Add(foot, r2.Vec{X: u.X * gap, Y: 3.5}), r2.Add(foot, r2.Vec{X: u.X * gap, Y: -3.5}))
	}
	v.d.place(l, places)
}

func (v view) legend(b *blank.Blank, firstCut, lastCut, step, cuts int) {
	d := v.d
	if firstCut >= 0 {
		d.Legend = append(d.Legend, Key{FirstCut, "first cut"})
	}
	if lastCut > firstCut {
		d.Legend = append(d.Legend, Key{LastCut, "last cut"})
	}
	if cuts > step {
		d.Legend = append(d.Legend, Key{SomeCut, fmt.Sprintf("every %s cut", ordinals[step])})
	}
	d.Legend = append(d.Legend, Key{Edge, "edge of the metal"})
	borders := b.Border != 0
	uncut := len(b.KeepClear) > 0
	for _, w := range append(b.Windows[:len(b.Windows):len(b.Windows)], b.KeepClear...) {
		borders = borders || w.Border != 0
		uncut = uncut || !w.Open
	}
	if borders {
		d.Legend = append(d.Legend, Key{Margin, "border of the field"})
	}
	if uncut {
		d.Legend = append(d.Legend, Key{Window, "left uncut"})
	}
}

var ordinals = map[int]string{10: "10th", 100: "100th", 1000: "1000th", 10000: "10 000th"}
