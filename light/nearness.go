package light

import "math"

// nearness is how close room and eye are to the work, so that their reflections wander
// over it: one over the height of what hangs in the room, and one over the distance of
// the eye, 1/mm; 0 is far away.
type nearness struct{ room, eye float64 }

func (s Scene) nearness() nearness {
	n := nearness{eye: 1 / s.Eye.distance()}
	if s.Room.Height > 0 {
		n.room = 1 / s.Room.Height
	}
	// Under enamel a ray turns by less than it does outside.
	index := s.Stuff.Enamel.index()
	return nearness{n.room / index, n.eye / index}
}

// seen is the slope that metal in the middle of the work would need to show what metal
// of the given slope shows at the place (x, y), mm: there the eye is seen sideways, and
// what hangs in the room the other way, the less the more it stands off the vertical.
func (n nearness) seen(p, q float32, x, y float64) (float32, float32) {
	gx, gy := float64(p), float64(q)
	// The eye's ray, mirrored; lengths do not matter.
	ex, ey := -x*n.eye, -y*n.eye
	f := 2 * (1 - float64(ex*gx) - float64(ey*gy)) / (1 + float64(gx*gx) + float64(gy*gy))
	dx, dy, dz := -float64(f*gx)-ex, -float64(f*gy)-ey, f-1
	// Where it meets what hangs in the room, seen from the middle.
	up := max(dz, 0) * n.room
	dx, dy = dx+float64(x*up), dy+float64(y*up)
	z := dz + math.Sqrt(float64(dx*dx)+float64(dy*dy)+float64(dz*dz))
	if z < 0.05 {
		return p, q // too steep to mirror anything
	}
	z = -1 / z
	return float32(dx * z), float32(dy * z)
}
