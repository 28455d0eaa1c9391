package sight

import (
	"encoding/json"
	"fmt"
	"math"
	"runtime"
	"testing"

	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/light"
	"brightcut/surface"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.9g, want %.9g ± %g", what, got, want, within)
	}
}

// lines are parallel cuts along y, a pitch apart, over a square plate of 10 mm.
func lines(included, depth, pitch float64) Piece {
	p := Piece{
		Blank:  &blank.Blank{Thickness: 1, Border: 0.5, Outline: blank.Shape{Form: blank.Rectangle, Width: 10, Height: 10}},
		Cutter: cutter.Cutter{Included: included * math.Pi / 180}, Depth: depth,
	}
	for x := -4.5; x <= 4.5+1e-9; x += pitch {
		p.Cuts = append(p.Cuts, engine.Cut{Number: len(p.Cuts) + 1, Depth: depth, Pieces: []engine.Piece{{Path: []engine.Vertex{{X: x, Y: -4.6, Z: -depth}, {X: x, Y: 4.6, Z: -depth}}}}})
	}
	return p
}

func silver(t testing.TB) light.Scene {
	t.Helper()
	m, err := light.MetalNamed("silver")
	if err != nil {
		t.Fatal(err)
	}
	return light.DefaultScene(m)
}

func look(t testing.TB, p Piece, s light.Scene) *Figures {
	t.Helper()
	f, err := Look(t.Context(), p, s)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// The eye: at 250 mm one minute of arc is 72.72 µm; sensitivity falls from its best at
// 5 cycles to the degree to nothing at 60 (sources in eye.go).
func TestEye(t *testing.T) {
	near(t, "a minute of arc", spot(ReadingDistance)*1000, 72.7221, 1e-3)
	near(t, "ten seconds", rowed*vernier*ReadingDistance*1000, 12.1203, 1e-3)
	degree := ReadingDistance * math.Pi / 180
	near(t, "best", sensitivity(degree/5, ReadingDistance), 1, 1e-9)
	near(t, "least", sensitivity(degree/60, ReadingDistance), threshold, 1e-9)
	near(t, "coarse", sensitivity(degree/2, ReadingDistance), 1, 0)
	near(t, "plain ground", least(0, 0.2, ReadingDistance), threshold, 0)
	last := 0.0
	for c := 0.0; c <= 1; c += 0.05 {
		if l := least(c, degree/5, ReadingDistance); l < last {
			t.Errorf("a pattern of contrast %v hides less than a fainter one", c)
		} else {
			last = l
		}
	}
}

// Parallel lines flash when the lamp stands 180° less the included angle off the
// vertical (law of reflection), square to the lines; a cutter of 90° never does from
// a lamp above the work, whose light would have to graze.
func TestFlash(t *testing.T) {
	for _, included := range []float64{120, 125, 130, 135, 140, 150} {
		f := look(t, lines(included, 0.03, 0.4), silver(t))
		if f.FlashAt == nil {
			t.Fatalf("%v°: no flash", included)
		}
		t.Logf("%v°: flashes %.2f° off the vertical, reflection %v°; best lamp %+v; share %.2f", included, *f.FlashAt, f.Reflection, f.Rose.Best, f.FlashShare)
		near(t, "reflection", f.Reflection, 180-included, 1e-9)
		// The roughness of the cuts shifts the middle of steep flashes a little down.
		near(t, fmt.Sprintf("%v°", included), *f.FlashAt, 180-included, 1.1)
		if a := math.Mod(f.Rose.Best.Azimuth, 180); a != 0 {
			t.Errorf("%v°: the best lamp stands at %v° round lines along y", included, f.Rose.Best.Azimuth)
		}
		near(t, "height of the best lamp", f.Rose.Best.Height, included-90, 4)
		near(t, "share that flashes", f.FlashShare, 0.5, 0.02) // the other flanks lie in the dark
	}
	f := look(t, lines(90, 0.03, 0.4), silver(t))
	if f.FlashAt != nil {
		t.Errorf("a 90° cutter flashes at %v°", *f.FlashAt)
	}
	if f.Rose.Best.Height < 80 {
		t.Errorf("a 90° V is brightest under a lamp at %v°; it looks back at the eye", f.Rose.Best.Height)
	}
}

// A rose has the pattern's symmetry: lines along y look the same under lamps on either
// side, a sunburst the same under every azimuth.
func TestRoseSymmetry(t *testing.T) {
	f := look(t, lines(130, 0.03, 0.4), silver(t))
	for h, row := range f.Rose.Brightness {
		for a := range row {
			if v, w := row[a], row[(a+roseAzimuths/2)%roseAzimuths]; math.Abs(v-w) > 0.05*f.Rose.Brightness[7][0]+0.05*v {
				t.Errorf("height %v: %v from %v° and %v from the other side", f.Rose.Heights[h], v, f.Rose.Azimuths[a], w)
			}
		}
	}
	p := lines(130, 0.03, 0.4)
	p.Blank.Outline, p.Cuts = blank.Shape{Form: blank.Disc, Diameter: 10}, nil
	for i := range 120 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 120)
		p.Cuts = append(p.Cuts, engine.Cut{Number: i + 1, Pieces: []engine.Piece{{Path: []engine.Vertex{
			{X: -1.5 * s, Y: 1.5 * c, Z: -0.03, Across: 2 * math.Pi * float64(i) / 120}, {X: -4 * s, Y: 4 * c, Z: -0.03, Across: 2 * math.Pi * float64(i) / 120}}}}})
	}
	f = look(t, p, silver(t))
	row := f.Rose.Brightness[7]
	low, high := math.Inf(1), 0.0
	for _, v := range row {
		low, high = min(low, v), max(high, v)
	}
	if low < 0.9*high {
		t.Errorf("under a lamp going round, a sunburst changes from %v to %v", low, high)
	}
	if f.RoundEven < 0.55 {
		t.Errorf("evenness of a sunburst under a lamp that has gone round: %v", f.RoundEven)
	}
	if f.Evenness > 0.5 {
		t.Errorf("evenness of a sunburst under one lamp: %v", f.Evenness)
	}
}

