package light

import (
	_ "embed"
	"math"
	"testing"
)

//go:embed testdata/ggx_albedo.csv
var albedoTable string

// albedo is what share of light from direction o a white GGX surface throws back
// at once, by the sampling that the shader uses.
func albedo(alpha float64, o vec, samples int) float64 {
	a := roughness{alpha, alpha}
	var sum float64
	hidden, seen := a.lambda(o), a.seen(o)
	for _, d := range spread(samples) {
		if in := reflect(o, seen.facet(d.p, d.q)); in.z > 0 {
			sum += (1 + hidden) / (1 + hidden + a.lambda(in))
		}
	}
	return sum / float64(samples)
}

func slanting(mu float64) vec { return vec{math.Sqrt(1 - mu*mu), 0, mu} }

// α = 1 at normal incidence has the closed form 1 − ln 2; the published table of
// Cycles has 0.443841 at μ = 16/31 as well. The other rows: testdata/ggx_albedo.csv.
func TestAlbedo(t *testing.T) {
	const n = 8000
	near1(t, "α 1, μ 1", albedo(1, vec{0, 0, 1}, n), 1-math.Ln2, 3e-4)
	near1(t, "α 1, μ 16/31", albedo(1, slanting(16.0/31), n), 0.443841, 3e-4)
	for _, f := range csvRows(albedoTable) {
		v := floats(f)
		near1(t, "α "+f[0]+", μ "+f[1], albedo(v[0], slanting(v[1]), n), v[2], 1e-3)
	}
}

// The weak furnace (Heitz 2014): with masking alone, a white surface in a white
// room sends back exactly what it gets: ∫ D·G1/(4·cos θo) dω = 1. The distribution
// D is written here from Walter et al. 2007, apart from the sampling under test.
func TestWeakFurnace(t *testing.T) {
	for _, a := range []roughness{{0.3, 0.3}, {0.2, 0.5}, {0.6, 0.25}} {
		for _, o := range []vec{{0, 0, 1}, slanting(0.8), unit(vec{0.3, -0.8, 0.5})} {
			var sum float64
			const rings, spokes = 800, 240
			for i := range rings {
				th := math.Pi * (float64(i) + 0.5) / rings // all directions: some facets throw light down
				st, ct := math.Sincos(th)
				for j := range spokes {
					sp, cp := math.Sincos(2 * math.Pi * (float64(j) + 0.5) / spokes)
					in := vec{st * cp, st * sp, ct}
					h := unit(half(o, in))
					if h.z <= 0 {
						continue
					}
					q := h.x*h.x/(a.x*a.x) + h.y*h.y/(a.y*a.y) + h.z*h.z
					d := 1 / (math.Pi * a.x * a.y * q * q)
					sum += d / (1 + a.lambda(o)) / (4 * o.z) * st
				}
			}
			sum *= math.Pi / rings * 2 * math.Pi / spokes
			near1(t, "weak furnace", sum, 1, 2e-3)
		}
	}
}

func half(a, b vec) vec { return vec{a.x + b.x, a.y + b.y, a.z + b.z} }

// A mirror turned by t turns the ray by 2t.
func TestMirror(t *testing.T) {
	for _, deg := range []float64{5, 15, 25, 40} {
		a := deg * math.Pi / 180
		got := reflect(vec{0, 0, 1}, vec{math.Sin(a), 0, math.Cos(a)})
		near1(t, "turn", math.Atan2(got.x, got.z), 2*a, 1e-12)
	}
}

// The table against the plain sum over many facets of what the room itself shows
// in each: this is the test that the table's fineness, the number of facets and
// the averaging of the mirror rest on.
func TestSheenAgainstDirect(t *testing.T) {
	level := func(l float64) float64 { return 255 * encode(tone(RGB{R: l}).R) }
	for _, lamp := range []Lamp{DefaultLamp, {Azimuth: 2.1, Elevation: 1.2}} {
		scene := lit(t, "silver", lamp)
		s := newSheens(scene).cut
		many := newShader(scene, 6000)
		var sum, worst float64
		const n = 80
		for i := range n {
			r := 0.75 * math.Sqrt((float64(i)+0.5)/n)
			nx, ny := r*math.Cos(2.4*float64(i)), r*math.Sin(2.4*float64(i))
			nz := math.Sqrt(1 - r*r)
			got := s.at(float32(-nx/nz), float32(-ny/nz))
			want := direct(many, newSurroundings(scene), nx, ny)
			for q, v := range [3]float64{want.R, want.G, want.B} {
				d := level(float64(got[q])) - level(v)
				sum += d * d
				worst = max(worst, math.Abs(d))
			}
		}
		rms := math.Sqrt(sum / (3 * n))
		t.Logf("levels of 255: rms %.2f, worst %.2f", rms, worst)
		if rms > 2.5 || worst > 9 {
			t.Errorf("table differs by rms %.2f, worst %.2f levels of 255", rms, worst)
		}
	}
}

// direct is shader.radiance without the averaged mirror.
func direct(s *shader, r *surroundings, nx, ny float64) RGB {
	f, g := s.flank(nx, ny)
	total := s.gloss
	s.ways(&f, g, func(w *way) {
		room, lamp := r.radiance(w.from)
		total = total.plus(room.times(w.room), 1).plus(w.lamp, lamp)
	})
	return total
}
