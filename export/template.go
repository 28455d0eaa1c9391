package export

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/bar"
	"brightcut/fault"
	"brightcut/internal/polyline"
)

// DefaultTolerance is how far an outline may be off the true curve, mm, when
// nothing else is asked for: a micron, below what any bar is made to.
const DefaultTolerance = 0.001

// Hole is a round hole or, with a Length, a slot with round ends.
type Hole struct {
	At       r2.Vec  // its middle: along the bar and height; from the middle of a rosette
	Diameter float64 // of a slot: its width
	Length   float64 // of a slot between the middles of its ends; 0 is a round hole
	Angle    float64 // of a slot, rad from x
}

// Shape says what a bar or rosette is besides its edge, in mm.
type Shape struct {
	Name string

	// A bar lies with its edge up and the readings of the stroke growing to the
	// right. Turned over it gives the pattern mirrored. One cut on both sides has the
	// other edge where its back would be: turned half round in its plane about the
	// reading 0, it lies with that edge up.
	From, To float64 // readings between which it bears its edge; both 0 takes the edge's own span
	Back     float64 // how far the straight back, or the datum of the other edge, lies below the datum of the edge
	Ends     float64 // length of the plain end beyond the edge at either side
	EndTop   float64 // height of the plain ends above the datum; a flank of 60° leads up or down to it

	// A rosette lies with its angle 0 to the right, angles counter-clockwise.
	Bore     float64 // diameter
	KeyWidth float64 // keyway in the bore, at the angle 0
	KeyDepth float64 // beyond the bore, measured at the middle of the key

	Holes     []Hole
	Tolerance float64 // 0 is DefaultTolerance
}

// Template is the closed outline of a bar or rosette with its holes.
type Template struct {
	Name      string
	Rosette   bool
	Outer     Line   // counter-clockwise
	Inner     []Line // bore and holes, clockwise
	Tolerance float64

	edge    bar.Edge
	shape   Shape
	borders []border // of a bar
}

// border is an edge of a bar with its plain ends, as it lies with that edge up.
type border struct {
	way []Node   // from left to right, each leading to the next
	top []r2.Vec // the same as corners, within a quarter of the tolerance
	low float64  // the least height
}

// turned is a place of a bar's other side as it lies when the first is up.
func (s Shape) turned(p r2.Vec) r2.Vec { return r2.Vec{X: -p.X, Y: -s.Back - p.Y} }

// The layers of a template.
const (
	OutlineLayer = "OUTLINE"
	HoleLayer    = "HOLES"
)

const endFlank = 60 * math.Pi / 180

// NewTemplate draws the bar or rosette that has the edge. The error is a
// fault.List: the edge's own, or of the fields "length", "back", "ends",
// "end_top", "bore", "key_width", "key_depth", "holes[2]", "tolerance".
func NewTemplate(e bar.Edge, s Shape) (*Template, error) {
	if s.Tolerance == 0 {
		s.Tolerance = DefaultTolerance
	}
	profile, err := e.Profile()
	if err != nil {
		return nil, err
	}
	if s.Name == "" {
		s.Name = e.Name
	}
	t := &Template{Name: s.Name, Rosette: e.Radius > 0, Tolerance: s.Tolerance, edge: e}
	if faults := s.check(t.Rosette); len(faults) > 0 {
		return nil, faults
	}
	if t.Rosette {
		err = t.round(profile, s)
	} else {
		err = t.straight(profile, s)
	}
	if err != nil {
		return nil, err
	}
	for _, h := range s.Holes {
		t.Inner = append(t.Inner, h.loop(0).reversed())
	}
	if faults := t.room(s); len(faults) > 0 {
		return nil, faults
	}
	t.shape = s
	return t, nil
}

