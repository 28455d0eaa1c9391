package depth

import (
	"math"
	"slices"
	"sort"

	"brightcut/engine"
)

// spot is a place of the tip along a cut at which its height is worked out.
//
// Spots stand where a piece begins and ends and at whole multiples of one step of
// the readings in between, so that neighbouring cuts have theirs at like readings.
type spot struct {
	reading float64
	step    int32   // the multiple; noStep at the ends of a piece
	first   bool    // a piece begins here
	x, y    float64 // mm
	ux, uy  float64 // unit vector of the V
	across  float64 // the direction of that, rad
	rise    float64 // of the engine's own height above its wished depth: pumping, mm
}

const noStep = math.MinInt32

// scale is the readings at which spots stand.
type scale struct {
	step   float64 // between spots, mm or rad
	around int     // spots to a turn of the spindle; 0 on a straight line engine
}

// newScale lays spots about a pitch apart over the cuts.
func newScale(cuts []engine.Cut, pitch float64) scale {
	rose, far := false, 0.0
	for i := range cuts {
		for _, p := range cuts[i].Pieces {
			for _, v := range p.Path {
				rose = rose || v.Across != p.Path[0].Across
				far = max(far, math.Hypot(v.X, v.Y))
			}
		}
	}
	if !rose {
		return scale{step: pitch}
	}
	n := max(8, math.Ceil(2*math.Pi*far/pitch))
	return scale{step: 2 * math.Pi / n, around: int(n)}
}

// readings returns the reading at each vertex of a piece: the lengths along its
// path where it has none.
func readings(p *engine.Piece) []float64 {
	if len(p.Readings) == len(p.Path) {
		return p.Readings
	}
	r := make([]float64, len(p.Path))
	if len(r) > 0 {
		r[0] = p.Start
	}
	for i := 1; i < len(r); i++ {
		r[i] = r[i-1] + math.Hypot(p.Path[i].X-p.Path[i-1].X, p.Path[i].Y-p.Path[i-1].Y)
	}
	return r
}

// inner returns the multiples of the step strictly between two readings, from
// and up to but without to; those nearer than a thousandth to an end are the end.
func (s scale) inner(start, stop float64) (from, to int) {
	const near = 1e-3
	from = int(math.Floor(start/s.step+near)) + 1
	return from, max(from, int(math.Ceil(stop/s.step-near)))
}

// count returns how many spots a cut has.
func (s scale) count(c *engine.Cut) int {
	n := 0
	for i := range c.Pieces {
		p := &c.Pieces[i]
		if len(p.Path) < 2 {
			continue
		}
		r := readings(p)
		from, to := s.inner(r[0], r[len(r)-1])
		n += to - from + 2
	}
	return n
}

// along appends the spots of a cut.
func (s scale) along(to []spot, c *engine.Cut) []spot {
	to = slices.Grow(to, s.count(c))
	for i := range c.Pieces {
		p := &c.Pieces[i]
		if len(p.Path) < 2 {
			continue
		}
		r := readings(p)
		last := len(r) - 1
		to = append(to, newSpot(p, r, 0, r[0], c.Depth))
		begin := &to[len(to)-1]
		begin.first = true
		begin.face(begin)
		from, until := s.inner(r[0], r[last])
		seg := 0
		for k := from; k < until; k++ {
			at := float64(k) * s.step
			for seg < last-1 && r[seg+1] <= at {
				seg++
			}
			q := newSpot(p, r, seg, at, c.Depth)
			q.step = int32(k)
			if s.around > 0 {
				q.step = int32(floorMod(k, s.around))
			}
			q.face(&to[len(to)-1])
			to = append(to, q)
		}
		to = append(to, newSpot(p, r, last-1, r[last], c.Depth))
		to[len(to)-1].face(&to[len(to)-2])
	}
	return to
}

// newSpot returns the spot at a reading within segment seg of a path.
func newSpot(p *engine.Piece, r []float64, seg int, reading, depth float64) spot {
	a, b := &p.Path[seg], &p.Path[seg+1]
	t := 0.0
	if d := r[seg+1] - r[seg]; d > 0 {
		t = (reading - r[seg]) / d
	}
	s := spot{
		reading: reading, step: noStep,
		x: mix(a.X, b.X, t), y: mix(a.Y, b.Y, t),
		across: mix(a.Across, b.Across, t), rise: mix(a.Z, b.Z, t) + depth,
	}
	return s
}

