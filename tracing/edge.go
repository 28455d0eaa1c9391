package tracing

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"brightcut/bar"
	"brightcut/fault"
)

// Repeat says whether the drawn span repeats along the bar.
type Repeat int

const (
	Find  Repeat = iota // look for a wave that the drawing holds at least twice
	Whole               // it does not repeat
	Once                // the drawn span is one wave
)

// Take says which edge is taken from a drawing, and how. The zero Take takes the
// upper side of the longest line as the edge of a bar.
type Take struct {
	Name       string    // of the edge
	Line       string    // only what bears this name: id, group, layer or block; "" is everything
	Index      int       // only this line, from 1 in the order of the drawing; 0 is every one
	Silhouette bool      // the upper envelope of all lines (of a rosette the outermost)
	Under      bool      // the bar's lower edge: the drawing is turned half round
	Base       *[2]Point // a line that runs along the bar, in the direction of the stroke; nil is level
	Rosette    bool      // about Centre rather than along a bar
	Centre     *Point    // nil is the middle of a circle drawn inside, or of the area
	Gap        float64   // ends that meet, mm; 0 is DefaultGap
	Tolerance  float64   // how far the edge may lie from what is drawn, mm; 0 is DefaultThinning
	Spline     bool      // joined by a smooth curve rather than straight lines
	Repeat     Repeat    // of a bar
	Count      int       // of a rosette: repeats round it; 0 looks for them
	Alike      float64   // how far repeats may differ, mm; 0 is a hundredth of the height, 0.02 mm at least
	Zero       *float64  // place of the drawing, mm (rad round a rosette), that is to be 0; nil chooses
	Datum      *float64  // height of the drawing, mm (radius of a rosette), that is to be 0; nil is half-way up
	AnySize    bool      // even a size that no bar or rosette has
}

// Traced is an edge with how it was come by.
type Traced struct {
	Edge    bar.Edge
	Remarks []Remark
	Wave    float64 // length, mm, or angle, rad, of the repeat that was found or given; 0 when there is none
	Waves   float64 // how many of them are drawn
	Off     float64 // greatest difference between repeats, mm
	Drawn   int     // points as drawn
	Zero    float64 // place of the drawing that became 0, mm or rad
	Datum   float64 // height of the drawing that became 0, mm
}

// MostPoints is how many points an edge is given at most: as many as a part's file
// takes.
const MostPoints = 20_000

// Sizes that bars and rosettes have, mm. (Common practice, no source; wide of it.)
const (
	shortBar, longBar        = 3.0, 2500.0
	smallRosette, bigRosette = 3.0, 300.0 // mean radius
)

// tracer is an edge being taken.
type tracer struct {
	d         *Drawing
	t         Take
	gap       float64
	tolerance float64
	remarks   []Remark
	faults    fault.List
	at        fault.Origin
}

func (tr *tracer) fault(field, problem, mend string) {
	if len(tr.faults) < 20 {
		tr.faults = append(tr.faults, fault.Fault{Origin: tr.at, Field: field, Problem: problem, Mend: mend})
	}
}

func (tr *tracer) remark(format string, a ...any) {
	tr.remarks = append(tr.remarks, Remark{Origin: tr.at, Text: fmt.Sprintf(format, a...)})
}

// Edge takes an edge from the drawing. The error is a fault.List: what of the
// drawing or the options keeps it from being an edge, with its place.
func (d *Drawing) Edge(t Take) (*Traced, error) {
	tr := &tracer{d: d, t: t, gap: t.Gap, tolerance: t.Tolerance, at: fault.Origin{File: d.Name}}
	if tr.gap == 0 {
		tr.gap = DefaultGap
	}
	if tr.tolerance == 0 {
		tr.tolerance = DefaultThinning
	}
	if tr.options(); len(tr.faults) > 0 {
		return nil, tr.faults
	}
	var c heights
	of := tr.chosen()
	if len(tr.faults) == 0 {
		c = tr.heights(of)
	}
	if len(tr.faults) > 0 {
		return nil, tr.faults
	}
	out := tr.edge(c)
	if len(tr.faults) > 0 {
		return nil, tr.faults
	}
	if t.Under {
		tr.remark("The lower edge was taken: the drawing is turned half round.")
	}
	out.Remarks = append(slices.Clone(d.Remarks), tr.remarks...)
	return out, nil
}

