package export

import (
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/vector"
	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/fault"
)

// MaxPixels is how many a drawing may have: 50 million take 250 MB to draw.
const MaxPixels = 50_000_000

const pixelLine = 0.12 // width of a line, mm, or a pixel and a half where that is more

// PNG writes the figure as a picture in grey at so many pixels to the millimetre,
// which the file tells (its pHYs chunk), with a scale of 10 mm below it.
func PNG(w io.Writer, f Figure, pixels float64) (Summary, error) {
	s, err := f.measure("PNG")
	if err != nil {
		return s, err
	}
	if !(pixels >= 0.5 && pixels <= 2000) {
		return s, fault.List{{Field: "pixels", Problem: fmt.Sprintf("%g pixels a millimetre make no picture", pixels), Mend: "give between 0.5 and 2000"}}
	}
	// The file holds whole pixels a metre.
	perMetre := math.Round(pixels * 1000)
	pixels = perMetre / 1000
	const margin = 2.0
	box := s.box()
	x0, y0 := box.Min.X-margin, box.Max.Y+margin
	wide := math.Ceil((max(box.Max.X-box.Min.X, 10) + 2*margin) * pixels)
	high := math.Ceil((box.Max.Y - box.Min.Y + 2*margin + 3) * pixels)
	if wide*high > MaxPixels {
		return s, fault.List{{Field: "pixels", Problem: fmt.Sprintf("the picture would have %.0f × %.0f pixels, more than %d million", wide, high, MaxPixels/1_000_000), Mend: "take fewer pixels a millimetre"}}
	}
	img := image.NewGray(image.Rect(0, 0, int(wide), int(high)))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	pen := newPen(int(wide), int(high), max(pixelLine*pixels, 1.5)/2)
	at := func(p r2.Vec) r2.Vec { return r2.Vec{X: (p.X - x0) * pixels, Y: (y0 - p.Y) * pixels} }
	draw := func(points []r2.Vec, closed bool) {
		for i := range points {
			j := i + 1
			if j == len(points) {
				if !closed {
					break
				}
				j = 0
			}
			pen.line(at(points[i]), at(points[j]))
		}
	}
	for l := range f.Lines {
		draw(l.Points(min(printed*4, 0.1/pixels)), l.Closed)
	}
	y := box.Min.Y - margin - 1
	draw([]r2.Vec{{X: box.Min.X, Y: y}, {X: box.Min.X + 10, Y: y}}, false)
	for i := range 11 {
		tick := 0.6
		if i%5 == 0 {
			tick = 1.2
		}
		draw([]r2.Vec{{X: box.Min.X + float64(i), Y: y}, {X: box.Min.X + float64(i), Y: y + tick}}, false)
	}
	pen.r.Draw(img, img.Bounds(), image.Black, image.Point{})
	if err := png.Encode(&withScale{w: w, perMetre: uint32(perMetre)}, img); err != nil {
		return s, fmt.Errorf("export: writing PNG of %q: %w", f.Name, err)
	}
	s.Counts["pixels wide"], s.Counts["pixels high"] = int(wide), int(high)
	s.Tolerance = max(s.Tolerance, 0.5/pixels)
	s.Remarks = append(s.Remarks, fmt.Sprintf("At 100 %% it is %.1f mm wide; the scale below is 10 mm.", wide/pixels))
	return s, nil
}

// pen draws lines with round ends by filling outlines that all turn one way, so
// that where they lie over one another the filling is the same.
type pen struct {
	r    *vector.Rasterizer
	half float64 // of the width, pixels
}

func newPen(w, h int, half float64) *pen { return &pen{vector.NewRasterizer(w, h), half} }

func (p *pen) line(a, b r2.Vec) {
	d := r2.Sub(b, a)
	n := r2.Norm(d)
	if n == 0 {
		return
	}
	u := r2.Scale(p.half/n, d)
	const steps = 4 // of half a turn
	first := true
	for end := range 2 {
		c, from := b, -math.Pi/2
		if end == 1 {
			c, from = a, math.Pi/2
		}
		for i := range steps + 1 {
			q := r2.Add(c, r2.Rotate(u, from+math.Pi*float64(i)/steps, r2.Vec{}))
			if first {
				p.r.MoveTo(float32(q.X), float32(q.Y))
				first = false
			} else {
				p.r.LineTo(float32(q.X), float32(q.Y))
			}
		}
	}
	p.r.ClosePath()
}

// withScale puts the pHYs chunk, pixels a metre, behind the header of a PNG file.
type withScale struct {
	w        io.Writer
	perMetre uint32
	gone     int
}

func (s *withScale) Write(b []byte) (int, error) {
	const header = 8 + 25 // signature and IHDR (PNG specification, 5.2 and 11.2.2; from memory)
	n := 0
	if s.gone < header {
		n = min(len(b), header-s.gone)
		if _, err := s.w.Write(b[:n]); err != nil {
			return 0, err
		}
		if s.gone += n; s.gone == header {
			var c [21]byte
			binary.BigEndian.PutUint32(c[0:], 9)
			copy(c[4:], "pHYs")
			binary.BigEndian.PutUint32(c[8:], s.perMetre)
			binary.BigEndian.PutUint32(c[12:], s.perMetre)
			c[16] = 1 // the unit is the metre
			binary.BigEndian.PutUint32(c[17:], crc32.ChecksumIEEE(c[4:17]))
			if _, err := s.w.Write(c[:]); err != nil {
				return n, err
			}
		}
	}
	m, err := s.w.Write(b[n:])
	return n + m, err
}