// A white diffuser is the measure: the level ground of silver under a lamp overhead
// shows the lamp itself, nearly π over its solid angle times as bright as paper.
func TestBrightnessOfPaper(t *testing.T) {
	f := look(t, lines(130, 0.03, 0.4), silver(t))
	mirror := 1 / (1 - math.Cos(lampRadius)) / 2 // π over 2π(1 − cos)
	got := f.Rose.Ground[roseHeights-1][0]
	if got > mirror || got < 0.4*mirror {
		t.Errorf("ground under a lamp overhead is %v times paper, a mirror %v", got, mirror)
	}
}

// meanOver is the mean luminance of the piece at y = 0 from x = from, over a width, each
// of many places by itself.
func meanOver(t *testing.T, p Piece, shine *light.Shine, from, width float64) float64 {
	t.Helper()
	k, err := surface.NewCarver(p.Cuts, p.Cutter)
	if err != nil {
		t.Fatal(err)
	}
	const n = 4000
	g := surface.Grid{X0: from + width/n/2, Cell: width / n, Nx: n, Ny: 1}
	var sum float64
	err = k.Bands(t.Context(), g, true, func(b surface.Band) error {
		for i := range n {
			var dx, dy float64
			if b.Facet[i] >= 0 {
				x, y := g.At(i, b.Row)
				dx, dy = k.Slope(b.Facet[i], x, y)
			}
			sum += shine.Of(b.Facet[i] < 0, dx, dy).Luminance() / n
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return sum
}

// How much light a fault changes, against the piece cut with the fault and its picture
// averaged: a line 2 µm deeper with ground between the cuts. The model's contrast is
// that of the eye's spot.
func TestVisibleAgainstPicture(t *testing.T) {
	s := silver(t)
	s.Room, _ = light.RoomNamed("dark")
	s.Lamp.Azimuth, s.Lamp.Elevation = 0, 40*math.Pi/180
	p := lines(130, 0.03, 0.4)
	f := look(t, p, s)
	shine, err := light.NewShine(s)
	if err != nil {
		t.Fatal(err)
	}
	mean := func(p Piece) float64 { return meanOver(t, p, shine, -4.5+11*0.4-0.2, 0.4) } // one pitch round the middle cut
	before := mean(p)
	const deeper = 0.002
	for i := range p.Cuts[11].Pieces[0].Path {
		p.Cuts[11].Pieces[0].Path[i].Z -= deeper
	}
	after := mean(p)
	// The model: wider by δ, more of the cuts' light and less of the ground's.
	width := 2 * deeper * math.Tan(65*math.Pi/180)
	want := width / 0.4 * (f.Pattern - f.Ground)
	near(t, "change of light", after-before, want, 0.03*math.Abs(want))
	t.Logf("2 µm deeper: light of a pitch %.5f, before %.5f; shows from %+v", after, before, f.Reading)
	if v := f.Reading; !(v.Width > 0.3 && v.Width < 20 && v.Depth < v.Width && v.AsSet >= v.Width) {
		t.Errorf("a width error shows from %+v", v)
	}
	if f.Loupe.Width >= f.Reading.Width || f.Loupe.Place >= f.Reading.Place {
		t.Errorf("a loupe shows no smaller faults: %+v, %+v", f.Loupe, f.Reading)
	}
	near(t, "depth", f.Reading.Depth*2*math.Tan(65*math.Pi/180), f.Reading.Width, 1e-9)
	near(t, "share", f.Reading.Share*f.Width*1000, f.Reading.Width, 1e-9)
}

// The same where cuts run into one another: the crest that a deeper cut shares with its
// neighbour moves by half of what its edge on flat ground would, and the light of one
// flank takes the place of the other's.
func TestVisibleAtCrests(t *testing.T) {
	s := silver(t)
	s.Room, _ = light.RoomNamed("dark")
	s.Lamp.Azimuth, s.Lamp.Elevation = 0, 40*math.Pi/180
	const pitch, deeper = 0.1, 0.001
	p := lines(130, 0.04, pitch)
	shine, err := light.NewShine(s)
	if err != nil {
		t.Fatal(err)
	}
	from := p.Cuts[20].Pieces[0].Path[0].X - pitch // from the neighbour's root to the cut's own
	mean := func(p Piece) float64 { return meanOver(t, p, shine, from, pitch) }
	before := mean(p)
	for i := range p.Cuts[20].Pieces[0].Path {
		p.Cuts[20].Pieces[0].Path[i].Z -= deeper
	}
	c := 1 / math.Tan(65*math.Pi/180)
	moved := deeper * math.Tan(65*math.Pi/180) / 2
	want := moved / pitch * (shine.Of(false, -c, 0).Luminance() - shine.Of(false, c, 0).Luminance())
	near(t, "change of light at the crest", mean(p)-before, want, 0.03*math.Abs(want))
	f := look(t, lines(130, 0.04, pitch), s)
	if f.Lands || f.Contrast != nil {
		t.Errorf("ground is left between cuts that run together: %+v", f)
	}
	v := f.Reading
	near(t, "depth", v.Depth*math.Tan(65*math.Pi/180), v.Width, 1e-9)
	near(t, "share", v.Share*f.Width*1000, 2*v.Width, 1e-9)
	if !(v.Width > 0.3 && v.Width < 40 && v.Usual >= v.Width) {
		t.Errorf("a width error shows from %+v", v)
	}
}

// Every fault against the piece cut with it: the most that the light of any spot of
// the eye, slid over the fault, changes by. The model may say more where it takes both
// edges of a wide cut together, by no more than twice.
func TestFaultsAgainstPieces(t *testing.T) {
	s := silver(t)
	s.Room, _ = light.RoomNamed("dark")
	one := spot(ReadingDistance)
	for _, tt := range []struct {
		name                 string
		depth, pitch, height float64
		wide                 float64 // what the model may say at most, of a wider cut
	}{
		{"crests far closer than a spot", 0.04, 0.03, 40, 1.05},
		{"crests closer than a spot", 0.04, 0.06, 40, 1.05},
		{"crests wider than a spot", 0.05, 0.16, 40, 1.05},
		{"narrow cuts in ground", 0.01, 0.16, 40, 1.05},
		{"wide cuts in ground", 0.04, 0.4, 40, 2.1},
		{"wide cuts darker than ground", 0.04, 0.4, 80, 2.1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s.Lamp.Azimuth, s.Lamp.Elevation = 0, tt.height*math.Pi/180
			shine, err := light.NewShine(s)
			if err != nil {
				t.Fatal(err)
			}
			const cells, fault = 12000, 0.002
			span := 2*max(one, tt.pitch) + 4*one
			across := func(deeper, moved float64) []float64 {
				p := lines(130, tt.depth, tt.pitch)
				middle := p.Cuts[len(p.Cuts)/2].Pieces[0].Path
				g := surface.Grid{X0: middle[0].X - span/2, Cell: span / cells, Nx: cells, Ny: 1}
				for i := range middle {
					middle[i].X += moved
					middle[i].Z -= deeper
				}
				k, err := surface.NewCarver(p.Cuts, p.Cutter)
				if err != nil {
					t.Fatal(err)
				}
				row := make([]float64, cells)
				err = k.Bands(t.Context(), g, true, func(b surface.Band) error {
					for i := range row {
						x, y := g.At(i, 0)
						if b.Facet[i] < 0 {
							row[i] = shine.Of(true, 0, 0).Luminance()
						} else {
							dx, dy := k.Slope(b.Facet[i], x, y)
							row[i] = shine.Of(false, dx, dy).Luminance()
						}
					}
					return nil
				})
				if err != nil {
					t.Fatal(err)
				}
				return row
			}
			right := across(0, 0)
			most := func(wrong []float64) (top float64) { // change over a spot, times its width, by mm of the fault
				n, sum := int(one/span*cells), 0.0
				for i := range wrong {
					sum += wrong[i] - right[i]
					if i >= n {
						sum -= wrong[i-n] - right[i-n]
					}
					top = max(top, math.Abs(sum)*span/cells/fault)
				}
				return top
			}
			c := 1 / math.Tan(65*math.Pi/180)
			down, up, ground := shine.Of(false, -c, 0).Luminance(), shine.Of(false, c, 0).Luminance(), shine.Of(true, 0, 0).Luminance()
			width := 2 * tt.depth * math.Tan(65*math.Pi/180)
			e := eyeing{lands: width < tt.pitch, pitch: tt.pitch, width: width}
			wider, moved := e.changes(lamp{cuts: (down + up) / 2, ground: ground, flanks: math.Abs(down - up), edges: max(math.Abs(down-ground), math.Abs(up-ground))}, one)
			deeper := fault / 2 / math.Tan(65*math.Pi/180)
			if !e.lands {
				deeper *= 2 // crests take half
			}
			if got := most(across(deeper, 0)); !(wider >= 0.95*got && wider <= tt.wide*got) {
				t.Errorf("a wider cut changes %.4f, the model says %.4f", got, wider)
			}
			if got := most(across(0, fault)); !(math.Abs(moved-got) <= 0.05*got) {
				t.Errorf("a cut out of its place changes %.4f, the model says %.4f", got, moved)
			}
		})
	}
}

// A flash is a peak of its own: the skirt of what looks back at the eye from overhead
// is none, however bright.
func TestFlashBesideOverhead(t *testing.T) {
	w := new(ways)
	fill := func(height, wide, bright float64) {
		for h := range 90 {
			d := (float64(h) + 0.5 - height) / wide
			for a := range 360 {
				w[h*360+a] += bright * math.Exp(-d*d) * sines[h][1]
			}
		}
	}
	fill(90, 8, 20)
	if off, ok := flash(w); ok {
		t.Errorf("the skirt of overhead flashes %v° off the vertical", off)
	}
	fill(30, 6, 1)
	if off, ok := flash(w); !ok || math.Abs(off-60) > 0.5 {
		t.Errorf("it flashes %v° off the vertical (%v), want 60", off, ok)
	}
}

// The figures are the same on any number of cores, and there are none of a blank that
// is not cut.
func TestSameOnAnyCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var first string
	for _, n := range []int{1, 2, 5} {
		runtime.GOMAXPROCS(n)
		b, err := json.Marshal(look(t, lines(130, 0.05, 0.15), silver(t)))
		if err != nil {
			t.Fatal(err)
		}
		if first == "" {
			first = string(b)
		}
		if string(b) != first {
			t.Fatalf("%d cores give other figures than one", n)
		}
	}
	p := lines(130, 0.03, 0.4)
	p.Cuts = nil
	if f := look(t, p, silver(t)); f.Pattern != 0 || f.Reading.Width != 0 {
		t.Errorf("uncut metal has figures: %+v", f)
	}
}

// BenchmarkLook reckons all figures of a dial.
func BenchmarkLook(b *testing.B) {
	p := lines(130, 0.045, 0.156)
	p.Blank.Outline = blank.Shape{Form: blank.Disc, Diameter: 36}
	p.Cuts = nil
	for i := range 150 {
		path := make([]engine.Vertex, 769)
		for k := range path {
			t := 2 * math.Pi * float64(k) / 768
			r := 2 + 0.1*float64(i) + 0.08*math.Sin(24*t+math.Pi*float64(i))
			s, c := math.Sincos(t)
			path[k] = engine.Vertex{X: r * c, Y: r * s, Z: -0.045, Across: t}
		}
		p.Cuts = append(p.Cuts, engine.Cut{Number: i + 1, Pieces: []engine.Piece{{Path: path, Closed: true}}})
	}
	s := silver(b)
	for b.Loop() {
		look(b, p, s)
	}
}
