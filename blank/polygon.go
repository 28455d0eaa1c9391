package blank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// polygonDistance is the plain way: every side looked at. It is the twin that
// polygon is tested against.
func polygonDistance(points []r2.Vec, p r2.Vec) float64 {
	best, inside := math.Inf(1), false
	a := points[len(points)-1]
	for _, b := range points {
		best = min(best, sideDistance2(a, b, p))
		if crosses(a, b, p) {
			inside = !inside
		}
		a = b
	}
	if inside {
		return -math.Sqrt(best)
	}
	return math.Sqrt(best)
}

// sideDistance2 is the square of the distance from p to the side a–b.
func sideDistance2(a, b, p r2.Vec) float64 {
	ux, uy := b.X-a.X, b.Y-a.Y
	vx, vy := p.X-a.X, p.Y-a.Y
	dot, l2 := float64(ux*vx)+float64(uy*vy), float64(ux*ux)+float64(uy*uy)
	switch {
	case dot <= 0: // also a side of no length
	case dot >= l2:
		vx, vy = p.X-b.X, p.Y-b.Y
	default:
		t := dot / l2
		vx -= float64(t * ux)
		vy -= float64(t * uy)
	}
	return float64(vx*vx) + float64(vy*vy)
}

// crosses says whether a ray from p towards +x crosses the side a–b. A corner
// on the ray belongs to the side that leaves upwards, so that each is counted
// once.
func crosses(a, b, p r2.Vec) bool {
	if (a.Y > p.Y) == (b.Y > p.Y) {
		return false
	}
	side := float64((b.X-a.X)*(p.Y-a.Y)) - float64((p.X-a.X)*(b.Y-a.Y))
	return (side > 0) == (b.Y > a.Y)
}

// polygon is a closed line of corners with a tree of boxes over runs of
// consecutive sides. The distance of a point costs about the logarithm of the
// number of corners when the point is near the edge.
type polygon struct {
	corners []r2.Vec // the first stands again at the end
	nodes   []node
}

// node is a run of the sides corners[from]–corners[from+1] … up to corner to.
// Its first half stands next to it in the list, its second half at next; a
// leaf has next 0.
type node struct {
	box      r2.Box
	from, to int32
	next     int32
}

// leafSides is how many sides are worth looking at without another box.
const leafSides = 6

func newPolygon(points []r2.Vec) *polygon {
	g := &polygon{corners: append(append(make([]r2.Vec, 0, len(points)+1), points...), points[0])}
	g.nodes = make([]node, 0, 1+4*len(points)/leafSides)
	g.build(0, len(points))
	return g
}

func (g *polygon) build(from, to int) {
	i := len(g.nodes)
	n := node{from: int32(from), to: int32(to), box: r2.Box{Min: g.corners[from], Max: g.corners[from]}}
	for _, c := range g.corners[from+1 : to+1] {
		n.box.Min.X, n.box.Min.Y = min(n.box.Min.X, c.X), min(n.box.Min.Y, c.Y)
		n.box.Max.X, n.box.Max.Y = max(n.box.Max.X, c.X), max(n.box.Max.Y, c.Y)
	}
	g.nodes = append(g.nodes, n)
	if to-from <= leafSides {
		return
	}
	middle := (from + to) / 2
	g.build(from, middle)
	g.nodes[i].next = int32(len(g.nodes))
	g.build(middle, to)
}

// treeDepth bounds the stack of a search: 2^40 sides.
const treeDepth = 40

func (g *polygon) distance(p r2.Vec) float64 {
	d := math.Sqrt(g.nearest2(p))
	if g.contains(p) {
		return -d
	}
	return d
}

// nearest2 is the square of the distance from p to the nearest side.
func (g *polygon) nearest2(p r2.Vec) float64 {
	type visit struct {
		node int32
		at   float64 // square of the distance to its box
	}
	var stack [treeDepth]visit
	best := math.Inf(1)
	top := 0
	i, at := int32(0), 0.0
	for {
		n := &g.nodes[i]
		switch {
		case at >= best:
		case n.next == 0:
			for k := n.from; k < n.to; k++ {
				best = min(best, sideDistance2(g.corners[k], g.corners[k+1], p))
			}
		default:
			first, second := i+1, n.next
			atFirst, atSecond := boxDistance2(&g.nodes[first].box, p), boxDistance2(&g.nodes[second].box, p)
			if atSecond < atFirst {
				first, second, atFirst, atSecond = second, first, atSecond, atFirst
			}
			if atSecond < best {
				stack[top] = visit{second, atSecond}
				top++
			}
			i, at = first, atFirst
			continue
		}
		if top == 0 {
			return best
		}
		top--
		i, at = stack[top].node, stack[top].at
	}
}

func boxDistance2(b *r2.Box, p r2.Vec) float64 {
	dx := max(b.Min.X-p.X, p.X-b.Max.X, 0)
	dy := max(b.Min.Y-p.Y, p.Y-b.Max.Y, 0)
	return float64(dx*dx) + float64(dy*dy)
}

// contains counts the sides that a ray from p towards +x crosses. A run of
// sides wholly beyond p is crossed an odd number of times just when its ends
// lie on different sides of the ray, so no look inside it is needed.
func (g *polygon) contains(p r2.Vec) bool {
	var stack [treeDepth]int32
	top, inside := 1, false // the root waits
	for top > 0 {
		top--
		i := stack[top]
		n := &g.nodes[i]
		switch {
		case p.Y < n.box.Min.Y || p.Y >= n.box.Max.Y || p.X > n.box.Max.X:
		case p.X < n.box.Min.X:
			if (g.corners[n.from].Y > p.Y) != (g.corners[n.to].Y > p.Y) {
				inside = !inside
			}
		case n.next == 0:
			for k := n.from; k < n.to; k++ {
				if crosses(g.corners[k], g.corners[k+1], p) {
					inside = !inside
				}
			}
		default:
			stack[top], stack[top+1] = n.next, i+1
			top += 2
		}
	}
	return inside
}
