package export

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/bar"
	"brightcut/fault"
	"brightcut/internal/polyline"
)

// outerPath is the way of the middle of a round cutter of radius R round the
// outline, clockwise, so that with the spindle turning clockwise it mills with the
// feed (climb). It begins where the cutter may come from outside without touching
// anything: on the back of a bar, under its left end; at the foot of the left end of
// one cut on both sides; on a crest of a rosette. Tabs may stand along the back, on
// both ends, or anywhere, as room tells.
func (t *Template) outerPath(R float64) (path Line, room []tab, err error) {
	if t.Rosette {
		path, err = t.aroundRosette(R)
		return path, []tab{{0, path.Length()}}, err
	}
	over, err := t.over(t.borders[0], R)
	if err != nil {
		return Line{}, nil, err
	}
	left, right := over[0].X, over[len(over)-1].X
	if len(t.borders) == 1 {
		below := -t.shape.Back - R
		way := append([]r2.Vec{{X: left + R, Y: below}, {X: left, Y: below}}, over...)
		path = Line{Closed: true, Nodes: nodes(append(way, r2.Vec{X: right, Y: below}))}
		total := path.Length()
		return path, []tab{{total - (right - left - 2*R), total}}, nil
	}
	other, err := t.over(t.borders[1], R)
	if err != nil {
		return Line{}, nil, err
	}
	for i, p := range other {
		other[i] = t.shape.turned(p)
	}
	last := len(other) - 1
	way := append([]r2.Vec{other[last]}, over...)
	n := len(way)
	way = append(way, other[:last]...)
	rise := Line{Nodes: nodes(way[:2])}.Length()
	gone := Line{Nodes: nodes(way[:n])}.Length()
	fall := Line{Nodes: nodes(way[n-1 : n+1])}.Length()
	return Line{Closed: true, Nodes: nodes(way)}, []tab{{0, rise}, {gone, gone + fall}}, nil
}

// over leads the cutter over one side of a bar, from beside its left end to beside
// its right one. It is the way of a touchpiece as thick as the cutter, which package
// bar gives exactly; beyond the ends the top falls off steeply, so that the cutter
// rolls round the corner and leaves the end square.
func (t *Template) over(d border, R float64) ([]r2.Vec, error) {
	n := len(d.top)
	top := bar.Edge{Figure: bar.Points, Drawn: make([][2]float64, n+2)}
	for i, p := range d.top {
		top.Drawn[i+1] = [2]float64{p.X, p.Y}
	}
	const steep = 85 * math.Pi / 180
	drop := 3 * R // deeper than the cutter reaches beside the corner
	out := drop / math.Tan(steep)
	left, right := d.top[0], d.top[n-1]
	top.Drawn[0] = [2]float64{left.X - out, left.Y - drop}
	top.Drawn[n+1] = [2]float64{right.X + out, right.Y - drop}
	path, err := bar.Follow(top, R)
	if err != nil {
		return nil, fmt.Errorf("export: leading a cutter of %.3f mm round %q: %w", 2*R, t.Name, err)
	}
	over := func(x float64) r2.Vec {
		lift, _ := path.At(x)
		return r2.Vec{X: x, Y: lift + R}
	}
	return sample(over, left.X-R, right.X+R, R/4, path.Kinks(), t.Tolerance/2), nil
}

