package tracing

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/image/tiff"
)

// scene draws a picture of light 0 to 1 in which metal, dark, lies where inside says
// so, by exact cover down each of 16 columns in a pixel; inside gives, for a column
// x, the stretch of y that is metal.
func scene(w, h int, inside func(x float64) (from, to float64)) [][]float64 {
	v := make([][]float64, h)
	for y := range v {
		v[y] = make([]float64, w)
		for x := range v[y] {
			v[y][x] = 0.85
		}
	}
	const parts = 16
	for x := range w {
		for k := range parts {
			from, to := inside(float64(x) - 0.5 + (float64(k)+0.5)/parts)
			for y := max(int(from), 0); y < min(int(to)+2, h); y++ {
				cover := min(to, float64(y)+0.5) - max(from, float64(y)-0.5)
				v[y][x] -= 0.75 / parts * min(max(cover, 0), 1)
			}
		}
	}
	return v
}

// photographed blurs the light (Gauss, σ pixels), adds the camera's scatter and
// encodes it in 8 bit sRGB.
func photographed(v [][]float64, σ, noise float64, seed uint64) *image.Gray {
	h, w := len(v), len(v[0])
	var kernel []float64
	sum := 0.0
	r := int(4*σ) + 1
	for i := -r; i <= r; i++ {
		k := math.Exp(-float64(i*i) / (2 * σ * σ))
		kernel = append(kernel, k)
		sum += k
	}
	across := make([][]float64, h)
	for y := range v {
		across[y] = make([]float64, w)
		for x := range w {
			for i, k := range kernel {
				across[y][x] += k / sum * v[y][min(max(x+i-r, 0), w-1)]
			}
		}
	}
	scatter := rand.New(rand.NewPCG(seed, 1))
	m := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			l := 0.0
			for i, k := range kernel {
				l += k / sum * across[min(max(y+i-r, 0), h-1)][x]
			}
			l = min(max(l+noise*scatter.NormFloat64(), 0), 1)
			if l <= 0.0031308 {
				l *= 12.92
			} else {
				l = 1.055*math.Pow(l, 1/2.4) - 0.055
			}
			m.SetGray(x, y, color.Gray{Y: uint8(math.Round(l * 255))})
		}
	}
	return m
}

