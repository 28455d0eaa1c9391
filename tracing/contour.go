package tracing

import (
	"fmt"
	"math"
	"slices"

	"brightcut/fault"
)

// Across an edge light is gathered over reach pixels either way: more than the blur
// of a sharp photograph. Half of that is the ground on which the two levels are
// taken.
const (
	reach   = 5.0
	plateau = 2.0
)

// trace finds the outlines, moves them to the edge and brings them to mm.
func (l *light) trace(name string, o Photo) (*Drawing, error) {
	one := func(problem, mend string) (*Drawing, error) {
		return nil, fault.List{{Origin: fault.Origin{File: name}, Problem: problem, Mend: mend}}
	}
	level := o.Threshold * 65535
	if o.Threshold == 0 {
		level = l.threshold()
	}
	f := &PhotoFigures{Width: l.w, Height: l.h, Threshold: level / 65535}
	f.Scale = o.Distance / math.Hypot(o.Marks[1].X-o.Marks[0].X, o.Marks[1].Y-o.Marks[0].Y)
	shortest := o.Shortest
	if shortest == 0 {
		shortest = 5
	}
	lines, dust, ok := l.outlines(level, max(shortest/f.Scale, 16))
	f.Dust = dust
	if !ok {
		return one("the picture is too restless: there are more outlines than can be followed", "light it more evenly, cut it down to the edge or give a threshold")
	}
	if len(lines) == 0 {
		return one(fmt.Sprintf("no edge %.3g mm long parts light from dark at %.3g of the light", shortest, f.Threshold), "light the ground behind the bar, give a threshold, or look at the scale")
	}
	limit := o.Smooth / f.Scale
	if o.Smooth == 0 {
		limit = 0.5
	}
	toMM := o.frame(f.Scale)
	d := &Drawing{Name: name, Scale: f.Scale, Photo: f}
	for i := range lines {
		p := lines[i].spaced()
		f.Unclear += l.refine(p, lines[i].closed)
		q, noise, moved, over := smooth(p, lines[i].closed, limit)
		if i == 0 { // the longest is the one that counts
			f.Noise, f.Moved, f.Over = noise*f.Scale, moved*f.Scale, over*f.Scale
		}
		for k := range q {
			q[k] = toMM.point(q[k])
		}
		d.Lines = append(d.Lines, Line{Kind: "outline", Origin: fault.Origin{File: name}, Points: q, Closed: lines[i].closed})
	}
	text := fmt.Sprintf("The edge is read at %.4f mm to a pixel; it scatters by %.4f mm", f.Scale, f.Noise)
	if f.Over > 0 {
		text += fmt.Sprintf(" and was smoothed over %.3f mm, which moved it by no more than %.4f mm", f.Over, f.Moved)
	}
	d.Remarks = append(d.Remarks, Remark{Origin: fault.Origin{File: name}, Text: text + "."})
	if f.Unclear > 0 {
		d.Remarks = append(d.Remarks, Remark{Origin: fault.Origin{File: name}, Text: fmt.Sprintf("At %d places the edge is no clear step between light and dark; there it is less certain.", f.Unclear)})
	}
	return d, nil
}

// frame returns the map from pixels to mm.
func (o *Photo) frame(scale float64) affine {
	origin := o.Marks[0]
	if o.Origin != nil {
		origin = *o.Origin
	}
	angle := 0.0
	if o.Base != nil {
		angle = math.Atan2(-(o.Base[1].Y - o.Base[0].Y), o.Base[1].X-o.Base[0].X)
	}
	return turning(-angle).times(scaling(scale, -scale)).times(shift(-origin.X, -origin.Y))
}

