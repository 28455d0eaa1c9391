package tracing

import (
	"fmt"
	"math"
)

// shapes are the elements that draw (SVG 2, chapters 9 and 10).
var shapes = map[string]func(*svg, *element, inherited){
	"path":     (*svg).pathShape,
	"line":     (*svg).lineShape,
	"polyline": (*svg).polyline,
	"polygon":  (*svg).polyline,
	"rect":     (*svg).rect,
	"circle":   (*svg).ellipse,
	"ellipse":  (*svg).ellipse,
}

func (s *svg) pen(e *element, in inherited) *pen {
	return &pen{s: &s.sketch, e: e, m: in.m, names: in.names}
}

func (s *svg) pathShape(e *element, in inherited) { s.pen(e, in).path(e.attr["d"]) }

// lengths reads several attributes, 0 where left out.
func (s *svg) lengths(e *element, names ...string) ([]float64, bool) {
	v, all := make([]float64, len(names)), true
	for i, name := range names {
		var ok bool
		v[i], ok = s.length(e, name, 0)
		all = all && ok
	}
	return v, all
}

func (s *svg) lineShape(e *element, in inherited) {
	v, ok := s.lengths(e, "x1", "y1", "x2", "y2")
	if !ok {
		return
	}
	p := s.pen(e, in)
	p.move(Point{v[0], v[1]})
	p.line(Point{v[2], v[3]})
	p.lift(false)
}

func (s *svg) polyline(e *element, in inherited) {
	n := &numbers{text: e.attr["points"]}
	p := s.pen(e, in)
	for first := true; !n.done(); first = false {
		x, okX := n.next()
		n.comma()
		y, okY := n.next()
		n.comma()
		if !okX || !okY {
			s.fault(e.origin, "points", fmt.Sprintf("the points cannot be read at character %d, near %s", n.at+1, n.near()), "give pairs of numbers")
			return
		}
		if first {
			p.move(Point{x, y})
		} else {
			p.line(Point{x, y})
		}
	}
	p.lift(e.name == "polygon")
}

func (s *svg) rect(e *element, in inherited) {
	v, ok := s.lengths(e, "x", "y", "width", "height")
	if !ok || !(v[2] > 0 && v[3] > 0) {
		return
	}
	rx, ry, ok := s.radii(e)
	if !ok {
		return
	}
	x, y, w, h := v[0], v[1], v[2], v[3]
	rx, ry = min(rx, w/2), min(ry, h/2)
	p := s.pen(e, in)
	corner := func(cx, cy, from float64, to Point) {
		if rx > 0 && ry > 0 {
			p.arc(arc{Point{cx, cy}, Point{rx, 0}, Point{0, ry}, from, from + math.Pi/2}, to)
		}
	}
	p.move(Point{x + rx, y})
	p.line(Point{x + w - rx, y})
	corner(x+w-rx, y+ry, -math.Pi/2, Point{x + w, y + ry})
	p.line(Point{x + w, y + h - ry})
	corner(x+w-rx, y+h-ry, 0, Point{x + w - rx, y + h})
	p.line(Point{x + rx, y + h})
	corner(x+rx, y+h-ry, math.Pi/2, Point{x, y + h - ry})
	p.line(Point{x, y + ry})
	corner(x+rx, y+ry, math.Pi, Point{x + rx, y})
	p.lift(true)
}

// radii reads rx and ry, of which one left out is as the other.
func (s *svg) radii(e *element) (rx, ry float64, ok bool) {
	auto := func(name string) bool { return e.attr[name] == "" || e.attr[name] == "auto" }
	switch {
	case auto("rx") && auto("ry"):
		return 0, 0, true
	case auto("ry"):
		rx, ok = s.length(e, "rx", 0)
		ry = rx
	case auto("rx"):
		ry, ok = s.length(e, "ry", 0)
		rx = ry
	default:
		var okX bool
		rx, okX = s.length(e, "rx", 0)
		ry, ok = s.length(e, "ry", 0)
		ok = ok && okX
	}
	return max(rx, 0), max(ry, 0), ok
}

func (s *svg) ellipse(e *element, in inherited) {
	v, ok := s.lengths(e, "cx", "cy", "r")
	rx, ry := 0.0, 0.0
	if e.name == "circle" && ok {
		rx, ry = v[2], v[2]
	} else if ok {
		rx, ry, ok = s.radii(e)
	}
	if !ok || !(rx > 0 && ry > 0) {
		return
	}
	p := s.pen(e, in)
	start := Point{v[0] + rx, v[1]}
	p.move(start)
	p.arc(arc{Point{v[0], v[1]}, Point{rx, 0}, Point{0, ry}, 0, 2 * math.Pi}, start)
	p.lift(true)
}
