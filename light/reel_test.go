package light

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/png"
	"math"
	"testing"
	"time"
)

// Each frame of a film, taken out of the file as the standard has it, is the picture
// that its scene gives by itself.
func TestFilm(t *testing.T) {
	w := workloads()[1]
	k := carved(t, w.cuts, 130)
	v := Whole(w.blank, 90)
	scene := func(i int) Scene {
		s := DefaultScene(metal(t, "silver"))
		s.Lamp.Azimuth = float64(i) * math.Pi / 2
		s.Eye.Tilt = 0.05 * float64(i)
		return s
	}
	var b bytes.Buffer
	r, err := NewReel(&b, 4, 0, 120*time.Millisecond, v.Pixel(), "four lamps")
	if err != nil {
		t.Fatal(err)
	}
	if err := Film(t.Context(), v, k, w.blank, 4, scene, func(_ int, img *image.NRGBA) error { return r.Frame(img) }); err != nil {
		t.Fatal(err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	frames := unreel(t, b.Bytes())
	if len(frames) != 4 {
		t.Fatalf("%d frames", len(frames))
	}
	for i, f := range frames {
		want, err := Render(t.Context(), v, k, w.blank, scene(i), nil)
		if err != nil {
			t.Fatal(err)
		}
		for y := range v.H {
			for x := range v.W {
				r, g, b, _ := f.At(x, y).RGBA()
				if w := want.NRGBAAt(x, y); uint8(r>>8) != w.R || uint8(g>>8) != w.G || uint8(b>>8) != w.B {
					t.Fatalf("frame %d, pixel (%d, %d) is not that of the picture", i, x, y)
				}
			}
		}
	}
	// What knows no films sees the first frame.
	still, err := png.Decode(bytes.NewReader(b.Bytes()))
	if err != nil || still.Bounds() != frames[0].Bounds() {
		t.Errorf("as a still: %v", err)
	}
}

// unreel takes the frames out of an animated PNG, checking the order of its chunks
// and their numbers.
func unreel(t *testing.T, data []byte) (frames []image.Image) {
	t.Helper()
	var header []byte
	var stream []byte
	var next uint32
	var told int
	end := func() {
		if stream == nil {
			return
		}
		whole := append(bytes.Clone(data[:8]), header...)
		whole = append(whole, chunk("IDAT", stream)...)
		img, err := png.Decode(bytes.NewReader(append(whole, chunk("IEND", nil)...)))
		if err != nil {
			t.Fatal(err)
		}
		frames, stream = append(frames, img), nil
	}
	numbered := func(body []byte) []byte {
		if n := binary.BigEndian.Uint32(body); n != next {
			t.Fatalf("chunk numbered %d, want %d", n, next)
		}
		next++
		return body[4:]
	}
	for rest := data[8:]; len(rest) > 0; {
		n := binary.BigEndian.Uint32(rest)
		name, body := string(rest[4:8]), rest[8:8+n]
		if crc32.ChecksumIEEE(rest[4:8+n]) != binary.BigEndian.Uint32(rest[8+n:]) {
			t.Fatalf("check sum of %s", name)
		}
		switch name {
		case "IHDR":
			header = rest[:12+n]
		case "acTL":
			told = int(binary.BigEndian.Uint32(body))
		case "fcTL":
			end()
			body = numbered(body)
			if d := binary.BigEndian.Uint16(body[16:]); d != 120 || binary.BigEndian.Uint16(body[18:]) != 1000 {
				t.Errorf("a frame stands for %d", d)
			}
		case "IDAT":
			stream = append(stream, body...)
		case "fdAT":
			stream = append(stream, numbered(body)...)
		case "IEND":
			end()
		}
		rest = rest[12+n:]
	}
	if told != len(frames) {
		t.Errorf("it tells of %d frames and has %d", told, len(frames))
	}
	return frames
}

func TestReelRefuses(t *testing.T) {
	small, other := image.NewNRGBA(image.Rect(0, 0, 4, 4)), image.NewNRGBA(image.Rect(0, 0, 5, 4))
	for _, c := range []struct {
		frames, times int
		each          time.Duration
		pixel         float64
	}{{0, 0, time.Second, 1}, {2, -1, time.Second, 1}, {2, 0, 0, 1}, {2, 0, time.Hour, 1}, {2, 0, time.Second, 0}} {
		if _, err := NewReel(&bytes.Buffer{}, c.frames, c.times, c.each, c.pixel, ""); err == nil {
			t.Errorf("%+v was begun", c)
		}
	}
	r, err := NewReel(&bytes.Buffer{}, 2, 0, time.Second, 1, "")
	if err != nil || r.Frame(small) != nil {
		t.Fatal("a frame was refused", err)
	}
	if r.Frame(other) == nil {
		t.Error("a frame of another size was taken")
	}
	if r.Close() == nil {
		t.Error("a film that lacks a frame was ended")
	}
	if r.Frame(small) != nil || r.Frame(small) == nil {
		t.Error("a third frame of two was taken")
	}
	stop := errors.New("enough")
	w := workloads()[1]
	err = Film(t.Context(), Whole(w.blank, 20), carved(t, w.cuts, 130), w.blank, 3, func(int) Scene { return DefaultScene(metal(t, "silver")) },
		func(int, *image.NRGBA) error { return stop })
	if !errors.Is(err, stop) {
		t.Errorf("a film that was stopped: %v", err)
	}
}
