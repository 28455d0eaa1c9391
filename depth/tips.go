package depth

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// hold works out the columns of a cut.
func (c *course) hold(h *Hold, i int, col columns) {
	switch h.By {
	case ByGuide:
		c.guide(i, col)
	case ByHand:
		c.hand(i, col)
	default:
		for j := range c.spot {
			s := &c.spot[j]
			tip := h.Height + s.rise
			if h.By == Fixed {
				tip -= c.cuts[i].Depth
			} else {
				tip -= c.cuts[i].Depth - c.grooveDepth(h)
			}
			col.tip[j] = float32(tip + c.worn - c.set)
		}
	}
	if h.By != ByGuide {
		copy(col.ground, col.stock)
		clear(col.state)
	}
}

// mostFall is how far below the uncut surface the foot is followed, in wished
// depths: nobody goes on with a cut twice as deep as it should be.
const mostFall = 1

// guide rests the foot beside every spot. Pumping lifts work and foot alike, and
// leaves no trace.
func (c *course) guide(i int, col columns) {
	out := c.extension + c.cuts[i].Depth + c.flex - c.worn
	guide := c.work.Guide
	curved := c.work.Stock != nil && c.work.Stock.form != nil
	offset := float64(guide.Offset * guide.Offset / 2)
	c.marks.begin()
	c.lowered = 0
	for j := range c.spot {
		s := &c.spot[j]
		x, y := c.foot(s)
		fx, fy := c.ground.cells(x, y)
		under := c.ground.at(fx, fy)
		t := c.feeler.rest(fx, fy, under-float64(mostFall*c.cuts[i].Depth))
		z := t.z
		c.lowered = max(c.lowered, under-z)
		state := c.state(fx, fy, t, under-z)
		if state < KeepClear && c.marks.clear(r2.Vec{X: x, Y: y}) {
			state = KeepClear
		}
		tip := z - out
		if curved {
			tip -= float64(offset * c.work.Stock.Curvature(r2.Vec{X: s.x, Y: s.y}, s.across))
		}
		col.ground[j], col.tip[j], col.state[j] = float32(z), float32(tip), uint8(state)
	}
}

// state tells what the foot stands on.
func (c *course) state(fx, fy float64, t contact, lowered float64) Reference {
	g := c.ground
	// A tenth of a micron is virgin still, and what a ball misses of a cell.
	hair := 1e-4 + float64(c.feeler.curve)
	i, j := int(math.Round(fx)), int(math.Round(fy))
	if i < 0 || j < 0 || i >= g.field.Nx || j >= g.field.Ny {
		return OverEdge
	}
	z := float64(g.field.Z[j*g.field.Stride+i])
	if z <= nothing {
		x, y := g.field.At(i, j)
		if c.work.Blank.Outline.Distance(r2.Vec{X: x, Y: y}) > 0 {
			return OverEdge
		}
		return OverWindow
	}
	switch {
	case !g.uncut(t.x, t.y, t.touch):
		return Lowered
	case lowered <= hair && g.uncut(float64(i), float64(j), z):
		return VirginGround
	}
	return Crests
}

// hand cuts as deep as the cut before at each reading.
func (c *course) hand(i int, col columns) {
	for j := range c.spot {
		d := c.cuts[i].Depth
		if i > 0 && c.spot[j].step != noStep {
			if k := spotAt(c.before, c.spot[j].step); k >= 0 {
				q := c.p.start[i-1] + k
				d += float64(c.p.stock[q]) - float64(c.p.tip[q]) - c.cuts[i-1].Depth
			}
		}
		col.tip[j] = float32(float64(col.stock[j]) - d)
	}
}

// grooveDepth is the wished depth that a stop was set for.
func (c *course) grooveDepth(h *Hold) float64 {
	if h.Groove > 0 {
		return c.cuts[h.Groove-1].Depth
	}
	return c.cuts[h.First-1].Depth
}

// engage returns the height of the tip at work when the stop is set as h says.
func (c *course) engage(h *Hold) float64 {
	give := h.Lift - c.work.Stop.Lift(c.work.Pressure.Force)
	number := h.Groove
	if number == 0 {
		number = h.First
	}
	spots := c.task.spots(nil, number-1)
	near := 0
	for k := range spots {
		if math.Abs(spots[k].reading-h.Reading) < math.Abs(spots[near].reading-h.Reading) {
			near = k
		}
	}
	h.Reading = spots[near].reading
	s := &spots[near]
	if h.Groove == 0 {
		return c.ground.stockAt(s.x, s.y) - c.cuts[number-1].Depth - s.rise + give
	}
	return float64(c.p.tip[c.p.start[number-1]+near]) - s.rise + give
}
