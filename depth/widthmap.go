package depth

import (
	"fmt"
	"io"
	"math"

	"brightcut/blank"
)

// shade is a class of a width's distance from the one wished.
type shade struct {
	from, to float64 // in tolerances
	pen
}

// shades go from too narrow, dashed, to too wide, heavy.
var shades = []shade{
	{math.Inf(-1), -2, pen{"#06c", 3, "3 9"}},
	{-2, -1, pen{"#28c", 3, "8 8"}},
	{-1, -0.5, pen{"#7ab", 2.5, "16 5"}},
	{-0.5, 0.5, pen{"#999", 1.5, ""}},
	{0.5, 1, pen{"#666", 3, ""}},
	{1, 2, pen{"#a51", 5.5, ""}},
	{2, math.Inf(1), pen{"#000", 9, ""}},
}

func shadeOf(off float64) int {
	for i := range shades {
		if off < shades[i].to {
			return i
		}
	}
	return len(shades) - 1
}

// MapFigure draws the work from above with every cut as a line that tells how far
// its width is from the one wished, as SVG. Dashed lines are too narrow, heavy ones
// too wide.
func (p *Plan) MapFigure(w io.Writer) error {
	m := p.Prediction.task
	b := m.work.Blank
	box := b.Bounds()
	size := max(box.Max.X-box.Min.X, box.Max.Y-box.Min.Y)
	const side, left, top = 1200, 40, 80
	scale := side / size
	d := newDrawing(1800, top+(box.Max.Y-box.Min.Y)*scale+40+80, "Width over the work, as planned")
	at := func(x, y float64) (float64, float64) {
		return left + (x-box.Min.X)*scale, top + (box.Max.Y-y)*scale
	}
	loops := func(s blank.Shape, attributes string) {
		for _, loop := range s.Outline(0.2 / scale) {
			var data []byte
			for i, v := range loop {
				x, y := at(v.X, v.Y)
				if i == 0 {
					data = moveTo(data, x, y)
				} else {
					data = lineTo(data, x, y)
				}
			}
			d.path(append(data, 'Z'), attributes)
		}
	}
	loops(b.Outline, `stroke-width="3"`)
	for _, v := range b.Windows {
		loops(v.Shape, `stroke-width="2"`)
	}
	for _, v := range b.KeepClear {
		loops(v.Shape, `fill="url(#hatch)" stroke-width="1.5" stroke-dasharray="6 6"`)
	}
	paths := make([][]byte, len(shades))
	length := make([]float64, len(shades))
	for i := range p.Prediction.Cuts {
		p.Prediction.lines(i, p.Tolerance, at, paths, length)
	}
	all := 0.0
	for i, l := range length {
		all += l
		if len(paths[i]) > 0 {
			d.path(paths[i], shades[i].pen.String())
		}
	}
	x, y := 1290.0, 140.0
	d.text(x, y, "start", "Off the wished width by, and")
	d.text(x, y+36, "start", "the share of the way:")
	y += 50
	for i := len(shades) - 1; i >= 0; i-- {
		y += 50
		s := shades[i]
		d.line(x, y-9, x+90, y-9, s.pen)
		d.text(x+110, y, "start", shadeWords(s, 100*p.Tolerance))
		d.text(1780, y, "end", fmt.Sprintf("%.1f %%", 100*length[i]/all))
	}
	// A scale as long as a round number of millimetres.
	bar := ticks(size)
	foot := d.h - 40
	d.line(left, foot-30, left+bar*scale, foot-30, pen{"#000", 4, ""})
	d.text(left+bar*scale+16, foot-21, "start", short(bar)+" mm")
	return d.writeTo(w)
}

func shadeWords(s shade, percent float64) string {
	switch {
	case math.IsInf(s.from, -1):
		return fmt.Sprintf("over %.3g %% too narrow", -s.to*percent)
	case math.IsInf(s.to, 1):
		return fmt.Sprintf("over %.3g %% too wide", s.from*percent)
	}
	return fmt.Sprintf("%+.3g to %+.3g %%", s.from*percent, s.to*percent)
}

// lines adds a cut's way to the paths of its shades, and its length on the work.
// Places on a straight line are left out.
func (p *Prediction) lines(i int, tolerance float64, at func(x, y float64) (float64, float64), paths [][]byte, length []float64) {
	const off = 0.01 // mm, from a straight line
	places := p.Places(i + 1)
	spots := p.task.spots(nil, i)
	wish := p.task.wished(i)
	class := func(k int) int { return shadeOf((places[k].Width/wish - 1) / tolerance) }
	for k := 0; k+1 < len(places); {
		s := class(k)
		x, y := at(places[k].X, places[k].Y)
		paths[s] = moveTo(paths[s], x, y)
		anchor := k
		for k+1 < len(places) && !spots[k+1].first {
			k++
			a, b := &places[anchor], &places[k]
			length[s] += math.Hypot(b.X-places[k-1].X, b.Y-places[k-1].Y)
			last := k+1 == len(places) || spots[k+1].first || class(k) != s
			bent := false
			if !last {
				c := &places[k+1]
				cross := (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)
				bent = math.Abs(cross) > off*math.Hypot(c.X-a.X, c.Y-a.Y)
			}
			if last || bent {
				x, y := at(b.X, b.Y)
				paths[s] = lineTo(paths[s], x, y)
				anchor = k
			}
			if class(k) != s {
				break
			}
		}
		if k+1 < len(places) && spots[k+1].first {
			k++
		}
	}
}
