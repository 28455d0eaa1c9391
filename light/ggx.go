package light

import "math"

// vec is a direction or a place in space.
type vec struct{ x, y, z float64 }

func dot(a, b vec) float64 { return float64(a.x*b.x) + float64(a.y*b.y) + float64(a.z*b.z) }

func cross(a, b vec) vec {
	return vec{
		float64(a.y*b.z) - float64(a.z*b.y),
		float64(a.z*b.x) - float64(a.x*b.z),
		float64(a.x*b.y) - float64(a.y*b.x),
	}
}

// sum returns p·a + q·b + r·c.
func sum(p float64, a vec, q float64, b vec, r float64, c vec) vec {
	return vec{
		float64(p*a.x) + float64(q*b.x) + float64(r*c.x),
		float64(p*a.y) + float64(q*b.y) + float64(r*c.y),
		float64(p*a.z) + float64(q*b.z) + float64(r*c.z),
	}
}

func unit(a vec) vec {
	l := 1 / math.Sqrt(dot(a, a))
	return vec{a.x * l, a.y * l, a.z * l}
}

// roughness is the GGX distribution of facet slopes (Walter, Marschner, Li and
// Torrance 2007), as long as it is wide in x and y of the surface's own frame,
// with Smith's height-correlated masking and shadowing (Heitz, Journal of
// Computer Graphics Techniques 3(2), 2014).
type roughness struct{ x, y float64 }

// lambda is Smith's Λ of a direction above the surface: the ratio of the hidden
// to the seen area of facets. G1 = 1/(1+Λ); G2 = 1/(1+Λo+Λi).
func (a roughness) lambda(w vec) float64 {
	sx, sy := a.x*w.x, a.y*w.y
	return (math.Sqrt(1+(float64(sx*sx)+float64(sy*sy))/float64(w.z*w.z)) - 1) / 2
}

// seen is what direction o sees of a rough surface: the stretched half-sphere of
// its facets, with o in its own frame (h, t1, t2).
type seen struct {
	roughness
	h, t1, t2 vec
}

func (a roughness) seen(o vec) seen {
	// Stretched by the roughness, the facets are those of a half-sphere.
	h := unit(vec{a.x * o.x, a.y * o.y, o.z})
	t1 := vec{1, 0, 0}
	if l := float64(h.x*h.x) + float64(h.y*h.y); l > 0 {
		l = 1 / math.Sqrt(l)
		t1 = vec{-h.y * l, h.x * l, 0}
	}
	return seen{a, h, t1, cross(h, t1)}
}

// facet returns the normal of one of the facets seen. Points (p, q) spread evenly
// over the unit disc choose facets in proportion to the area that each shows
// (Heitz, "Sampling the GGX distribution of visible normals", JCGT 7(4), 2018).
func (a *seen) facet(p, q float64) vec {
	s := (1 + a.h.z) / 2
	q = float64((1-s)*math.Sqrt(1-float64(p*p))) + float64(s*q)
	n := sum(p, a.t1, q, a.t2, math.Sqrt(max(0, 1-float64(p*p)-float64(q*q))), a.h)
	return unit(vec{a.x * n.x, a.y * n.y, max(0, n.z)})
}

// reflect returns the direction in which the facet m throws a ray to or from o.
func reflect(o, m vec) vec { return sum(2*dot(o, m), m, -1, o, 0, o) }
