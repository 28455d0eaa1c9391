package bar

import (
	"fmt"
	"math"

	"brightcut/fault"
)

// Vertex is a corner of the way of a tool in the plane, mm. On a bar X runs along
// the stroke and Y is the height above the datum; a rosette lies about (0, 0), the
// angle 0 along X. Bulge is the tangent of a quarter of the angle through which an
// arc turns to the next vertex, above 0 anticlockwise; 0 is a straight line.
type Vertex struct{ X, Y, Bulge float64 }

// Cut is the making of an edge with a round tool: a cutter, or a wire or a beam
// whose radius is half its kerf.
type Cut struct {
	Tool float64 // radius, mm
	Left []Loss  // where metal remains in hollows tighter than the tool, and how far it stands off the edge
	Made Edge    // the edge as the tool leaves it; the edge drawn when nothing is left

	path *Path
}

// Make runs a tool of radius tool, mm, along the edge. The metal lies below the
// edge (a bar, a rosette), or above it when over is set: the piece on the other
// side of the kerf, which needs a way of its own. tolerance, mm, is how far Made may
// lie from the exact edge; 0 is UsualTolerance. The error is a fault.List, of Check
// or of "tool".
//
// The centre runs on the outer offset, the pitch curve of a touchpiece of the tool's
// radius. What the tool leaves is the closing of the edge by its disc, so a
// touchpiece no smaller than the tool runs over both alike.
func Make(e Edge, tool, tolerance float64, over bool) (*Cut, error) {
	pr, err := e.Profile()
	if err != nil {
		return nil, err
	}
	if tolerance == 0 {
		tolerance = UsualTolerance
	}
	if !(tool > 0 && tool <= MaxTouch) {
		return nil, fault.List{{Field: "tool", Problem: fmt.Sprintf("a tool of %g mm radius cannot be used", tool),
			Mend: fmt.Sprintf("give a radius above 0, up to %d mm; for a wire or a beam half the kerf", MaxTouch)}}
	}
	if over {
		if pr, err = pr.lifted(-1); err != nil {
			return nil, err
		}
		pr.frame.inner = true
	}
	p, err := pr.Follow(tool)
	if err != nil {
		if l, ok := err.(fault.List); ok && len(l) == 1 && (l[0].Field == "rubber" || l[0].Field == "touchpiece") {
			l[0].Field, l[0].Mend = "tool", "take a smaller tool, or draw a gentler rosette"
		}
		return nil, err
	}
	c := &Cut{Tool: tool, Left: p.lost(), Made: e, path: p}
	if len(c.Left) > 0 {
		c.Made = c.made(e, tolerance)
		if l := c.Made.Check(); len(l) > 0 {
			return nil, fmt.Errorf("drawing the edge that the tool leaves: %w", l)
		}
	}
	return c, nil
}

// made draws the edge with the tool's own round where it bridges a hollow.
func (c *Cut) made(e Edge, τ float64) Edge {
	p := c.path
	pr, f := p.profile, p.follower.frame
	var v [][2]float64
	p.walk(func(q *piece, a, b float64) {
		v = chords(v, func(y float64) (float64, float64) { s := q.at(y); return s.h, s.d1 }, a, b, τ/8)
	}, func(k kink) { v = chords(v, p.bridge(k), k.left, k.right, τ/8) })
	last := &pr.pieces[len(pr.pieces)-1]
	v = append(v, [2]float64{last.b, last.at(last.b).h})
	v = thinned(v, τ*7/8, 0)
	out := Edge{Name: e.Name, Figure: Points, Radius: e.Radius, Length: e.Length, Drawn: v}
	for i := range v {
		v[i] = [2]float64{f.place(v[i][0]), f.out() * v[i][1]}
	}
	if p.period > 0 {
		n := len(v) - 1
		v[n] = [2]float64{v[0][0] + p.period, v[0][1]}
		if out.Repeats = e.Radius == 0; !out.Repeats {
			out.Count = int(math.Round(2 * math.Pi / p.period))
		}
	}
	return out
}