func encoded(t testing.TB, format string, m image.Image) string {
	t.Helper()
	var b bytes.Buffer
	var err error
	switch format {
	case "png":
		err = png.Encode(&b, m)
	case "jpg":
		err = jpeg.Encode(&b, m, &jpeg.Options{Quality: 95})
	case "tif":
		err = tiff.Encode(&b, m, &tiff.Options{Compression: tiff.Deflate})
	}
	if err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// A sine bar photographed at 0.05 mm to a pixel, turned by the base line, blurred
// and noisy, in three formats: within 0.1 pixel rms of what was there, everywhere.
func TestPhotoOfBar(t *testing.T) {
	const scale, tilt = 0.05, 0.03
	const wave, amplitude = 80.0, 10.0 // pixels
	sin, cos := math.Sincos(tilt)
	// The edge lies at the turned height −amplitude·sin(2πs/wave) about (40, 150):
	// found down each column by Newton's steps.
	edge := func(x float64) float64 {
		y := 150.0
		for range 30 {
			s, u := cos*(x-40)-sin*(y-150), sin*(x-40)+cos*(y-150)
			a := 2 * math.Pi / wave
			y -= (u + amplitude*math.Sin(a*s)) / (cos - sin*amplitude*a*math.Cos(a*s))
		}
		return y
	}
	v := scene(900, 300, func(x float64) (float64, float64) {
		if x < 40 || x > 860 {
			return 1, 0
		}
		return edge(x), 280
	})
	marks := [2]Pixel{{40, 150}, {40 + 800*cos, 150 - 800*sin}}
	for _, c := range []struct {
		format      string
		blur, noise float64
		rms         float64 // pixels
	}{{"png", 0.8, 0, 0.03}, {"png", 1.3, 0.02, 0.08}, {"tif", 1.0, 0.01, 0.05}, {"jpg", 1.0, 0.03, 0.1}} {
		m := photographed(v, c.blur, c.noise, 7)
		d, err := Read(strings.NewReader(encoded(t, c.format, m)), "bar."+c.format, Options{Photo: Photo{Marks: marks, Distance: 800 * scale, Base: &marks}})
		if err != nil {
			t.Fatal(err)
		}
		f := d.Photo
		if math.Abs(f.Scale-scale) > 1e-12 {
			t.Errorf("scale %g", f.Scale)
		}
		zero := 20.0
		got, err := d.Edge(Take{Repeat: Whole, Tolerance: 0.0005, Zero: &zero, Datum: new(float64)})
		if err != nil {
			t.Fatal(err)
		}
		p, err := got.Edge.Profile()
		if err != nil {
			t.Fatal(err)
		}
		sum, worst, n := 0.0, 0.0, 0
		for x := 0.5; x < 39.5; x += 0.01 { // of the base line's 40 mm
			h, _ := p.Height(x - zero)
			want := amplitude * scale * math.Sin(2*math.Pi*x/(wave*scale))
			sum += (h - want) * (h - want)
			worst = max(worst, math.Abs(h-want))
			n++
		}
		rms := math.Sqrt(sum/float64(n)) / scale
		t.Logf("%s blur %.1f noise %.2f: rms %.4f px, worst %.4f px; scatter %.4f px, smoothed over %.0f px, moved %.3f px",
			c.format, c.blur, c.noise, rms, worst/scale, f.Noise/scale, f.Over/scale, f.Moved/scale)
		if rms > c.rms || worst/scale > 6*c.rms {
			t.Errorf("rms %.4f px, worst %.4f px", rms, worst/scale)
		}
		if f.Moved > scale/2 {
			t.Errorf("smoothing moved it by %g px", f.Moved/scale)
		}
		again, err := d.Edge(Take{})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(again.Wave-wave*scale) > 2e-3 {
			t.Errorf("the wave is found as %g mm, is %g", again.Wave, wave*scale)
		}
	}
}

// A rosette of twelve bumps about a centre that no pixel is at.
func TestPhotoOfRosette(t *testing.T) {
	const scale, radius, amplitude, count = 0.1, 180.0, 6.0, 12
	cx, cy := 250.37, 249.61
	// By 16 × 16 places in a pixel, for the edge is no height over x.
	v := make([][]float64, 500)
	for y := range v {
		v[y] = make([]float64, 500)
		for x := range v[y] {
			in := 0
			if d := math.Hypot(float64(x)-cx, float64(y)-cy); math.Abs(d-radius) > amplitude+1 {
				if d < radius {
					in = 256
				}
				v[y][x] = 0.1 + 0.8*float64(in)/256
				continue
			}
			for k := range 256 {
				dx := float64(x) - 0.5 + (float64(k%16)+0.5)/16 - cx
				dy := float64(y) - 0.5 + (float64(k/16)+0.5)/16 - cy
				if math.Hypot(dx, dy) < radius+amplitude*math.Sin(count*math.Atan2(-dy, dx)) {
					in++
				}
			}
			v[y][x] = 0.1 + 0.8*float64(in)/256 // bright metal on dark ground
		}
	}
	text := encoded(t, "png", photographed(v, 1, 0.01, 3))
	d, err := Read(strings.NewReader(text), "r.png", Options{Photo: Photo{Marks: [2]Pixel{{0, 0}, {400, 300}}, Distance: 500 * scale, Origin: &Pixel{cx, cy}}})
	if err != nil {
		t.Fatal(err)
	}
	got, err := d.Edge(Take{Rosette: true, Centre: &Point{}})
	if err != nil {
		t.Fatal(err)
	}
	if got.Edge.Count != count || math.Abs(got.Edge.Radius-radius*scale) > 0.005 {
		t.Errorf("%d bumps at %g mm", got.Edge.Count, got.Edge.Radius)
	}
	p, err := got.Edge.Profile()
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for i := range 1000 {
		θ := 2 * math.Pi * float64(i) / 1000
		h, _ := p.Height(θ)
		d := (h - amplitude*scale*math.Sin(count*θ)) / scale
		sum += d * d
	}
	if rms := math.Sqrt(sum / 1000); rms > 0.1 {
		t.Errorf("rms %.4f px", rms)
	}
	// Its centre is found from its area too.
	own, err := d.Edge(Take{Rosette: true})
	if err != nil || own.Edge.Count != count {
		t.Fatal(own, err)
	}
}

// An outside tool draws the sine: rsvg-convert (librsvg), at 20 pixels to the mm.
func TestPhotoOfRsvg(t *testing.T) {
	tool, err := exec.LookPath("rsvg-convert")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("rsvg-convert is missing: install librsvg2-bin")
		}
		t.Skip("rsvg-convert is not here (Debian package librsvg2-bin)")
	}
	// 40 mm of a sine of 5 mm wave and 0.5 mm amplitude.
	var path strings.Builder
	path.WriteString("M5 20")
	for i := range 4001 {
		x := float64(i) / 100
		path.WriteString("L" + number(5+x) + " " + number(10-0.5*math.Sin(2*math.Pi*x/5)))
	}
	path.WriteString("L45 20z")
	dir := t.TempDir()
	file, out := filepath.Join(dir, "s.svg"), filepath.Join(dir, "s.png")
	svg := `<svg xmlns="http://www.w3.org/2000/svg" width="1000" height="500" viewBox="0 0 50 25"><rect width="50" height="25" fill="white"/><path d="` + path.String() + `"/></svg>`
	if err := os.WriteFile(file, []byte(svg), 0o600); err != nil {
		t.Fatal(err)
	}
	if text, err := exec.Command(tool, "-o", out, file).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	picture, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	// Pixel corners are at whole px of the drawing, so that x = 5 mm is at 99.5.
	marks := [2]Pixel{{99.5, 199.5}, {899.5, 199.5}}
	d, err := Read(bytes.NewReader(picture), "s.png", Options{Photo: Photo{Marks: marks, Distance: 40, Linear: true}})
	if err != nil {
		t.Fatal(err)
	}
	got, err := d.Edge(Take{Repeat: Whole, Zero: new(float64), Datum: new(float64), Tolerance: 0.0002})
	if err != nil {
		t.Fatal(err)
	}
	p, err := got.Edge.Profile()
	if err != nil {
		t.Fatal(err)
	}
	sum, worst, n := 0.0, 0.0, 0
	for x := 0.5; x < 39.5; x += 0.01 {
		h, _ := p.Height(x)
		e := h - 0.5*math.Sin(2*math.Pi*x/5)
		sum += e * e
		worst = max(worst, math.Abs(e))
		n++
	}
	rms := math.Sqrt(sum / float64(n))
	t.Logf("rms %.2f µm, worst %.2f µm at 50 µm to a pixel", rms*1000, worst*1000)
	if rms > 0.0025 || worst > 0.010 { // a twentieth of a pixel, a fifth
		t.Errorf("rms %.2f µm, worst %.2f µm", rms*1000, worst*1000)
	}
}

