package tracing

import (
	"encoding/xml"
	"fmt"
	"io"
	"strings"

	"brightcut/fault"
)

// readSVG reads an SVG drawing (Scalable Vector Graphics 1.1 and 2, W3C) as far as
// it draws lines: shapes, paths, groups, transforms, nested drawings, copies by
// use. Styles count where they stand in an attribute.
func readSVG(r io.Reader, name string, o Options) (*Drawing, error) {
	in := &limited{r: r, left: MaxBytes}
	s := &svg{sketch: sketch{file: name, tolerance: o.tolerance()}, ids: map[string]*element{}}
	root, err := s.tree(in)
	if in.over {
		return nil, longFault(name)
	}
	if err != nil {
		return nil, err
	}
	if s.faults.Any() {
		return nil, s.faults.List()
	}
	scale := s.page(root, o.Unit)
	return s.drawing(scale)
}

// element is an element as it stands in the file.
type element struct {
	name   string
	attr   map[string]string
	child  []*element
	origin fault.Origin
}

// svg is an SVG drawing being read.
type svg struct {
	sketch
	ids map[string]*element
}

// Elements that draw nothing where they stand.
var unseen = map[string]bool{"defs": true, "symbol": true, "clipPath": true, "mask": true, "pattern": true, "marker": true,
	"linearGradient": true, "radialGradient": true, "metadata": true, "style": true, "title": true, "desc": true, "script": true, "filter": true}

// tree reads the elements. It stops at the first fault.
func (s *svg) tree(r io.Reader) (*element, error) {
	d := xml.NewDecoder(r)
	var root *element
	var open []*element
	count, bytes := 0, 0
	for {
		line, column := d.InputPos()
		at := fault.Origin{File: s.file, Line: line, Column: column}
		t, err := d.RawToken()
		if err == io.EOF && root != nil && len(open) == 0 {
			return root, nil
		}
		if err != nil {
			return nil, s.broken(d, err)
		}
		one := func(problem, mend string) (*element, error) {
			return nil, fault.List{{Origin: at, Problem: problem, Mend: mend}}
		}
		switch t := t.(type) {
		case xml.Directive:
			if text := string(t); strings.ContainsAny(text, "[") || strings.HasPrefix(text, "ENTITY") {
				return one("it defines words of its own (a DOCTYPE with entities), which can stand for anything and are not read", "save it as plain SVG")
			}
		case xml.StartElement:
			if count++; count > MaxLines {
				return one(fmt.Sprintf("it has more than %d elements", MaxLines), "save only the edge")
			}
			if len(open) >= maxDepth {
				return one(fmt.Sprintf("groups stand more than %d deep in one another", maxDepth), "ungroup the drawing")
			}
			e := &element{name: t.Name.Local, origin: at}
			for _, a := range t.Attr {
				if attributes[a.Name.Local] {
					if e.attr == nil {
						e.attr = map[string]string{}
					}
					if _, has := e.attr[a.Name.Local]; has && a.Name.Space != "" {
						continue // href stands before xlink:href
					}
					e.attr[a.Name.Local] = a.Value
					bytes += len(a.Value)
				}
			}
			if bytes > MaxBytes {
				return nil, longFault(s.file)
			}
			switch {
			case root == nil && e.name != "svg":
				return one(fmt.Sprintf("the file begins with <%.30s>, not with <svg>", e.name), "give an SVG drawing")
			case root == nil:
				root = e
			case len(open) == 0:
				return one("something follows the end of the drawing", "save it anew")
			default:
				p := open[len(open)-1]
				p.child = append(p.child, e)
			}
			if id := e.attr["id"]; id != "" && s.ids[id] == nil {
				s.ids[id] = e
			}
			open = append(open, e)
		case xml.EndElement:
			if len(open) == 0 || open[len(open)-1].name != t.Name.Local {
				return one(fmt.Sprintf("</%.30s> closes nothing that is open", t.Name.Local), "save it anew")
			}
			open = open[:len(open)-1]
		case xml.CharData:
			if n := len(open); n > 0 && open[n-1].name == "style" && strings.Contains(string(t), "display") {
				s.remark(at, "A style sheet of the drawing is not read; what it hides is taken as drawn.")
			}
		}
	}
}

