package export

import (
	"fmt"
	"io"
	"math"
	"strings"
)

// svgDecimals: a tenth of a micron.
const svgDecimals = 4

// hairline is the width of the lines of a drawing, mm.
const hairline = 0.05

// SVG writes the figure in true millimetres: width and height carry mm, and one
// unit of the viewBox is one. Every layer is a group with its name as id; arcs are
// arcs. The origin is kept; y, which grows downwards in SVG, is −y of the figure.
func SVG(w io.Writer, f Figure) (Summary, error) {
	s, err := f.measure("SVG")
	if err != nil {
		return s, err
	}
	o := newOut(w)
	box := s.box()
	const margin = 1.0 // round the lines, so that none is cut in half by the edge
	x, y := math.Floor(box.Min.X-margin), math.Floor(-box.Max.Y-margin)
	wide, high := math.Ceil(box.Max.X+margin)-x, math.Ceil(-box.Min.Y+margin)-y
	o.put("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"")
	o.num(wide, 0)
	o.put("mm\" height=\"")
	o.num(high, 0)
	o.put("mm\" viewBox=\"")
	for i, v := range []float64{x, y, wide, high} {
		if i > 0 {
			o.put(" ")
		}
		o.num(v, 0)
	}
	o.put("\">\n<title>", xmlText(f.Name), "</title>\n")
	for i, layer := range f.Layers {
		if s.Counts[layer] == 0 {
			continue
		}
		fmt.Fprintf(o.w, "<g id=\"%s\" fill=\"none\" stroke=\"%s\" stroke-width=\"%g\" stroke-linejoin=\"round\">\n", layer, svgColours[i%len(svgColours)], hairline)
		for l := range f.Lines {
			if l.Layer == layer {
				o.svgPath(l)
			}
		}
		o.put("</g>\n")
	}
	o.put("</svg>\n")
	if err := o.end(); err != nil {
		return s, fmt.Errorf("export: writing SVG of %q: %w", f.Name, err)
	}
	return s, nil
}

// svgColours tell layers apart on a screen; their groups do so for a program.
var svgColours = []string{"#000000", "#b00020", "#0050b0", "#007a3d", "#8a5a00", "#6a1b9a", "#00707a"}

func (o *out) svgPath(l Line) {
	if len(l.Nodes) == 0 {
		return
	}
	point := func(x, y float64) {
		o.num(x, svgDecimals)
		o.put(" ")
		o.num(-y, svgDecimals)
	}
	o.put("<path d=\"M")
	point(l.Nodes[0].X, l.Nodes[0].Y)
	left := len(l.Nodes)
	for s := range l.stretches() {
		left--
		switch {
		case s.bulge != 0:
			r := s.radius()
			o.put("A")
			o.num(r, svgDecimals+2)
			o.put(" ")
			o.num(r, svgDecimals+2)
			large, sweep := "0", "0"
			if math.Abs(s.bulge) > 1 {
				large = "1"
			}
			if s.bulge < 0 {
				sweep = "1"
			}
			o.put(" 0 ", large, " ", sweep, " ")
			point(s.b.X, s.b.Y)
		case l.Closed && left == 0: // Z draws it
		default:
			o.put("L")
			point(s.b.X, s.b.Y)
		}
	}
	if l.Closed {
		o.put("Z")
	}
	o.put("\"/>\n")
}

// xmlText makes a text safe within an element, without what XML cannot hold.
func xmlText(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0xfffe || r == 0xffff {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(s)
}