// walk goes along the edge as the nose leaves it: on tells of stretches that the
// nose reaches, over of those that it bridges.
func (p *Path) walk(on func(q *piece, a, b float64), over func(k kink)) {
	pieces, k := p.profile.pieces, 0
	for i := range pieces {
		q := &pieces[i]
		for a := q.a; a < q.b; {
			for k < len(p.kinks) && !(p.kinks[k].right > a && p.kinks[k].right > p.kinks[k].left) {
				k++
			}
			if k == len(p.kinks) || p.kinks[k].left >= q.b {
				on(q, a, q.b)
				break
			}
			n := p.kinks[k]
			if n.left > a {
				on(q, a, n.left)
			}
			if n.left >= q.a {
				over(n)
			}
			a = n.right
		}
	}
}

// bridge returns the underside of the nose over what it bridges: height and slope
// at y, mm along the datum.
func (p *Path) bridge(k kink) func(y float64) (h, slope float64) {
	f, ρ := p.follower.frame, p.follower.ρ
	back := f // the nose as it is seen from the metal
	back.inner, back.rise = !f.inner, f.rise+f.out()*ρ
	centre := f.along(k.s)
	return func(y float64) (float64, float64) {
		h, m := back.disc(centre, -k.lift, ρ, back.place(y))
		if f.R > 0 {
			m /= f.R
		}
		return -h, -m
	}
}

// mostVertices limits what Centre returns to some 50 MB.
const mostVertices = 1 << 21

// Centre returns the way of the tool's centre from one place to another, mm or rad:
// arcs where it turns on a corner of the edge, straight lines elsewhere, all within
// tolerance, mm, of the exact way. Past the ends of an edge that does not repeat
// there is none. A rosette's is closed when the places are a turn apart.
func (c *Cut) Centre(from, to, tolerance float64) ([]Vertex, error) {
	p := c.path
	f := p.follower.frame
	if !(tolerance >= 1e-6 && tolerance <= 1) {
		return nil, fault.List{{Field: "tolerance", Problem: fmt.Sprintf("a tolerance of %g mm cannot be used", tolerance), Mend: "give one from 0.000001 mm to 1 mm"}}
	}
	if !(to > from) || math.IsInf(to-from, 0) {
		return nil, fmt.Errorf("drawing the way of a tool from %g to %g: there is nothing between", from, to)
	}
	w := way{Cut: c, τ: tolerance}
	if len(p.spans) == 0 {
		p = &Path{profile: p.profile, follower: p.follower, start: from, length: to - from, spans: []span{{s: from}}}
	}
	rounds, first := 1.0, 0.0
	if p.period > 0 {
		first = math.Floor((from - p.start) / p.period)
		rounds = math.Ceil((to-p.start)/p.period) - first
	}
	if rounds*float64(len(p.spans)) > 4*mostVertices {
		return nil, fault.List{{Field: "length", Problem: "the way of the tool would have more corners than can be kept", Mend: "make less of the bar at a time"}}
	}
	if f.R > 0 { // chords of the turn itself: |P″| ≤ c + 2|c′| between places
		steep := 0.0
		for i := range p.spans {
			_, m := p.eval(&p.spans[i], p.spans[i].s)
			steep = max(steep, math.Abs(m))
		}
		low, high := p.Extremes()
		most := max(f.radius(p.follower.ρ+low), f.radius(p.follower.ρ+high))
		w.longest = math.Sqrt(8 * (tolerance / 2) / (most + 4*steep))
		w.τ = tolerance / 2
	}
	for k := range int(rounds) {
		d := (first + float64(k)) * p.period
		for i := range p.spans {
			a, b := p.spans[i].s, p.start+p.length
			if i+1 < len(p.spans) {
				b = p.spans[i+1].s
			}
			a, b = max(a, from-d), min(b, to-d)
			if b > a {
				w.stretch(p, &p.spans[i], a, b, d)
			}
			if len(w.out)+len(w.run) > mostVertices {
				return nil, fault.List{{Field: "tolerance", Problem: fmt.Sprintf("the way of the tool would have more than %d corners", mostVertices), Mend: "allow a greater tolerance, or make less of the bar at a time"}}
			}
		}
	}
	w.flush()
	if n := len(w.out); n > 0 {
		w.out[n-1].Bulge = 0
	}
	return w.out, nil
}

// way gathers the vertices of a Centre.
type way struct {
	*Cut
	τ, longest float64
	run        [][2]float64 // (place, lift) since the last arc
	out        []Vertex
}

