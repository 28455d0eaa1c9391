package blank

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

func drawBlank(t *rapid.T) *Blank {
	b := &Blank{Thickness: 0.8, Outline: drawShape(t), Border: draw(t, "border", 0, 2)}
	drawWindows := func(name string) (w []Window) {
		for range rapid.IntRange(0, 4).Draw(t, name) {
			w = append(w, Window{Shape: drawShape(t), Border: draw(t, "margin", 0, 2), Open: rapid.Bool().Draw(t, "open")})
		}
		return w
	}
	b.Windows, b.KeepClear = drawWindows("windows"), drawWindows("kept clear")
	return b
}

// The meaning of the field, part by part.
func inField(b *Blank, p r2.Vec) bool {
	in := b.Outline.Distance(p) < -b.Border
	for _, w := range append(append([]Window(nil), b.Windows...), b.KeepClear...) {
		in = in && w.Shape.Distance(p) > w.Border
	}
	return in
}

func TestFieldIsWhatTheBlankSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBlank(t)
		f, g := b.Field(), b.Ground()
		for i := range 20 {
			p := drawPoint(t, fmt.Sprint("p", i), 50)
			d := f.Distance(p)
			if math.Abs(d) > 1e-9 && d < 0 != inField(b, p) {
				t.Fatalf("distance %v, but in the field is %v", d, inField(b, p))
			}
			metal := b.Outline.Distance(p) < 0
			for _, w := range b.Windows {
				metal = metal && !(w.Open && w.Shape.Distance(p) < 0)
			}
			m := b.Distance(p)
			if math.Abs(m) > 1e-9 && m < 0 != metal {
				t.Fatalf("distance %v, but on metal is %v", m, metal)
			}
			if g.Distance(p) != m {
				t.Fatalf("ground %v, blank %v", g.Distance(p), m)
			}
			box := f.Bounds()
			if d < 0 && (p.X < box.Min.X || p.X > box.Max.X || p.Y < box.Min.Y || p.Y > box.Max.Y) {
				t.Fatalf("%v is in the field but not in its bounds %v", p, box)
			}
		}
	})
}

func TestDistanceChangesNoFasterThanThePlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawBlank(t).Field()
		p := drawPoint(t, "p", 50)
		q := r2.Add(p, drawPoint(t, "move", rapid.SampledFrom([]float64{0.01, 1, 50}).Draw(t, "reach")))
		if moved := r2.Norm(r2.Sub(q, p)); math.Abs(f.Distance(p)-f.Distance(q)) > moved+1e-9 {
			t.Fatalf("%v to %v in a move of %v", f.Distance(p), f.Distance(q), moved)
		}
	})
}

// Inside the field the distance is exact: it is that of the nearest edge, found
// by walking all of them, less its border. (On the straight way to an edge the
// distance falls as fast as the place moves, so the border is met no sooner and
// no later.)
func TestFieldDistanceIsExactInside(t *testing.T) {
	const step = 0.02
	rapid.Check(t, func(t *rapid.T) {
		b := drawBlank(t)
		f := b.Field()
		edges := append([]Window{{Shape: b.Outline, Border: b.Border}}, b.Windows...)
		edges = append(edges, b.KeepClear...)
		walks := make([][]r2.Vec, len(edges))
		for i, w := range edges {
			walks[i] = boundary(w.Shape, step)
		}
		for i := range 12 {
			p := drawPoint(t, fmt.Sprint("p", i), 20)
			r := -f.Distance(p)
			if r <= 0 {
				continue
			}
			nearest := math.Inf(1)
			for i, w := range edges {
				for _, q := range walks[i] {
					nearest = min(nearest, r2.Norm(r2.Sub(q, p))-w.Border)
				}
			}
			if r > nearest+1e-9 || nearest > r+step/2+1e-9 {
				t.Fatalf("%v in the field by %v, but its edge passes at %v", p, r, nearest)
			}
		}
	})
}

func TestEmpty(t *testing.T) {
	disc := Shape{Form: Disc, Diameter: 36}
	for _, v := range []struct {
		name  string
		blank Blank
		want  bool
	}{
		{"disc", Blank{Outline: disc}, false},
		{"border of the whole radius", Blank{Outline: disc, Border: 18}, true},
		{"border of nearly the radius", Blank{Outline: disc, Border: 17.9}, false},
		{"ring, half its width", Blank{Outline: Shape{Form: Ring, Diameter: 36, Inner: 12}, Border: 6}, true},
		{"ring, nearly", Blank{Outline: Shape{Form: Ring, Diameter: 36, Inner: 12}, Border: 5.9}, false},
		{"panel", Blank{Outline: Shape{Form: Rectangle, Width: 30, Height: 20, Angle: 0.3}, Border: 10}, true},
		{"panel, nearly", Blank{Outline: Shape{Form: Rectangle, Width: 30, Height: 20, Angle: 0.3}, Border: 9.9}, false},
		{"window over all", Blank{Outline: disc, Windows: []Window{{Shape: disc}}}, true},
		{"two halves kept clear", Blank{Outline: disc, KeepClear: []Window{
			{Shape: Shape{Form: Rectangle, Width: 20, Height: 40, Centre: r2.Vec{X: 10}}},
			{Shape: Shape{Form: Rectangle, Width: 20, Height: 40, Centre: r2.Vec{X: -10}}},
		}}, true},
		{"a slit between them", Blank{Outline: disc, KeepClear: []Window{
			{Shape: Shape{Form: Rectangle, Width: 20, Height: 40, Centre: r2.Vec{X: 10.05}}},
			{Shape: Shape{Form: Rectangle, Width: 20, Height: 40, Centre: r2.Vec{X: -10.05}}},
		}}, false},
	} {
		if got := v.blank.Field().empty(); got != v.want {
			t.Errorf("%s: empty is %v", v.name, got)
		}
	}
}

func BenchmarkFieldDistance(b *testing.B) {
	rng := rand.New(rand.NewPCG(2, 2))
	for _, n := range []int{0, 4, 100, 1000} {
		bl := Blank{Outline: Shape{Form: Disc, Diameter: 36}, Border: 1}
		for range n {
			bl.Windows = append(bl.Windows, Window{Border: 0.1,
				Shape: Shape{Form: Disc, Diameter: 0.5, Centre: r2.Vec{X: 30 * (rng.Float64() - 0.5), Y: 30 * (rng.Float64() - 0.5)}}})
		}
		f := bl.Field()
		b.Run(fmt.Sprintf("%d windows", n), func(b *testing.B) {
			b.ReportAllocs()
			var sum float64
			for i := range b.N {
				sum += f.Distance(r2.Vec{X: float64(i%37) - 18, Y: float64(i%31) - 15})
			}
			b.ReportMetric(sum/float64(b.N), "mean-mm")
		})
	}
}