func (s *svg) broken(d *xml.Decoder, err error) error {
	line, column := d.InputPos()
	at := fault.Origin{File: s.file, Line: line, Column: column}
	if e, ok := err.(*xml.SyntaxError); ok {
		if strings.Contains(e.Msg, "entity") {
			return fault.List{{Origin: at, Problem: "it uses a word of its own (an entity), which is not read: " + e.Msg, Mend: "save it as plain SVG"}}
		}
		return fault.List{{Origin: at, Problem: "the file is no sound XML: " + e.Msg, Mend: "save it anew"}}
	}
	if err == io.EOF || err == io.ErrUnexpectedEOF {
		return fault.List{{Origin: at, Problem: "the file ends before the drawing does", Mend: "save it anew, or fetch it again"}}
	}
	if strings.Contains(err.Error(), "encoding") {
		return fault.List{{Origin: at, Problem: "its text is not in UTF-8", Mend: "save it as UTF-8"}}
	}
	return fmt.Errorf("read %s: %w", s.file, err)
}

// attributes are those that are kept.
// attributes are those that are kept.
var attributes = map[string]bool{
	"id": true, "label": true, "d": true, "points": true, "x": true, "y": true, "x1": true, "y1": true, "x2": true, "y2": true, "cx": true, "cy": true,
	"r": true, "rx": true, "ry": true, "width": true, "height": true, "viewBox": true, "preserveAspectRatio": true, "transform": true, "style": true, "display": true, "visibility": true, "href": true,
}

// inherited is what an element takes from those around it.
type inherited struct {
	m      affine
	names  []string
	hidden bool // visibility, which a child may undo
	copies int
	using  []*element // that this is a copy of
	view   Point      // width and height of the viewport, in units of it
}

// page draws the outermost element and returns the mm of its unit.
func (s *svg) page(e *element, unit float64) float64 {
	const px = 25.4 / 96 // CSS Values and Units: 96 px to the inch
	box, boxed := s.viewBox(e)
	w, hasW := s.size(e, "width")
	h, hasH := s.size(e, "height")
	if s.faults.Any() {
		return 0
	}
	switch {
	case !hasW && !hasH && !boxed:
		w, h = 0, 0
	case !hasW && !hasH:
		w, h = box.w, box.h
	case !hasW && boxed:
		w = h * box.w / box.h
	case !hasH && boxed:
		h = w * box.h / box.w
	}
	if unit == 0 && !absolute(e.attr["width"]) && !absolute(e.attr["height"]) {
		s.remark(e.origin, "The drawing does not say how large it is: its unit is taken as the px of the web, 96 to the inch. If the size is wrong, give the length of one unit.")
	}
	m := identity
	view := Point{w, h}
	if boxed {
		m = s.fit(e, box, w, h)
		view = Point{box.w, box.h}
	}
	scale := px
	if unit > 0 {
		// What is told is the unit of the numbers in the drawing.
		scale = unit
		if boxed && m.a != 0 {
			scale = unit / m.a
		}
	}
	// Up is up: the page's lower edge, where there is one, is at y = 0.
	m = shift(0, h*scale).times(scaling(scale, -scale)).times(m)
	one := m.a
	if t, ok := s.transform(e); ok {
		m = m.times(t)
	}
	s.children(e, inherited{m: m, names: s.names(nil, e), view: view})
	return one
}

// names adds the names of an element to those around it.
func (s *svg) names(names []string, e *element) []string {
	names = names[:len(names):len(names)]
	for _, k := range []string{"id", "label"} {
		if v := e.attr[k]; v != "" {
			names = append(names, v)
		}
	}
	return names
}

func (s *svg) children(e *element, in inherited) {
	for _, c := range e.child {
		s.draw(c, in)
	}
}

