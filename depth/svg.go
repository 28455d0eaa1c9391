package depth

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
)

// drawing is an SVG picture in the making; its unit is a tenth of a millimetre on
// paper. What it shows does not hang on colour: lines differ by weight and dash,
// areas by hatching.
type drawing struct {
	b    bytes.Buffer
	w, h float64
}

const fontSize = 26 // 2.6 mm

func newDrawing(w, h float64, title string) *drawing {
	d := &drawing{w: w, h: h}
	fmt.Fprintf(&d.b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" font-family="sans-serif" font-size="%d" fill="none" stroke="#000" stroke-width="2" stroke-linejoin="round">`+"\n",
		num(w/10), num(h/10), num(w), num(h), fontSize)
	d.b.WriteString("<title>")
	d.escape(title)
	d.b.WriteString("</title>\n")
	d.b.WriteString(`<defs><pattern id="hatch" width="10" height="10" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V10" stroke="#000" stroke-width="1.5"/></pattern></defs>` + "\n")
	fmt.Fprintf(&d.b, `<rect width="%s" height="%s" fill="#fff" stroke="none"/>`+"\n", num(w), num(h))
	d.text(w/2, 40, "middle", title)
	return d
}

func (d *drawing) escape(s string) { _ = xml.EscapeText(&d.b, []byte(s)) }

func (d *drawing) text(x, y float64, anchor, s string) {
	fmt.Fprintf(&d.b, `<text x="%s" y="%s" text-anchor="%s" fill="#000" stroke="none">`, num(x), num(y), anchor)
	d.escape(s)
	d.b.WriteString("</text>\n")
}

// upright writes along the axis of heights.
func (d *drawing) upright(x, y float64, s string) {
	fmt.Fprintf(&d.b, `<text transform="translate(%s %s) rotate(-90)" text-anchor="middle" fill="#000" stroke="none">`, num(x), num(y))
	d.escape(s)
	d.b.WriteString("</text>\n")
}

// pen is how a line is drawn.
type pen struct {
	colour string
	width  float64
	dash   string
}

func (p pen) String() string {
	s := fmt.Sprintf(`stroke="%s" stroke-width="%s"`, p.colour, num(p.width))
	if p.dash != "" {
		s += fmt.Sprintf(` stroke-dasharray="%s"`, p.dash)
	}
	return s
}

func (d *drawing) line(x0, y0, x1, y1 float64, p pen) {
	fmt.Fprintf(&d.b, `<path d="M%s %sL%s %s" %s/>`+"\n", num(x0), num(y0), num(x1), num(y1), p)
}

// path draws a finished path, or fills it.
func (d *drawing) path(data []byte, attributes string) {
	d.b.WriteString(`<path d="`)
	d.b.Write(data)
	d.b.WriteString(`" ` + attributes + "/>\n")
}

func (d *drawing) writeTo(w io.Writer) error {
	d.b.WriteString("</svg>\n")
	_, err := w.Write(d.b.Bytes())
	return err
}

// moveTo and lineTo add a point to a path.
func moveTo(to []byte, x, y float64) []byte { return point(append(to, 'M'), x, y) }

func lineTo(to []byte, x, y float64) []byte { return point(append(to, 'L'), x, y) }

func point(to []byte, x, y float64) []byte {
	to = append(to, num(x)...)
	return append(append(to, ' '), num(y)...)
}

// num writes a length on paper: a hundredth of a millimetre is enough.
func num(v float64) string {
	v = math.Round(v*10) / 10
	if v == 0 {
		v = 0 // no minus
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// chart is a frame with two scales.
type chart struct {
	*drawing
	left, right, top, bottom float64 // of the frame, on paper
	x0, x1, y0, y1           float64 // of the scales
}

// newChart frames the data; y is widened so that its ends are whole ticks.
func newChart(title, xName, yName string, x0, x1, y0, y1 float64) *chart {
	c := &chart{drawing: newDrawing(1800, 1000, title), left: 190, right: 1760, top: 70, bottom: 760, x0: x0, x1: x1}
	if !(x1 > x0) {
		c.x0, c.x1 = x0-1, x1+1
	}
	if !(y1 > y0) {
		y0, y1 = y0-1, y1+1
	}
	step := ticks(y1 - y0)
	c.y0, c.y1 = math.Floor(y0/step)*step, math.Ceil(y1/step)*step
	grid := pen{"#bbb", 1, ""}
	for k := math.Round(c.y0 / step); k <= math.Round(c.y1/step); k++ {
		_, y := c.at(c.x0, k*step)
		c.line(c.left, y, c.right, y, grid)
		c.text(c.left-14, y+9, "end", short(k*step))
	}
	step = ticks(c.x1 - c.x0)
	for k := math.Ceil(c.x0/step - 1e-9); k <= math.Floor(c.x1/step+1e-9); k++ {
		x, _ := c.at(k*step, c.y0)
		c.line(x, c.bottom, x, c.bottom+10, pen{"#000", 2, ""})
		c.text(x, c.bottom+42, "middle", short(k*step))
	}
	c.text((c.left+c.right)/2, c.bottom+84, "middle", xName)
	c.upright(50, (c.top+c.bottom)/2, yName)
	fmt.Fprintf(&c.b, `<rect x="%s" y="%s" width="%s" height="%s"/>`+"\n", num(c.left), num(c.top), num(c.right-c.left), num(c.bottom-c.top))
	return c
}

// ticks returns a step of 1, 2 or 5 that divides a scale into five to ten.
func ticks(span float64) float64 {
	step := math.Pow(10, math.Floor(math.Log10(span/5)))
	for _, f := range []float64{5, 2} {
		if span/(step*f) >= 4.5 {
			return step * f
		}
	}
	return step
}

// at returns where data stand on paper.
func (c *chart) at(x, y float64) (float64, float64) {
	return c.left + (x-c.x0)/(c.x1-c.x0)*(c.right-c.left), c.bottom - (y-c.y0)/(c.y1-c.y0)*(c.bottom-c.top)
}

// curve draws a line through data; a y that is not a number breaks it.
func (c *chart) curve(xs, ys []float64, p pen) {
	var data []byte
	on := false
	for i := range xs {
		if math.IsNaN(ys[i]) {
			on = false
			continue
		}
		x, y := c.at(xs[i], ys[i])
		if on {
			data = lineTo(data, x, y)
		} else {
			data = moveTo(data, x, y)
		}
		on = true
	}
	if len(data) > 0 {
		c.path(data, p.String())
	}
}

// key explains pens below the chart, side by side.
func (c *chart) key(row int, entries ...any) {
	x, y := c.left, c.bottom+130+float64(row)*42
	for i := 0; i+1 < len(entries); i += 2 {
		if p, ok := entries[i].(pen); ok {
			c.line(x, y-9, x+70, y-9, p)
		} else {
			fmt.Fprintf(&c.b, `<rect x="%s" y="%s" width="70" height="26" fill="url(#hatch)" stroke-width="1"/>`+"\n", num(x), num(y-22))
		}
		words := entries[i+1].(string)
		c.text(x+84, y, "start", words)
		x += 84 + 14*float64(len([]rune(words))) + 50
	}
}
