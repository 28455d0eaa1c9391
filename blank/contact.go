package blank

import (
	"math/big"

	"gonum.org/v1/gonum/spatial/r2"
)

// turn says on which side of the line a–b the point c lies: positive to the
// left, 0 on it. The sign is exact: where rounding could change it, it is
// computed again with rational numbers.
func turn(a, b, c r2.Vec) int {
	left := float64((a.X - c.X) * (b.Y - c.Y))
	right := float64((a.Y - c.Y) * (b.X - c.X))
	det := left - right
	// The error bound of this determinant: Shewchuk, Adaptive precision
	// floating-point arithmetic, 1997, (3 + 16ε)ε with ε = 2⁻⁵³.
	bound := 3.3306690738754716e-16 * (abs(left) + abs(right))
	switch {
	case det > bound:
		return 1
	case -det > bound:
		return -1
	}
	rat := func(v float64) *big.Rat { return new(big.Rat).SetFloat64(v) }
	sub := func(u, v float64) *big.Rat { return new(big.Rat).Sub(rat(u), rat(v)) }
	mul := func(u, v *big.Rat) *big.Rat { return u.Mul(u, v) }
	return mul(sub(a.X, c.X), sub(b.Y, c.Y)).Cmp(mul(sub(a.Y, c.Y), sub(b.X, c.X)))
}

func abs(v float64) float64 { return max(v, -v) }

// meet says whether the closed sides a–b and c–d have a point in common.
func meet(a, b, c, d r2.Vec) bool {
	if !boxesMeet(a, b, c, d) {
		return false
	}
	return turn(a, b, c)*turn(a, b, d) <= 0 && turn(c, d, a)*turn(c, d, b) <= 0
}

func boxesMeet(a, b, c, d r2.Vec) bool {
	return min(a.X, b.X) <= max(c.X, d.X) && min(c.X, d.X) <= max(a.X, b.X) &&
		min(a.Y, b.Y) <= max(c.Y, d.Y) && min(c.Y, d.Y) <= max(a.Y, b.Y)
}

// folds says whether the side b–c runs back over the side a–b.
func folds(a, b, c r2.Vec) bool {
	return turn(a, b, c) == 0 && r2.Dot(r2.Sub(b, a), r2.Sub(c, b)) < 0
}

// selfContact returns the first two sides, by their first corners, that have a
// point in common other than the corner between neighbours, and where it is.
// The polygon must have no two equal corners in a row.
func (g *polygon) selfContact() (i, j int, where r2.Vec, found bool) {
	n := len(g.corners) - 1
	for i := range n {
		a, b := g.corners[i], g.corners[i+1]
		if next := g.corners[(i+1)%n+1]; folds(a, b, next) {
			return i, (i + 1) % n, b, true
		}
		j, ok := g.meets(a, b, func(k int) bool { return k > i+1 && !(i == 0 && k == n-1) })
		if ok {
			return i, j, place(a, b, g.corners[j], g.corners[j+1]), true
		}
	}
	return 0, 0, r2.Vec{}, false
}

// place is where two sides that meet do so, near enough to be found by.
func place(a, b, c, d r2.Vec) r2.Vec {
	u, v := r2.Sub(b, a), r2.Sub(d, c)
	det := r2.Cross(u, v)
	if det == 0 {
		return c
	}
	t := r2.Cross(r2.Sub(c, a), v) / det
	return r2.Add(a, r2.Scale(min(max(t, 0), 1), u))
}

// meets returns the first side, among those asked for, that meets a–b.
func (g *polygon) meets(a, b r2.Vec, wanted func(side int) bool) (int, bool) {
	var stack [treeDepth]int32
	top := 1
	for top > 0 {
		top--
		i := stack[top]
		n := &g.nodes[i]
		if !boxesMeet(a, b, n.box.Min, n.box.Max) {
			continue
		}
		if n.next != 0 {
			stack[top], stack[top+1] = n.next, i+1
			top += 2
			continue
		}
		for k := int(n.from); k < int(n.to); k++ {
			if wanted(k) && meet(a, b, g.corners[k], g.corners[k+1]) {
				return k, true
			}
		}
	}
	return 0, false
}

// rim is the edge of the outline, ready to be asked which windows touch it.
type rim struct {
	outline edge
	loops   []*polygon
	chord   float64
}

// newRim returns nil when the outline is not sound.
func newRim(s Shape, sound bool) *rim {
	if !sound {
		return nil
	}
	box := s.Bounds()
	r := &rim{outline: newEdge(s), chord: length(box.Max.X-box.Min.X, box.Max.Y-box.Min.Y) / 1e4}
	for _, loop := range s.Outline(r.chord) {
		r.loops = append(r.loops, newPolygon(loop))
	}
	return r
}

// touches says whether the shape and the outline have ground in common, to
// within the chord at which their curves are drawn.
func (r *rim) touches(s Shape) bool {
	e := newEdge(s)
	for _, loop := range r.loops {
		if e.distance(loop.corners[0]) <= 0 {
			return true
		}
	}
	for _, loop := range s.Outline(r.chord) {
		if r.outline.distance(loop[0]) <= 0 {
			return true
		}
		a := loop[len(loop)-1]
		for _, b := range loop {
			for _, other := range r.loops {
				if _, ok := other.meets(a, b, func(int) bool { return true }); ok {
					return true
				}
			}
			a = b
		}
	}
	return false
}