// Two levels: anything between parts them; the middle is taken. A picture of known
// shares has Otsu's threshold at the greatest variance between, found here by trying
// every step.
func TestOtsu(t *testing.T) {
	l := &light{100, 10, make([]uint16, 1000)}
	for i := range l.v {
		l.v[i] = 10000
		if i%3 == 0 {
			l.v[i] = 50000
		}
	}
	if got := l.threshold(); math.Abs(got-30000) > 128 {
		t.Errorf("two levels: %g", got)
	}
	r := rand.New(rand.NewPCG(1, 2))
	for i := range l.v {
		l.v[i] = uint16(min(max(12000+4000*r.NormFloat64(), 0), 65535))
		if i%4 == 0 {
			l.v[i] = uint16(min(max(40000+7000*r.NormFloat64(), 0), 65535))
		}
	}
	between := func(level float64) float64 {
		var n, s [2]float64
		for _, v := range l.v {
			k := 0
			if float64(v) >= level {
				k = 1
			}
			n[k]++
			s[k] += float64(v>>6)*64 + 32
		}
		if n[0] == 0 || n[1] == 0 {
			return 0
		}
		d := s[0]/n[0] - s[1]/n[1]
		return n[0] * n[1] * d * d
	}
	best := 0.0
	for level := 64.0; level < 65536; level += 64 {
		best = max(best, between(level))
	}
	level := math.Floor(l.threshold()/64) * 64
	if got := between(level); got < best*(1-1e-9) {
		t.Errorf("variance between the parts %g, tried out %g", got, best)
	}
}

