package depth

import (
	"fmt"
	"io"
	"math"
)

// WidthFigure draws the width of every cut as SVG: its mean and, hatched, from
// the least to the greatest, with the tolerance, the holds, and what the guide
// alone would give in the order of the job.
func (p *Plan) WidthFigure(w io.Writer) error {
	n := len(p.Prediction.Cuts)
	wish := 1000 * p.wished()
	low, high := wish*(1-1.6*p.Tolerance), wish*(1+1.6*p.Tolerance)
	for _, k := range p.Prediction.Cuts {
		low, high = min(low, 1000*k.Width.Min), max(high, 1000*k.Width.Max)
	}
	// The guide alone may leave the picture.
	room := max(high-low, 0.3*wish)
	for _, k := range p.GuideOnly {
		low, high = max(min(low, 1000*k.Width.Mean), wish-room), min(max(high, 1000*k.Width.Mean), wish+room)
	}
	c := newChart("Width of every cut, as planned", "cut, in the order of cutting", "width across the stroke, µm", 1, float64(n), low, high)
	var band []byte
	put := func(i int, v float64) {
		x, y := c.at(float64(i+1), 1000*v)
		if len(band) == 0 {
			band = moveTo(band, x, y)
		} else {
			band = lineTo(band, x, y)
		}
	}
	xs, mean := make([]float64, n), make([]float64, n)
	for i, k := range p.Prediction.Cuts {
		xs[i], mean[i] = float64(i+1), 1000*k.Width.Mean
		put(i, k.Width.Max)
	}
	for i := n - 1; i >= 0; i-- {
		put(i, p.Prediction.Cuts[i].Width.Min)
	}
	c.path(append(band, 'Z'), `fill="url(#hatch)" stroke="#000" stroke-width="1"`)
	bound, planned, alone := pen{"#000", 1.5, "4 8"}, pen{"#000", 4, ""}, pen{"#a33", 3, "24 10"}
	for _, s := range []float64{1 - p.Tolerance, 1 + p.Tolerance} {
		_, y := c.at(0, wish*s)
		c.line(c.left, y, c.right, y, bound)
	}
	if len(p.GuideOnly) > 0 {
		ys := make([]float64, n)
		for i, k := range p.GuideOnly {
			if ys[i] = 1000 * k.Width.Mean; ys[i] < c.y0 || ys[i] > c.y1 {
				ys[i] = math.NaN()
			}
		}
		c.curve(xs, ys, alone)
	}
	c.curve(xs, mean, planned)
	for i, h := range p.Holds {
		x, _ := c.at(float64(h.First)-0.5, 0)
		if i > 0 {
			c.line(x, c.top, x, c.bottom, pen{"#000", 2, "12 6 3 6"})
		}
		end, _ := c.at(float64(h.Last)+0.5, 0)
		// A narrow run has its name beside it.
		if name := h.By.String(); end-x > 14*float64(len(name)) {
			c.text((max(x, c.left)+min(end, c.right))/2, c.top+32, "middle", name)
		} else {
			c.text(min(x, c.right)-8, c.top+32+34*float64(i%3+1), "end", name+" ›")
		}
	}
	c.key(0, planned, "planned, mean", nil, "least to greatest", bound, fmt.Sprintf("±%.3g %% of %.1f µm", 100*p.Tolerance, wish))
	if len(p.GuideOnly) > 0 {
		c.key(1, alone, "the guide alone, in the order of the job, mean (where it is within the picture)")
	}
	return c.writeTo(w)
}

// wished is the width wished for the first cut.
func (p *Plan) wished() float64 { return p.Prediction.task.wished(0) }

// GroundFigure draws, along the stroke of one cut, the uncut work, the ground on
// which the foot rests and the tip, as SVG.
func (p *Prediction) GroundFigure(w io.Writer, number int) error {
	places := p.Places(number)
	if len(places) == 0 {
		return fmt.Errorf("depth: there is no cut %d to draw; give one from 1 to %d", number, len(p.Cuts))
	}
	n := len(places)
	unit, per := "reading of the stroke, mm", 1.0
	if p.task.scale.around > 0 {
		unit, per = "reading of the spindle, deg", 180/math.Pi
	}
	low, high := math.Inf(1), math.Inf(-1)
	xs, stock, ground, tip := make([]float64, 0, n), make([]float64, 0, n), make([]float64, 0, n), make([]float64, 0, n)
	spots := p.task.spots(nil, number-1)
	guided := p.Cuts[number-1].By == ByGuide
	for i, q := range places {
		if spots[i].first && i > 0 {
			xs = append(xs, q.Reading*per)
			stock, ground, tip = append(stock, math.NaN()), append(ground, math.NaN()), append(tip, math.NaN())
		}
		xs = append(xs, q.Reading*per)
		stock, ground, tip = append(stock, 1000*q.Stock), append(ground, 1000*q.Ground), append(tip, 1000*q.Tip)
		low, high = min(low, 1000*q.Tip), max(high, 1000*q.Stock, 1000*q.Ground)
	}
	c := newChart(fmt.Sprintf("Ground under the guide and the tip: cut %d, held by %s", number, p.Cuts[number-1].By), unit,
		"height above the nominal form, µm", xs[0], xs[len(xs)-1], low, high)
	work, rest, cut := pen{"#000", 2, ""}, pen{"#15a", 4, "16 8"}, pen{"#000", 5, ""}
	c.curve(xs, stock, work)
	c.curve(xs, tip, cut)
	if !guided {
		c.key(0, work, "uncut work at the tip", cut, "tip")
		c.key(1, pen{"#fff", 1, ""}, "the guide is not used in this cut")
		return c.writeTo(w)
	}
	c.curve(xs, ground, rest)
	// Where the reference is bad a bar under the chart says so.
	states := map[Reference]pen{Crests: {"#000", 3, "6 6"}, Lowered: {"#000", 12, ""}, KeepClear: {"#000", 12, "4 4"}, OverWindow: {"#000", 12, "14 6"}, OverEdge: {"#000", 12, "14 6"}}
	for i := 0; i < n; {
		j := i
		for j+1 < n && places[j+1].Reference == places[i].Reference && !spots[j+1].first {
			j++
		}
		if s, ok := states[places[i].Reference]; ok {
			a, _ := c.at(places[i].Reading*per, 0)
			b, _ := c.at(places[j].Reading*per, 0)
			c.line(a, c.bottom-10, max(b, a+2), c.bottom-10, s)
		}
		i = j + 1
	}
	c.key(0, work, "uncut work at the tip", rest, "where the foot rests", cut, "tip")
	c.key(1, states[Crests], "foot on lands", states[Lowered], "on lowered crests", states[OverEdge], "over edge or window", states[KeepClear], "on ground to keep clear")
	return c.writeTo(w)
}
