package tracing

import (
	"fmt"
	"math"
	"strings"

	"brightcut/bar"
	"brightcut/fault"
)

// edge makes a bar.Edge of heights: repeats, places, datum, fewer points.
func (tr *tracer) edge(c heights) *Traced {
	t := tr.t
	out := &Traced{Drawn: len(c.x)}
	low, high := c.extremes()
	out.Datum = (low + high) / 2
	if t.Datum != nil {
		out.Datum = *t.Datum
	}
	if tr.size(&c, low, high); len(tr.faults) > 0 {
		return nil
	}
	e := bar.Edge{Name: t.Name, Figure: bar.Points, Spline: t.Spline}
	if t.Rosette {
		e.Radius = round(out.Datum, 1e-6)
		out.Datum = e.Radius
	}
	if high-low <= tr.tolerance {
		tr.remark("The edge is straight within %.4f mm: it was taken as plain.", high-low)
		e.Figure, e.Spline = bar.Plain, false
		out.Edge = e
		return out
	}
	alike := t.Alike
	if alike == 0 {
		alike = max(0.02, (high-low)/100)
	}
	alike = min(alike, (high-low)/5)
	repeats := tr.repeat(&c, out, alike)
	if len(tr.faults) > 0 {
		return nil
	}
	if t.Rosette {
		e.Count = max(int(math.Round(2*math.Pi/out.Wave)), 1)
	}
	e.Repeats = repeats && !t.Rosette
	tr.zero(&c, out, repeats)
	for i := range c.x {
		c.x[i] -= out.Zero
		c.h[i] -= out.Datum
	}
	c.rounded(t.Rosette)
	out.Edge = tr.thin(&c, e)
	if l := out.Edge.Check(); len(l) > 0 && len(tr.faults) == 0 {
		for i := range l {
			l[i].Origin = tr.at
		}
		tr.faults = append(tr.faults, l...)
	}
	if repeats || t.Rosette {
		out.Wave = out.Edge.Period()
	}
	return out
}

// size refuses sizes that no bar has: the unit of the drawing is wrong.
func (tr *tracer) size(c *heights, low, high float64) {
	size, least, most, what := c.span(), shortBar, longBar, "a bar %s long"
	if tr.t.Rosette {
		size, least, most, what = tr.datumOr((low+high)/2), smallRosette, bigRosette, "a rosette of %s mean radius"
	}
	if tr.t.Rosette && !(low > 0) {
		tr.fault("centre", "the edge reaches the centre of the rosette", "give the centre")
		return
	}
	if tr.t.AnySize || size >= least && size <= most {
		return
	}
	var fits []string
	for _, u := range []struct {
		name string
		size float64
	}{{"mm", 1}, {"inches", 25.4}, {"cm", 10}, {"microns", 0.001}, {"m", 1000}, {"points of print (1/72 inch)", 25.4 / 72}, {"px of the web (1/96 inch)", 25.4 / 96}} {
		if s := size / tr.d.scale() * u.size; math.Abs(u.size/tr.d.scale()-1) > 1e-9 && s >= least && s <= most && len(fits) < 3 {
			fits = append(fits, fmt.Sprintf("in %s it would be %.4g mm", u.name, s))
		}
	}
	mend := "give the length of one unit of the drawing, or say that any size is meant"
	if len(fits) > 0 {
		mend = "give the unit of the drawing (" + strings.Join(fits, "; ") + "), or say that any size is meant"
	}
	tr.fault("unit", fmt.Sprintf(what, fmt.Sprintf("%.4g mm", size))+" is hardly meant", mend)
}

func (tr *tracer) datumOr(v float64) float64 {
	if tr.t.Datum != nil {
		return *tr.t.Datum
	}
	return v
}

func (d *Drawing) scale() float64 {
	if d.Scale > 0 {
		return d.Scale
	}
	return 1
}

// repeat finds the wave, or takes the one given, and leaves one of them in c.
func (tr *tracer) repeat(c *heights, out *Traced, alike float64) bool {
	t := tr.t
	if t.Rosette {
		return tr.repeatRound(c, out, alike)
	}
	switch t.Repeat {
	case Whole:
		return false
	case Once:
		out.Wave, out.Waves = c.span(), 1
		out.Off = math.Abs(c.h[len(c.h)-1] - c.h[0])
		if out.Off > alike {
			tr.fault("repeat", fmt.Sprintf("the right end stands %.4f mm from the height of the left one, so that the wave does not go on", c.h[len(c.h)-1]-c.h[0]),
				"draw one whole wave, or let it not repeat")
		}
		c.close()
		return true
	}
	λ, off := c.wave(alike)
	if λ == 0 {
		return false
	}
	out.Wave, out.Waves, out.Off = λ, c.span()/λ, off
	tr.remark("The edge repeats every %.4f mm: %.2f waves are drawn, which differ by up to %.4f mm; one of them was taken.", λ, out.Waves, off)
	return true
}

