package light

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/png"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
	"brightcut/engine"
	"brightcut/fault"
)

// furrow is one straight groove along y, 1 mm deep in the middle of the work.
func furrow() []engine.Cut {
	return []engine.Cut{{Number: 1, Pieces: []engine.Piece{{Path: []engine.Vertex{{Y: -9, Z: -1}, {Y: 9, Z: -1}}}}}}
}

var plate = &blank.Blank{Thickness: 2, Outline: blank.Shape{Form: blank.Rectangle, Width: 12, Height: 10},
	Windows: []blank.Window{{Open: true, Shape: blank.Shape{Form: blank.Disc, Diameter: 2, Centre: r2.Vec{X: 4, Y: 3}}}}}

func shown(t *testing.T, v View, cuts []engine.Cut, included float64, name string, l Lamp) *image.NRGBA {
	t.Helper()
	img, err := Render(t.Context(), v, carved(t, cuts, included), plate, lit(t, name, l), nil)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

func lit(t testing.TB, name string, l Lamp) Scene {
	s := DefaultScene(metal(t, name))
	s.Lamp = l
	return s
}

// A groove of 130°, 1 mm deep, is 4.29 mm wide: each flank, the plain metal, the
// window and what lies round the piece are read back pixel by pixel.
func TestPixelsOfAGroove(t *testing.T) {
	v := View{W: 57, H: 47, Width: 14.25, Samples: 4} // a quarter of a mm a pixel
	img := shown(t, v, furrow(), 130, "gold", DefaultLamp)
	scene := DefaultScene(metal(t, "gold"))
	s, at := newSheens(scene), scene.nearness()
	cot := 1 / math.Tan(65*math.Pi/180)
	byteOf := func(l float64) uint8 { return uint8(255*encode(l) + 0.5) }
	for _, c := range []struct {
		what   string
		x, y   float64
		gx, gy float64
		ground bool
	}{
		{"left flank, low", -0.5, 0, -cot, 0, false},
		{"left flank, high", -1.5, 3, -cot, 0, false},
		{"right flank", 1, -2.25, cot, 0, false},
		{"right flank, high", 1.5, 2.5, cot, 0, false},
		{"plain, left", -4, 2, 0, 0, false},
		{"plain, right", 3.5, -3, 0, 0, false},
		{"window", 4, 3, 0, 0, true},
		{"outside", -6.75, 0, 0, 0, true},
		{"outside, above", 0, 5.5, 0, 0, true},
	} {
		px, py := int(math.Round(28+4*c.x)), int(math.Round(23-4*c.y))
		want := groundLight
		if !c.ground {
			sheen := s.cut
			if c.gx == 0 {
				sheen = s.land
			}
			e := sheen.at(at.seen(float32(c.gx), float32(c.gy), c.x, c.y))
			want = tone(RGB{float64(e[0]), float64(e[1]), float64(e[2])})
		}
		got := img.NRGBAAt(px, py)
		for q, w := range [3]float64{want.R, want.G, want.B} {
			g := [3]uint8{got.R, got.G, got.B}[q]
			if d := int(g) - int(byteOf(w)); d < -1 || d > 1 || got.A != 255 {
				t.Errorf("%s, pixel (%d, %d): component %d is %d, want %d", c.what, px, py, q, g, byteOf(w))
			}
		}
	}
	l, r := img.NRGBAAt(24, 23), img.NRGBAAt(32, 23)
	if d := int(l.G) - int(r.G); d > -20 && d < 20 {
		t.Errorf("the flanks at %v and %v cannot be told apart", l, r)
	}
}

// flank is the picture of a patch of one flank beside the middle of the work,
// where the eye stands straight above: side −1 is the left flank, which rises to
// the left and so faces right.
func flank(t *testing.T, included float64, l Lamp, side float64) float64 {
	v := View{Centre: r2.Vec{X: 0.2 * side}, W: 3, H: 3, Width: 0.1, Samples: 2}
	p := shown(t, v, furrow(), included, "silver", l).NRGBAAt(1, 1)
	return float64(p.R) + float64(p.G) + float64(p.B)
}

// A flank tilted t from the surface flashes to an eye on the normal when the lamp
// stands 2t off it: t = 90° − half the included angle, so 50° for a 130° cutter
// and 30° for 150° (law of reflection).
func TestFlash(t *testing.T) {
	for _, c := range []struct{ included, want float64 }{{130, 50}, {150, 30}, {120, 60}} {
		var dim, sum, moment float64 = math.Inf(1), 0, 0
		var seen [13]float64
		for i := range seen {
			off := c.want + float64(3*(i-6))
			seen[i] = flank(t, c.included, Lamp{Azimuth: 0, Elevation: (90 - off) * math.Pi / 180}, -1)
			dim = min(dim, seen[i])
		}
		for i, s := range seen {
			sum += s - dim
			moment += (s - dim) * (c.want + float64(3*(i-6)))
		}
		if sum < 200 {
			t.Errorf("%v°: no flash: %v", c.included, seen)
		}
		near1(t, "flash", moment/sum, c.want, 1.5)
	}
}

// A lamp carried to its mirror image across the groove makes the two flanks change
// places: the one it now faces is the brighter, and gains what the other loses. The
// room has two sides of its own, but its light does not move, so in radiance, which
// adds up, the gain and the loss are one but for the choice of facets.
func TestLampMovedAcross(t *testing.T) {
	cot := 1 / math.Tan(65*math.Pi/180)
	nx := cot / math.Hypot(1, cot) // of the left flank, which faces right
	for _, azimuth := range []float64{0, 0.2, -0.2} {
		right := Lamp{Azimuth: azimuth, Elevation: 40 * math.Pi / 180}
		left := Lamp{Azimuth: math.Pi - azimuth, Elevation: 40 * math.Pi / 180}
		if l, r := flank(t, 130, right, -1), flank(t, 130, right, 1); l <= r {
			t.Errorf("lamp on the right at %v: the flank that faces it has %v levels, the other %v", azimuth, l, r)
		}
		if l, r := flank(t, 130, left, -1), flank(t, 130, left, 1); l >= r {
			t.Errorf("lamp on the left at %v: the flank that faces it has %v levels, the other %v", azimuth, r, l)
		}
		a, b := newShader(lit(t, "silver", right), 4000), newShader(lit(t, "silver", left), 4000)
		gain := a.radiance(a.flank(nx, 0)).G - b.radiance(b.flank(nx, 0)).G
		loss := b.radiance(b.flank(-nx, 0)).G - a.radiance(a.flank(-nx, 0)).G
		if !(gain > 0) {
			t.Errorf("lamp from left to right at %v: the flank that then faces it gains %v", azimuth, gain)
		}
		near1(t, "loss of the other flank", loss, gain, 0.001*gain)
	}
}

// Runs of samples against working out each by itself, in the picture of a whole
// dial and in a loupe's view: slope and light of every sample, the light in levels
// of 255.
func TestRunsAgainstSamples(t *testing.T) {
	level := func(l float32) float64 {
		c := tone(RGB{R: float64(l)})
		return 255 * encode(c.R)
	}
	scene := DefaultScene(metal(t, "silver"))
	for _, across := range []float64{38.9, 38.9 / 8} {
		for _, w := range workloads() {
			v := Whole(w.blank, 1200)
			v.Centre.Y += across / 20
			v.Width, v.H = across, 10
			k := carved(t, w.cuts, 130)
			p := newPicture(v, k, w.blank, scene)
			p.hold(true)
			if err := p.fill(t.Context(), nil); err != nil {
				t.Fatal(err)
			}
			worker, l, s := newWorker(p), newLine(v.across()), &p.lines
			var slope, worst, sum, n float64
			for row := range v.H {
				worker.begin(row)
				j := 1 + (v.H-row)*v.Samples
				worker.shade(&l, j)
				y := s.Y0 + float64(j)*s.Cell
				for i, f := range l.facet {
					x := s.X0 + float64(i)*s.Cell
					if f < 0 || p.ground.Distance(r2.Vec{X: x, Y: y}) > -bevelWidth {
						continue
					}
					gx, gy := k.Slope(f, x, y)
					slope = max(slope, math.Hypot(float64(l.gx[i])-gx, float64(l.gy[i])-gy))
					for q, want := range p.cut.at(p.near.seen(float32(gx), float32(gy), x, y)) {
						d := math.Abs(level(l.own[i][q]) - level(want))
						worst, sum, n = max(worst, d), sum+d*d, n+1
					}
				}
			}
			rms := math.Sqrt(sum / n)
			t.Logf("%s, %.3g mm across: slopes off by up to %.5f, light by up to %.2f levels, rms %.3f", w.name, across, slope, worst, rms)
			if !(slope < 0.001 && worst < 3 && rms < 0.1) {
				t.Errorf("%s, %.3g mm across: slopes off by up to %.5f, light by up to %.2f levels, rms %.3f", w.name, across, slope, worst, rms)
			}
		}
	}
}

func TestWhole(t *testing.T) {
	b := &blank.Blank{Outline: blank.Shape{Form: blank.Rectangle, Width: 30, Height: 20, Centre: r2.Vec{X: 3, Y: -2}}}
	v := Whole(b, 1200)
	if v.W != 1200 || v.Check() != nil || v.Centre != (r2.Vec{X: 3, Y: -2}) {
		t.Errorf("a view of %+v", v)
	}
	near1(t, "width", v.Width, 32.4, 1e-9)
	near1(t, "height", v.Pixel()*float64(v.H), 22.4, v.Pixel())
	b.Outline.Width, b.Outline.Height = 20, 30
	v = Whole(b, 1200)
	near1(t, "upright", v.Pixel()*float64(v.H), 32.4, 1e-9)
	near1(t, "upright width", v.Width, 22.4, v.Pixel())
}

func TestViewAndLampRefused(t *testing.T) {
	good := View{Width: 10, W: 100, H: 50, Samples: 4}
	for field, change := range map[string]func(*View){
		"pixels":    func(v *View) { v.H = 0 },
		"pixels ":   func(v *View) { v.W, v.H = 20_000, 20_000 },
		"width":     func(v *View) { v.Width = math.NaN() },
		"width ":    func(v *View) { v.Width = -1 },
		"width  ":   func(v *View) { v.Width = 1e-9 },
		"samples":   func(v *View) { v.Samples = 0 },
		"samples ":  func(v *View) { v.Samples = 33 },
		"samples  ": func(v *View) { v.W, v.H, v.Samples = 30_000, 10, 16 },
		"centre":    func(v *View) { v.Centre.Y = math.Inf(1) },
	} {
		v := good
		change(&v)
		_, err := Render(t.Context(), v, carved(t, furrow(), 130), plate, lit(t, "silver", DefaultLamp), nil)
		var list fault.List
		if !errors.As(err, &list) || list[0].Field != strings.TrimSpace(field) || list[0].Mend == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
	for _, l := range []Lamp{{}, {Elevation: -1}, {Elevation: 2}, {Azimuth: math.NaN(), Elevation: 1}, {Elevation: math.NaN()}, {Azimuth: math.Inf(1), Elevation: 1}} {
		_, err := Render(t.Context(), good, carved(t, furrow(), 130), plate, lit(t, "silver", l), nil)
		var list fault.List
		if !errors.As(err, &list) {
			t.Errorf("lamp %v: %v", l, err)
		}
	}
}

func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	v := View{Width: 10, W: 600, H: 6000, Samples: 4}
	_, err := Render(ctx, v, carved(t, furrow(), 130), plate, lit(t, "silver", DefaultLamp), func(done, total int) {
		if done >= total || total != 6000 {
			t.Errorf("told of %d of %d", done, total)
		}
		cancel()
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func TestWritePNG(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 5, 3))
	for i := range img.Pix {
		img.Pix[i] = uint8(37*i + 11)
		if i%4 == 3 {
			img.Pix[i] = 255
		}
	}
	var b, again bytes.Buffer
	if err := WritePNG(&b, img, 0.02, ""); err != nil {
		t.Fatal(err)
	}
	if err := WritePNG(&again, img, 0.02, ""); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Errorf("not the same bytes again (%v)", err)
	}
	back, err := png.Decode(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	for y := range 3 {
		for x := range 5 {
			r, g, bl, _ := back.At(x, y).RGBA()
			w := img.NRGBAAt(x, y)
			if uint8(r>>8) != w.R || uint8(g>>8) != w.G || uint8(bl>>8) != w.B {
				t.Errorf("pixel (%d, %d) came back changed", x, y)
			}
		}
	}
	// ISO/IEC 15948, 5.6: sRGB and pHYs stand before IDAT.
	var names []string
	for data := b.Bytes()[8:]; len(data) > 0; {
		n := binary.BigEndian.Uint32(data)
		name, body := string(data[4:8]), data[8:8+n]
		if sum := binary.BigEndian.Uint32(data[8+n:]); sum != crc32.ChecksumIEEE(data[4:8+n]) {
			t.Errorf("check sum of %s", name)
		}
		if name == "pHYs" && !bytes.Equal(body, []byte{0, 0, 0xC3, 0x50, 0, 0, 0xC3, 0x50, 1}) {
			t.Errorf("pHYs %v is not 50000 pixels a metre", body)
		}
		names = append(names, name)
		data = data[12+n:]
	}
	if got := strings.Join(names, " "); got != "IHDR sRGB pHYs IDAT IEND" {
		t.Errorf("chunks %s", got)
	}
	for _, pixel := range []float64{0, -1, math.NaN(), math.Inf(1), 1e9, 1e-12} {
		if err := WritePNG(&b, img, pixel, ""); err == nil {
			t.Errorf("a pixel of %v mm was written", pixel)
		}
	}
	for room := range 120 {
		if err := WritePNG(&full{room}, img, 0.02, ""); err == nil || !errors.Is(err, errFull) {
			t.Errorf("a disk full after %d bytes: %v", room, err)
			break
		}
	}
}

var errFull = errors.New("disk full")

type full struct{ room int }

func (f *full) Write(b []byte) (int, error) {
	if len(b) > f.room {
		n := f.room
		f.room = 0
		return n, errFull
	}
	f.room -= len(b)
	return len(b), nil
}
