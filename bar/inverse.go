package bar

import (
	"fmt"
	"math"

	"brightcut/fault"
)

const (
	// UsualAngle is the pressure angle above which the touchpiece is apt to jam or
	// to lift off. Common practice, no source.
	UsualAngle = 30 * math.Pi / 180

	// UsualTolerance is how far the edge that Inverse draws may lie from the exact
	// one, mm, when nothing else is asked for.
	UsualTolerance = 1e-4
)

// Want is a path wanted on the work and what it is to be made with.
type Want struct {
	Path      Edge    // the path, as an edge is drawn: heights are the motion of the work; Radius is that of the rosette to be made
	Lever     float64 // motion of the work for one of the touchpiece (a rose engine's rocking or pumping); 0 is 1
	Touch     float64 // radius of the touchpiece or rubber, mm
	Tool      float64 // radius of the cutter, or half the kerf, that makes the edge, mm; 0 is one that makes any hollow
	Tolerance float64 // how far the edge drawn may lie from the exact one, mm; 0 is UsualTolerance
}

// Miss is a stretch on which the path wanted cannot be had.
type Miss struct {
	From, To float64 // readings, mm or rad; From lies in the first period, or on the bar
	Fall     float64 // how far the path stays off the one wanted at most, mm on the work
}

// Steep is a part of the stroke or of a turn on which the pressure angle is great.
type Steep struct{ From, To float64 }

// Inverse is the edge to make for a path wanted on the work.
type Inverse struct {
	Want Want

	wanted *Profile

	// Edge is the highest edge whose path nowhere stands above the one wanted: with
	// a lever below 0, nowhere below it on the work. Where the path can be had, it
	// gives it.
	Edge Edge
	Path *Path // of Edge: the lift of the touchpiece, not yet the motion of the work

	Missed []Miss  // ascending; none when the path can be had
	Fall   float64 // the greatest of them, mm on the work

	// Nearest is the edge whose path has the least greatest departure from the one
	// wanted, which is Off, mm on the work. On a bar it is Edge raised by Off, so
	// the pattern is the same and the work stands Off to one side.
	Nearest Edge
	Off     float64

	// SmallestHollow is the least radius in the hollows of the exact edge, mm; a
	// tool no larger makes all of it. It is never less than the touchpiece's own.
	// HasHollow is false when the edge is hollow nowhere.
	HasHollow      bool
	SmallestHollow float64

	Steepest float64 // greatest pressure angle, rad
	Steep    []Steep // where it is above UsualAngle

	// Cut is the making of Edge with the tool, and Departure the greatest by which
	// the path over what the tool leaves differs from the one wanted, mm on the
	// work. Cut is nil when no tool is given.
	Cut       *Cut
	Departure float64
}

// Inverse returns the edge to make. The error is a fault.List: of the path wanted,
// with fields under "path", or of "lever", "touchpiece" ("rubber"), "tool",
// "tolerance".
//
// The path over an edge is the upper envelope of discs of the nose's radius, so
// each place of it is touched from below by such a disc: its bumps are nowhere
// sharper than the nose, while its hollows may be as sharp as they like. A path can
// be had if and only if it is so. The highest edge under it is the lower envelope
// of the same discs set on the path, the inner offset; where a bump is too sharp
// the discs about its two sides cross, the edge comes to a corner, and the path
// turns about that corner with the radius of the nose.
//
// Of all paths nowhere above the one wanted this is the highest (the envelopes are
// a dilation and an erosion, the two together an opening). So a path within ε of
// the one wanted exists if and only if the opening of the path raised by ε falls
// no more than 2ε below it. On a bar raising commutes with both, hence Off is half
// of Fall.
func (w Want) Inverse() (*Inverse, error) {
	if w.Lever == 0 {
		w.Lever = 1
	}
	if w.Tolerance == 0 {
		w.Tolerance = UsualTolerance
	}
	if err := w.check(); err != nil {
		return nil, err
	}
	wanted, err := w.Path.Profile()
	if err != nil {
		return nil, under("path", err)
	}
	lift, err := wanted.lifted(1 / w.Lever)
	if err != nil {
		return nil, err
	}
	v := &Inverse{Want: w, wanted: wanted}
	o, err := lift.open(w.Touch, 0)
	if err != nil {
		return nil, err
	}
	if v.Edge, err = o.edge(w.Path, w.Tolerance); err != nil {
		return nil, err
	}
	if v.Path, err = Follow(v.Edge, w.Touch); err != nil {
		return nil, fmt.Errorf("running the touchpiece over the edge for the path wanted: %w", err)
	}
	scale := math.Abs(w.Lever)
	for _, l := range o.missed() {
		v.Missed = append(v.Missed, Miss{l.From, l.To, l.Depth * scale})
		v.Fall = max(v.Fall, l.Depth*scale)
	}
	if err := v.nearest(lift); err != nil {
		return nil, err
	}
	v.hollows(lift)
	v.steepness(o)
	if w.Tool != 0 {
		err = v.cut()
	}
	return v, err
}

