package depth

import (
	"fmt"
	"math"

	"brightcut/fault"
)

// Side says on which side of the cutter, across the stroke, the guide's foot rests.
type Side int

// The sides, seen from above with the stroke running away from the operator.
const (
	Right Side = iota + 1 // towards +x
	Left                  // towards −x
)

// Other returns the side across the cutter.
func (s Side) Other() Side { return Right + Left - s }

// String returns "right" or "left".
func (s Side) String() string {
	if s == Left {
		return "left"
	}
	return "right"
}

// sign is the direction of the side along the V: +1 to the right.
func (s Side) sign() float64 {
	if s == Left {
		return -1
	}
	return 1
}

// Guide is the polished foot that rests on the work beside the cutter and
// gives the cut a local reference.
type Guide struct {
	Name       string
	Offset     float64 // g, from the cutter's tip to the foot's contact, across the stroke, mm
	Side       Side
	FootRadius float64 // of a round foot, a ball, mm; 0 is a flat foot
	FootWidth  float64 // of a flat foot, a level disc of this diameter with its rim broken, mm
	Extension  float64 // e, how far the cutter stands out beyond the foot, mm; 0 leaves it to the job's depth
	Compliance float64 // c, give under the hand, mm/N
}

// What Check takes at most.
const (
	farthestFoot   = 50.0 // mm, from the tip, and in radius or width
	mostExtension  = 5.0  // mm
	mostCompliance = 0.1  // mm/N: a hand of 10 N would move the cutter by a millimetre
)

// Check returns what keeps the guide from being used: fields "offset", "side",
// "foot_radius", "foot_width", "extension" and "compliance".
func (g *Guide) Check() fault.List {
	var l fault.List
	add := func(field, problem, mend string) {
		l = append(l, fault.Fault{Field: field, Problem: problem, Mend: mend})
	}
	if !(g.Offset >= 0 && g.Offset <= farthestFoot) {
		add("offset", fmt.Sprintf("a foot %s mm from the tip cannot be used", short(g.Offset)), "give the distance of the foot's contact from the tip, from 0 to 50 mm")
	}
	if g.Side != Right && g.Side != Left {
		add("side", "the foot stands on neither side", "give right or left")
	}
	for _, s := range []struct {
		field string
		size  float64
	}{{"foot_radius", g.FootRadius}, {"foot_width", g.FootWidth}} {
		if !(s.size >= 0 && s.size <= farthestFoot) {
			add(s.field, fmt.Sprintf("%s mm is no size of a foot", short(s.size)), "give a length above 0, up to 50 mm")
		}
	}
	switch {
	case g.FootRadius == 0 && g.FootWidth > 0 && g.FootWidth < 2*bevel:
		add("foot_width", fmt.Sprintf("a flat foot %s mm wide is a point", short(g.FootWidth)), "give a width of 0.04 mm or more")
	case g.FootRadius == 0 && g.FootWidth == 0:
		add("", "the guide has no foot", "write foot_radius of a round foot or foot_width of a flat one")
	case g.FootRadius != 0 && g.FootWidth != 0:
		add("foot_width", "the guide has a round foot already", "keep foot_radius or foot_width")
	}
	if !(g.Extension >= 0 && g.Extension <= mostExtension) {
		add("extension", fmt.Sprintf("a cutter that stands out %s mm cannot be used", short(g.Extension)), "give how far it stands out beyond the foot, above 0 and up to 5 mm, or leave it to the job's depth")
	}
	return append(l, checkCompliance(g.Compliance)...)
}

func checkCompliance(c float64) fault.List {
	if c >= 0 && c <= mostCompliance {
		return nil
	}
	return fault.List{{Field: "compliance", Problem: fmt.Sprintf("a give of %s um/N cannot be used", short(1000*c)), Mend: "give it from 0 to 100 um/N; a tenth to a few are usual"}}
}

// CurvatureError returns how much deeper than on flat ground the cut is, mm,
// on work high in the middle with the radius of curvature R across the stroke,
// when the foot stands g to the side: the surface falls away from the tangent at
// the tip by R − √(R² − g²) ≈ g²/(2R). A radius below 0 is a hollow; 0 is flat.
func (g *Guide) CurvatureError(radius float64) float64 {
	if radius == 0 || math.IsInf(radius, 0) {
		return 0
	}
	root := radius*radius - g.Offset*g.Offset
	if root <= 0 {
		return radius
	}
	return g.Offset * g.Offset / (radius + math.Copysign(math.Sqrt(root), radius))
}

// Sink returns how far a round foot sinks between the two edges of a groove of
// the given width, mm: R_f − √(R_f² − w²/4) ≈ w²/(8·R_f). A groove wider than
// the foot lets it in by its whole radius. A flat foot spans any groove narrower
// than itself.
func (g *Guide) Sink(width float64) float64 {
	if g.FootRadius <= 0 || width <= 0 {
		return 0
	}
	return ball(g.FootRadius, width*width/4)
}

// ball is how high a ball of radius R stands above its lowest point at the
// squared distance q from its axis; R from where it ends.
func ball(radius, q float64) float64 {
	root := float64(radius*radius) - q
	if root <= 0 {
		return radius
	}
	return q / (radius + math.Sqrt(root)) // without cancellation
}

// LostCuts returns how many cuts of a full round of n rays the guide stands on
// the first ones for, at the given radius on the work: (g + w/2)·n/(2πr).
func (g *Guide) LostCuts(n int, width, radius float64) float64 {
	return (g.Offset + width/2) * float64(n) / (2 * math.Pi * radius)
}
