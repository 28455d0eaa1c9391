package export

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/fault"
)

// Lettering is a name sunk into the upper face of a body.
type Lettering struct {
	Text   string
	At     r2.Vec  // middle of the text
	Height float64 // of a capital letter, mm
	Angle  float64 // of the line of writing, rad from x
	Depth  float64 // of the sunk letters, mm
}

// Body is a closed solid of one thickness between z = 0 and its upper face, with
// holes through it and, if wished, a sunk name.
type Body struct {
	name   string
	points [][3]float32
	faces  [][3]int
}

// MaxBodyCorners is how many corners the loops of a body may have.
const MaxBodyCorners = 1 << 20

// NewBody makes a solid of loops, mm, the outline first and counter-clockwise,
// then the holes, clockwise, as Template.Loops gives them. Corners move to a grid
// of 15 nm (more beyond 256 mm from the origin), on which every later step is
// exact. The error is a fault.List of "thickness", "outline" or "name".
func NewBody(name string, loops [][]r2.Vec, thickness float64, e *Lettering) (*Body, error) {
	bad := func(field, problem, mend string) error {
		return fault.List{{Field: field, Problem: problem, Mend: mend}}
	}
	if !(thickness >= 0.01 && thickness <= 1000) {
		return nil, bad("thickness", fmt.Sprintf("%g mm cannot be made", thickness), "give a thickness between 0.01 and 1000 mm")
	}
	var letters [][]r2.Vec
	if e != nil && e.Text != "" {
		if !(e.Depth > 0 && e.Depth < thickness*0.9) {
			return nil, bad("name.depth", fmt.Sprintf("letters %g mm deep leave too little of %g mm", e.Depth, thickness), "give a depth above 0 and below nine tenths of the thickness")
		}
		var err error
		if letters, err = e.loops(); err != nil {
			return nil, err
		}
		if err := lettersFit(loops, letters); err != nil {
			return nil, err
		}
	}
	n, most := 0, thickness
	for _, set := range [][][]r2.Vec{loops, letters} {
		for _, l := range set {
			n += len(l)
			for _, p := range l {
				if math.IsNaN(p.X+p.Y) || math.Abs(p.X) > 1e5 || math.Abs(p.Y) > 1e5 {
					return nil, bad("outline", fmt.Sprintf("it runs to (%g, %g) mm, which is no place on a bench", p.X, p.Y), "draw it within 100 m")
				}
				most = max(most, math.Abs(p.X), math.Abs(p.Y))
			}
		}
	}
	if n > MaxBodyCorners {
		return nil, bad("outline", fmt.Sprintf("it has %d corners, more than the %d that a solid takes", n, MaxBodyCorners), "allow a coarser tolerance")
	}
	g := latticeFor(most)
	b := &builder{g: g, top: int64(math.Round(thickness / g.step))}
	if e != nil {
		b.floor = int64(math.Round((thickness - e.Depth) / g.step))
	}
	if err := b.build(g.loops(loops), g.loops(letters)); err != nil {
		return nil, bad("outline", err.Error(), "draw the outline and its holes so that none touches itself or another")
	}
	body := &Body{name: name, points: make([][3]float32, len(b.points)), faces: b.faces}
	for i, p := range b.points {
		body.points[i] = [3]float32{float32(g.mm(p[0])), float32(g.mm(p[1])), float32(g.mm(p[2]))}
	}
	return body, nil
}

// loops brings loops onto the lattice; corners that fall together become one.
func (l lattice) loops(loops [][]r2.Vec) [][]spot {
	out := make([][]spot, len(loops))
	for i, loop := range loops {
		for _, p := range loop {
			s := l.at(p)
			if n := len(out[i]); n == 0 || out[i][n-1] != s {
				out[i] = append(out[i], s)
			}
		}
		if n := len(out[i]); n > 1 && out[i][0] == out[i][n-1] {
			out[i] = out[i][:n-1]
		}
	}
	return out
}

// builder puts a body together on the lattice.
type builder struct {
	g          lattice
	top, floor int64
	points     [][3]int64
	faces      [][3]int
}

// face triangulates loops at a height and returns the number of its first vertex.
func (b *builder) face(loops [][]spot, z int64, up bool) (int, error) {
	first := len(b.points)
	tris, err := triangulate(loops, first)
	if err != nil {
		return 0, err
	}
	b.add(loops, z)
	for _, t := range tris {
		if !up {
			t[1], t[2] = t[2], t[1]
		}
		b.faces = append(b.faces, t)
	}
	return first, nil
}

func (b *builder) add(loops [][]spot, z int64) {
	for _, l := range loops {
		for _, s := range l {
			b.points = append(b.points, [3]int64{s.x, s.y, z})
		}
	}
}

