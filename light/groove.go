package light

import "math"

// groove is a V whose two flanks lean alike and face each other, seen from one of
// them. Places on a flank are counted from 0 at the root to 1 at the crest, so that
// depth and width do not matter.
type groove struct {
	slope   float64 // of its flanks; 0 is no groove
	towards vec     // level unit vector from the flank to the one that faces it
}

// meets says whether a ray from place u in direction d meets the other flank below
// its crest. With half the width for unit and the root at 0, the ray runs from
// (−u, slope·u) to the line z = slope·x.
func (g groove) meets(d vec, u float64) bool {
	s := g.slope * dot(d, g.towards)
	return s > d.z && u*(s+d.z) <= s-d.z
}

// place is where it meets it.
func (g groove) place(d vec, u float64) float64 {
	s := g.slope * dot(d, g.towards)
	return max(0, u*(s+d.z)/(s-d.z))
}

// normal is that of the flank.
func (g groove) normal() vec {
	l := 1 / math.Sqrt(1+float64(g.slope*g.slope))
	return vec{g.towards.x * g.slope * l, g.towards.y * g.slope * l, l}
}

// turned points the other way on the level.
func (v vec) turned() vec { return vec{-v.x, -v.y, 0} }