func (s *Shape) check(rosette bool) (faults fault.List) {
	bad := func(field string, v float64, least, most float64) {
		if !(v >= least && v <= most) {
			faults = append(faults, fault.Fault{Field: field, Problem: fmt.Sprintf("%g mm cannot be made", v),
				Mend: fmt.Sprintf("give a length between %g and %g mm", least, most)})
		}
	}
	const largest = 5000 // mm, longer than any bench
	bad("tolerance", s.Tolerance, 1e-5, 1)
	if rosette {
		bad("bore", s.Bore, 0, largest)
		bad("key_width", s.KeyWidth, 0, s.Bore*0.9)
		bad("key_depth", s.KeyDepth, 0, largest)
		if (s.KeyWidth > 0) != (s.KeyDepth > 0) {
			faults = append(faults, fault.Fault{Field: "key_depth", Problem: "a keyway has both a width and a depth", Mend: "give both, or neither"})
		}
	} else {
		bad("length", s.From, -largest, largest)
		bad("length", s.To, -largest, largest)
		bad("back", s.Back, 0.01, largest)
		bad("ends", s.Ends, 0, largest)
		bad("end_top", s.EndTop, -largest, largest)
	}
	for i, h := range s.Holes {
		field := fmt.Sprintf("holes[%d]", i)
		bad(field, h.Diameter, 0.01, largest)
		bad(field, h.Length, 0, largest)
		bad(field, h.At.X, -largest, largest)
		bad(field, h.At.Y, -largest, largest)
		bad(field, h.Angle, -1000, 1000)
	}
	return faults
}

// loop is the hole drawn in by a distance, counter-clockwise.
func (h Hole) loop(in float64) Line {
	r := h.Diameter/2 - in
	if h.Length == 0 {
		return circle(HoleLayer, h.At, r)
	}
	sin, cos := math.Sincos(h.Angle)
	u := r2.Vec{X: cos, Y: sin}
	v := r2.Vec{X: -sin, Y: cos}
	at := func(along, across float64) r2.Vec {
		return r2.Add(h.At, r2.Add(r2.Scale(along*h.Length/2, u), r2.Scale(across*r, v)))
	}
	return Line{HoleLayer, true, []Node{{at(-1, -1), 0}, {at(1, -1), 1}, {at(1, 1), 0}, {at(-1, 1), 1}}}
}

// straight draws a bar.
func (t *Template) straight(profile *bar.Profile, s Shape) error {
	from, to := s.From, s.To
	if a, b := t.edge.Span(); from == 0 && to == 0 && !math.IsInf(a, 0) {
		from, to = a, b
	}
	upper, err := t.border(t.edge, profile, from, to, s)
	if err != nil {
		return err
	}
	t.borders = []border{upper}
	left, right := upper.way[0].X, upper.way[len(upper.way)-1].X
	below := []Node{{r2.Vec{X: left, Y: -s.Back}, 0}, {r2.Vec{X: right, Y: -s.Back}, 0}}
	lowest, what := -s.Back, fmt.Sprintf("the back lies %g mm below it", s.Back)
	if t.edge.Other != nil {
		profile, err := t.edge.Other.Profile()
		if err != nil {
			return err
		}
		lower, err := t.border(*t.edge.Other, profile, -to, -from, s)
		if l, ok := err.(fault.List); ok {
			for i := range l {
				l[i].Problem = "the other side: " + l[i].Problem
			}
		}
		if err != nil {
			return err
		}
		t.borders = append(t.borders, lower)
		below = make([]Node, len(lower.way))
		for i, n := range lower.way {
			below[i] = Node{s.turned(n.Vec), n.Bulge}
		}
		below = Line{Nodes: below}.reversed().Nodes
		below[len(below)-1].Bulge = 0
		lowest = s.turned(r2.Vec{Y: lower.low}).Y
		which := "below"
		if lowest > 0 {
			which = "above"
		}
		what = fmt.Sprintf("the other edge comes up to %.3f mm %s that datum", math.Abs(lowest), which)
	}
	if upper.low <= lowest {
		return fault.List{{Field: "back", Problem: fmt.Sprintf("the edge comes down to %.3f mm below its datum, and %s: the bar would fall in two", -upper.low, what), Mend: "put the back lower"}}
	}
	t.Outer = Line{Layer: OutlineLayer, Closed: true, Nodes: append(below, Line{Nodes: upper.way}.reversed().Nodes...)}
	t.Outer.Nodes[len(t.Outer.Nodes)-1].Bulge = 0
	return nil
}

