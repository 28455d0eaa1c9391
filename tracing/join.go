package tracing

import (
	"fmt"
	"math"
	"slices"
)

// chain is lines joined end to end.
type chain struct {
	points []Point
	closed bool
	first  int // of the drawing's lines, by which faults are placed
}

func (c *chain) length() float64 {
	l := Line{Points: c.points, Closed: c.closed}
	return l.Length()
}

// joined is what lines make when their ends are joined.
type joined struct {
	chains  []chain
	remarks []Remark
	forks   []Point // where more than two ends meet: nothing is joined there
}

// join joins the ends of lines that lie within gap of each other, two at a time.
// Lines of no length and lines drawn twice are left out.
func (d *Drawing) join(of []int, gap float64) joined {
	var j joined
	var open []chain
	empty := 0
	for _, i := range of {
		c := chain{points: tidy(d.Lines[i].Points), closed: d.Lines[i].Closed, first: i}
		n := len(c.points)
		switch {
		case n < 2:
			empty++
		case !c.closed && n > 2 && c.points[0].distance(c.points[n-1]) <= gap:
			c.closed = true
			c.points[0] = c.points[0].toward(c.points[n-1], 0.5)
			c.points = c.points[:n-1]
			open = append(open, c)
		default:
			open = append(open, c)
		}
	}
	if empty > 0 {
		j.remarks = append(j.remarks, Remark{Text: fmt.Sprintf("Lines of no length were left out: %d.", empty)})
	}
	open, twice := d.once(open, gap)
	for _, i := range twice {
		if len(j.remarks) >= 10 {
			j.remarks = append(j.remarks, Remark{Text: fmt.Sprintf("In all %d lines are drawn twice.", len(twice))})
			break
		}
		j.remarks = append(j.remarks, Remark{d.Lines[i].Origin, fmt.Sprintf("The %s at %v is drawn twice; one of the two was left out.", d.Lines[i].Kind, d.Lines[i].Points[0])})
	}
	j.link(open, gap)
	return j
}

// tidy leaves out places that are the same as the one before.
func tidy(p []Point) []Point {
	out := make([]Point, 0, len(p))
	for _, q := range p {
		if n := len(out); n == 0 || q.distance(out[n-1]) > same {
			out = append(out, q)
		}
	}
	return out
}

// once leaves out chains that run where another does. Two are the same when they
// are equally long and agree, within gap, at every eighth of their length.
func (d *Drawing) once(c []chain, gap float64) (kept []chain, twice []int) {
	type print struct {
		at     [9]Point
		length float64
		index  int
	}
	prints := make([]print, len(c))
	for i := range c {
		prints[i] = print{length: c[i].length(), index: i}
		prints[i].at = c[i].eighths(prints[i].length)
	}
	sorted := slices.Clone(prints)
	slices.SortFunc(sorted, func(a, b print) int {
		switch {
		case a.length != b.length:
			if a.length < b.length {
				return -1
			}
			return 1
		}
		return a.index - b.index
	})
	drop := map[int]bool{}
	for i := range sorted {
		if drop[sorted[i].index] {
			continue
		}
		// Of lines equally long only the nearest hundred are compared.
		for k := i + 1; k < len(sorted) && k <= i+100 && sorted[k].length-sorted[i].length <= gap; k++ {
			a, b := &sorted[i], &sorted[k]
			alike := c[a.index].closed == c[b.index].closed
			for q := range a.at {
				alike = alike && a.at[q].distance(b.at[q]) <= gap
			}
			if alike {
				drop[b.index] = true
			}
		}
	}
	for i := range c {
		if drop[i] {
			twice = append(twice, c[i].first)
			continue
		}
		kept = append(kept, c[i])
	}
	return kept, twice
}

// eighths returns the places at every eighth of the length, from the end further
// left (lower, where both are as far); a closed chain begins at its leftmost place
// and goes counter-clockwise.
func (c *chain) eighths(length float64) (at [9]Point) {
	p := c.points
	before := func(a, b Point) bool { return a.X < b.X-same || a.X < b.X+same && a.Y < b.Y }
	switch {
	case c.closed:
		k := 0
		area := 0.0
		for i := range p {
			area += p[i].minus(p[0]).cross(p[(i+1)%len(p)].minus(p[0]))
			if before(p[i], p[k]) {
				k = i
			}
		}
		p = append(append(slices.Clone(p[k:]), p[:k]...), p[k])
		if area < 0 {
			slices.Reverse(p)
		}
	case before(p[len(p)-1], p[0]):
		p = slices.Clone(p)
		slices.Reverse(p)
	}
	run, next := 0.0, 0
	for i := 1; i < len(p); i++ {
		step := p[i].distance(p[i-1])
		for next < 9 && float64(next)*length/8 <= run+step {
			at[next] = p[i-1].toward(p[i], (float64(next)*length/8-run)/step)
			next++
		}
		run += step
	}
	for ; next < 9; next++ {
		at[next] = p[len(p)-1]
	}
	return at
}

