package export

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// lattice is the grid of binary fractions of a millimetre on which solids are
// built: fine enough that every coordinate is a float32, as STL keeps it, and
// coarse enough that the side of a line on which a place lies is an exact sum of
// whole numbers below 2⁵¹. Nothing folds over when it is written, and no choice
// hangs on rounding. Up to 256 mm from the origin its step is 15 nm.
type lattice struct{ step float64 }

const latticeBits = 24

// latticeFor returns the lattice for places up to most mm from the origin.
func latticeFor(most float64) lattice {
	_, exp := math.Frexp(max(most, 1)) // most < 2^exp
	return lattice{math.Ldexp(1, max(exp, 8)-latticeBits)}
}

func (l lattice) at(p r2.Vec) spot {
	return spot{int64(math.RoundToEven(p.X / l.step)), int64(math.RoundToEven(p.Y / l.step))}
}

func (l lattice) mm(n int64) float64 { return float64(n) * l.step }

// spot is a place on the lattice.
type spot struct{ x, y int64 }

// side is twice the area of the triangle abc: above 0 when it turns
// counter-clockwise. It is exact.
func side(a, b, c spot) int64 { return (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x) }

// twiceArea is twice the area of a loop.
func twiceArea(loop []spot) (sum int64) {
	for i := 1; i+1 < len(loop); i++ {
		sum += side(loop[0], loop[i], loop[i+1])
	}
	return sum
}

// corner is one corner of the ring that is being cut up: the ring's outline, its
// holes joined to it by bridges that are walked both ways.
type corner struct {
	spot
	vertex     int // as the caller counts
	prev, next int
	gone       bool
}

// triangulator cuts ears off a ring. The corners at which the ring turns inwards
// lie in cells, so that an ear is compared only with those near to it.
type triangulator struct {
	ring  []corner
	cells map[spot][]int
	cell  int64
	out   [][3]int
}

// triangulate cuts a face into triangles that turn counter-clockwise, have an area,
// and take each edge of the loops once. The first loop is the outline,
// counter-clockwise, the others are holes in it, clockwise. Vertices are counted
// through the loops from first on. No two corners of the face may share a place.
//
// An ear is a corner of the ring whose triangle holds no other corner, on its rim
// neither; every simple polygon has two (G. H. Meisters, Polygons have ears, 1975,
// from memory). Whether the loops were simple shows in the sum of the areas, which
// is exact.
func triangulate(loops [][]spot, first int) ([][3]int, error) {
	if len(loops) == 0 || len(loops[0]) < 3 {
		return nil, fmt.Errorf("the face has no outline")
	}
	t := &triangulator{}
	want := int64(0)
	n := first
	var heads []int
	for i, l := range loops {
		a := twiceArea(l)
		if len(l) < 3 || (i == 0) != (a > 0) || a == 0 {
			return nil, fmt.Errorf("loop %d of the face turns the wrong way or has no area", i+1)
		}
		want += a
		head := len(t.ring)
		for j, s := range l {
			t.ring = append(t.ring, corner{s, n, head + (j+len(l)-1)%len(l), head + (j+1)%len(l), false})
			n++
		}
		heads = append(heads, head)
	}
	if err := t.bridge(heads[1:], loops[1:]); err != nil {
		return nil, err
	}
	t.index()
	if err := t.clip(); err != nil {
		return nil, err
	}
	got := int64(0)
	for _, f := range t.out {
		got += side(t.ring[f[0]-first].spot, t.ring[f[1]-first].spot, t.ring[f[2]-first].spot)
	}
	if got != want {
		return nil, fmt.Errorf("the outline or a hole crosses itself or another")
	}
	return t.out, nil
}

// turn is above 0 when the ring turns left at i.
func (t *triangulator) turn(i int) int64 {
	c := &t.ring[i]
	return side(t.ring[c.prev].spot, c.spot, t.ring[c.next].spot)
}

