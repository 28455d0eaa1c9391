package examples_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/engine"
)

func vec(v engine.Vertex) r2.Vec { return r2.Vec{X: v.X, Y: v.Y} }

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// off is how far v lies from a whole number of waves.
func off(v, wave float64) float64 { return math.Abs(math.Remainder(v, wave)) }

// What makes each pattern of the trade what it is, seen on its list of cuts.
func TestPatterns(t *testing.T) {
	t.Run("parallel lines", func(t *testing.T) {
		_, l := read(t, "parallel-lines")
		for i, c := range l.Cuts {
			near(t, "place", c.Position, -13.75+0.25*float64(i), 1e-9)
			if len(c.Pieces) != 1 || len(c.Pieces[0].Path) != 2 {
				t.Fatalf("cut %d is not one straight line", c.Number)
			}
		}
	})
	t.Run("in step", func(t *testing.T) {
		for _, name := range []string{"waves-in-step", "concentric-waves"} {
			_, l := read(t, name)
			for _, c := range l.Cuts {
				near(t, name, c.Phase, l.Cuts[0].Phase, 0)
			}
		}
	})
	t.Run("half a wave by turns", func(t *testing.T) {
		for name, wave := range map[string]float64{
			"barleycorn": 3, "inch-barleycorn": 25.4 / 8, "lantern-pendant": 3, "barleycorn-rings": 15 * deg,
		} {
			_, l := read(t, name)
			for i := 1; i < len(l.Cuts); i++ {
				near(t, name, off(l.Cuts[i].Phase-l.Cuts[i-1].Phase-wave/2, wave), 0, 1e-9)
			}
		}
	})
	t.Run("groups that jump half a wave", func(t *testing.T) {
		for name, v := range map[string]struct {
			group int
			wave  float64
		}{"basket-weave": {6, 4}, "scales": {3, 3.6}, "petal-basket": {5, 45 * deg}} {
			_, l := read(t, name)
			for i := 1; i < len(l.Cuts); i++ {
				jump := 0.0
				if i%v.group == 0 {
					jump = v.wave / 2
				}
				near(t, name, off(l.Cuts[i].Phase-l.Cuts[i-1].Phase-jump, v.wave), 0, 1e-9)
			}
		}
	})
	t.Run("drift", func(t *testing.T) {
		for name, drift := range map[string]float64{"swirl": 30 * deg / 16, "pumped-rings": 360 * deg / 192, "drifting-sunburst": 0.1, "drapery": 0.2} {
			_, l := read(t, name)
			for i := 1; i < len(l.Cuts); i++ {
				near(t, name, math.Abs(l.Cuts[i].Phase-l.Cuts[i-1].Phase), drift, 1e-9)
			}
		}
	})
	t.Run("a drift that closes in step", func(t *testing.T) {
		_, l := read(t, "drifting-sunburst")
		last := l.Cuts[len(l.Cuts)-1]
		near(t, "six waves in the round", last.Phase+0.1-l.Cuts[0].Phase, 18, 1e-9)
		near(t, "one turn", last.Turned+2*deg-l.Cuts[0].Turned, 360*deg, 1e-9)
	})
	t.Run("directions", func(t *testing.T) {
		for name, angles := range map[string][]float64{
			"hobnail": {0, 90, 90, 0}, "triangular-points": {0, 60, 120}, "crossed-waves": {0, 90}, "beats": {-1, 1},
		} {
			_, l := read(t, name)
			each := len(l.Cuts) / len(angles)
			for i, c := range l.Cuts {
				near(t, name, c.Turned, angles[i/each]*deg, 1e-9)
			}
		}
	})
	// With the depth at s/(2·tan α) the lines of every direction meet in points.
	t.Run("points", func(t *testing.T) {
		j, _ := read(t, "hobnail")
		near(t, "hobnail", 0.25, 0.5/j.Setup.Cutter.Sensitivity(), 1e-9)
		j, _ = read(t, "triangular-points")
		near(t, "triangular", j.Setup.Depth, 0.6/j.Setup.Cutter.Sensitivity(), 0.005)
	})
	t.Run("sunbursts", func(t *testing.T) {
		for name, n := range map[string]int{"sunburst": 360, "wavy-dial": 180, "worm-sunburst": 270, "drifting-sunburst": 180} {
			_, l := read(t, name)
			for i, c := range l.Cuts {
				near(t, name, c.Turned, float64(i)/float64(n)*360*deg, 1e-9)
			}
		}
	})
	t.Run("windows part the rays", func(t *testing.T) {
		_, l := read(t, "wavy-dial")
		parted := 0
		for _, c := range l.Cuts {
			if len(c.Pieces) > 1 {
				parted++
			}
		}
		// Seen from the middle the name spans 2·atan(4/7.9) = 54 degrees, the small
		// seconds 2·asin(4.3/8.4) = 62 and the date 2·atan(1.25/9.9) = 14, a ray every
		// two degrees; the waves take in or miss one here and there.
		if parted < 62 || parted > 68 {
			t.Errorf("%d of 180 rays are parted", parted)
		}
	})
	t.Run("pumping swells the groove", func(t *testing.T) {
		_, l := read(t, "pumped-rings")
		least, most := math.Inf(1), math.Inf(-1)
		for _, v := range l.Cuts[50].Pieces[0].Path {
			least, most = min(least, -v.Z), max(most, -v.Z)
		}
		near(t, "least depth", least, 0.03, 1e-4)
		near(t, "greatest depth", most, 0.06, 1e-4)
		if !l.Cuts[50].Pieces[0].Closed {
			t.Error("the ring is not closed")
		}
	})
	t.Run("bands", func(t *testing.T) {
		_, l := read(t, "bands")
		count := map[string]int{}
		for _, c := range l.Cuts {
			count[c.Settings.Bar]++
		}
		for name, n := range map[string]int{"forty-eight": 34, "twenty-four": 37, "twelve": 30, "round": 3} {
			if count[name] != n {
				t.Errorf("%d rings from %s, want %d", count[name], name, n)
			}
		}
	})
	// Exactly 25.4/14·16/64 mm: a workshop's published notes round it to 0.45 mm.
	t.Run("sixteen teeth of 14 tpi", func(t *testing.T) {
		_, l := read(t, "inch-barleycorn")
		near(t, "step", l.Cuts[1].Position-l.Cuts[0].Position, 0.45357142857142857, 1e-12)
	})
}
