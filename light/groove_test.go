package light

import (
	"math"
	"testing"
)

// At the root of a V of flank tilt t the horizon across stands at elevation t, along
// it at 0; at the crest it is level (geometry).
func TestHorizon(t *testing.T) {
	for _, deg := range []float64{15, 25, 30, 45, 60} {
		tilt := deg * math.Pi / 180
		g := groove{slope: math.Tan(tilt), towards: vec{1, 0, 0}}
		for _, u := range []float64{1e-9, 0.25, 0.5, 0.9} {
			// From (−u, slope·u) to the crest (1, slope).
			want := math.Atan(g.slope * (1 - u) / (1 + u))
			below, above := vec{math.Cos(want - 1e-6), 0, math.Sin(want - 1e-6)}, vec{math.Cos(want + 1e-6), 0, math.Sin(want + 1e-6)}
			if !g.meets(below, u) || g.meets(above, u) {
				t.Errorf("%v° at %v: the horizon is not at %.6f rad", deg, u, want)
			}
		}
		if along := (vec{0, math.Cos(0.01), math.Sin(0.01)}); g.meets(along, 0.3) {
			t.Errorf("%v°: a ray along the groove meets a flank", deg)
		}
	}
}

// profile is the section of a pattern: V grooves side by side, with lands between
// that take the given share of the pitch of 1. A ray is followed from line to line.
type profile struct{ slope, land float64 }

func (p profile) half() float64 { return (1 - p.land) / 2 }

// meet finds where a ray from (x, z) next meets one of the lines, by asking all of
// them, and that line's normal.
func (p profile) meet(x, z, dx, dz float64) (at, hx, hz, nx, nz float64, ok bool) {
	at = math.Inf(1)
	h, depth := p.half(), p.half()*p.slope
	l := math.Hypot(1, p.slope)
	line := func(x0, z0, x1, z1, ux, uz float64) {
		// Cramer: x + τ·dx = x0 + s·(x1−x0), and for z.
		ex, ez := x1-x0, z1-z0
		det := ex*dz - ez*dx
		if math.Abs(det) < 1e-15 {
			return
		}
		τ := (ex*(z0-z) - ez*(x0-x)) / det
		s := (dx*(z0-z) - dz*(x0-x)) / det
		if τ > 1e-9 && τ < at && s >= 0 && s <= 1 {
			at, hx, hz, nx, nz, ok = τ, x+τ*dx, z+τ*dz, ux, uz, true
		}
	}
	for k := -40; k <= 40; k++ {
		c := float64(k)
		line(c-h, 0, c, -depth, p.slope/l, 1/l)
		line(c, -depth, c+h, 0, -p.slope/l, 1/l)
		if p.land > 0 {
			line(c+h, 0, c+1-h, 0, 0, 1)
		}
	}
	return at, hx, hz, nx, nz, ok
}

// Mirror grooves under a smooth sky against rays followed from line to line of a
// whole pattern, up to forty meetings: shadow, horizon and light thrown between
// flanks, for every cutter that the trade uses and with and without lands. Each
// meeting keeps a tenth of the light.
func TestGroovesAgainstRaysFollowed(t *testing.T) {
	sky := func(x, z float64) float64 { return 0.2 + 0.5*z + 0.25*x + 0.3*x*x }
	const keep = 0.9
	for _, included := range []float64{60, 75, 90, 100, 110, 120, 130, 150} {
		for _, land := range []float64{0, 0.3} {
			p := profile{slope: 1 / math.Tan(included*math.Pi/360), land: land}
			var want float64
			const n = 4000
			for i := range n {
				u := (float64(i) + 0.5) / n
				x, z := -p.half()*u, -p.half()*p.slope*(1-u)
				l := math.Hypot(1, p.slope)
				nx, nz := p.slope/l, 1/l
				dx, dz, w := 0.0, -1.0, 1.0
				for range 40 {
					c := dx*nx + dz*nz
					dx, dz, w = dx-2*c*nx, dz-2*c*nz, w*keep
					_, hx, hz, mx, mz, ok := p.meet(x, z, dx, dz)
					if !ok {
						want += w * sky(dx, dz) / n
						break
					}
					x, z, nx, nz = hx, hz, mx, mz
				}
			}
			got := grooved(t, p.slope, 4000, keep, func(d vec) float64 { return sky(d.x, d.z) })
			t.Logf("%3.0f°, lands %2.0f %%: %.4f, followed %.4f", included, 100*land, got, want)
			near1(t, "light of the flank", got, want, 0.01*want)
		}
	}
}