// wall stands on a loop of n vertices from low on and reaches up to those from
// high on; metal lies to the left of the loop.
func (b *builder) wall(low, high, n int) {
	for i := range n {
		j := (i + 1) % n
		b.faces = append(b.faces, [3]int{low + i, low + j, high + j}, [3]int{low + i, high + j, high + i})
	}
}

// rim is the wall between a loop of a sunk floor, from low on, and the same loop
// run backwards in the face above it, from high on.
func (b *builder) rim(low, high, n int) {
	for i := range n {
		j := (i + 1) % n
		hi, hj := high+n-1-i, high+n-1-j
		b.faces = append(b.faces, [3]int{low + j, low + i, hi}, [3]int{low + j, hi, hj})
	}
}

// build makes bottom, top and sides, and sinks the letters.
func (b *builder) build(loops, letters [][]spot) error {
	bottom, err := b.face(loops, 0, false)
	if err != nil {
		return err
	}
	upper, err := b.sink(loops, nest(letters))
	if err != nil {
		return err
	}
	at := 0
	for _, l := range loops {
		b.wall(bottom+at, upper+at, len(l))
		at += len(l)
	}
	return nil
}

// sink makes an upper face with letters sunk into it, and returns the number of
// its first vertex. What stands inside a letter is an upper face of its own.
func (b *builder) sink(loops [][]spot, letters []*nested) (int, error) {
	face := slices.Clone(loops)
	at := 0
	for _, l := range loops {
		at += len(l)
	}
	for _, l := range letters {
		face = append(face, backwards(l.loop))
	}
	upper, err := b.face(face, b.top, true)
	if err != nil {
		return 0, err
	}
	for _, l := range letters {
		floor := [][]spot{l.loop}
		for _, island := range l.inside {
			floor = append(floor, backwards(island.loop))
		}
		low, err := b.face(floor, b.floor, true)
		if err != nil {
			return 0, err
		}
		b.rim(low, upper+at, len(l.loop))
		at += len(l.loop)
		low += len(l.loop)
		for _, island := range l.inside {
			high, err := b.sink([][]spot{island.loop}, island.inside)
			if err != nil {
				return 0, err
			}
			b.rim(low, high, len(island.loop))
			low += len(island.loop)
		}
	}
	return upper, nil
}

// nested is a loop, counter-clockwise, and the loops directly inside it.
type nested struct {
	loop   []spot
	inside []*nested
}

// nest sorts loops that do not cross by what lies inside what.
func nest(loops [][]spot) []*nested {
	all := make([]*nested, 0, len(loops))
	for _, l := range loops {
		if twiceArea(l) < 0 {
			l = backwards(l)
		}
		all = append(all, &nested{loop: l})
	}
	slices.SortStableFunc(all, func(a, b *nested) int { return cmp.Compare(twiceArea(b.loop), twiceArea(a.loop)) })
	root := &nested{}
	for i, n := range all {
		parent := root
		for _, o := range all[:i] { // the last, and so smallest, that holds it
			if holds(o.loop, n.loop[0]) {
				parent = o
			}
		}
		parent.inside = append(parent.inside, n)
	}
	return root.inside
}

// holds says whether p lies in the loop, by the crossings of a ray.
func holds(loop []spot, p spot) (in bool) {
	for i, a := range loop {
		b := loop[(i+1)%len(loop)]
		if (a.y > p.y) == (b.y > p.y) {
			continue
		}
		if s := side(a, b, p); (b.y > a.y) == (s > 0) {
			in = !in
		}
	}
	return in
}

func backwards(l []spot) []spot {
	out := make([]spot, len(l))
	for i, s := range l {
		out[len(l)-1-i] = s
	}
	return out
}

// Name, counts and walks of the body, for the writers.

func (b *Body) solidName() string  { return b.name }
func (b *Body) counts() (int, int) { return len(b.points), len(b.faces) }
func (b *Body) tell(*SolidSummary) {}

func (b *Body) vertices(ctx context.Context, yield func([3]float32) error) error {
	for _, p := range b.points {
		if err := yield(p); err != nil {
			return err
		}
	}
	return ctx.Err()
}

func (b *Body) triangles(ctx context.Context, yield func(a, b, c int) error) error {
	for _, f := range b.faces {
		if err := yield(f[0], f[1], f[2]); err != nil {
			return err
		}
	}
	return ctx.Err()
}

func (b *Body) facets(ctx context.Context, yield func(facet) error) error {
	for _, f := range b.faces {
		if err := yield(facet{b.points[f[0]], b.points[f[1]], b.points[f[2]]}); err != nil {
			return err
		}
	}
	return ctx.Err()
}
