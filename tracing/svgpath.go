package tracing

import (
	"fmt"
	"math"
)

// pen draws the lines of one shape.
type pen struct {
	s     *sketch
	e     *element
	m     affine // to mm
	names []string
	now   []Point // of the line being drawn, mm
}

// move lifts the pen and sets it down elsewhere.
func (p *pen) move(to Point) {
	p.lift(false)
	if p.s.room(p.e.origin, 1) {
		p.now = append(p.now, p.m.point(to))
	}
}

func (p *pen) line(to Point) {
	if p.s.room(p.e.origin, 1) {
		p.now = append(p.now, p.m.point(to))
	}
}

func (p *pen) curve(control ...Point) {
	b := make(bezier, len(control))
	for i, c := range control {
		b[i] = p.m.point(c)
	}
	n := steps(b.bend(), p.s.tolerance)
	if !p.s.room(p.e.origin, n) {
		return
	}
	for i := 1; i < n; i++ {
		p.now = append(p.now, b.at(float64(i)/float64(n)))
	}
	p.now = append(p.now, b[len(b)-1])
}

// arc draws an arc that begins where the pen stands; it ends exactly at to.
func (p *pen) arc(a arc, to Point) {
	a = a.under(p.m)
	n := steps(a.bend(), p.s.tolerance)
	if !p.s.room(p.e.origin, n) {
		return
	}
	p.now = a.follow(p.now, n)
	p.now[len(p.now)-1] = p.m.point(to)
}

// lift ends the line.
func (p *pen) lift(closed bool) {
	if len(p.now) > 1 {
		p.s.add(Line{Names: p.names, Kind: p.e.name, Origin: p.e.origin, Points: p.now, Closed: closed})
	}
	p.now = nil
}

// arcTo returns the elliptical arc between two places (SVG 2, appendix B.2.4),
// whose radii are enlarged when they do not reach.
func arcTo(p, q Point, rx, ry, turn float64, large, sweep bool) (arc, bool) {
	rx, ry = math.Abs(rx), math.Abs(ry)
	if rx == 0 || ry == 0 || p == q {
		return arc{}, false
	}
	sin, cos := math.Sincos(turn)
	d := p.minus(q).times(0.5)
	x, y := cos*d.X+sin*d.Y, -sin*d.X+cos*d.Y
	if λ := (x/rx)*(x/rx) + (y/ry)*(y/ry); λ > 1 {
		rx, ry = rx*math.Sqrt(λ), ry*math.Sqrt(λ)
	}
	// On the circle that the ellipse becomes when its axes are measured in radii.
	u, v := x/rx, y/ry
	l := u*u + v*v
	if !(l > 0) {
		return arc{}, false
	}
	k := math.Sqrt(math.Max(1/l-1, 0))
	if large == sweep {
		k = -k
	}
	cu, cv := k*v, -k*u
	from := math.Atan2(v-cv, u-cu)
	angle := math.Atan2(-v-cv, -u-cu) - from
	if sweep && angle < 0 {
		angle += 2 * math.Pi
	}
	if !sweep && angle > 0 {
		angle -= 2 * math.Pi
	}
	middle := p.toward(q, 0.5)
	axisU, axisV := Point{cos * rx, sin * rx}, Point{-sin * ry, cos * ry}
	centre := middle.plus(axisU.times(cu)).plus(axisV.times(cv))
	return arc{centre, axisU, axisV, from, from + angle}, true
}

// path draws the path data (SVG 2, 9.3). Unlike a viewer, which shows a faulty path
// up to its fault, it refuses it: half an edge is no edge.
func (p *pen) path(data string) {
	n := &numbers{text: data}
	var at, start, control Point
	var last byte // command before, for smooth curves
	fail := func() {
		p.s.fault(p.e.origin, "d", fmt.Sprintf("the path cannot be read at character %d, near %s", n.at+1, n.near()), "save the drawing anew, or take the path out")
		p.now = nil
	}
	begun := false
	for !n.done() && !p.s.full {
		command := n.text[n.at]
		n.at++
		n.blanks()
		relative := command >= 'a'
		upper := command &^ 0x20
		if !begun && upper != 'M' {
			n.at = 0
			fail()
			return
		}
		begun = true
		if upper == 'Z' && (command == 'z' || command == 'Z') {
			if len(p.now) > 0 {
				p.lift(true)
			}
			at = start
			last = 'Z'
			continue
		}
		var base Point
		for first := true; first || n.more(); first = false {
			base = Point{}
			if relative {
				base = at
			}
			ok := true
			number := func() float64 {
				v, good := n.next()
				ok = ok && good
				n.comma()
				return v
			}
			place := func() Point { return Point{number(), number()}.plus(base) }
			ink := func() { // after Z the next line begins where the last one did
				if len(p.now) == 0 {
					p.move(at)
				}
			}
			switch command {
			case 'M', 'm':
				to := place()
				if !ok {
					break
				}
				if first {
					p.move(to)
					start = to
				} else {
					p.line(to)
				}
				at = to
			case 'L', 'l', 'H', 'h', 'V', 'v':
				to := at
				switch upper {
				case 'L':
					to = place()
				case 'H':
					to.X = number() + base.X
				case 'V':
					to.Y = number() + base.Y
				}
				if ok {
					ink()
					p.line(to)
					at = to
				}
			case 'C', 'c', 'S', 's':
				c1 := at
				if upper == 'C' {
					c1 = place()
				} else if last == 'C' || last == 'S' {
					c1 = at.times(2).minus(control)
				}
				c2, to := place(), place()
				if ok {
					ink()
					p.curve(at, c1, c2, to)
					control, at = c2, to
				}
			case 'Q', 'q', 'T', 't':
				c := at
				if upper == 'Q' {
					c = place()
				} else if last == 'Q' || last == 'T' {
					c = at.times(2).minus(control)
				}
				to := place()
				if ok {
					ink()
					p.curve(at, c, to)
					control, at = c, to
				}
			case 'A', 'a':
				rx, ry, turn := number(), number(), number()
				large, good := n.flag()
				n.comma()
				sweep, well := n.flag()
				n.comma()
				ok = ok && good && well
				to := place()
				if !ok {
					break
				}
				ink()
				if a, bent := arcTo(at, to, rx, ry, turn*math.Pi/180, large, sweep); bent {
					p.arc(a, to)
				} else {
					p.line(to)
				}
				at = to
			default:
				n.at--
				ok = false
			}
			if !ok {
				fail()
				return
			}
			last = upper
		}
	}
	p.lift(false)
}