// style returns a property from the style attribute, or from the attribute of its
// name.
func (e *element) style(property string) string {
	for _, one := range strings.Split(e.attr["style"], ";") {
		if k, v, ok := strings.Cut(one, ":"); ok && strings.TrimSpace(k) == property {
			return strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(v), "!important"))
		}
	}
	return strings.TrimSpace(e.attr[property])
}

// draw draws an element and what it holds.
func (s *svg) draw(e *element, in inherited) {
	if unseen[e.name] || s.full {
		return
	}
	if e.style("display") == "none" {
		return
	}
	switch e.style("visibility") {
	case "hidden", "collapse":
		in.hidden = true
	case "visible":
		in.hidden = false
	}
	if strings.Contains(e.attr["style"], "transform") && e.style("transform") != strings.TrimSpace(e.attr["transform"]) {
		s.fault(e.origin, "style", "a transform in a style is not read", "put it into the attribute transform, or apply it to the drawing")
		return
	}
	t, ok := s.transform(e)
	if !ok {
		return
	}
	in.m = in.m.times(t)
	in.names = s.names(in.names, e)
	if !s.another(e.origin) {
		return
	}
	switch e.name {
	case "g", "a", "switch":
		s.children(e, in)
	case "svg":
		s.nested(e, in, "", "")
	case "use":
		s.use(e, in)
	case "text", "image", "foreignObject":
		s.remark(e.origin, fmt.Sprintf("A <%s> is no line and was left out.", e.name))
	default:
		if shape := shapes[e.name]; shape != nil && !in.hidden {
			shape(s, e, in)
		}
	}
}

// nested draws a drawing within the drawing, or a symbol, of the size given by
// itself or by its user.
func (s *svg) nested(e *element, in inherited, width, height string) {
	x, okX := s.length(e, "x", 0)
	y, okY := s.length(e, "y", 0)
	if !okX || !okY {
		return
	}
	if e.name == "symbol" {
		x, y = 0, 0
	}
	in.m = in.m.times(shift(x, y))
	box, boxed := s.viewBox(e)
	if !boxed {
		s.children(e, in)
		return
	}
	sized := *e
	sized.attr = map[string]string{}
	for k, v := range e.attr {
		sized.attr[k] = v
	}
	if width != "" {
		sized.attr["width"] = width
	}
	if height != "" {
		sized.attr["height"] = height
	}
	w, hasW := s.size(&sized, "width")
	h, hasH := s.size(&sized, "height")
	if !hasW { // 100 % of what is around
		w = in.view.X
	}
	if !hasH {
		h = in.view.Y
	}
	in.m = in.m.times(s.fit(&sized, box, w, h))
	in.view = Point{box.w, box.h}
	s.children(e, in)
}

// use draws a copy.
func (s *svg) use(e *element, in inherited) {
	target, local := strings.CutPrefix(strings.TrimSpace(e.attr["href"]), "#")
	if !local {
		s.fault(e.origin, "href", fmt.Sprintf("it copies %.60q, which is not in this file", e.attr["href"]), "bring what it copies into the drawing")
		return
	}
	of := s.ids[target]
	if of == nil {
		s.fault(e.origin, "href", fmt.Sprintf("it copies %.60q, which the drawing has not", target), "mend the name, or take the copy out")
		return
	}
	for _, u := range in.using {
		if u == of {
			s.fault(e.origin, "href", fmt.Sprintf("it copies %.60q within itself", target), "take the copy out")
			return
		}
	}
	if in.copies++; in.copies > maxCopies {
		s.fault(e.origin, "href", fmt.Sprintf("copies stand more than %d deep in one another", maxCopies), "turn the copies into lines of their own")
		return
	}
	x, okX := s.length(e, "x", 0)
	y, okY := s.length(e, "y", 0)
	if !okX || !okY {
		return
	}
	in.using = append(in.using[:len(in.using):len(in.using)], of)
	in.m = in.m.times(shift(x, y))
	if of.name != "symbol" {
		s.draw(of, in)
		return
	}
	if of.style("display") == "none" {
		return
	}
	if t, ok := s.transform(of); ok {
		in.m = in.m.times(t)
		s.nested(of, in, e.attr["width"], e.attr["height"])
	}
}
