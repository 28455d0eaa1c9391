package export

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// checked is a test, or one run of a property.
type checked interface {
	Helper()
	Errorf(string, ...any)
	Fatalf(string, ...any)
	Fatal(...any)
}

// closed fails unless every edge of the solid is walked once either way, every
// triangle has an area, and vertices and triangles tell what facets do.
func closed(t checked, s Solid) *sums {
	t.Helper()
	ctx := context.Background()
	nv, nt := s.counts()
	var points [][3]float32
	seen := map[[3]float32]bool{}
	if err := s.vertices(ctx, func(p [3]float32) error {
		if seen[p] {
			t.Errorf("two vertices at %v", p)
		}
		seen[p] = true
		points = append(points, p)
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if len(points) != nv {
		t.Fatalf("%d vertices counted, %d came", nv, len(points))
	}
	edges := map[[2]int]int{}
	var fromIndex []facet
	if err := s.triangles(ctx, func(a, b, c int) error {
		for _, e := range [3][2]int{{a, b}, {b, c}, {c, a}} {
			edges[e]++
		}
		fromIndex = append(fromIndex, facet{points[a], points[b], points[c]})
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	for e, n := range edges {
		if n != 1 || edges[[2]int{e[1], e[0]}] != 1 {
			t.Fatalf("the edge from %v to %v is walked %d times, and %d times back", points[e[0]], points[e[1]], n, edges[[2]int{e[1], e[0]}])
		}
	}
	i := 0
	if err := s.facets(ctx, func(f facet) error {
		if i >= len(fromIndex) || f != fromIndex[i] {
			t.Fatalf("facet %d is %v, by its numbers otherwise", i, f)
		}
		i++
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if i != nt || nt != len(fromIndex) {
		t.Fatalf("%d triangles counted, %d and %d came", nt, len(fromIndex), i)
	}
	sum, err := measure(ctx, s)
	if err != nil {
		t.Fatal(err)
	}
	return sum
}

func near(t checked, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, within)
	}
}

func loopArea(loops [][]r2.Vec) (a float64) {
	for _, l := range loops {
		for i := range l {
			a += r2.Cross(l[i], l[(i+1)%len(l)]) / 2
		}
	}
	return a
}

// step is that of the lattice up to 256 mm, 15 nm: as far as a corner moves.
const step = 1.0 / (1 << 16)

func around(loops [][]r2.Vec) (sum float64) {
	for _, l := range loops {
		for i := range l {
			sum += r2.Norm(r2.Sub(l[i], l[(i+1)%len(l)]))
		}
	}
	return sum
}

// star is a star-shaped loop of n corners.
func star(rnd func() float64, at r2.Vec, least, most float64, n int, clockwise bool) []r2.Vec {
	out := make([]r2.Vec, n)
	for i := range out {
		φ := 2 * math.Pi * (float64(i) + 0.8*rnd()) / float64(n)
		if clockwise {
			φ = -φ
		}
		r := least + (most-least)*rnd()
		out[i] = r2.Vec{X: at.X + r*math.Cos(φ), Y: at.Y + r*math.Sin(φ)}
	}
	return out
}

func TestBodyOfStars(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		size := rapid.SampledFrom([]float64{0.5, 10, 300, 4000}).Draw(t, "size")
		rnd := rand.New(rand.NewPCG(seed, 1)).Float64
		loops := [][]r2.Vec{star(rnd, r2.Vec{}, size, 1.5*size, rapid.IntRange(5, 200).Draw(t, "corners"), false)}
		n := rapid.IntRange(0, 16).Draw(t, "holes")
		for i := range n { // in the cells of a grid within the outline
			at := r2.Vec{X: (float64(i%4) - 1.5) * 0.25 * size, Y: (float64(i/4) - 1.5) * 0.25 * size}
			loops = append(loops, star(rnd, at, 0.02*size, 0.12*size, rapid.IntRange(3, 40).Draw(t, "hole"), true))
		}
		// A star of 5 corners or more has its sides beyond r·cos(2π·1.8/10)·… of the
		// middle only when they are many; holes that do not fit are refused.
		b, err := NewBody("star", loops, size/10, nil)
		if err != nil {
			if len(loops[0]) >= 12 {
				t.Fatalf("%v", err)
			}
			return
		}
		sum := closed(t, b)
		want := loopArea(loops) * size / 10
		if math.Abs(sum.volume-want) > 1e-4*want {
			t.Fatalf("volume %v, want %v", sum.volume, want)
		}
	})
}

// Shapes that break ear cutters: flat corners, holes in a line at one height,
// holes whose leftmost corners see only one another, combs.
func TestTriangulateFixtures(t *testing.T) {
	square := func(x, y, s float64, hole bool) []r2.Vec {
		l := []r2.Vec{{X: x, Y: y}, {X: x + s, Y: y}, {X: x + s, Y: y + s}, {X: x, Y: y + s}}
		if hole {
			l[1], l[3] = l[3], l[1]
		}
		return l
	}
	var comb, flat []r2.Vec
	for i := range 60 {
		comb = append(comb, r2.Vec{X: float64(i), Y: 20 * float64(i%2)})
	}
	comb = append(comb, r2.Vec{X: 59, Y: 30}, r2.Vec{X: 0, Y: 30})
	for i := range 40 {
		flat = append(flat, r2.Vec{X: float64(i)})
	}
	for i := range 40 {
		flat = append(flat, r2.Vec{X: 40 - float64(i), Y: 1})
	}
	var spiral []r2.Vec
	for i := range 400 {
		φ := float64(i) / 20
		spiral = append(spiral, r2.Vec{X: (2 + φ) * math.Cos(φ), Y: (2 + φ) * math.Sin(φ)})
	}
	for i := 399; i >= 0; i-- {
		φ := float64(i) / 20
		spiral = append(spiral, r2.Vec{X: (1 + φ) * math.Cos(φ), Y: (1 + φ) * math.Sin(φ)})
	}
	reverse := func(l []r2.Vec) []r2.Vec {
		out := make([]r2.Vec, len(l))
		for i := range l {
			out[i] = l[len(l)-1-i]
		}
		return out
	}
	for _, c := range []struct {
		name  string
		loops [][]r2.Vec
	}{
		{"square", [][]r2.Vec{square(0, 0, 10, false)}},
		{"row of holes", [][]r2.Vec{square(0, 0, 10, false), square(1, 4, 1, true), square(3, 4, 1, true), square(5, 4, 1, true), square(7, 4, 1, true)}},
		{"column of holes", [][]r2.Vec{square(0, 0, 10, false), square(4, 1, 1, true), square(4, 3, 1, true), square(4, 5, 1, true), square(4, 7, 1, true)}},
		{"close holes", [][]r2.Vec{square(0, 0, 10, false), square(1, 1, 7.9, true)}},
		{"comb", [][]r2.Vec{comb}},
		{"flat corners", [][]r2.Vec{flat}},
		{"spiral", [][]r2.Vec{reverse(spiral)}},
	} {
		for turn := range 8 {
			for _, scale := range []float64{0.1, 1, 33.3} {
				φ := float64(turn) * math.Pi / 4
				if turn%2 == 1 {
					φ += 0.1
				}
				var loops [][]r2.Vec
				for _, l := range c.loops {
					var m []r2.Vec
					for _, p := range l {
						m = append(m, r2.Scale(scale, r2.Rotate(p, φ, r2.Vec{})))
					}
					loops = append(loops, m)
				}
				if loopArea(loops[:1]) < 0 {
					loops[0] = reverse(loops[0])
				}
				t.Run(fmt.Sprintf("%s/%d/%v", c.name, turn, scale), func(t *testing.T) {
					b, err := NewBody(c.name, loops, 1, nil)
					if err != nil {
						t.Fatal(err)
					}
					near(t, "volume", closed(t, b).volume, loopArea(loops), step*(around(loops)+loopArea(loops)))
				})
			}
		}
	}
}

func TestBodyRefuses(t *testing.T) {
	sq := func(x, y, s float64) []r2.Vec {
		return []r2.Vec{{X: x, Y: y}, {X: x + s, Y: y}, {X: x + s, Y: y + s}, {X: x, Y: y + s}}
	}
	hole := func(l []r2.Vec) []r2.Vec { l[1], l[3] = l[3], l[1]; return l }
	for _, c := range []struct {
		name, says string
		loops      [][]r2.Vec
		thick      float64
		e          *Lettering
	}{
		{"crossed", "outline", [][]r2.Vec{{{X: 0, Y: 0}, {X: 4, Y: 3}, {X: 4, Y: 0}, {X: 0, Y: 2}, {X: -1, Y: 1}}}, 1, nil},
		{"none", "outline", nil, 1, nil},
		{"a hole outside", "outline", [][]r2.Vec{sq(0, 0, 1), hole(sq(5, 0, 1))}, 1, nil},
		{"holes that cross", "outline", [][]r2.Vec{sq(0, 0, 10), hole(sq(2, 2, 3)), hole(sq(4, 4, 3))}, 1, nil},
		{"a hole over the rim", "outline", [][]r2.Vec{sq(0, 0, 10), hole(sq(8, 8, 3))}, 1, nil},
		{"thickness", "thickness", [][]r2.Vec{sq(0, 0, 1)}, 0, nil},
		{"not a number", "outline", [][]r2.Vec{{{X: math.NaN()}, {X: 1}, {Y: 1}}}, 1, nil},
		{"letters over the rim", "name", [][]r2.Vec{sq(0, 0, 10)}, 1, &Lettering{"LANTERN YARD", r2.Vec{X: 5, Y: 5}, 3, 0, 0.2}},
		{"letters too deep", "name.depth", [][]r2.Vec{sq(0, 0, 10)}, 1, &Lettering{"A", r2.Vec{X: 5, Y: 5}, 3, 0, 2}},
		{"letters unknown", "name.text", [][]r2.Vec{sq(0, 0, 10)}, 1, &Lettering{"\U0001F600", r2.Vec{X: 5, Y: 5}, 3, 0, 0.2}},
	} {
		_, err := NewBody("x", c.loops, c.thick, c.e)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want a fault of %s", c.name, err, c.says)
		}
	}
}

// A sunk name takes from the volume the area of its letters times their depth.
func TestBodyEngraved(t *testing.T) {
	plate := [][]r2.Vec{{{X: -60, Y: -10}, {X: 60, Y: -10}, {X: 60, Y: 10}, {X: -60, Y: 10}}}
	for _, text := range []string{"Lantern Yard", "B8%&@", "fine sine 3.0 mm — 12", "©®Åéiß"} {
		for _, angle := range []float64{0, 0.05} {
			e := &Lettering{Text: text, At: r2.Vec{X: 1, Y: 0.5}, Height: 4, Angle: angle, Depth: 0.3}
			b, err := NewBody(text, plate, 2, e)
			if err != nil {
				t.Fatal(text, err)
			}
			letters, err := e.loops()
			if err != nil {
				t.Fatal(err)
			}
			// TrueType runs its outlines clockwise, counters the other way.
			area := math.Abs(loopArea(letters))
			if area < 5 {
				t.Fatalf("%s: letters of %v mm²", text, area)
			}
			near(t, text+": volume", closed(t, b).volume, 120*20*2-area*0.3, step*(around(letters)+area)) // area's height and rim both move
		}
	}
}

func TestSameBytes(t *testing.T) {
	b, err := NewBody("Lantern Yard", [][]r2.Vec{{{X: 0, Y: 0}, {X: 30, Y: 0}, {X: 30, Y: 10}, {X: 0, Y: 10}}}, 2, &Lettering{"Rose", r2.Vec{X: 15, Y: 5}, 3, 0, 0.2})
	if err != nil {
		t.Fatal(err)
	}
	for name, write := range writers {
		var one, two bytes.Buffer
		if _, err := write(context.Background(), &one, b); err != nil {
			t.Fatal(err)
		}
		if _, err := write(context.Background(), &two, b); err != nil {
			t.Fatal(err)
		}
		if one.Len() < 100 || !bytes.Equal(one.Bytes(), two.Bytes()) {
			t.Errorf("%s: not the same bytes twice", name)
		}
	}
	if err := func() error {
		ctx, stop := context.WithCancel(context.Background())
		stop()
		_, err := STL(ctx, &bytes.Buffer{}, b)
		return err
	}(); err == nil {
		t.Error("a context that has ended writes on")
	}
}