func (t *Template) aroundRosette(R float64) (Line, error) {
	path, err := bar.Follow(t.edge, R)
	if err != nil {
		return Line{}, fmt.Errorf("export: leading a cutter of %.3f mm round %q: %w", 2*R, t.Name, err)
	}
	if low, high := path.Extremes(); low == high {
		return circle("", r2.Vec{}, t.edge.Radius+R+low).reversed(), nil
	}
	over := func(θ float64) r2.Vec { // θ runs backwards: clockwise
		lift, _ := path.At(-θ)
		sin, cos := math.Sincos(-θ)
		r := t.edge.Radius + R + lift
		return r2.Vec{X: r * cos, Y: r * sin}
	}
	var kinks []float64
	if period := path.Period(); period > 0 {
		for _, k := range path.Kinks() {
			for n := range int(math.Ceil(2*math.Pi/period - 1e-9)) {
				kinks = append(kinks, 2*math.Pi-k-float64(n)*period)
			}
		}
	}
	step := R / 4 / t.edge.Radius
	if wave := t.edge.OneWave(); wave > 0 {
		step = min(step, wave/16)
	}
	way := sample(over, 0, 2*math.Pi, step, kinks, t.Tolerance/2)
	way = way[:len(way)-1] // the last is the first
	crest := 0
	for i, p := range way {
		if r2.Norm(p) > r2.Norm(way[crest]) {
			crest = i
		}
	}
	way = append(way[crest:len(way):len(way)], way[:crest]...)
	return Line{Closed: true, Nodes: nodes(way)}, nil
}

// innerPaths are the ways in bore and holes, counter-clockwise, and what each is
// called in a fault.
func (t *Template) innerPaths(R float64) (paths []Line, faults fault.List) {
	const least = 0.02 // mm of way round; less is drilling
	try := func(field string, h Hole) {
		if h.Diameter/2-R < least {
			faults = append(faults, fault.Fault{Field: field, Problem: fmt.Sprintf("a cutter of %.3f mm does not go round in an opening of %.3f mm", 2*R, h.Diameter),
				Mend: "take a thinner cutter, or leave the hole out and drill it"})
			return
		}
		paths = append(paths, h.loop(R))
	}
	if t.shape.Bore > 0 {
		try("bore", Hole{Diameter: t.shape.Bore})
	}
	for i, h := range t.shape.Holes {
		try(fmt.Sprintf("holes[%d]", i), h)
	}
	return paths, faults
}

// unreached is what a cutter of radius R leaves in hollows narrower than itself:
// in how many of one wave (of both edges) it is more than the tolerance, and the
// most, mm.
func (t *Template) unreached(R float64) (places int, most float64) {
	edges := []bar.Edge{t.edge}
	if t.edge.Other != nil {
		edges = append(edges, *t.edge.Other)
	}
	for _, e := range edges {
		path, err := bar.Follow(e, R)
		if err != nil {
			continue
		}
		for _, l := range path.Report().Lost {
			most = max(most, l.Depth)
			if l.Depth > t.Tolerance {
				places++
			}
		}
	}
	return places, most
}

// sample walks a curve from a to b by chords that stay within tolerance of it.
// Steps begin no longer than step and never pass a kink; each is halved until its
// chord is off the curve by no more than a quarter of the tolerance at a quarter,
// half and three quarters of the way. (TestToolPath compares it densely.)
func sample(curve func(float64) r2.Vec, a, b, step float64, kinks []float64, tolerance float64) []r2.Vec {
	stops := []float64{}
	for _, k := range kinks {
		if k > a && k < b {
			stops = append(stops, k)
		}
	}
	stops = sortedUnique(append(stops, b))
	out := []r2.Vec{curve(a)}
	var part func(s, t float64, p, q r2.Vec, depth int)
	part = func(s, t float64, p, q r2.Vec, depth int) {
		off := 0.0
		for _, u := range []float64{0.25, 0.5, 0.75} {
			off = max(off, polyline.Off(curve(s+u*(t-s)), p, q))
		}
		if off > tolerance/4 && depth < 30 {
			m := (s + t) / 2
			c := curve(m)
			part(s, m, p, c, depth+1)
			part(m, t, c, q, depth+1)
			return
		}
		out = append(out, q)
	}
	for _, stop := range stops {
		n := int(math.Ceil((stop - a) / step))
		for i := range n {
			s, t := a+(stop-a)*float64(i)/float64(n), a+(stop-a)*float64(i+1)/float64(n)
			part(s, t, curve(s), curve(t), 0)
		}
		a = stop
	}
	return out
}