// face sets the direction of the V; that of the spot before is taken over where
// it does not turn.
func (s *spot) face(before *spot) {
	if s.across == before.across && before.ux*before.ux+before.uy*before.uy > 0.5 {
		s.ux, s.uy = before.ux, before.uy
		return
	}
	s.uy, s.ux = math.Sincos(s.across)
}

func mix(a, b, t float64) float64 { return a + float64((b-a)*t) }

func floorMod(a, b int) int {
	if m := a % b; m < 0 {
		return m + b
	} else {
		return m
	}
}

// shaped returns the pieces of a cut with the heights of its tip in their paths:
// the vertices it had, and more where the height bends. spots are the cut's, tips
// the heights there.
func shaped(c *engine.Cut, spots []spot, tips []float32) []engine.Piece {
	out := make([]engine.Piece, len(c.Pieces))
	for i := range c.Pieces {
		p := &c.Pieces[i]
		out[i] = *p
		if len(p.Path) < 2 {
			continue
		}
		n := 1
		for n < len(spots) && !spots[n].first {
			n++
		}
		out[i].Path, out[i].Readings = shape(p, spots[:n], tips[:n])
		spots, tips = spots[n:], tips[n:]
	}
	return out
}

// shape merges the vertices of a piece with the bends of its heights.
func shape(p *engine.Piece, spots []spot, tips []float32) (path []engine.Vertex, at []float64) {
	r := readings(p)
	bends := bend(nil, spots, tips)
	path = make([]engine.Vertex, 0, len(r)+len(bends))
	at = make([]float64, 0, len(r)+len(bends))
	k := 0 // bend at or before the reading
	height := func(reading float64) float64 {
		for k < len(bends)-2 && spots[bends[k+1]].reading <= reading {
			k++
		}
		a, b := bends[k], bends[k+1]
		t := 0.0
		if d := spots[b].reading - spots[a].reading; d > 0 {
			t = (reading - spots[a].reading) / d
		}
		return mix(float64(tips[a]), float64(tips[b]), t)
	}
	next := 1 // bend to put in; the ends are vertices already
	for i, v := range p.Path {
		for ; next < len(bends)-1; next++ {
			s := &spots[bends[next]]
			if !(s.reading < r[i]) {
				break
			}
			path = append(path, engine.Vertex{X: s.x, Y: s.y, Z: height(s.reading), Across: s.across})
			at = append(at, s.reading)
		}
		if next < len(bends)-1 && spots[bends[next]].reading == r[i] {
			next++
		}
		v.Z = height(r[i])
		path, at = append(path, v), append(at, r[i])
	}
	return path, at
}

// HeightError is the greatest distance, mm, of the heights in a plan's paths from
// those predicted at the places between: a hundredth of a micron, so that crests
// hold to 0.05 µm through cut after cut (TestGuideIsTheTwin).
const HeightError = 1e-5

// bend returns the numbers of the spots at which the heights bend: between them
// straight lines stay within HeightError. The first and the last are among them.
func bend(to []int, spots []spot, tips []float32) []int {
	n := len(tips)
	to = append(to, 0)
	for a := 0; a < n-1; {
		low, high := math.Inf(-1), math.Inf(1)
		best := a + 1
		for k := a + 1; k < n; k++ {
			d := spots[k].reading - spots[a].reading
			if !(d > 0) {
				best = k
				continue
			}
			z := float64(tips[k]) - float64(tips[a])
			if s := z / d; s >= low && s <= high {
				best = k
			}
			low, high = max(low, (z-HeightError)/d), min(high, (z+HeightError)/d)
			if low > high {
				break
			}
		}
		to = append(to, best)
		a = best
	}
	return to
}

// spotAt returns the number of the spot of the given step, or −1. Spots of one
// piece rise in reading; steps of a ring may wrap round.
func spotAt(spots []spot, step int32) int {
	for from := 0; from < len(spots); {
		to := from + 1
		for to < len(spots) && !spots[to].first {
			to++
		}
		piece := spots[from:to]
		if len(piece) > 2 {
			if i := int(step) - int(piece[1].step); i >= 0 && i < len(piece)-2 && piece[1+i].step == step {
				return from + 1 + i
			}
			i := sort.Search(len(piece)-2, func(i int) bool { return piece[1+i].step < piece[1].step })
			if j := i + int(step) - int(piece[min(1+i, len(piece)-2)].step); i < len(piece)-2 && j >= i && j < len(piece)-2 && piece[1+j].step == step {
				return from + 1 + j
			}
		}
		from = to
	}
	return -1
}