// grooved is the light of a flank that faces x of a V, of metal nearly a mirror that
// keeps the same share of all light, under a sky.
func grooved(t *testing.T, slope float64, n int, keep float64, sky func(vec) float64) float64 {
	s := plainShader(t, n, keep)
	f, g := s.flank(slope/math.Hypot(1, slope), 0)
	f.rough = roughness{1e-4, 1e-4}
	var sum float64
	s.ways(&f, g, func(w *way) { sum += w.lamp.G * sky(w.from) })
	return sum
}

// plainShader is of a metal that reflects the same share of all light at any angle.
func plainShader(t *testing.T, n int, share float64) *shader {
	s := newShader(DefaultScene(metal(t, "silver")), n)
	for i := range s.room {
		s.room[i] = RGB{share, share, share}
	}
	s.lamp = s.room
	return s
}

// A 90° V looks back: a mirror sends a ray from straight above, after both flanks,
// straight up again (law of reflection; a corner of two mirrors).
func TestCornerLooksBack(t *testing.T) {
	s := plainShader(t, 1000, 1)
	f, g := s.flank(math.Sqrt2/2, 0)
	f.rough = roughness{1e-5, 1e-5}
	n := 0
	s.ways(&f, g, func(w *way) {
		n++
		near1(t, "upwards", w.from.z, 1, 1e-6)
	})
	if n < 990 {
		t.Errorf("%d of 1000 rays come back", n)
	}
}

// A white furnace: metal that keeps nothing, in a room of one radiance, cannot be
// brighter than the room, and loses what a single meeting with rough metal loses: the
// light that its facets throw at each other, which the model drops (albedo, in
// testdata and closed form). Rays between flanks lose nothing.
func TestFurnace(t *testing.T) {
	s := plainShader(t, 4000, 1)
	for _, deg := range []float64{0, 5, 10, 20, 25, 30, 45, 60} {
		tilt := deg * math.Pi / 180
		f, g := s.flank(math.Sin(tilt), 0)
		f.fine = many
		var sum float64
		s.ways(&f, g, func(w *way) { sum += w.room.G })
		// What the first meeting alone gives, groove or none.
		var single float64
		eye := vec{0, dot(s.eye, f.across), dot(s.eye, f.n)}
		hidden, seen := f.rough.lambda(eye), f.rough.seen(eye)
		for _, d := range spread(16000) {
			if in := reflect(eye, seen.facet(d.p, d.q)); in.z > 0 {
				single += (1 + hidden) / (1 + hidden + f.rough.lambda(in)) / 16000
			}
		}
		t.Logf("%2v°: %.4f of the room, a single meeting gives %.4f", deg, sum, single)
		if sum > 1+1e-9 || sum < 0.99*single || sum > 1.01*single {
			t.Errorf("flanks tilted %v°: %.4f of a white room, a single meeting gives %.4f", deg, sum, single)
		}
	}
	for _, l := range Lands() {
		scene := DefaultScene(metal(t, "silver"))
		scene.Stuff.Land = l
		s := newShader(scene, 8000)
		for i := range s.room {
			s.room[i] = RGB{1, 1, 1}
		}
		f, g := s.ground(0, 0)
		var sum float64
		s.ways(&f, g, func(w *way) { sum += w.room.G })
		if l.rough.x == l.rough.y {
			near1(t, l.Name, sum, albedo(l.rough.x, vec{0, 0, 1}, 8000), 1e-3)
		}
		if sum > 1 || sum < 0.85 {
			t.Errorf("%s ground gives %.4f of a white room", l.Name, sum)
		}
	}
}

