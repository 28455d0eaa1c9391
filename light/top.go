package light

import "math"

// top is the level face between the air and what lies over the metal, enamel or
// nothing, seen in the work's frame.
type top struct{ index float64 }

func (s Scene) top() top { return top{s.Stuff.Enamel.index()} }

// inward is the direction inside towards which a ray to or from the direction d of
// the air goes on.
func (t top) inward(d vec) vec {
	if t.index == 1 {
		return d
	}
	x, y := d.x/t.index, d.y/t.index
	return vec{x, y, math.Sqrt(1 - float64(x*x) - float64(y*y))}
}

// outward is where a ray from inside leaves to, and the share of light that passes.
// Beyond the critical angle none does, and the ray is thrown back.
func (t top) outward(d vec) (out vec, share float64) {
	if t.index == 1 {
		return d, 1
	}
	x, y := d.x*t.index, d.y*t.index
	z2 := 1 - float64(x*x) - float64(y*y)
	if z2 <= 0 || d.z <= 0 {
		return vec{d.x, d.y, -d.z}, 0
	}
	out = vec{x, y, math.Sqrt(z2)}
	return out, 1 - fresnel(complex(t.index, 0), out.z)
}

// holds says whether a ray that goes up inside is thrown back whole.
func (t top) holds(d vec) bool {
	return t.index != 1 && (float64(d.x*d.x)+float64(d.y*d.y))*t.index*t.index >= 1
}