// opens says whether the way from the corner i to p begins inside the ring.
func (t *triangulator) opens(i int, p spot) bool {
	c := &t.ring[i]
	in, out := side(t.ring[c.prev].spot, c.spot, p) > 0, side(c.spot, t.ring[c.next].spot, p) > 0
	if t.turn(i) > 0 {
		return in && out
	}
	return in || out
}

// bridge joins the holes to the outline, from the left to the right: each from its
// leftmost corner to the nearest corner of the ring, not right of it, that it sees.
func (t *triangulator) bridge(heads []int, holes [][]spot) error {
	type hole struct{ left, head, n int }
	var left []hole
	for k, head := range heads {
		best := head
		for i := head; i < head+len(holes[k]); i++ {
			if a, b := t.ring[i], t.ring[best]; a.x < b.x || a.x == b.x && a.y < b.y {
				best = i
			}
		}
		left = append(left, hole{best, head, len(holes[k])})
	}
	slices.SortStableFunc(left, func(a, b hole) int {
		p, q := t.ring[a.left], t.ring[b.left]
		return cmp.Or(cmp.Compare(p.x, q.x), cmp.Compare(p.y, q.y))
	})
	joined := make([]bool, len(t.ring), len(t.ring)+2*len(holes))
	outline := len(t.ring)
	if len(heads) > 0 {
		outline = heads[0]
	}
	for i := range outline {
		joined[i] = true
	}
	for _, h := range left {
		m, ok := t.seen(h.left, joined)
		if !ok {
			return fmt.Errorf("a hole lies outside the outline, or crosses it or another hole")
		}
		for i := h.head; i < h.head+h.n; i++ {
			joined[i] = true
		}
		// m → hole → back to its left → back to m → on.
		n := len(t.ring)
		before, after := t.ring[h.left].prev, t.ring[m].next
		t.ring = append(t.ring,
			corner{t.ring[h.left].spot, t.ring[h.left].vertex, before, n + 1, false},
			corner{t.ring[m].spot, t.ring[m].vertex, n, after, false})
		t.ring[before].next, t.ring[after].prev = n, n+1
		t.ring[m].next, t.ring[h.left].prev = h.left, m
		joined = append(joined, true, true)
	}
	return nil
}

// seen returns the nearest joined corner that the corner h sees.
func (t *triangulator) seen(h int, joined []bool) (int, bool) {
	p := t.ring[h].spot
	far := func(i int) float64 { return math.Hypot(float64(t.ring[i].x-p.x), float64(t.ring[i].y-p.y)) }
	var near []int
	for i, c := range t.ring {
		if joined[i] && c.x <= p.x && c.spot != p && t.opens(i, p) && t.opens(h, c.spot) {
			near = append(near, i)
		}
	}
	slices.SortStableFunc(near, func(a, b int) int { return cmp.Compare(far(a), far(b)) })
	for _, m := range near {
		if t.clear(t.ring[m].spot, p) {
			return m, true
		}
	}
	return 0, false
}

// clear says whether no edge comes upon the way from a to b between its ends.
func (t *triangulator) clear(a, b spot) bool {
	for i := range t.ring {
		p, q := t.ring[i].spot, t.ring[t.ring[i].next].spot
		if max(p.x, q.x) < min(a.x, b.x) || min(p.x, q.x) > max(a.x, b.x) || max(p.y, q.y) < min(a.y, b.y) || min(p.y, q.y) > max(a.y, b.y) {
			continue
		}
		pEnd, qEnd := p == a || p == b, q == a || q == b
		switch {
		case pEnd && qEnd:
			return false // a bridge runs there already, or it is an edge
		case pEnd:
			if on(q, a, b) {
				return false
			}
		case qEnd:
			if on(p, a, b) {
				return false
			}
		default:
			s1, s2, s3, s4 := side(a, b, p), side(a, b, q), side(p, q, a), side(p, q, b)
			if (s1 > 0) != (s2 > 0) && (s3 > 0) != (s4 > 0) || on(p, a, b) || on(q, a, b) || on(a, p, q) || on(b, p, q) {
				return false
			}
		}
	}
	return true
}