// A flank tilted t sends the light that stands 2t off the vertical straight up (law
// of reflection): 50° for a cutter of 130°, 60° for 120°. That of a 90° cutter would
// have to graze, and none of it comes at once. With the roughness of real cuts the
// brightest place of a lamp lies within a degree of it.
func TestFlashAngle(t *testing.T) {
	for included := 90.0; included <= 150; included += 5 {
		for _, rough := range []float64{0.01, 0} {
			window := 15.0 // of what comes at once; other rays have met both flanks
			if rough > 0 {
				window = 4
			}
			s := plainShader(t, 4000, 1)
			f, g := s.flank(1/math.Hypot(1, math.Tan(included*math.Pi/360)), 0)
			if rough > 0 {
				f.rough = roughness{rough, rough}
			}
			var n, sum float64
			s.ways(&f, g, func(w *way) {
				off := math.Atan2(w.from.x, w.from.z) * 180 / math.Pi
				if off > 15 && off < 90 && math.Abs(w.from.y) < 0.2 && math.Abs(off-(180-included)) < window {
					n, sum = n+w.room.G, sum+off*w.room.G
				}
			})
			switch {
			case included == 90:
				if rough > 0 && n > 0.05 {
					t.Errorf("a 90° cutter flashes: %.3f of the light", n)
				}
			case rough > 0:
				near1(t, "flash off the vertical", sum/n, 180-included, 0.5)
			default:
				t.Logf("%v°: as rough as it is cut, flashes %.2f° off the vertical, reflection %v°; %.0f %% of the light", included, sum/n, 180-included, 100*n)
			}
		}
	}
}

// A level mirror leaned by δ shows what stands 2δ off the vertical, on the side that
// went down.
func TestLeaned(t *testing.T) {
	s := DefaultScene(metal(t, "silver"))
	s.Eye.Tilt, s.Eye.Toward = 10*math.Pi/180, 2.0
	r, err := NewRays(s, 500)
	if err != nil {
		t.Fatal(err)
	}
	var x, y, z float64
	r.Ground(0, 0, func(w Ray) {
		x += w.Share.G * math.Cos(w.Elevation) * math.Cos(w.Azimuth)
		y += w.Share.G * math.Cos(w.Elevation) * math.Sin(w.Azimuth)
		z += w.Share.G * math.Sin(w.Elevation)
	})
	near1(t, "azimuth", math.Atan2(y, x), 2.0, 0.01)
	near1(t, "off the vertical", math.Atan2(math.Hypot(x, y), z)*180/math.Pi, 20, 0.2)
	for _, d := range []vec{{0.6, 0, 0.8}, {0.48, -0.6, 0.64}} {
		b := s.Eye.fromRoom(s.Eye.toRoom(d))
		near1(t, "there and back", dot(b, d), 1, 1e-12)
	}
}

// Under enamel of index 1.5 a flank tilted t sends light out at asin(1.5·sin 2t)
// (Snell), and beyond a tilt of 20.9°, half the critical angle, nothing leaves at the
// first go.
func TestUnderEnamel(t *testing.T) {
	s := DefaultScene(metal(t, "silver"))
	s.Stuff.Enamel = Enamel{Name: "clear", Thickness: 0.3}
	mirror := newShader(s, 500)
	for _, deg := range []float64{5, 10, 15, 20, 22, 30} {
		tilt := deg * math.Pi / 180
		f, g := mirror.flank(math.Sin(tilt), 0)
		f.rough = roughness{1e-6, 1e-6}
		direct := 0
		mirror.ways(&f, g, func(w *way) {
			out, _ := mirror.top.outward(w.from)
			if math.Abs(math.Atan2(w.from.x, w.from.z)-2*tilt) < 1e-2 {
				direct++
				near1(t, "off the vertical", math.Atan2(out.x, out.z), math.Asin(1.5*math.Sin(2*tilt)), 0.01)
			}
		})
		if got, want := direct > 400, deg < 20.9; got != want {
			t.Errorf("%v°: %d of 500 rays leave at the first go", deg, direct)
		}
	}
	near1(t, "critical angle", math.Asin(1/1.5)*180/math.Pi, 41.8103, 1e-4)
	for _, d := range []vec{{0.66, 0, math.Sqrt(1 - 0.66*0.66)}, {0.67, 0, math.Sqrt(1 - 0.67*0.67)}} {
		if got, want := (top{1.5}).holds(d), d.x > 1/1.5; got != want {
			t.Errorf("a ray %v is held: %v", d, got)
		}
	}
	// No more comes out than goes in.
	h := newShader(s, 2000)
	for i := range h.room {
		h.room[i] = RGB{1, 1, 1}
	}
	for _, deg := range []float64{0, 10, 20, 25, 45} {
		f, g := h.flank(math.Sin(deg*math.Pi/180), 0)
		total := fresnel(1.5, 1)
		h.ways(&f, g, func(w *way) {
			_, share := h.top.outward(w.from)
			total += w.room.G * share
		})
		t.Logf("%v°: %.3f of a white room", deg, total)
		if total > 1 {
			t.Errorf("enamel over flanks of %v° gives %.3f of a white room", deg, total)
		}
	}
}
