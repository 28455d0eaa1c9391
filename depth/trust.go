package depth

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// trust tells how far the stop of hold k serves.
func (c *chooser) trust(p *Prediction, k int) Trust {
	h := &p.Holds[k]
	t := Trust{Hold: k, Known: true}
	depth := c.cuts[max(h.Groove, 1)-1].Depth
	if h.Groove == 0 {
		depth = c.cuts[h.First-1].Depth
	}
	serves := func(i int) bool {
		return i >= 0 && i < len(c.cuts) && c.stopExcess(i, h.Height, depth) == 0
	}
	t.Whole = true
	t.From, t.To = math.Inf(-1), math.Inf(1)
	low, high := math.Inf(1), math.Inf(-1)
	for i := h.First - 1; i < h.Last; i++ {
		q := c.stopped(0, i, h.Height, depth)
		wish := c.wished(i)
		for j := range q.spots {
			s := &q.spots[j]
			e := math.Abs(float64(q.v[j]) - wish)
			t.Worst = max(t.Worst, e)
			if e > c.tolerance*wish {
				t.Whole = false
				if s.reading < h.Reading {
					t.From = max(t.From, s.reading)
				} else {
					t.To = min(t.To, s.reading)
				}
			}
			if j%32 == 0 {
				_, sd, known := c.work.Stock.Height(r2.Vec{X: s.x, Y: s.y})
				t.SD = max(t.SD, sd)
				t.Known = t.Known && known
			}
		}
		if n := len(q.spots); n > 0 {
			low, high = min(low, q.spots[0].reading), max(high, q.spots[n-1].reading)
		}
	}
	t.From, t.To = max(t.From, low), min(t.To, high)
	if serves(h.First - 1) {
		t.First, t.Last = h.First, h.First
		for serves(t.First - 2) {
			t.First--
		}
		for serves(t.Last) {
			t.Last++
		}
	}
	return t
}