func (tr *tracer) repeatRound(c *heights, out *Traced, alike float64) bool {
	const turn = 2 * math.Pi
	span, n := c.span(), tr.t.Count
	if span > turn*(1+1e-6) {
		tr.fault("edge", fmt.Sprintf("it goes %.4f times round", span/turn), "draw it once round, or less")
		return false
	}
	if span < turn*(1-1e-6) { // a sector
		if n == 0 {
			n = max(int(math.Round(turn/span)), 1)
		}
		if n > bar.MaxCount {
			tr.fault("count", fmt.Sprintf("what is drawn goes %.6f deg round, too little for a rosette", span*180/math.Pi), "draw one whole repeat")
			return false
		}
		want := turn / float64(n)
		ends := math.Abs(c.h[len(c.h)-1] - c.h[0])
		if miss := math.Abs(span - want); miss*tr.radius(c) > alike {
			tr.fault("count", fmt.Sprintf("the drawn sector takes %.4f deg, but one of %d takes %.4f deg", span*180/math.Pi, n, 360/float64(n)),
				"draw one whole repeat, from where it begins to where the next one does")
			return false
		}
		if ends > alike {
			tr.fault("edge", fmt.Sprintf("the end of the drawn sector stands %.4f mm from the height of its beginning", c.h[len(c.h)-1]-c.h[0]), "draw one whole repeat, whose ends are level")
			return false
		}
		out.Off = ends
		tr.remark("A sector of %.4f deg is drawn; it goes %d times round.", span*180/math.Pi, n)
		first := c.first()
		for i := range c.x {
			c.x[i] = first + (c.x[i]-first)*want/span
		}
		out.Wave, out.Waves = want, 1
		c.close()
		return true
	}
	if n > 0 {
		out.Off = 0
		for i := range c.x {
			out.Off = max(out.Off, math.Abs(c.round(c.x[i]+turn/float64(n))-c.h[i]))
		}
		if out.Off > alike {
			tr.fault("count", fmt.Sprintf("the %d repeats differ by up to %.4f mm", n, out.Off), "give another count, or allow more")
			return false
		}
	} else {
		n, out.Off = c.count(alike)
	}
	out.Wave, out.Waves = turn/float64(n), float64(n)
	if n > 1 {
		tr.remark("The edge repeats %d times round, and the repeats differ by up to %.4f mm; one of them was taken.", n, out.Off)
	}
	return true
}

func (tr *tracer) radius(c *heights) float64 {
	low, high := c.extremes()
	return (low + high) / 2
}

// round returns the height at an angle of a whole turn.
func (c *heights) round(θ float64) float64 {
	x := θ - c.first()
	return c.at(c.first() + x - 2*math.Pi*math.Floor(x/(2*math.Pi)))
}

// close makes the last height the first by tilting all of them a little.
func (c *heights) close() {
	n := len(c.x)
	rise, from, span := c.h[n-1]-c.h[0], c.first(), c.span()
	for i := range c.h {
		c.h[i] -= rise * (c.x[i] - from) / span
	}
	c.h[n-1] = c.h[0]
}

// zero chooses the place that becomes 0 and leaves the wave that begins there.
func (tr *tracer) zero(c *heights, out *Traced, repeats bool) {
	given := tr.t.Zero
	if !repeats {
		out.Zero = (c.first() + c.last()) / 2
		if given != nil {
			out.Zero = *given
		}
		return
	}
	λ := out.Wave
	whole := tr.t.Rosette && c.span() > 2*math.Pi*(1-1e-6)
	at := c.phase(λ)
	if given != nil {
		at = *given
	}
	out.Zero = at
	at -= λ * math.Floor((at-c.first())/λ) // in the first wave drawn
	var one heights
	switch {
	case whole || c.span() < 1.5*λ: // what is drawn repeats as it stands
		turn := c.span()
		n := len(c.x)
		twice := heights{append([]float64(nil), c.x...), append([]float64(nil), c.h...)}
		for i := 1; i < n; i++ {
			twice.add(c.x[i]+turn, c.h[i])
		}
		one = twice.part(at, at+λ)
	default:
		if at+λ > c.last() {
			at -= λ
		}
		at = max(at, c.first())
		if middle := at + λ*math.Floor((c.span()/λ-1)/2); middle+λ <= c.last() {
			at = middle // away from the ends, which are worn
		}
		one = c.part(at, min(at+λ, c.last()))
	}
	one.close()
	for i := range one.x {
		one.x[i] += out.Zero - at
	}
	*c = one
}

func round(v, part float64) float64 { return math.Round(v/part) * part }

// rounded brings places and heights to hundredths of a micron and, round a rosette,
// angles to 1e-8 deg, so that they are short when written.
func (c *heights) rounded(polar bool) {
	place := func(v float64) float64 { return math.Round(v*1e5)/1e5 + 0 }
	for i := range c.x {
		if polar {
			c.x[i] = math.Round(c.x[i]*180/math.Pi*1e8) / 1e8 * math.Pi / 180
		} else {
			c.x[i] = place(c.x[i])
		}
		c.h[i] = place(c.h[i])
	}
}

// thin gives the edge its points.
func (tr *tracer) thin(c *heights, e bar.Edge) bar.Edge {
	with := func(h heights) bar.Edge {
		e := e
		e.Drawn = make([][2]float64, len(h.x))
		for i := range h.x {
			e.Drawn[i] = [2]float64{h.x[i], h.h[i]}
		}
		return e
	}
	few, ok := heights{}, true
	if e.Spline {
		few, ok = c.thinSpline(tr.tolerance, MostPoints, with)
	} else {
		few = c.thin(tr.tolerance)
	}
	if !ok && len(few.x) < MostPoints {
		tr.fault("spline", fmt.Sprintf("no smooth curve stays within %.4f mm of it: it has corners", tr.tolerance), "join the points by straight lines, or allow more")
		return bar.Edge{}
	}
	if len(few.x) > MostPoints {
		tr.faults = append(tr.faults, fault.Fault{Origin: tr.at, Field: "tolerance",
			Problem: fmt.Sprintf("the edge takes %d points to keep within %.4f mm; a bar's file takes %d", len(few.x), tr.tolerance, MostPoints),
			Mend:    "allow a greater tolerance"})
		return bar.Edge{}
	}
	if n := len(c.x) - len(few.x); n > 0 {
		tr.remark("Of %d points %d were kept; the edge stays within %.4f mm of what is drawn.", len(c.x), len(few.x), tr.tolerance)
	}
	return with(few)
}
