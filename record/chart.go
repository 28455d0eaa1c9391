package record

import (
	"fmt"
	"math"
	"strings"
)

// Chart is dots and a line over an axis of cuts.
type Chart struct {
	X, Y    string // what the axes tell
	Dots    []Point
	Line    []Point
	Caption string
}

// Point is a place on a chart.
type Point struct{ X, Y float64 }

// The chart on paper, mm.
const (
	chartWidth  = 170.0
	chartHeight = 62.0
	chartLeft   = 16.0
	chartFoot   = 10.0
)

// pen is what a chart is drawn with; mm from its upper left corner.
type pen interface {
	line(grey int, width float64, points ...Point)
	dot(at Point, radius float64)
	text(at Point, size float64, middle bool, words string)
}

// draw draws the chart.
func (c *Chart) draw(p pen) {
	x0, x1 := math.Inf(1), math.Inf(-1)
	y0, y1 := math.Inf(1), math.Inf(-1)
	for _, q := range append(append([]Point(nil), c.Dots...), c.Line...) {
		x0, x1, y0, y1 = min(x0, q.X), max(x1, q.X), min(y0, q.Y), max(y1, q.Y)
	}
	if x1 <= x0 {
		x0, x1 = x0-1, x1+1
	}
	if y1 <= y0 {
		y0, y1 = y0-1, y1+1
	}
	y0, y1 = y0-0.08*(y1-y0), y1+0.08*(y1-y0)
	place := func(q Point) Point {
		return Point{chartLeft + (q.X-x0)/(x1-x0)*(chartWidth-chartLeft-4), (y1 - q.Y) / (y1 - y0) * (chartHeight - chartFoot)}
	}
	for _, y := range ticks(y0, y1, 5) {
		a, b := place(Point{x0, y}), place(Point{x1, y})
		p.line(200, 0.1, a, b)
		p.text(Point{chartLeft - 8, a.Y + 1}, 2.6, true, number(y))
	}
	for _, x := range ticks(x0, x1, 8) {
		a := place(Point{x, y0})
		p.line(0, 0.15, a, Point{a.X, a.Y + 1})
		p.text(Point{a.X, a.Y + 4}, 2.6, true, number(x))
	}
	p.line(0, 0.2, place(Point{x0, y1}), place(Point{x0, y0}), place(Point{x1, y0}))
	if len(c.Line) > 1 {
		var l []Point
		for _, q := range c.Line {
			l = append(l, place(q))
		}
		p.line(110, 0.25, l...)
	}
	for _, q := range c.Dots {
		p.dot(place(q), 0.6)
	}
	p.text(Point{chartLeft, chartHeight - 1}, 2.8, false, c.Y+" by "+c.X)
}

// ticks are round values between two ends, about n of them.
func ticks(from, to float64, n int) []float64 {
	step := math.Pow(10, math.Floor(math.Log10((to-from)/float64(n))))
	for _, f := range []float64{2, 2.5, 2} { // 2, 5, 10
		if (to-from)/step <= float64(n) {
			break
		}
		step *= f
	}
	var out []float64
	for i := math.Ceil(from / step); i*step <= to; i++ {
		out = append(out, i*step)
	}
	return out
}

func number(v float64) string {
	if v == math.Trunc(v) {
		return fmt.Sprintf("%.0f", v)
	}
	return strings.TrimRight(fmt.Sprintf("%.3f", v), "0")
}