func (tr *tracer) options() {
	t := tr.t
	if t.Index < 0 || t.Index > len(tr.d.Lines) {
		tr.fault("line", fmt.Sprintf("there is no line %d: the drawing has %d", t.Index, len(tr.d.Lines)), "give a number from 1")
	}
	if !(tr.gap >= 1e-5 && tr.gap <= 10) {
		tr.fault("gap", fmt.Sprintf("ends %.6g mm apart cannot be taken to meet", tr.gap), "give a gap from 0.00001 to 10 mm")
	}
	if !(tr.tolerance >= 1e-4 && tr.tolerance <= 1) {
		tr.fault("tolerance", fmt.Sprintf("a tolerance of %.6g mm cannot be used", tr.tolerance), "give one from 0.0001 to 1 mm")
	}
	if !(t.Alike >= 0 && t.Alike <= 10) {
		tr.fault("alike", fmt.Sprintf("repeats that differ by %.6g mm cannot be told", t.Alike), "give a difference up to 10 mm")
	}
	if t.Count < 0 || t.Count > bar.MaxCount {
		tr.fault("count", fmt.Sprintf("%d repeats do not go round a rosette", t.Count), fmt.Sprintf("give a count from 1 to %d", bar.MaxCount))
	}
	finite := func(field string, v *float64) {
		if v != nil && !(math.Abs(*v) <= farthest) {
			tr.fault(field, fmt.Sprintf("%g is no place of the drawing", *v), "give one in mm")
		}
	}
	finite("zero", t.Zero)
	finite("datum", t.Datum)
	if b := t.Base; b != nil && !(b[0].distance(b[1]) > 0 && b[0].distance(b[1]) <= farthest) {
		tr.fault("base", "the base line has no length", "give two places some way apart")
	}
	if c := t.Centre; c != nil && !(c.length() <= farthest) {
		tr.fault("centre", "the centre is no place of the drawing", "give x and y in mm")
	}
	if tr.d.polar != t.Rosette && (tr.d.polar || t.Under) {
		tr.fault("", "angles are of a rosette, a lower side is of a bar", "take it as the other")
	}
}

// chosen returns the numbers of the lines that are asked for.
func (tr *tracer) chosen() (of []int) {
	var names []string
	for i := range tr.d.Lines {
		l := &tr.d.Lines[i]
		if tr.t.Line != "" && !slices.Contains(l.Names, tr.t.Line) {
			for _, n := range l.Names {
				if len(names) < 20 && !slices.Contains(names, n) {
					names = append(names, n)
				}
			}
			continue
		}
		if tr.t.Index == 0 || tr.t.Index == i+1 {
			of = append(of, i)
		}
	}
	if len(of) == 0 {
		mend := "leave the name out: nothing in the drawing is named"
		if len(names) > 0 {
			mend = "give one of " + strings.Join(names, ", ")
		}
		tr.fault("line", fmt.Sprintf("no line is called %.60q", tr.t.Line), mend)
		return nil
	}
	tr.at = tr.d.Lines[of[0]].Origin
	return of
}

// heights makes heights of the chosen lines.
func (tr *tracer) heights(of []int) heights {
	if tr.d.polar {
		return tr.tabled(of)
	}
	if tr.t.Silhouette {
		return tr.silhouette(of)
	}
	c, ok := tr.chain(of)
	if !ok {
		return heights{}
	}
	var corners []Point
	if tr.t.Rosette {
		if corners, ok = tr.around(&c, of); !ok {
			return heights{}
		}
	} else {
		tr.turn(c.points)
		corners = tr.side(&c)
	}
	return tr.ascend(corners)
}

func (tr *tracer) ascend(corners []Point) heights {
	unit := 1.0
	if tr.t.Rosette && len(corners) > 0 {
		unit = corners[0].Y
		for _, p := range corners {
			unit = min(unit, p.Y)
		}
	}
	h, mended, bends := ascend(corners, unit, tr.tolerance)
	if mended > 0 {
		tr.remark("Steps upright or back by less than %.4f mm were made flanks of %.1f deg: %d.", tr.tolerance, math.Atan(steepest)*180/math.Pi, mended)
	}
	for i, b := range bends {
		if i == 5 {
			tr.fault("edge", fmt.Sprintf("and at %d more places", len(bends)-i), "mend those above first")
			break
		}
		mend := "redraw it there, or take the silhouette: a touchpiece does not reach under an overhang"
		if b.upright {
			mend = fmt.Sprintf("draw a flank there: no touchpiece climbs a wall; with a tolerance above %.2g mm it would be made one of %.1f deg", b.need, math.Atan(steepest)*180/math.Pi)
		}
		tr.row(b)
		tr.fault("edge", fmt.Sprintf("%v between %s and %s, at height %.4f mm", b, along(b.from, tr.t.Rosette), along(b.to, tr.t.Rosette), b.height), mend)
	}
	if len(bends) == 0 && len(h.x) < 2 {
		tr.fault("edge", "nothing of it runs along the bar", "take another line, or give the base line of the bar")
	}
	return h
}

// row places what follows on the row of a table at which an edge bends back.
func (tr *tracer) row(b bend) {
	if tr.d.rows == nil || tr.t.Base != nil || tr.t.Under {
		return
	}
	for i, p := range tr.d.Lines[0].Points {
		if p.X == b.from && i < len(tr.d.rows) && (i > 0 || b.upright) {
			tr.at.Line, tr.at.Column = int(tr.d.rows[i]), 1
			return
		}
	}
}

