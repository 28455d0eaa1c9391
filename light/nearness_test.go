package light

import (
	"math"
	"testing"
)

// Where on the work a flank of a 120° cutter flashes under a lamp 150 mm up, seen from
// 420 mm: worked out by hand from the law of reflection at each place, for lamps 28, 32
// and 34° high as seen from the middle, at 9.0, −8.3 and −16.0 mm; with lamp and eye
// far away it is all of the work at once.
func TestWhereItFlashes(t *testing.T) {
	slope := math.Tan(30 * math.Pi / 180)
	near := nearness{1.0 / 150, 1.0 / 420}
	// The elevation from which, for the middle, what is mirrored at x comes.
	from := func(n nearness, x float64) float64 {
		p, _ := n.seen(float32(-slope), 0, x, 0)
		return 90 - 2*math.Atan(-float64(p))*180/math.Pi
	}
	near1(t, "in the middle", from(near, 0), 30, 1e-4)
	for _, c := range []struct{ x, height float64 }{{9.0, 28}, {-8.3, 32}, {-16.0, 34}} {
		near1(t, "height of the lamp", from(near, c.x), c.height, 0.05)
	}
	near1(t, "far away", from(nearness{}, 16), 30, 1e-4)
}

// A ray followed to the lamp's own height, by plane geometry: from the place to where
// it meets that level, and back to the middle.
func TestNearnessAgainstGeometry(t *testing.T) {
	n := nearness{1.0 / 200, 1.0 / 300}
	for _, c := range []struct{ p, q, x, y float64 }{{0, 0, 10, -7}, {-0.4, 0.2, 12, 5}, {0.3, 0.5, -15, 9}, {0.1, -0.7, 3, 17}} {
		l := 1 / math.Sqrt(1+c.p*c.p+c.q*c.q)
		d := reflect(unit(vec{-c.x / 300, -c.y / 300, 1}), vec{-c.p * l, -c.q * l, l})
		there := unit(vec{c.x + d.x*200/d.z, c.y + d.y*200/d.z, 200})
		gx, gy := n.seen(float32(c.p), float32(c.q), c.x, c.y)
		l = 1 / math.Sqrt(1+float64(gx*gx)+float64(gy*gy))
		got := reflect(vec{0, 0, 1}, vec{-float64(gx) * l, -float64(gy) * l, l})
		near1(t, "direction", dot(got, there), 1, 1e-6)
	}
}
