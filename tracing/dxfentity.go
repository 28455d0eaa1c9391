package tracing

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// readable are the entities that are drawn.
var readable = map[string]bool{"LINE": true, "ARC": true, "CIRCLE": true, "ELLIPSE": true, "LWPOLYLINE": true, "POLYLINE": true, "SPLINE": true, "INSERT": true}

// counted lists kinds with their numbers, in a fixed order.
func counted(of map[string]int) string {
	var words []string
	for kind, n := range of {
		words = append(words, fmt.Sprintf("%d %s", n, kind))
	}
	slices.Sort(words)
	return strings.Join(words, ", ")
}

// first returns the value of the first group of that code.
func (e *entity) first(code int, absent float64) float64 {
	for _, g := range e.groups {
		if g.code == code {
			return g.value
		}
	}
	return absent
}

func (e *entity) place(code int) Point { return Point{e.first(code, 0), e.first(code+10, 0)} }

// within is where an entity is drawn: the model, or a copy of a block.
type within struct {
	m     affine
	layer string // that a block's layer 0 stands for
	using []*block
	names []string
}

func (d *dxf) model(m affine) {
	for i := range d.entities {
		d.draw(&d.entities[i], within{m: m})
	}
}

// plane returns the map from the plane in which an entity is written to that of
// the drawing, by the arbitrary axis rule of the DXF reference: seen from below
// (extrusion 0, 0, −1), x runs backwards.
func (d *dxf) plane(e *entity) (affine, bool) {
	x, y, z := e.first(210, 0), e.first(220, 0), e.first(230, 1)
	l := math.Sqrt(x*x + y*y + z*z)
	switch {
	case l == 0 || math.Abs(z)/l < 1-1e-9:
		d.fault(d.origin(e.line), e.kind, "it lies in a plane tilted from that of the drawing", "flatten the drawing to z = 0")
		return identity, false
	case z < 0:
		return scaling(-1, 1), true
	}
	return identity, true
}

func (d *dxf) draw(e *entity, in within) {
	at := d.origin(e.line)
	if !d.another(at) {
		return
	}
	layer := e.layer
	if layer == "0" && in.layer != "" {
		layer = in.layer
	}
	if d.off[strings.ToUpper(layer)] {
		d.hidden++
		return
	}
	names := append([]string{layer}, in.names...)
	plane, ok := d.plane(e)
	if !ok {
		return
	}
	flat := in.m.times(plane)
	keep := func(points []Point, closed bool) {
		d.add(Line{Names: names, Kind: e.kind, Origin: at, Points: points, Closed: closed})
	}
	switch e.kind {
	case "INSERT":
		d.insert(e, in, flat, layer)
	case "LINE": // written in the drawing's own coordinates
		if d.room(at, 2) {
			keep([]Point{in.m.point(e.place(10)), in.m.point(e.place(11))}, false)
		}
	case "CIRCLE", "ARC":
		r := e.first(40, 0)
		from, to := 0.0, 2*math.Pi
		if e.kind == "ARC" {
			from, to = turns(e.first(50, 0)*math.Pi/180, e.first(51, 360)*math.Pi/180)
		}
		d.arc(e, arc{e.place(10), Point{r, 0}, Point{0, r}, from, to}.under(flat), keep)
	case "ELLIPSE": // written in the drawing's own coordinates
		u := e.place(11)
		v := Point{-u.Y, u.X}.times(e.first(40, 1))
		if plane.a < 0 {
			v = v.times(-1)
		}
		from, to := turns(e.first(41, 0), e.first(42, 2*math.Pi))
		d.arc(e, arc{e.place(10), u, v, from, to}.under(in.m), keep)
	case "LWPOLYLINE":
		d.lightPolyline(e, flat, keep)
	case "POLYLINE":
		d.polyline(e, in.m, flat, keep)
	case "SPLINE":
		d.spline(e, in.m, keep)
	}
}

// turns brings an arc's end beyond its beginning, within a turn.
func turns(from, to float64) (float64, float64) {
	span := math.Mod(to-from, 2*math.Pi)
	if span <= 1e-12 {
		span += 2 * math.Pi
	}
	return from, from + span
}

func (d *dxf) arc(e *entity, a arc, keep func([]Point, bool)) {
	at := d.origin(e.line)
	if a.u.length() == 0 || a.v.length() == 0 {
		d.remark(at, "A "+e.kind+" of no radius was left out.")
		return
	}
	n := steps(a.bend(), d.tolerance)
	if d.room(at, n) && d.room(at, 1) {
		keep(a.follow([]Point{a.at(a.from)}, n), math.Abs(a.to-a.from-2*math.Pi) < 1e-9)
	}
}

// corner is a corner of a polyline with the bulge of what follows it.
type corner struct {
	at    Point
	bulge float64
}

func (d *dxf) lightPolyline(e *entity, m affine, keep func([]Point, bool)) {
	var c []corner
	for _, g := range e.groups {
		switch {
		case g.code == 10:
			c = append(c, corner{at: Point{X: g.value}})
		case len(c) == 0:
		case g.code == 20:
			c[len(c)-1].at.Y = g.value
		case g.code == 42:
			c[len(c)-1].bulge = g.value
		}
	}
	d.bulges(e, c, int64(e.first(70, 0))&1 != 0, m, keep)
}

// Flags of a POLYLINE and its VERTEX (DXF reference, group 70).
const (
	closedLine = 1
	inSpace    = 8
	mesh       = 16 | 64
	frame      = 16 // of a VERTEX: it is a control point, not on the curve
)

