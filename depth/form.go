package depth

import "math"

// slot holds a cut's spots and something at each.
type slot struct {
	spots []spot
	v     []float32
}

// form is what a stop makes of a cut: its heights do not matter to how they step.
type form struct {
	known     bool
	low, high float64 // of the stock less what the engine itself lifts the tip, mm
	stepped   bool
	step      float64 // greatest change of that from the cut before at one reading, mm
}

// formOf returns the form of cut i, from 0, without its step.
func (c *chooser) formOf(i int) *form {
	if c.form == nil {
		c.form = make([]form, len(c.cuts))
	}
	f := &c.form[i]
	if !f.known {
		*f = form{known: true, low: math.Inf(1), high: math.Inf(-1)}
		for _, z := range c.stock(0, i).v {
			f.low, f.high = min(f.low, float64(z)), max(f.high, float64(z))
		}
	}
	return f
}

// stepOf returns the step of the form of cut i, from 1.
func (c *chooser) stepOf(i int) float64 {
	f := c.formOf(i)
	if !f.stepped {
		here, before := c.stock(0, i), c.stock(1, i-1)
		f.step, _ = step(here.spots, here.v, before.spots, before.v)
		f.stepped = true
	}
	return f.step
}

// at fills a slot with the spots of cut i, from 0.
func (c *chooser) at(k, i int) slot {
	s := &c.slots[k]
	s.spots = c.spots(s.spots, i)
	s.v = resize(s.v, len(s.spots))
	return *s
}

// stock fills a slot with the stock at the spots of cut i, less what the engine
// itself lifts the tip.
func (c *chooser) stock(k, i int) slot {
	q := c.at(k, i)
	for j := range q.spots {
		s := &q.spots[j]
		q.v[j] = float32(c.ground.stockAt(s.x, s.y) - s.rise)
	}
	return q
}

// widths fills a slot with the widths of cut i, from 0, in a prediction.
func (c *chooser) widths(k int, p *Prediction, i int) slot {
	q := c.at(k, i)
	for j := range q.v {
		k := p.start[i] + j
		q.v[j] = float32(c.width(float64(p.stock[k]) - float64(p.tip[k])))
	}
	return q
}

// stopped fills a slot with the widths of cut i, from 0, with a stop that holds
// the tip at a height in cuts of a depth.
func (c *chooser) stopped(k, i int, height, depth float64) slot {
	q := c.stock(k, i)
	for j := range q.v {
		q.v[j] = float32(c.width(float64(q.v[j]) - height + c.cuts[i].Depth - depth))
	}
	return q
}

// excess returns by how much a width leaves the tolerance of cut i.
func (c *chooser) excess(i int, width float64) float64 {
	wish := c.wished(i)
	return max(0, math.Abs(width-wish)-c.tolerance*wish)
}

// stopExcess returns by how much a stop leaves the tolerance of cut i.
func (c *chooser) stopExcess(i int, height, depth float64) float64 {
	f := c.formOf(i)
	off := height - c.cuts[i].Depth + depth
	return max(c.excess(i, c.width(f.low-off)), c.excess(i, c.width(f.high-off)))
}