// border draws one edge of a bar between two of its own readings, with its plain ends.
func (t *Template) border(e bar.Edge, profile *bar.Profile, from, to float64, s Shape) (border, error) {
	if a, b := e.Span(); from < a || to > b {
		return border{}, fault.List{{Field: "length", Problem: fmt.Sprintf("from %g to %g mm reaches beyond the edge, which runs from %g to %g mm", from, to, a, b), Mend: "make the bar within its edge"}}
	}
	if !(to > from) {
		return border{}, fault.List{{Field: "length", Problem: fmt.Sprintf("a bar from %g to %g mm has no length", from, to), Mend: "give the readings between which the bar bears its edge"}}
	}
	d := border{low: math.Inf(1)}
	tooMany := false
	corner := func(p r2.Vec) {
		d.top = append(d.top, p)
		d.low = min(d.low, p.Y)
	}
	add := func(p r2.Vec) {
		d.way = append(d.way, Node{p, 0})
		corner(p)
	}
	for st := range profile.Stretches(from, to) {
		if tooMany = len(d.top) > bar.MaxPoints/2; tooMany {
			break
		}
		h, _, _ := st.At(st.From)
		a := r2.Vec{X: st.From, Y: h}
		if r, ok := st.Arc(); ok {
			h1, _, _ := st.At(st.To)
			b := r2.Vec{X: st.To, Y: h1}
			chord := r2.Norm(r2.Sub(b, a))
			// Left to right over a bump is clockwise.
			bulge := -math.Tan(math.Asin(max(-1, min(1, chord/(2*r)))) / 2)
			d.way = append(d.way, Node{a, bulge})
			arc := stretch{a, b, bulge}
			n := arc.chords(t.Tolerance / 4)
			for i := range n {
				corner(arc.at(float64(i) / float64(n)))
			}
			continue
		}
		add(a)
		if st.Straight() {
			continue
		}
		t.chords(st, func(y float64) {
			h, _, _ := st.At(y)
			add(r2.Vec{X: y, Y: h})
		})
	}
	if tooMany {
		return border{}, fault.List{{Field: "tolerance", Problem: fmt.Sprintf("the outline takes more than %d corners", bar.MaxPoints/2), Mend: "allow a coarser tolerance or make a shorter bar"}}
	}
	h, _ := profile.Height(to)
	if last, ok := lastHeight(profile, from, to); ok {
		h = last
	}
	add(r2.Vec{X: to, Y: h})
	if s.Ends > 0 {
		var faults fault.List
		if d.way, d.top, faults = withEnds(d.way, d.top, s); faults != nil {
			return border{}, faults
		}
		d.low = min(d.low, s.EndTop)
	}
	return d, nil
}

// lastHeight is the height of the edge just before a place: at a place where the
// edge repeats, Height is that of the side further on.
func lastHeight(p *bar.Profile, from, to float64) (h float64, ok bool) {
	for st := range p.Stretches(max(from, to-1), to) {
		h, _, _ = st.At(st.To)
		ok = true
	}
	return h, ok
}

// chords calls at with the places at which a stretch is broken into chords that
// stay within a quarter of the tolerance of it, its ends left out: a cutter led along
// them in a hollow may stay off by as much again, and keeps half for itself. A chord of a curve P(y)
// is off it by no more than (Δy)²/8·max|P″|; on a bar P″ is the second derivative
// of the height, on a rosette of r = R + h(Rθ) it is (r″ − r, 2r′) along and across
// the radius. All of these are bounded by their values at the ends of the stretch.
func (t *Template) chords(s bar.Stretch, at func(y float64)) {
	var part func(a, b float64, depth int)
	part = func(a, b float64, depth int) {
		if t.off(s, a, b) <= t.Tolerance/4 || depth > 40 {
			return
		}
		m := (a + b) / 2
		part(a, m, depth+1)
		at(m)
		part(m, b, depth+1)
	}
	part(s.From, s.To, 0)
}

// off bounds how far the chord from a to b is off the curve.
func (t *Template) off(s bar.Stretch, a, b float64) float64 {
	h0, m0, c0 := s.At(a)
	h1, m1, c1 := s.At(b)
	bend := max(math.Abs(c0), math.Abs(c1))
	if t.Rosette {
		R := t.edge.Radius
		out := math.Abs(R*R*bend) + R + max(h0, h1)
		if c0*R*R > 0 || c1*R*R > 0 { // r″ and −r point apart
			out = max(R*R*bend, R+max(h0, h1))
		}
		bend = math.Hypot(out, 2*R*max(math.Abs(m0), math.Abs(m1))) / (R * R)
	}
	return (b - a) * (b - a) / 8 * bend
}