func (d *dxf) polyline(e *entity, m, flat affine, keep func([]Point, bool)) {
	flags := int64(e.first(70, 0))
	if flags&mesh != 0 {
		d.left["POLYLINE meshes"]++
		return
	}
	if flags&inSpace != 0 { // in the drawing's own coordinates
		flat = m
	}
	var c []corner
	for i := range e.vertex {
		v := &e.vertex[i]
		if int64(v.first(70, 0))&frame == 0 {
			c = append(c, corner{v.place(10), v.first(42, 0)})
		}
	}
	d.bulges(e, c, flags&closedLine != 0, flat, keep)
}

// bulges draws a polyline of straight lines and arcs.
func (d *dxf) bulges(e *entity, c []corner, closed bool, m affine, keep func([]Point, bool)) {
	at := d.origin(e.line)
	if len(c) < 2 {
		d.remark(at, "A "+e.kind+" with fewer than two points was left out.")
		return
	}
	if !d.room(at, len(c)) {
		return
	}
	points := []Point{m.point(c[0].at)}
	last := len(c) - 1
	if closed {
		last = len(c)
	}
	for i := range last {
		p, q := c[i], c[(i+1)%len(c)]
		if p.bulge != 0 && p.at != q.at {
			a := bulged(p.at, q.at, p.bulge).under(m)
			n := steps(a.bend(), d.tolerance)
			if !d.room(at, n-1) {
				return
			}
			points = a.follow(points, n)
			points = points[:len(points)-1]
		}
		points = append(points, m.point(q.at))
	}
	keep(points, closed)
}

const highestDegree = 15

// spline draws a B-spline by its knots, control points and weights.
func (d *dxf) spline(e *entity, m affine, keep func([]Point, bool)) {
	at := d.origin(e.line)
	degree := int(max(min(e.first(71, 3), 1000), -1))
	var knots []float64
	var control []weighted
	var weights []float64 // some programs write them before the points, some after
	fit := 0
	for _, g := range e.groups {
		switch g.code {
		case 40:
			knots = append(knots, g.value)
		case 10:
			control = append(control, weighted{x: g.value})
		case 20:
			if n := len(control); n > 0 {
				control[n-1].y = g.value
			}
		case 41:
			weights = append(weights, g.value)
		case 11:
			fit++
		}
	}
	if len(control) == 0 && fit > 0 {
		d.fault(at, "SPLINE", fmt.Sprintf("it gives %d points to go through but no control points, and programs draw different curves through them", fit),
			"save the spline with its control points, or as a polyline")
		return
	}
	sound := degree >= 1 && degree <= highestDegree && len(control) > degree && len(knots) == len(control)+degree+1 && (len(weights) == 0 || len(weights) == len(control))
	for i := range knots {
		sound = sound && (i == 0 || knots[i] >= knots[i-1])
	}
	for i := range control {
		w := 1.0
		if i < len(weights) {
			w = weights[i]
		}
		if !(w > 0) {
			sound = false
		} else {
			p := m.point(Point{control[i].x, control[i].y})
			control[i] = weighted{p.X * w, p.Y * w, w}
		}
	}
	if !sound {
		d.fault(at, "SPLINE", fmt.Sprintf("%d knots, %d control points and %d weights make no curve of degree %d", len(knots), len(control), len(weights), degree),
			"save the spline anew, or as a polyline; weights must be above 0 and knots ascend")
		return
	}
	var points []Point
	for i := degree; i < len(control); i++ {
		if knots[i] == knots[i+1] {
			continue
		}
		b := bezierSpan(control, knots, degree, i)
		if points == nil {
			points = append(points, b[0].point())
		}
		before := len(points)
		points, sound = followRational(points, b, d.tolerance, MaxPoints-d.points)
		if !d.room(at, len(points)-before) || !sound {
			return
		}
	}
	keep(points, false)
}

// insert draws the copies of a block.
func (d *dxf) insert(e *entity, in within, flat affine, layer string) {
	at := d.origin(e.line)
	name := e.block
	b := d.blocks[strings.ToUpper(name)]
	switch {
	case b == nil:
		d.fault(at, "INSERT", fmt.Sprintf("it inserts the block %.40q, which the drawing has not", name), "bring the block into the drawing, or explode it")
		return
	case slices.Contains(in.using, b):
		d.fault(at, "INSERT", fmt.Sprintf("the block %.40q holds itself", name), "take the INSERT out of the block")
		return
	case len(in.using) >= maxCopies:
		d.fault(at, "INSERT", fmt.Sprintf("blocks stand more than %d deep in one another", maxCopies), "explode them")
		return
	}
	if len(b.entities) == 0 {
		return
	}
	columns, rows := e.first(70, 1), e.first(71, 1)
	if !(columns*rows <= MaxLines) {
		d.fault(at, "INSERT", fmt.Sprintf("it inserts %.0f by %.0f copies", columns, rows), fmt.Sprintf("insert no more than %d", MaxLines))
		return
	}
	to := e.place(10)
	turned := flat.times(shift(to.X, to.Y)).times(turning(e.first(50, 0) * math.Pi / 180))
	sized := scaling(e.first(41, 1), e.first(42, 1)).times(shift(-b.base.X, -b.base.Y))
	in.using = append(slices.Clone(in.using), b)
	in.layer = layer
	in.names = append([]string{name, layer}, in.names...)
	for i := range int(max(columns, 1)) {
		for j := range int(max(rows, 1)) {
			in.m = turned.times(shift(float64(i)*e.first(44, 0), float64(j)*e.first(45, 0))).times(sized)
			for k := range b.entities {
				if d.full {
					return
				}
				d.draw(&b.entities[k], in)
			}
		}
	}
}