// on says whether p lies on the straight way from a to b.
func on(p, a, b spot) bool {
	return side(a, b, p) == 0 && min(a.x, b.x) <= p.x && p.x <= max(a.x, b.x) && min(a.y, b.y) <= p.y && p.y <= max(a.y, b.y)
}

// index puts the corners that do not turn left into cells, about one to each.
func (t *triangulator) index() {
	lo, hi := t.ring[0].spot, t.ring[0].spot
	for _, c := range t.ring {
		lo, hi = spot{min(lo.x, c.x), min(lo.y, c.y)}, spot{max(hi.x, c.x), max(hi.y, c.y)}
	}
	area := float64(hi.x-lo.x) * float64(hi.y-lo.y)
	t.cell = 1 + int64(math.Sqrt(area/float64(len(t.ring))))
	t.cells = map[spot][]int{}
	for i := range t.ring {
		if t.turn(i) <= 0 {
			s := t.in(t.ring[i].spot)
			t.cells[s] = append(t.cells[s], i)
		}
	}
}

func (t *triangulator) in(p spot) spot { return spot{floorDiv(p.x, t.cell), floorDiv(p.y, t.cell)} }

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// ear says whether nothing of the ring lies in the triangle at i.
func (t *triangulator) ear(i int) bool {
	if t.turn(i) <= 0 {
		return false
	}
	a, b, c := t.ring[t.ring[i].prev].spot, t.ring[i].spot, t.ring[t.ring[i].next].spot
	lo := t.in(spot{min(a.x, b.x, c.x), min(a.y, b.y, c.y)})
	hi := t.in(spot{max(a.x, b.x, c.x), max(a.y, b.y, c.y)})
	empty := func(at spot) bool {
		list := t.cells[at]
		for k := 0; k < len(list); k++ {
			n := &t.ring[list[k]]
			if n.gone || t.turn(list[k]) > 0 { // it will not turn right again
				list[k] = list[len(list)-1]
				list, k = list[:len(list)-1], k-1
				continue
			}
			p := n.spot
			if p != a && p != b && p != c && side(a, b, p) >= 0 && side(b, c, p) >= 0 && side(c, a, p) >= 0 {
				return false
			}
		}
		if len(list) == 0 {
			delete(t.cells, at)
		} else {
			t.cells[at] = list
		}
		return true
	}
	if (hi.x-lo.x+1)*(hi.y-lo.y+1) > int64(len(t.cells)) {
		for at := range t.cells { // any order: all must be empty
			if at.x >= lo.x && at.x <= hi.x && at.y >= lo.y && at.y <= hi.y && !empty(at) {
				return false
			}
		}
		return true
	}
	for x := lo.x; x <= hi.x; x++ {
		for y := lo.y; y <= hi.y; y++ {
			if !empty(spot{x, y}) {
				return false
			}
		}
	}
	return true
}

// clip cuts ears off until a triangle is left. After an ear it goes on past the
// next corner, so that the ring is thinned evenly and no long slivers fan out.
func (t *triangulator) clip() error {
	left := len(t.ring)
	for i, tried := 0, 0; left > 2; {
		c := t.ring[i]
		if !t.ear(i) {
			if tried++; tried > left {
				return fmt.Errorf("the outline or a hole crosses itself or another")
			}
			i = c.next
			continue
		}
		t.out = append(t.out, [3]int{t.ring[c.prev].vertex, c.vertex, t.ring[c.next].vertex})
		t.ring[c.prev].next, t.ring[c.next].prev = c.next, c.prev
		t.ring[i].gone = true
		left, tried, i = left-1, 0, t.ring[c.next].next
	}
	return nil
}