func TestPhotoRefused(t *testing.T) {
	m := photographed(scene(60, 40, func(float64) (float64, float64) { return 20, 40 }), 1, 0, 1)
	sound := Photo{Marks: [2]Pixel{{0, 0}, {50, 0}}, Distance: 50}
	for _, c := range []struct {
		text   string
		change func(*Photo)
		words  string
	}{
		{"", func(o *Photo) { o.Marks[1] = Pixel{} }, "no scale"},
		{"", func(o *Photo) { o.Marks[1].X = math.NaN() }, "no scale"},
		{"", func(o *Photo) { o.Distance = 0 }, "cannot be 0 mm apart"},
		{"", func(o *Photo) { o.Threshold = 2 }, "no share"},
		{"", func(o *Photo) { o.Base = &[2]Pixel{} }, "base line"},
		{"", func(o *Photo) { o.Threshold = 0.99 }, "no edge"},
		{"", func(o *Photo) { o.Shortest = 500 }, "no edge"},
		{"\x89PNG\r\n\x1a\nrubbish", func(*Photo) {}, "cannot be read"},
		{encoded(t, "png", image.NewGray(image.Rect(0, 0, 4, 400))), func(*Photo) {}, "shows no edge"},
		{wide(t), func(*Photo) {}, "larger than"},
		{encoded(t, "png", m)[:100], func(*Photo) {}, "cannot be read"},
	} {
		o := sound
		c.change(&o)
		if c.text == "" {
			c.text = encoded(t, "png", m)
		}
		_, err := Read(strings.NewReader(c.text), "a.png", Options{Photo: o})
		if err == nil || !strings.Contains(err.Error(), c.words) {
			t.Errorf("got %v, want %q", err, c.words)
		}
	}
}

// wide is a picture whose header tells of 4·10⁹ pixels and that holds none.
func wide(t *testing.T) string {
	text := []byte(encoded(t, "png", image.NewGray(image.Rect(0, 0, 16, 16))))
	// IHDR begins at byte 16; its check is the CRC of PNG (ISO 3309).
	copy(text[16:], []byte{0, 0, 0xea, 0x60, 0, 0, 0xea, 0x60})
	sum := crc(text[12:29])
	copy(text[29:], []byte{byte(sum >> 24), byte(sum >> 16), byte(sum >> 8), byte(sum)})
	return string(text)
}

// A bar that runs out of the picture below, with specks of dust above it: the
// upright ends are cut off, the edge between them is found.
func TestPhotoRunsOut(t *testing.T) {
	const scale, wave = 0.04, 60.0
	v := scene(700, 200, func(x float64) (float64, float64) {
		if x < 50.3 || x > 649.6 {
			return 1, 0
		}
		return 100 - 8*math.Sin(2*math.Pi*(x-50)/wave), 400
	})
	for i := range 40 {
		for k := range 16 {
			v[10+i%5*7+k/4][30+i*15+k%4] = 0.1
		}
	}
	text := encoded(t, "png", photographed(v, 1, 0.01, 5))
	d, err := Read(strings.NewReader(text), "bar.png", Options{Photo: Photo{Marks: [2]Pixel{{50, 100}, {650, 100}}, Distance: 600 * scale}})
	if err != nil {
		t.Fatal(err)
	}
	e := edgeOf(t, d, Take{})
	tells(t, e.Remarks, "upright ends")
	if math.Abs(e.Wave-wave*scale) > 0.002 || d.Photo.Dust == 0 || e.Waves < 9.7 {
		t.Errorf("wave %g mm, %g of them, %d specks", e.Wave, e.Waves, d.Photo.Dust)
	}
	if w := worst(t, e.Edge, func(y float64) float64 { return 8 * scale * math.Sin(2*math.Pi*y/(wave*scale)) }, 0, wave*scale); w > 0.012 {
		t.Errorf("off by %g mm", w)
	}
}