// withEnds puts the plain ends on.
func withEnds(way []Node, top []r2.Vec, s Shape) ([]Node, []r2.Vec, fault.List) {
	ends := func(p r2.Vec, side float64) ([]r2.Vec, fault.List) {
		run := math.Abs(s.EndTop-p.Y) / math.Tan(endFlank)
		if run >= s.Ends {
			return nil, fault.List{{Field: "ends", Problem: fmt.Sprintf("an end of %g mm has no room for the flank of 60° from %.3f to %g mm", s.Ends, p.Y, s.EndTop), Mend: fmt.Sprintf("make the ends longer than %.2f mm, or their top nearer to the edge", run)}}
		}
		far := r2.Vec{X: p.X + side*s.Ends, Y: s.EndTop}
		if run < 1e-6 {
			return []r2.Vec{far}, nil
		}
		return []r2.Vec{{X: p.X + side*run, Y: s.EndTop}, far}, nil
	}
	left, faults := ends(top[0], -1)
	if faults != nil {
		return nil, nil, faults
	}
	right, faults := ends(top[len(top)-1], 1)
	if faults != nil {
		return nil, nil, faults
	}
	var w []Node
	var tp []r2.Vec
	for i := len(left) - 1; i >= 0; i-- {
		w, tp = append(w, Node{left[i], 0}), append(tp, left[i])
	}
	w, tp = append(w, way...), append(tp, top...)
	for _, p := range right {
		w, tp = append(w, Node{p, 0}), append(tp, p)
	}
	return w, tp, nil
}

// round draws a rosette.
func (t *Template) round(profile *bar.Profile, s Shape) error {
	R := t.edge.Radius
	outer := Line{Layer: OutlineLayer, Closed: true}
	at := func(y, h float64) r2.Vec {
		sin, cos := math.Sincos(y / R)
		return r2.Vec{X: (R + h) * cos, Y: (R + h) * sin}
	}
	turn := 2 * math.Pi * R
	for st := range profile.Stretches(0, turn) {
		if st.To-st.From < turn*1e-12 {
			continue // what rounding left of a stretch
		}
		if len(outer.Nodes) > bar.MaxPoints/2 {
			return fault.List{{Field: "tolerance", Problem: fmt.Sprintf("the outline takes more than %d corners", bar.MaxPoints/2), Mend: "allow a coarser tolerance"}}
		}
		h, slope, _ := st.At(st.From)
		if st.Straight() && slope == 0 { // a circle round the middle, in arcs of half a turn at most
			n := max(1, math.Ceil((st.To-st.From)/(turn/2)-1e-9))
			for i := range int(n) {
				outer.Nodes = append(outer.Nodes, Node{at(st.From+(st.To-st.From)*float64(i)/n, h), math.Tan((st.To - st.From) / R / n / 4)})
			}
			continue
		}
		outer.Nodes = append(outer.Nodes, Node{at(st.From, h), 0})
		t.chords(st, func(y float64) {
			h, _, _ := st.At(y)
			outer.Nodes = append(outer.Nodes, Node{at(y, h), 0})
		})
	}
	t.Outer = outer
	if s.Bore > 0 {
		t.Inner = append(t.Inner, boreLoop(s).reversed())
	}
	return nil
}

// boreLoop is the bore with its keyway, counter-clockwise.
func boreLoop(s Shape) Line {
	r := s.Bore / 2
	if s.KeyWidth == 0 {
		return circle(HoleLayer, r2.Vec{}, r)
	}
	half := s.KeyWidth / 2
	x := math.Sqrt(r*r - half*half)
	deep := r + s.KeyDepth
	φ := 2*math.Pi - 2*math.Asin(half/r)
	return Line{HoleLayer, true, []Node{
		{r2.Vec{X: x, Y: half}, math.Tan(φ / 8)},
		{r2.Vec{X: -r}, math.Tan(φ / 8)},
		{r2.Vec{X: x, Y: -half}, 0},
		{r2.Vec{X: deep, Y: -half}, 0},
		{r2.Vec{X: deep, Y: half}, 0},
	}}
}