// outlines follows where the light, evened over three pixels, passes the level:
// marching squares. The longest comes first; those shorter than least are dust.
func (l *light) outlines(level, least float64) (out []chain, dust int, ok bool) {
	even := l.evened()
	w, h := l.w, l.h
	above := func(x, y int) bool { return float64(even[y*w+x]) >= level }
	// An edge of the grid is numbered by its left or upper end: even across, odd down.
	cut := func(edge int) Point {
		i := edge / 2
		x, y := i%w, i/w
		a := float64(even[i])
		if edge%2 == 0 {
			b := float64(even[i+1])
			return Point{float64(x) + (level-a)/(b-a), float64(y)}
		}
		b := float64(even[i+w])
		return Point{float64(x), float64(y) + (level-a)/(b-a)}
	}
	crosses := func(edge int) bool {
		i := edge / 2
		x, y := i%w, i/w
		if edge%2 == 0 {
			return x+1 < w && above(x, y) != above(x+1, y)
		}
		return y+1 < h && above(x, y) != above(x, y+1)
	}
	seen := make([]uint64, (2*w*h+63)/64)
	visited := func(e int) bool { return seen[e/64]>>(e%64)&1 == 1 }
	mark := func(e int) { seen[e/64] |= 1 << (e % 64) }
	// through returns the edge by which the outline leaves the square (x, y) that it
	// enters by edge. At a saddle the two bright corners are kept apart.
	through := func(x, y, edge int) int {
		i := y*w + x
		sides := [4]int{2 * i, 2*(i+1) + 1, 2 * (i + w), 2*i + 1} // upper, right, lower, left
		at := slices.Index(sides[:], edge)
		n := 0
		for _, s := range sides {
			if crosses(s) {
				n++
			}
		}
		if n == 2 {
			for _, s := range sides {
				if s != edge && crosses(s) {
					return s
				}
			}
		}
		if above(x, y) { // about the bright upper left and lower right corners
			return sides[[4]int{3, 2, 1, 0}[at]]
		}
		return sides[[4]int{1, 0, 3, 2}[at]]
	}
	points := 0
	follow := func(start int, forward bool) (p []Point, closed bool) {
		edge := start
		i := edge / 2
		x, y := i%w, i/w // the square entered: below an edge across, right of one down
		if !forward {
			if edge%2 == 0 {
				y--
			} else {
				x--
			}
		}
		for {
			if x < 0 || y < 0 || x >= w-1 || y >= h-1 {
				return p, false
			}
			next := through(x, y, edge)
			if next == start {
				return p, true
			}
			mark(next)
			p = append(p, cut(next))
			if points++; points > 4*MaxPoints {
				return p, false
			}
			i := next / 2
			nx, ny := i%w, i/w
			if next%2 == 0 { // across: we leave up or down
				if ny == y {
					y--
				} else {
					y++
				}
			} else if nx == x {
				x--
			} else {
				x++
			}
			edge = next
		}
	}
	for e := 0; e < 2*w*h; e++ {
		if visited(e) || !crosses(e) {
			continue
		}
		mark(e)
		p, closed := follow(e, true)
		p = append([]Point{cut(e)}, p...)
		if !closed {
			back, _ := follow(e, false)
			slices.Reverse(back)
			p = append(back, p...)
		}
		if points > 4*MaxPoints {
			return nil, dust, false
		}
		c := chain{points: p, closed: closed}
		if c.length() < least {
			dust++
			continue
		}
		if out = append(out, c); len(out) > mostOutlines {
			return nil, dust, false
		}
	}
	slices.SortStableFunc(out, func(a, b chain) int {
		switch la, lb := a.length(), b.length(); {
		case la > lb:
			return -1
		case la < lb:
			return 1
		}
		return 0
	})
	return out, dust, true
}

// evened weighs every pixel 1 2 1 with its neighbours, across and down.
func (l *light) evened() []uint16 {
	out := make([]uint16, len(l.v))
	for y := range l.h {
		up, row, down := l.v[max(y-1, 0)*l.w:], l.v[y*l.w:], l.v[min(y+1, l.h-1)*l.w:]
		column := func(x int) uint32 { return uint32(up[x]) + 2*uint32(row[x]) + uint32(down[x]) }
		for x := range l.w {
			out[y*l.w+x] = uint16((column(max(x-1, 0)) + 2*column(x) + column(min(x+1, l.w-1)) + 8) / 16)
		}
	}
	return out
}

// spaced returns places along a chain about a pixel apart.
func (c *chain) spaced() []Point {
	p := tidy(c.points)
	if c.closed {
		p = append(p, p[0])
	}
	total := (&Line{Points: p}).Length()
	n := max(int(math.Round(total)), 2)
	out := make([]Point, 0, n+1)
	out = append(out, p[0])
	run, next := 0.0, 1
	for i := 1; i < len(p); i++ {
		step := p[i].distance(p[i-1])
		for next <= n && float64(next)*total/float64(n) <= run+step*(1+1e-12) {
			out = append(out, p[i-1].toward(p[i], min((float64(next)*total/float64(n)-run)/step, 1)))
			next++
		}
		run += step
	}
	if c.closed && len(out) > 1 {
		out = out[:len(out)-1]
	}
	return out
}

// refine moves every place along the normal to where a sharp edge would let the same
// light through, and returns how many places it left alone.
func (l *light) refine(p []Point, closed bool) (unclear int) {
	n := len(p)
	from := slices.Clone(p)
	at := func(i int) Point {
		if closed {
			return from[(i%n+n)%n]
		}
		return from[min(max(i, 0), n-1)]
	}
	// A border of the picture is no edge, but an outline may run into it.
	for i := range p {
		along := at(i + 4).minus(at(i - 4))
		length := along.length()
		if length == 0 {
			unclear++
			continue
		}
		along = along.times(1 / length)
		normal := Point{-along.Y, along.X}
		const step = 0.25
		const half = int(reach / step)
		var profile [2*half + 1]float64
		for k := range profile {
			q := from[i].plus(normal.times(float64(k-half) * step))
			profile[k] = l.at(q.X, q.Y)
		}
		a, b := 0.0, 0.0
		const ground = int(plateau/step) + 1
		for k := range ground {
			a += profile[k] / float64(ground)
			b += profile[len(profile)-1-k] / float64(ground)
		}
		sum := 0.0
		for k, v := range profile {
			weight := step
			if k == 0 || k == len(profile)-1 {
				weight = step / 2
			}
			sum += weight * (b - v) / (b - a)
		}
		// sum is how far the side of a reaches, from −reach on.
		if move := sum - reach; math.Abs(b-a) > 65535/50 && math.Abs(move) < reach/2 {
			p[i] = from[i].plus(normal.times(move))
		} else {
			unclear++
		}
	}
	return unclear
}