// tabled takes a table of angles and radii as it stands.
func (tr *tracer) tabled(of []int) heights {
	p := slices.Clone(tr.d.Lines[of[0]].Points)
	if p[len(p)-1].X < p[0].X {
		slices.Reverse(p)
	}
	return tr.ascend(p)
}

// chain joins the lines and chooses the longest.
func (tr *tracer) chain(of []int) (chain, bool) {
	j := tr.d.join(of, tr.gap)
	for _, r := range j.remarks {
		if r.Origin.File == "" {
			r.Origin = tr.at
		}
		tr.remarks = append(tr.remarks, r)
	}
	if len(j.chains) == 0 {
		tr.fault("line", "it has no length", "take another line")
		return chain{}, false
	}
	best := 0
	for i := range j.chains {
		if j.chains[i].length() > j.chains[best].length() {
			best = i
		}
	}
	c := j.chains[best]
	tr.at = tr.d.Lines[c.first].Origin
	if !c.closed {
		tr.gaps(j.chains, best)
		for _, f := range j.forks {
			for _, p := range []Point{c.points[0], c.points[len(c.points)-1]} {
				if f.distance(p) <= 2*tr.gap {
					tr.fault("line", fmt.Sprintf("more than two lines meet at %v, so that none can be told to go on", f), "name the layer or group of the edge, or take the silhouette")
				}
			}
		}
	}
	if n := len(j.chains) - 1; n > 0 && tr.d.Photo == nil {
		tr.remark("The longest line was taken, %.2f mm from %v; %d others were left out.", c.length(), c.points[0], n)
	}
	if !monotone(c) {
		at, ok := crossings(&c, 5)
		if !ok {
			tr.fault("edge", "it is too tangled to follow", "draw it as one line, or take the silhouette")
		}
		for _, p := range at {
			tr.fault("edge", fmt.Sprintf("it crosses itself at %v", p), "draw it without the loop, or take the silhouette")
		}
	}
	return c, len(tr.faults) == 0
}

// monotone says whether a chain runs in one direction, so that it cannot cross
// itself.
func monotone(c chain) bool {
	up, down := true, true
	for i := 1; i < len(c.points); i++ {
		up = up && c.points[i].X > c.points[i-1].X
		down = down && c.points[i].X < c.points[i-1].X
	}
	return !c.closed && (up || down)
}

// gaps refuses an open chain beside whose end another begins: it is the edge going
// on, more often than not.
func (tr *tracer) gaps(all []chain, best int) {
	c := &all[best]
	reach := 0.02 * c.length()
	for _, p := range []Point{c.points[0], c.points[len(c.points)-1]} {
		near, where := math.Inf(1), Point{}
		for i := range all {
			if i == best || all[i].closed {
				continue
			}
			o := all[i].points
			for _, q := range []Point{o[0], o[len(o)-1]} {
				if d := p.distance(q); d < near {
					near, where = d, q
				}
			}
		}
		if near > tr.gap && near <= reach {
			tr.fault("edge", fmt.Sprintf("there is a gap of %.4f mm at %v: the next line begins at %v", near, p, where),
				fmt.Sprintf("join the two, give a gap above %.2g mm, or name the line that is wanted", near*1.01))
		}
	}
}

// silhouette takes the upper envelope of all chosen lines.
func (tr *tracer) silhouette(of []int) heights {
	var e envelope
	var centre Point
	if tr.t.Rosette {
		j := tr.d.join(of, tr.gap)
		best := -1
		for i := range j.chains {
			if best < 0 || j.chains[i].length() > j.chains[best].length() {
				best = i
			}
		}
		if best < 0 {
			tr.fault("line", "it has no length", "take another line")
			return heights{}
		}
		centre = tr.centre(&j.chains[best], of)
	}
	for _, i := range of {
		l := &tr.d.Lines[i]
		p := slices.Clone(l.Points)
		if l.Closed {
			p = append(p, p[0])
		}
		if !tr.t.Rosette {
			tr.turn(p)
			for k := 1; k < len(p); k++ {
				e.add(p[k-1], p[k])
			}
			continue
		}
		polar := tr.polar(p, centre)
		for k := 1; k < len(polar); k++ {
			e.wrapped(polar[k-1], polar[k])
		}
		if len(tr.faults) > 0 {
			return heights{}
		}
	}
	c, holes := e.outline()
	for _, h := range holes {
		if tr.t.Rosette || h[1]-h[0] > tr.gap {
			tr.fault("edge", fmt.Sprintf("nothing is drawn between %s and %s", along(h[0], tr.t.Rosette), along(h[1], tr.t.Rosette)), "draw the edge there, or give a greater gap")
		}
	}
	if len(tr.faults) > 0 {
		return heights{}
	}
	return tr.ascend(c)
}