func (w Want) check() error {
	var l fault.List
	if !(math.Abs(w.Lever) >= 0.001 && math.Abs(w.Lever) <= 1000) {
		l = append(l, fault.Fault{Field: "lever", Problem: fmt.Sprintf("a lever of %g cannot be used", w.Lever), Mend: "give a ratio from 0.001 to 1000, below 0 if it turns the motion round"})
	}
	if !(w.Tolerance >= 1e-6 && w.Tolerance <= 1) {
		l = append(l, fault.Fault{Field: "tolerance", Problem: fmt.Sprintf("a tolerance of %g mm cannot be used", w.Tolerance), Mend: "give one from 0.000001 mm to 1 mm"})
	}
	return l.Err()
}

// under puts the faults of a part under its field.
func under(field string, err error) error {
	l, ok := err.(fault.List)
	if !ok {
		return err
	}
	out := make(fault.List, len(l))
	for i, f := range l {
		f.Field = field + "." + f.Field
		out[i] = f
	}
	return out
}

// lifted returns the profile with its heights times k.
func (p *Profile) lifted(k float64) (*Profile, error) {
	if k == 1 {
		return p, nil
	}
	out := *p
	out.pieces = make([]piece, 0, len(p.pieces))
	for i := range p.pieces {
		q := p.pieces[i]
		if q.kind == arc && k != -1 {
			out.pieces = fitted(out.pieces, func(y float64) (float64, float64) { s := q.at(y); return k * s.h, k * s.d1 }, q.a, q.b)
			continue
		}
		out.pieces = append(out.pieces, q.times(k))
	}
	for i := range out.pieces {
		q := &out.pieces[i]
		if s := max(math.Abs(q.at(q.a).d1), math.Abs(q.at(q.b).d1)); !(s <= maxSlope) {
			return nil, fault.List{{Field: "lever", Problem: fmt.Sprintf("the edge for this path would stand at %.4g deg to the stroke; no touchpiece climbs more than 89", math.Atan(s)*180/math.Pi),
				Mend: "let the lever move the work further for the same motion of the touchpiece, or want a gentler path"}}
		}
	}
	if out.period > 0 && len(out.pieces) > 0 {
		out.crestFirst()
	}
	if r := out.leastRadius(); out.frame.R > 0 && r <= 0 {
		return nil, fault.List{{Field: "lever", Problem: "the rosette for this path would reach its middle", Mend: "let the lever move the work further for the same motion of the rubber, or give the rosette a larger radius"}}
	}
	return &out, nil
}

// times returns the piece with its heights times k; an arc only with k = −1.
func (p piece) times(k float64) piece {
	p.c0 *= k
	p.c1 *= k
	if p.kind == cubic {
		p.c2 *= k
		p.c3 *= k
	}
	return p
}

// opening is the edge under a path: the lower envelope of the noses on it.
type opening struct {
	inner *Path // heights of the edge, drawn downwards
	outer frame
	ρ     float64
}

