package bar

import (
	"fmt"
	"math"
)

// What Check takes at most of edges that are put together.
const (
	MaxSines   = 100 // sines of one edge
	MaxChanges = 100 // passages of a blend

	// runOn is how far a blend is drawn past the ends of its bar, mm, for the
	// touchpiece that stands on the very end.
	runOn = 20.0
)

// whole returns the drawn points with their joint made good, and with their mirror
// image.
func (e Edge) whole() [][2]float64 {
	n := len(e.Drawn)
	if e.Joint == 0 && !e.Mirror {
		return e.Drawn
	}
	out := append(make([][2]float64, 0, 2*n), e.Drawn...)
	first, last := e.Drawn[0], e.Drawn[n-1]
	if e.Mirror {
		for i := n - 2; i >= 0; i-- {
			out = append(out, [2]float64{2*last[0] - e.Drawn[i][0], e.Drawn[i][1]})
		}
		return out
	}
	half := (first[1] - last[1]) / 2
	for i := range out {
		y := out[i][0]
		out[i][1] += half * (passage((y-last[0])/e.Joint+1) - passage((first[0]-y)/e.Joint+1))
	}
	out[n-1][1] = out[0][1]
	return out
}

// passage rises from 0 at 0 to 1 at 1 with no slope at either end: 3t² − 2t³.
func passage(t float64) float64 {
	t = min(max(t, 0), 1)
	return t * t * (3 - 2*t)
}

// harmonicPieces draws one wave of a sum of sines by cubics.
func harmonicPieces(λ float64, sines []Harmonic) []piece {
	order := 1
	for _, s := range sines {
		order = max(order, s.Order)
	}
	sum := func(y float64) (h, slope float64) {
		for _, s := range sines {
			k := 2 * math.Pi * float64(s.Order) / λ
			sin, cos := math.Sincos(k*y + s.Phase)
			h += s.Amplitude * sin
			slope += s.Amplitude * k * cos
		}
		return h, slope
	}
	var out []piece
	n := 8 * order
	for i := range n {
		out = fitted(out, sum, λ*float64(i)/float64(n), λ*float64(i+1)/float64(n))
	}
	return out
}

// cover returns the pieces of the profile between a and b, mm along the datum.
func (p *Profile) cover(a, b float64) []piece {
	var out []piece
	for s := range p.Stretches(a, b) {
		q := s.piece
		q.a, q.b = s.From, s.To
		out = append(out, q)
	}
	return out
}

// blendPieces draws a sound blend. Between passages it is one pattern or the other;
// in a passage
//
//	h = (1 − w)·h₁ + w·h₂,  w = 3t² − 2t³,  t = 0 … 1 along the passage,
//
// so that neither edge nor slope jumps where it begins and ends.
func blendPieces(e Edge) []piece {
	unit := 1.0
	from, to := -e.Length/2-runOn, e.Length/2+runOn
	over := e.Over
	if e.polar() {
		unit, over = e.Radius, e.Over*e.Radius
		from = e.Changes[0]*unit - over/2
		to = from + 2*math.Pi*unit
	}
	one, two := e.First.profile(), e.Second.profile()
	var out []piece
	at := from
	for _, c := range e.Changes {
		a := c*unit - over/2
		out = append(out, one.cover(at, a)...)
		at = a + over
		out = passagePieces(out, one.cover(a, at), two.cover(a, at), a, over)
		one, two = two, one
	}
	return append(out, one.cover(at, to)...)
}

// passagePieces blends pieces that cover the same stretch from a on.
func passagePieces(out, one, two []piece, a, over float64) []piece {
	at := a
	for i, j := 0, 0; i < len(one) && j < len(two); {
		p, q := one[i], two[j]
		end := min(p.b, q.b)
		out = fitted(out, func(y float64) (h, slope float64) {
			t := (y - a) / over
			w, rise := passage(t), 6*t*(1-t)/over
			l, r := p.at(y), q.at(y)
			return l.h + w*(r.h-l.h), l.d1 + w*(r.d1-l.d1) + rise*(r.h-l.h)
		}, at, end)
		at = end
		if p.b <= end {
			i++
		}
		if q.b <= end {
			j++
		}
	}
	return out
}

// sines checks a sum of sines.
func (c *checker) sines() {
	e := c.edge
	wave := c.wave()
	if n := len(e.Sines); n == 0 || n > MaxSines {
		c.add("sines", fmt.Sprintf("%d sines make no edge", n), fmt.Sprintf("list from 1 to %d", MaxSines))
		return
	}
	slope := 0.0
	for i, s := range e.Sines {
		field := fmt.Sprintf("sines[%d].", i)
		if s.Order < 0 || s.Order > MaxHarmonics {
			c.add(field+"order", fmt.Sprintf("a sine cannot go %d times into the wave", s.Order), fmt.Sprintf("give a whole number from 0 to %d; 0 only raises the edge", MaxHarmonics))
		} else if c.within(field+"amplitude", "an amplitude", s.Amplitude, 0, highest) && wave {
			slope += 2 * math.Pi * float64(s.Order) * s.Amplitude / c.λ
		}
		if !(math.Abs(s.Phase) <= 1000*math.Pi) {
			c.add(field+"phase", "the phase cannot be used", "give an angle from −360 to 360 deg")
		}
	}
	if wave && !(slope <= 100*maxSlope) { // what is less is judged by the edge as drawn
		c.slope("sines", slope, "lower them or lengthen the wave")
	}
}

