package tracing

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// numbers scans numbers as SVG writes them: with or without commas, run together
// where no two can be read as one.
type numbers struct {
	text string
	at   int
}

func blank(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\f' }

func (n *numbers) blanks() {
	for n.at < len(n.text) && blank(n.text[n.at]) {
		n.at++
	}
}

// comma skips blanks and one comma at most.
func (n *numbers) comma() {
	n.blanks()
	if n.at < len(n.text) && n.text[n.at] == ',' {
		n.at++
		n.blanks()
	}
}

func (n *numbers) done() bool {
	n.blanks()
	return n.at >= len(n.text)
}

// more says whether a number begins here.
func (n *numbers) more() bool {
	if n.at >= len(n.text) {
		return false
	}
	c := n.text[n.at]
	return c >= '0' && c <= '9' || c == '.' || c == '-' || c == '+'
}

func (n *numbers) digits() int {
	from := n.at
	for n.at < len(n.text) && n.text[n.at] >= '0' && n.text[n.at] <= '9' {
		n.at++
	}
	return n.at - from
}

// next reads one number: sign, digits, point, digits, exponent.
func (n *numbers) next() (float64, bool) {
	from := n.at
	if n.at < len(n.text) && (n.text[n.at] == '-' || n.text[n.at] == '+') {
		n.at++
	}
	d := n.digits()
	if n.at < len(n.text) && n.text[n.at] == '.' {
		n.at++
		d += n.digits()
	}
	if d == 0 {
		n.at = from
		return 0, false
	}
	if n.at < len(n.text) && (n.text[n.at] == 'e' || n.text[n.at] == 'E') {
		mark := n.at
		n.at++
		if n.at < len(n.text) && (n.text[n.at] == '-' || n.text[n.at] == '+') {
			n.at++
		}
		if n.digits() == 0 { // "1em": a unit
			n.at = mark
		}
	}
	v, err := strconv.ParseFloat(n.text[from:n.at], 64)
	if err != nil || math.IsInf(v, 0) {
		n.at = from
		return 0, false
	}
	return v, true
}

// flag reads the 0 or 1 of an arc, which needs no separator after it.
func (n *numbers) flag() (bool, bool) {
	if n.at < len(n.text) && (n.text[n.at] == '0' || n.text[n.at] == '1') {
		n.at++
		return n.text[n.at-1] == '1', true
	}
	return false, false
}

// near shows the text about the place for a message.
func (n *numbers) near() string {
	from, to := max(n.at-12, 0), min(n.at+12, len(n.text))
	return strconv.QuoteToASCII(n.text[from:to])
}

// Sizes in px (CSS Values and Units 3: 96 px, 72 pt, 6 pc to the inch).
var sizes = map[string]float64{"": 1, "px": 1, "mm": 96 / 25.4, "cm": 960 / 25.4, "q": 24 / 25.4, "in": 96, "pt": 96. / 72, "pc": 16}

// sized reads a length in px. percent says that it is a share of something.
func sized(text string) (v float64, percent, ok bool) {
	n := numbers{text: strings.TrimSpace(text)}
	v, ok = n.next()
	if !ok {
		return 0, false, false
	}
	unit := strings.ToLower(strings.TrimSpace(n.text[n.at:]))
	if unit == "%" {
		return v, true, true
	}
	size, known := sizes[unit]
	return v * size, false, known
}

// absolute says whether a width is in a unit of the ruler.
func absolute(text string) bool {
	n := numbers{text: strings.TrimSpace(text)}
	_, ok := n.next()
	unit := strings.ToLower(strings.TrimSpace(n.text[n.at:]))
	return ok && unit != "" && unit != "px" && unit != "%" && sizes[unit] != 0
}

// length reads an attribute in user units, or what is meant when it is left out.
func (s *svg) length(e *element, name string, absent float64) (float64, bool) {
	text, has := e.attr[name]
	if !has {
		return absent, true
	}
	v, percent, ok := sized(text)
	if !ok || percent {
		s.fault(e.origin, name, fmt.Sprintf("%.40q is no length that can be read here", text), "give a number, in units of the drawing or with mm, cm, in, pt or px")
		return 0, false
	}
	return v, true
}

// size reads width or height of a viewport, px; a percentage counts as left out.
func (s *svg) size(e *element, name string) (v float64, has bool) {
	text, has := e.attr[name]
	if !has || strings.TrimSpace(text) == "auto" {
		return 0, false
	}
	v, percent, ok := sized(text)
	if !ok || !(v > 0) {
		s.fault(e.origin, name, fmt.Sprintf("%.40q is no size of a drawing", text), "give a number above 0 with mm, cm, in, pt or px")
		return 0, false
	}
	return v, !percent
}

type box struct{ x, y, w, h float64 }

// viewBox reads what part of the drawing's plane the viewport shows.
func (s *svg) viewBox(e *element) (b box, has bool) {
	text, has := e.attr["viewBox"]
	if !has {
		return b, false
	}
	n := numbers{text: text}
	n.blanks()
	for i, to := range []*float64{&b.x, &b.y, &b.w, &b.h} {
		if i > 0 {
			n.comma()
		}
		v, ok := n.next()
		if !ok {
			s.fault(e.origin, "viewBox", fmt.Sprintf("%.60q is not four numbers", text), "give left, top, width and height")
			return b, false
		}
		*to = v
	}
	if !n.done() || !(b.w > 0 && b.h > 0) {
		s.fault(e.origin, "viewBox", fmt.Sprintf("%.60q is not left, top, width and height above 0", text), "give four numbers")
		return b, false
	}
	return b, true
}

// fit maps the viewBox into a viewport of w by h (SVG 2, 8.2: equivalent transform).
func (s *svg) fit(e *element, b box, w, h float64) affine {
	sx, sy := w/b.w, h/b.h
	align, slice := "xMidYMid", false
	for _, word := range strings.Fields(e.attr["preserveAspectRatio"]) {
		switch word {
		case "meet":
		case "slice":
			slice = true
		case "defer":
		default:
			align = word
		}
	}
	if align == "none" {
		return affine{sx, 0, 0, sy, -b.x * sx, -b.y * sy}
	}
	scale := math.Min(sx, sy)
	if slice {
		scale = math.Max(sx, sy)
	}
	share := func(axis string) float64 {
		switch {
		case strings.Contains(align, axis+"Min"):
			return 0
		case strings.Contains(align, axis+"Max"):
			return 1
		}
		return 0.5
	}
	return affine{scale, 0, 0, scale,
		-b.x*scale + (w-b.w*scale)*share("x"),
		-b.y*scale + (h-b.h*scale)*share("Y")}
}

// transform reads the attribute of that name.
func (s *svg) transform(e *element) (affine, bool) {
	text := strings.TrimSpace(e.attr["transform"])
	m := identity
	bad := func(n *numbers) (affine, bool) {
		s.fault(e.origin, "transform", fmt.Sprintf("the transform cannot be read near %s", n.near()),
			"write matrix, translate, scale, rotate, skewX or skewY with their numbers in brackets")
		return m, false
	}
	n := &numbers{text: text}
	for !n.done() {
		from := n.at
		for n.at < len(text) && (text[n.at] >= 'a' && text[n.at] <= 'z' || text[n.at] == 'X' || text[n.at] == 'Y') {
			n.at++
		}
		word := text[from:n.at]
		n.blanks()
		if n.at >= len(text) || text[n.at] != '(' {
			return bad(n)
		}
		n.at++
		n.blanks()
		var v []float64
		for n.at < len(text) && text[n.at] != ')' {
			x, ok := n.next()
			if !ok || len(v) == 6 {
				return bad(n)
			}
			v = append(v, x)
			n.comma()
		}
		if n.at >= len(text) {
			return bad(n)
		}
		n.at++
		one, ok := named(word, v)
		if !ok {
			return bad(n)
		}
		m = m.times(one)
		n.comma()
	}
	return m, true
}

// named returns the transform of that name.
func named(word string, v []float64) (affine, bool) {
	const degree = math.Pi / 180
	switch {
	case word == "matrix" && len(v) == 6:
		return affine{v[0], v[1], v[2], v[3], v[4], v[5]}, true
	case word == "translate" && len(v) == 1:
		return shift(v[0], 0), true
	case word == "translate" && len(v) == 2:
		return shift(v[0], v[1]), true
	case word == "scale" && len(v) == 1:
		return scaling(v[0], v[0]), true
	case word == "scale" && len(v) == 2:
		return scaling(v[0], v[1]), true
	case word == "rotate" && len(v) == 1:
		return turning(v[0] * degree), true
	case word == "rotate" && len(v) == 3:
		return shift(v[1], v[2]).times(turning(v[0] * degree)).times(shift(-v[1], -v[2])), true
	case word == "skewX" && len(v) == 1:
		return affine{1, 0, math.Tan(v[0] * degree), 1, 0, 0}, true
	case word == "skewY" && len(v) == 1:
		return affine{1, math.Tan(v[0] * degree), 0, 1, 0, 0}, true
	}
	return identity, false
}