// open sets the noses on the profile, taken as the lift of the touchpiece and raised
// by raise.
func (p *Profile) open(ρ, raise float64) (*opening, error) {
	pieces := p.pieces
	if from, to := p.edge.Span(); p.period == 0 && len(pieces) > 0 {
		pieces = p.cover(from, to) // what runs on past the ends is not wanted
	}
	t := &Profile{edge: p.edge, frame: p.frame, period: p.period, pieces: make([]piece, len(pieces))}
	t.frame.inner = true
	if ρ >= leastTouch && ρ <= MaxTouch && p.frame.R > 0 {
		t.frame.rise = ρ
	}
	for i := range pieces {
		q := pieces[i].times(-1)
		q.c0 -= raise
		t.pieces[i] = q
	}
	if t.period > 0 && len(t.pieces) > 0 {
		t.crestFirst()
	}
	inner, err := t.Follow(ρ)
	if err != nil {
		return nil, err
	}
	return &opening{inner, p.frame, inner.follower.ρ}, nil
}

// missed measures how far the path over the edge falls below the one it was made
// for, mm of lift.
func (o *opening) missed() []Loss {
	return o.inner.skipped(func(k kink, q spot) float64 {
		s := o.outer.place(q.y)
		lift, _ := o.outer.disc(o.outer.along(k.s), -k.lift, o.ρ, s)
		return -q.h - lift
	})
}

// edge draws the edge, as an edge like e.
func (o *opening) edge(e Edge, τ float64) (Edge, error) {
	out := Edge{Name: e.Name, Figure: Plain, Radius: e.Radius, Length: e.Length}
	p := o.inner
	if len(p.spans) == 0 {
		return out, nil
	}
	out.Figure = Points
	out.Drawn = p.vertices(τ)
	for i := range out.Drawn {
		out.Drawn[i][1] = -out.Drawn[i][1]
	}
	if p.period > 0 {
		last := len(out.Drawn) - 1
		out.Drawn[last] = [2]float64{out.Drawn[0][0] + p.period, out.Drawn[0][1]}
		if out.Repeats = e.Radius == 0; !out.Repeats {
			out.Count = int(math.Round(2 * math.Pi / p.period))
		}
	} else {
		out.Length = 0 // it is as long as it is drawn
	}
	if s, ok := o.spline(out, τ); ok {
		out = s
	}
	if l := out.Check(); len(l) > 0 {
		return out, fmt.Errorf("drawing the edge for the path wanted: %w", l)
	}
	return out, nil
}

// mostSmoothed is the number of points up to which a spline is tried for.
const mostSmoothed = 20_000

// spline draws an edge without corners by fewer points, equally far apart, if that
// can be done within τ.
func (o *opening) spline(e Edge, τ float64) (Edge, bool) {
	if len(o.inner.kinks) > 0 || len(e.Drawn) > mostSmoothed {
		return e, false
	}
	p := o.inner
	var seen [][2]float64
	out := e
	out.Spline = true
	for n := 8; n < len(e.Drawn)*3/2 && n <= mostSmoothed; n += n / 2 {
		out.Drawn = make([][2]float64, n+1)
		for i := range out.Drawn {
			s := p.start + p.length*float64(i)/float64(n)
			lift, _ := p.At(s)
			out.Drawn[i] = [2]float64{s, -lift}
		}
		if p.period > 0 {
			out.Drawn[n] = [2]float64{p.start + p.period, out.Drawn[0][1]}
		} else {
			lift, _ := p.eval(&p.spans[len(p.spans)-1], p.start+p.length)
			out.Drawn[n] = [2]float64{p.start + p.length, -lift}
		}
		drawn, err := out.Profile()
		if err != nil {
			continue
		}
		if seen == nil {
			seen = p.dense(τ / 8)
		}
		off := 0.0
		for _, d := range seen {
			h, _ := drawn.Height(d[0])
			if off = max(off, math.Abs(h+d[1])); off > τ/2 {
				break
			}
		}
		if off <= τ/2 {
			return out, true
		}
	}
	return e, false
}

// nearest finds the edge of the least greatest departure. On a rosette a raised path
// has almost the same opening, so that halving its fall again and again settles at
// once.
func (v *Inverse) nearest(lift *Profile) error {
	raise := v.Fall / math.Abs(v.Want.Lever) / 2
	v.Nearest, v.Off = v.Edge, v.Fall/2
	switch {
	case raise == 0:
	case lift.frame.R == 0:
		v.Nearest.Drawn = make([][2]float64, len(v.Edge.Drawn))
		for i, d := range v.Edge.Drawn {
			v.Nearest.Drawn[i] = [2]float64{d[0], d[1] + raise}
		}
	default:
		var o *opening
		for range 20 {
			var err error
			if o, err = lift.open(v.Want.Touch, raise); err != nil {
				return err
			}
			fall := 0.0
			for _, l := range o.missed() {
				fall = max(fall, l.Depth)
			}
			settled := math.Abs(fall/2-raise) <= 1e-9
			if raise = fall / 2; settled {
				break
			}
		}
		var err error
		if v.Nearest, err = o.edge(v.Want.Path, v.Want.Tolerance); err != nil {
			return err
		}
		v.Off = raise * math.Abs(v.Want.Lever)
	}
	return nil
}