// room finds holes that break through the outline or into one another.
func (t *Template) room(s Shape) (faults fault.List) {
	const least = 0.05 // mm of metal left between
	outline := t.Outer.Points(t.Tolerance)
	first := len(t.Inner) - len(s.Holes) // the bore, if any, comes before
	field := func(i int) string {
		if i < first {
			return "bore"
		}
		return fmt.Sprintf("holes[%d]", i-first)
	}
	var loops [][]r2.Vec
	for i, l := range t.Inner {
		// A hundredth is fine enough to see whether metal is left.
		p := l.Points(0.01)
		loops = append(loops, p)
		if !inside(outline, p[0]) || apart(outline, p) < least {
			faults = append(faults, fault.Fault{Field: field(i), Problem: fmt.Sprintf("it comes within %g mm of the outline, or lies outside it", least), Mend: "move the hole further in, or make it smaller"})
			continue
		}
		for j := range i {
			if apart(loops[j], p) < least || inside(loops[j], p[0]) || inside(p, loops[j][0]) {
				faults = append(faults, fault.Fault{Field: field(i), Problem: "it runs into " + field(j), Mend: "move the holes apart"})
			}
		}
	}
	return faults
}

// inside says whether p lies in the loop, by the crossings of a ray.
func inside(loop []r2.Vec, p r2.Vec) bool {
	in := false
	for i, a := range loop {
		b := loop[(i+1)%len(loop)]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			in = !in
		}
	}
	return in
}

// apart is the least distance of the corners of one loop from the other loop.
// The hole's corners lie within a hundredth of each other or on straight lines
// whose ends they are, the outline is all corners where it is curved.
func apart(loop, hole []r2.Vec) float64 {
	var box r2.Box = nobox()
	Line{Nodes: nodes(hole)}.grow(&box)
	least := math.Inf(1)
	for i, a := range loop {
		b := loop[(i+1)%len(loop)]
		// A stretch whose box is off that of the hole by more than the least so
		// far cannot come nearer.
		if max(box.Min.X-max(a.X, b.X), min(a.X, b.X)-box.Max.X, box.Min.Y-max(a.Y, b.Y), min(a.Y, b.Y)-box.Max.Y) > min(least, 1) {
			continue
		}
		for j, p := range hole {
			q := hole[(j+1)%len(hole)]
			least = min(least, polyline.Off(p, a, b), polyline.Off(a, p, q))
			if crosses(a, b, p, q) {
				return 0
			}
		}
	}
	return least
}

func nodes(points []r2.Vec) []Node {
	out := make([]Node, len(points))
	for i, p := range points {
		out[i].Vec = p
	}
	return out
}

func crosses(a, b, p, q r2.Vec) bool {
	side := func(a, b, c r2.Vec) bool { return r2.Cross(r2.Sub(b, a), r2.Sub(c, a)) > 0 }
	return side(a, b, p) != side(a, b, q) && side(p, q, a) != side(p, q, b)
}

// Loops returns the outline and then the holes as corners joined by straight
// lines within tolerance, mm, for whoever makes a solid of them: the outline
// counter-clockwise, holes clockwise.
func (t *Template) Loops(tolerance float64) [][]r2.Vec {
	out := [][]r2.Vec{t.Outer.Points(tolerance)}
	for _, l := range t.Inner {
		out = append(out, l.Points(tolerance))
	}
	return out
}

// Area returns the area of the face, mm².
func (t *Template) Area() float64 {
	sum := t.Outer.Area()
	for _, l := range t.Inner {
		sum += l.Area()
	}
	return sum
}

// Figure returns the template as lines to be drawn.
func (t *Template) Figure() Figure {
	return Figure{Name: t.Name, Layers: []string{OutlineLayer, HoleLayer}, Tolerance: t.Tolerance, Lines: func(yield func(Line) bool) {
		if !yield(t.Outer) {
			return
		}
		for _, l := range t.Inner {
			if !yield(l) {
				return
			}
		}
	}}
}
