package engine

import (
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The plates of a dividing head of 40 turns, as the handbooks' tables use them
// (circles from memory: Brown & Sharpe's three plates).
var head40 = Wheel{Worm: 40, Circles: []int{15, 16, 17, 18, 19, 20, 21, 23, 27, 29, 31, 33, 37, 39, 41, 43, 47, 49}}

func TestDivideHandbook(t *testing.T) {
	for _, c := range []struct {
		source   string
		num, den int
		want     Dividing
	}{
		{"US Army ordnance course", 1, 6, Dividing{6, 12, 18}},
		{"US Army ordnance course", 1, 6, Dividing{6, 26, 39}},
		{"US Army ordnance course", 1, 42, Dividing{0, 20, 21}},
		{"Machinery's Handbook 1916, 35 deg", 35, 360, Dividing{3, 16, 18}},
		{"Machinery's Handbook 1916, 11 1/2 deg", 23, 720, Dividing{1, 5, 18}},
	} {
		if ways := DivideTurn(c.num, c.den, head40); !slices.Contains(ways, c.want) {
			t.Errorf("%s: %d/%d of a turn: %v not among %v", c.source, c.num, c.den, c.want, ways)
		}
	}
	if ways := Divide(53, head40); len(ways) != 0 {
		t.Errorf("53 divisions need a circle of 53 holes or a train of wheels; got %v", ways)
	}
	// Old index circles 96, 112, 144, 360 (Holtzapffel, Turning and Mechanical
	// Manipulation, vol. V, ch. V).
	old := Wheel{Worm: 1, Circles: []int{96, 112, 144, 360}}
	for n, want := range map[int][]Dividing{
		7:   {{0, 16, 112}},
		5:   {{0, 72, 360}},
		48:  {{0, 2, 96}, {0, 3, 144}},
		1:   {{1, 0, 96}, {1, 0, 112}, {1, 0, 144}, {1, 0, 360}},
		100: nil,
	} {
		if got := Divide(n, old); !slices.Equal(got, want) {
			t.Errorf("%d divisions: got %v, want %v", n, got, want)
		}
	}
}

// Every way is exact and in whole holes, and no circle that would do is left out.
func TestDivideAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Wheel{Worm: rapid.IntRange(1, 90).Draw(t, "worm"), Circles: rapid.SliceOfN(rapid.IntRange(1, 400), 0, 6).Draw(t, "circles")}
		num, den := rapid.IntRange(1, 400).Draw(t, "num"), rapid.IntRange(1, 800).Draw(t, "den")
		ways := DivideTurn(num, den, w)
		for _, d := range ways {
			got := new(big.Rat).Add(big.NewRat(int64(d.Turns), 1), big.NewRat(int64(d.Holes), int64(d.Circle)))
			want := new(big.Rat).Mul(big.NewRat(int64(num), int64(den)), big.NewRat(int64(w.Worm), 1))
			if got.Cmp(want) != 0 || d.Holes < 0 || d.Holes >= d.Circle {
				t.Fatalf("%v turns the wheel %v instead of %v", d, got, want)
			}
		}
		n := 0
		for _, c := range w.Circles {
			if num*w.Worm*c%den == 0 {
				n++
			}
		}
		if n != len(ways) {
			t.Fatalf("%d circles divide, %d ways given", n, len(ways))
		}
	})
}

// 23/191 = [0;8,3,3,2] has the convergents 1/8, 3/25, 10/83 (Brocot's example,
// from memory).
func TestConvergents(t *testing.T) {
	want := [][2]int{{0, 1}, {1, 8}, {3, 25}, {10, 83}, {23, 191}}
	if got := Convergents(23, 191); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// 127 teeth turn inches into millimetres: a lead of 3 mm on a screw constant of
// 6 is 90/127 (Jones, on screw cutting). A slide of 14 threads to the inch with
// 64 teeth moves by 16 teeth exactly 25.4/14·16/64 mm.
func TestRationalKeepsInches(t *testing.T) {
	for _, c := range []struct {
		x        float64
		num, den int64
	}{{25.4 / 14, 127, 70}, {25.4 / 40, 127, 200}, {25.4 / 6 / 3, 127, 90}, {0.156, 39, 250}, {-1.0 / 3, -1, 3}, {0, 0, 1}, {7, 7, 1}} {
		if got := rational(c.x); got.Cmp(big.NewRat(c.num, c.den)) != 0 {
			t.Errorf("rational(%v) = %v, want %d/%d", c.x, got, c.num, c.den)
		}
	}
	e := Engine{Kind: StraightLine, Slide: Screw{Pitch: 25.4 / 14, Ratchet: 64}}
	a := e.axes(0)[SlideAxis]
	if got := new(big.Rat).Mul(a.count, big.NewRat(16, 1)); got.Cmp(big.NewRat(127, 280)) != 0 {
		t.Errorf("16 teeth give %v mm, want 127/280 = 0.453571…", got)
	}
	if got := a.at(16); got != 127.0/280 {
		t.Errorf("at(16) = %v", got)
	}
	// 40 tpi with a head of 25 parts is a thousandth of an inch (18th-century
	// cutting engine).
	e.Slide = Screw{Pitch: 25.4 / 40, Ratchet: 25}
	a = e.axes(0)[SlideAxis]
	if got := a.at(1); got != 0.0254 {
		t.Errorf("one part of 25 at 40 tpi = %v mm", got)
	}
}

func TestRationalIsNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := rapid.Int64Range(-1_000_000, 1_000_000).Draw(t, "p"), rapid.Int64Range(1, 1_000_000).Draw(t, "q")
		x := float64(p) / float64(q)
		if got := rational(x); float(got) != x {
			t.Fatalf("rational(%v) = %v, which is %v", x, got, float(got))
		}
		y := rapid.Float64Range(-1e300, 1e300).Draw(t, "y")
		if got := float(rational(y)); got != y && (got-y)/y > 1e-15 {
			t.Fatalf("rational(%v) gives %v", y, got)
		}
	})
}

func TestNearest(t *testing.T) {
	for _, c := range []struct {
		num, den int64
		want     int
	}{{1, 2, 1}, {-1, 2, -1}, {49, 100, 0}, {-149, 100, -1}, {7, 3, 2}, {15, 1, 15}} {
		n, off, ok := nearest(big.NewRat(c.num, c.den))
		if !ok || n != c.want {
			t.Errorf("nearest(%d/%d) = %d, %v", c.num, c.den, n, ok)
		}
		if back := new(big.Rat).Sub(big.NewRat(int64(n), 1), off); back.Cmp(big.NewRat(c.num, c.den)) != 0 {
			t.Errorf("%d less %v is not %d/%d", n, off, c.num, c.den)
		}
	}
	if _, _, ok := nearest(big.NewRat(mostCounts+1, 1)); ok {
		t.Error("more than a billion counts were taken")
	}
}