// hollows finds the least hollow of the exact edge. It is the path's hollow and the
// nose's radius together.
func (v *Inverse) hollows(lift *Profile) {
	p := Path{profile: lift, follower: follower{frame: lift.frame}}
	if lift.frame.R > 0 {
		p.follower.frame.rise = v.Want.Touch
	}
	r := p.shape()
	v.HasHollow = r.HasHollow
	if r.HasHollow {
		v.SmallestHollow = r.SmallestHollow + v.Want.Touch
	}
}

// steepness finds where the pressure angle is above the usual.
func (v *Inverse) steepness(o *opening) {
	f := o.outer
	f.rise = o.ρ
	run := func(a, b float64, at func(y float64) (h, slope float64)) {
		angle := func(y float64) float64 {
			h, m := at(y)
			return f.angle(spot{h: h, d1: m})
		}
		φ, ψ := angle(a), angle(b)
		v.Steepest = max(v.Steepest, φ, ψ)
		switch {
		case φ <= UsualAngle && ψ <= UsualAngle:
		case φ > UsualAngle && ψ > UsualAngle && steady(at, a, b):
			v.steep(f.place(a), f.place(b))
		default: // the slope runs one way, from above the usual or to above it, or both
			mid := a + (b-a)/2
			if !steady(at, a, b) {
				mid = level(at, a, b)
			}
			if φ > UsualAngle {
				v.steep(f.place(a), f.place(sink(angle, a, mid, b, ψ)))
			}
			if ψ > UsualAngle {
				v.steep(f.place(sink(angle, b, mid, a, φ)), f.place(b))
			}
		}
	}
	o.inner.walk(func(q *piece, a, b float64) {
		run(a, b, func(y float64) (float64, float64) { s := q.at(y); return -s.h, -s.d1 })
	}, func(k kink) {
		under := o.inner.bridge(k)
		run(k.left, k.right, func(y float64) (float64, float64) { h, m := under(y); return -h, -m })
	})
}

// steady reports whether the slope has one sign at both ends.
func steady(at func(float64) (h, slope float64), a, b float64) bool {
	_, m := at(a)
	_, n := at(b)
	return m*n >= 0
}

// level returns where the slope passes 0.
func level(at func(float64) (h, slope float64), a, b float64) float64 {
	_, m := at(a)
	for range 60 {
		mid := a + (b-a)/2
		if _, n := at(mid); n*m > 0 {
			a = mid
		} else {
			b = mid
		}
	}
	return b
}

// sink returns where the angle sinks to the usual on the way from a, where it is
// above, to mid, or on to b when it sinks only there.
func sink(angle func(float64) float64, a, mid, b, last float64) float64 {
	if angle(mid) > UsualAngle {
		if last > UsualAngle {
			return mid
		}
		mid = b
	}
	for range 60 {
		if y := a + (mid-a)/2; angle(y) > UsualAngle {
			a = y
		} else {
			mid = y
		}
	}
	return a
}

// steep notes a stretch, which may go on from the last one.
func (v *Inverse) steep(from, to float64) {
	if n := len(v.Steep); n > 0 && from-v.Steep[n-1].To <= 1e-9*(1+math.Abs(from)) {
		v.Steep[n-1].To = to
		return
	}
	v.Steep = append(v.Steep, Steep{from, to})
}

// At returns the motion of the work over Edge at the reading s, and what it falls
// short of the path wanted there, both mm.
func (v *Inverse) At(s float64) (motion, off float64) {
	lift, _ := v.Path.At(s)
	want, _ := v.wanted.Height(s)
	return lift * v.Want.Lever, lift*v.Want.Lever - want
}
