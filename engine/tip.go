package engine

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// tip is the way of the cutter's tip in one cut, by the reading of the stroke
// or of the spindle.
type tip struct {
	motion   *motion
	rose     bool
	position float64 // of the slide
	phase    float64
	depth    float64
	turned   float64
	cos, sin float64 // of turned
	knots    []int32 // ends of chords, numbers of cells of motion
}

func (s *Setup) tip(c *Cut, m *motion, knots []int32) tip {
	t := tip{
		motion: m, rose: s.Engine.Kind == Rose, position: c.Position + c.Stray.Position, phase: c.Phase,
		depth: c.Depth, turned: c.Turned + c.Stray.Turned, knots: knots,
	}
	// Sines of whole turns taken off, so that a quarter turn is one.
	t.sin, t.cos = math.Sincos(math.Remainder(t.turned, 2*math.Pi))
	return t
}

// vertex returns the tip at a reading when the motion there is as given.
func (t *tip) vertex(reading, lift, rise float64) Vertex {
	if t.rose {
		a := reading + t.turned
		sin, cos := math.Sincos(a)
		r := t.position + lift
		return Vertex{X: float64(r * cos), Y: float64(r * sin), Z: rise - t.depth, Across: a}
	}
	x := t.position + lift
	return Vertex{
		X:      float64(x*t.cos) - float64(reading*t.sin),
		Y:      float64(x*t.sin) + float64(reading*t.cos),
		Z:      -t.depth,
		Across: t.turned,
	}
}

// at returns the tip at a reading.
func (t *tip) at(reading float64) Vertex {
	p := t.motion.place(reading + t.phase)
	return t.vertex(reading, p.lift, p.rise)
}

// plan returns where on the work the tip is at a reading.
func (t *tip) plan(reading float64) r2.Vec {
	v := t.at(reading)
	return r2.Vec{X: v.X, Y: v.Y}
}

// speed returns the most that the tip moves over the work for one of the
// reading, with an allowance for the table of the bar.
func (t *tip) speed() float64 {
	m := t.motion
	if t.rose {
		return math.Hypot(m.steepest, t.position+m.top)*(1+1e-6) + 1e-6
	}
	return math.Hypot(m.steepest, 1)*(1+1e-6) + 1e-6
}

// inner returns the numbers, counted on through the periods, of the chord ends
// that lie strictly between two readings.
func (t *tip) inner(s span) (from, to int) {
	if len(t.knots) == 0 {
		return 0, 0
	}
	tight := leastGap * 1e-4 / t.speed() // nearer to an end of the cut than that they are the end
	from = t.rank(s.from + t.phase + tight)
	return from, max(from, t.rank(s.to+t.phase-tight))
}

// rank returns how many chord ends lie at or before the place u of the bar,
// counted from the one at the beginning of the cells.
func (t *tip) rank(u float64) int {
	m := t.motion
	turns := 0.0
	if m.period > 0 {
		turns = math.Floor((u - m.from) / m.period)
		u -= turns * m.period
	}
	lo, hi := 0, len(t.knots)
	for lo < hi {
		if k := int(uint(lo+hi) >> 1); m.at[t.knots[k]] <= u {
			lo = k + 1
		} else {
			hi = k
		}
	}
	return int(turns)*len(t.knots) + lo
}

// count returns how many vertices the stretch takes.
func (t *tip) count(s span) int {
	from, to := t.inner(s)
	return to - from + 2
}

// trace writes the vertices of the stretch, as many as count says.
func (t *tip) trace(s span, closed bool, path []Vertex, readings []float64) {
	from, to := t.inner(s)
	path[0], readings[0] = t.at(s.from), s.from
	m, n := t.motion, len(t.knots)
	for g, i := from, 1; g < to; g, i = g+1, i+1 {
		turn := floorDiv(g, n)
		k := t.knots[g-turn*n]
		r := m.at[k] + float64(float64(turn)*m.period) - t.phase
		rise := 0.0
		if m.rise != nil {
			rise = m.rise[k]
		}
		path[i], readings[i] = t.vertex(r, m.lift[k], rise), r
	}
	last := len(path) - 1
	path[last], readings[last] = t.at(s.to), s.to
	if closed { // one place, to the last bit
		path[last].X, path[last].Y, path[last].Z = path[0].X, path[0].Y, path[0].Z
	}
}

func floorDiv(a, b int) int {
	q := a / b
	if a%b != 0 && (a < 0) != (b < 0) {
		q--
	}
	return q
}