// link joins the ends of open chains.
func (j *joined) link(c []chain, gap float64) {
	// End 2i is the beginning of chain i, 2i+1 its end.
	end := func(k int) Point {
		p := c[k/2].points
		if k%2 == 0 {
			return p[0]
		}
		return p[len(p)-1]
	}
	type cell struct{ x, y int64 }
	cellOf := func(p Point) cell { return cell{int64(math.Floor(p.X / gap)), int64(math.Floor(p.Y / gap))} }
	grid := map[cell][]int{}
	parent := make([]int, 2*len(c))
	for i := range parent {
		parent[i] = i
	}
	root := func(k int) int {
		for parent[k] != k {
			parent[k] = parent[parent[k]]
			k = parent[k]
		}
		return k
	}
	for k := range parent {
		if c[k/2].closed {
			continue
		}
		p := end(k)
		at := cellOf(p)
		for dx := int64(-1); dx <= 1; dx++ {
			for dy := int64(-1); dy <= 1; dy++ {
				for _, o := range grid[cell{at.x + dx, at.y + dy}] {
					if end(o).distance(p) <= gap {
						parent[root(k)] = root(o)
					}
				}
			}
		}
		if len(grid[at]) < 8 { // more than two are a fork already
			grid[at] = append(grid[at], k)
		}
	}
	members := map[int][]int{}
	for k := range parent {
		if !c[k/2].closed {
			members[root(k)] = append(members[root(k)], k)
		}
	}
	mate := func(k int) int {
		if m := members[root(k)]; len(m) == 2 {
			return m[0] + m[1] - k
		}
		return -1
	}
	for k := range parent {
		if m := members[k]; len(m) > 2 {
			j.forks = append(j.forks, end(m[0]))
		}
	}
	used := make([]bool, len(c))
	widest, joins := 0.0, 0
	var where Point
	follow := func(k int) chain { // from the end k of its chain
		out := chain{first: c[k/2].first}
		for {
			used[k/2] = true
			p := c[k/2].points
			if k%2 == 1 {
				p = slices.Clone(p)
				slices.Reverse(p)
			}
			if n := len(out.points); n > 0 {
				out.points[n-1] = out.points[n-1].toward(p[0], 0.5)
				p = p[1:]
			}
			out.points = append(out.points, p...)
			m := mate(k ^ 1)
			if m < 0 {
				return out
			}
			if g := end(k ^ 1).distance(end(m)); g > widest {
				widest, where = g, end(m)
			}
			joins++
			if used[m/2] {
				out.closed = true
				n := len(out.points)
				out.points[0] = out.points[0].toward(out.points[n-1], 0.5)
				out.points = out.points[:n-1]
				return out
			}
			k = m
		}
	}
	for k := range parent {
		if !c[k/2].closed && !used[k/2] && mate(k) < 0 {
			j.chains = append(j.chains, follow(k))
		}
	}
	for i := range c {
		switch {
		case c[i].closed:
			j.chains = append(j.chains, c[i])
		case !used[i]:
			j.chains = append(j.chains, follow(2*i))
		}
	}
	if widest > 2*same {
		j.remarks = append(j.remarks, Remark{Text: fmt.Sprintf("Ends were joined at %d places; the widest gap, at %v, is %.4f mm.", joins, where, widest)})
	}
}

// crossings finds where a chain crosses itself, up to most places. ok is false when
// it is too tangled to tell.
func crossings(c *chain, most int) (at []Point, ok bool) {
	n := len(c.points)
	count := n - 1
	if c.closed {
		count = n
	}
	order := make([]int, count)
	ends := func(i int) (Point, Point) { return c.points[i], c.points[(i+1)%n] }
	left := func(i int) float64 { p, q := ends(i); return min(p.X, q.X) }
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		switch l, r := left(a), left(b); {
		case l < r:
			return -1
		case l > r:
			return 1
		}
		return a - b
	})
	var active []int
	budget := 50_000_000
	for _, i := range order {
		p, q := ends(i)
		from := min(p.X, q.X)
		keep := active[:0]
		for _, k := range active {
			a, b := ends(k)
			if max(a.X, b.X) < from {
				continue
			}
			keep = append(keep, k)
			if budget--; budget < 0 {
				return at, false
			}
			if apart := max(i-k, k-i); apart <= 1 || c.closed && apart == n-1 {
				continue
			}
			if max(a.Y, b.Y) < min(p.Y, q.Y) || min(a.Y, b.Y) > max(p.Y, q.Y) {
				continue
			}
			if x, crossed := crossing(p, q, a, b); crossed {
				if at = append(at, x); len(at) >= most {
					return at, true
				}
			}
		}
		active = append(keep, i)
	}
	return at, true
}

// crossing returns where two straight lines cross, their ends apart.
func crossing(p, q, a, b Point) (Point, bool) {
	d, e := q.minus(p), b.minus(a)
	det := d.cross(e)
	if det == 0 {
		return Point{}, false
	}
	t, u := a.minus(p).cross(e)/det, a.minus(p).cross(d)/det
	return p.toward(q, t), t > 1e-9 && t < 1-1e-9 && u > 1e-9 && u < 1-1e-9
}