func (w *way) stretch(p *Path, q *span, a, b, d float64) {
	if q.turn {
		w.point(p, q, a, d)
		w.flush()
		l, _ := p.eval(q, a)
		r, _ := p.eval(q, b)
		w.arc(q, [2]float64{a, l}, [2]float64{b, r}, d)
		w.run = append(w.run[:0], [2]float64{b + d, r})
		return
	}
	bend := max(math.Abs(2*q.c[2]+6*q.c[3]*(a-q.s)), math.Abs(2*q.c[2]+6*q.c[3]*(b-q.s)))
	n := max(1, math.Ceil((b-a)*math.Sqrt(bend/w.τ)))
	if w.longest > 0 {
		n = max(n, math.Ceil((b-a)/w.longest))
	}
	for k := range int(n) + 1 {
		w.point(p, q, a+(b-a)*float64(k)/n, d)
	}
}

func (w *way) point(p *Path, q *span, s, d float64) {
	lift, _ := p.eval(q, s)
	if n := len(w.run); n == 0 || s+d > w.run[n-1][0] {
		w.run = append(w.run, [2]float64{s + d, lift})
	}
}

// arc appends the start of an arc about a corner.
func (w *way) arc(q *span, a, b [2]float64, d float64) {
	f := w.path.follower.frame
	var x, y float64
	if f.R == 0 {
		x, y = q.c[0]+d, f.out()*q.c[1]
	} else {
		sin, cos := math.Sincos(q.c[0]/f.R + d)
		x, y = f.radius(q.c[1])*cos, f.radius(q.c[1])*sin
	}
	v, e := w.vertex(a[0]+d, a[1]), w.vertex(b[0]+d, b[1])
	turn := math.Atan2((v.X-x)*(e.Y-y)-(v.Y-y)*(e.X-x), (v.X-x)*(e.X-x)+(v.Y-y)*(e.Y-y))
	v.Bulge = math.Tan(turn / 4)
	if n := len(w.out); n > 0 && w.out[n-1].Bulge == 0 && w.out[n-1].X == v.X && w.out[n-1].Y == v.Y {
		w.out = w.out[:n-1]
	}
	w.out = append(w.out, v)
}

// vertex returns the centre of the tool in the plane.
func (w *way) vertex(s, lift float64) Vertex {
	f, ρ := w.path.follower.frame, w.Tool
	if f.R == 0 {
		return Vertex{X: s, Y: f.out() * (lift + ρ)}
	}
	sin, cos := math.Sincos(s)
	c := f.radius(ρ + lift)
	return Vertex{X: c * cos, Y: c * sin}
}

// flush appends what was gathered since the last arc, by as few lines as will do.
func (w *way) flush() {
	for _, q := range thinned(w.run, w.τ*7/8, w.longest) {
		v := w.vertex(q[0], q[1])
		if n := len(w.out); n > 0 && w.out[n-1].X == v.X && w.out[n-1].Y == v.Y {
			continue
		}
		w.out = append(w.out, v)
	}
	w.run = w.run[:0]
}

// cut makes the edge with the tool and runs the touchpiece over what it leaves.
func (v *Inverse) cut() error {
	c, err := Make(v.Edge, v.Want.Tool, v.Want.Tolerance, false)
	if err != nil {
		return err
	}
	v.Cut = c
	p, err := Follow(c.Made, v.Want.Touch)
	if err != nil {
		return fmt.Errorf("running the touchpiece over the edge that the tool leaves: %w", err)
	}
	v.Departure = v.greatest(p)
	return nil
}

// greatest returns the greatest departure of a path from the one wanted, mm on the
// work, as far as it shows at the ends and the middles of the path's own stretches.
func (v *Inverse) greatest(p *Path) float64 {
	k := v.Want.Lever
	most := 0.0
	from, to := v.wanted.edge.Span()
	for i := range p.spans {
		a, b := p.spans[i].s, p.start+p.length
		if i+1 < len(p.spans) {
			b = p.spans[i+1].s
		}
		for _, t := range [3]float64{0, 0.5, 1} {
			s := a + (b-a)*t
			if p.period == 0 && !(s >= from && s <= to) {
				continue
			}
			lift, _ := p.eval(&p.spans[i], s)
			want, _ := v.wanted.Height(s)
			most = max(most, math.Abs(k*lift-want))
		}
	}
	return most
}