// joint checks what is made of drawn points beyond joining them.
func (c *checker) joint(unit float64) {
	e := c.edge
	if e.Joint == 0 {
		return
	}
	span := e.Drawn[len(e.Drawn)-1][0] - e.Drawn[0][0]
	switch {
	case e.Mirror:
		c.add("joint", "points that are mirrored join by themselves", "take the joint away")
	case !e.Repeats && !e.polar():
		c.add("joint", "an edge that does not repeat has no joint", "let the points repeat, or take the joint away")
	case !(e.Joint*unit >= 2*sharp && e.Joint <= span/2):
		c.add("joint", fmt.Sprintf("a joint of %s cannot be used", mm(e.Joint*unit)), fmt.Sprintf("give one up to half of what is drawn, %s", mm(span*unit/2)))
	default:
		for i, d := range e.whole() {
			if i > 0 && !e.Spline {
				b := e.whole()[i-1]
				if s := math.Abs(d[1]-b[1]) / ((d[0] - b[0]) * unit); !(s <= maxSlope) {
					c.slope("joint", s, "make it longer, or draw more points along it")
					return
				}
			}
		}
	}
}

// blend checks a blend and the patterns of which it is made.
func (c *checker) blend() {
	e := c.edge
	unit, of := 1.0, "bar"
	if e.polar() {
		unit, of = e.Radius, "rosette"
	} else if e.Length == 0 {
		c.add("length", "a blend needs the length of its bar", "give it")
	}
	sound := c.nested("from", e.First, of)
	sound = c.nested("into", e.Second, of) && sound
	n := len(e.Changes)
	switch {
	case n == 0 || n > MaxChanges:
		c.add("changes", fmt.Sprintf("%d passages make no blend", n), fmt.Sprintf("list from 1 to %d places where one pattern passes into the other", MaxChanges))
	case e.polar() && n%2 != 0:
		c.add("changes", "round a rosette the second pattern has to pass back into the first", "list an even number of places")
	}
	if !(e.Over*unit >= shortest && e.Over*unit <= longest) {
		c.add("over", fmt.Sprintf("a passage of %s cannot be used", mm(e.Over*unit)), fmt.Sprintf("give a length of %s or more", mm(shortest)))
	}
	if len(c.faults) > 0 || !sound {
		return
	}
	for i, at := range e.Changes {
		field := fmt.Sprintf("changes[%d]", i)
		switch {
		case !(math.Abs(at)*unit <= longest):
			c.add(field, "the place cannot be used", "keep within the bar or the turn")
		case i > 0 && !(at-e.Changes[i-1] >= e.Over):
			c.add(field, "it begins before the passage before it has ended", "list the places in order and further apart, or make the passages shorter")
		case !e.polar() && !(at-e.Over/2 >= -e.Length/2 && at+e.Over/2 <= e.Length/2):
			c.add(field, "the passage does not lie on the bar", fmt.Sprintf("keep it between %s and %s", mm(-e.Length/2), mm(e.Length/2)))
		case e.polar() && i == n-1 && !(e.Changes[0]+2*math.Pi-at >= e.Over):
			c.add(field, "it runs into the first passage a turn later", "list places within one turn, or make the passages shorter")
		}
	}
	for _, p := range []*Edge{e.First, e.Second} {
		if T := p.Period(); T > 0 && p.Figure != Plain && len(c.faults) == 0 {
			q := p.profile()
			rounds := (e.Length + 2*runOn) / q.period
			if e.polar() {
				rounds = 2 * math.Pi / T
			}
			if rounds*float64(len(q.pieces)) > MaxPoints/8 {
				c.add("length", "the blend would have more waves than can be kept", "make the bar shorter or the waves longer")
			}
		}
	}
}

// nested reports whether an edge within this one is sound.
func (c *checker) nested(field string, e *Edge, of string) bool {
	e0 := c.edge
	switch {
	case e == nil:
		c.add(field, "a pattern is missing here", "name a "+of+", or give its keys")
	case e.Figure == Blend:
		c.add(field, "a blend cannot be made of blends", "list more changes, or choose another figure")
	case e.Other != nil:
		c.add(field+".other_side", "a pattern within another has one edge", "take it away")
	case e.Radius != e0.Radius:
		c.add(field+".radius", fmt.Sprintf("a mean radius of %s is not that of the rosette, %s", mm(e.Radius), mm(e0.Radius)), "give all of them the same")
	default:
		l := e.Check()
		for _, f := range l {
			f.Field = field + "." + f.Field
			c.faults = append(c.faults, f)
		}
		return len(l) == 0
	}
	return false
}

// otherSide checks the other edge of a bar.
func (c *checker) otherSide() {
	e := c.edge.Other
	switch {
	case e == nil:
	case c.edge.polar():
		c.add("other_side", "a rosette has one edge", "take it away, and make a rosette of its own")
	case e.Other != nil:
		c.add("other_side.other_side", "a bar has two sides", "take it away")
	default:
		for _, f := range e.Check() {
			f.Field = "other_side." + f.Field
			c.faults = append(c.faults, f)
		}
	}
}

// gentler is how to mend an edge that swings too steeply.
func (c *checker) gentler() string {
	switch c.edge.Figure {
	case Harmonics:
		return "lower the sines or lengthen the wave"
	case Blend:
		return "make the passages longer"
	}
	return "set the points further apart or join them by straight lines"
}
