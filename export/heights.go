package export

import (
	"bufio"
	"compress/zlib"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/fault"
	"brightcut/surface"
)

// HeightsOptions say which part of the surface becomes a picture of heights.
type HeightsOptions struct {
	Name   string
	Window r2.Box // in the frame of the work, mm
	Pixel  float64
}

// HeightsSummary tells what the grey levels mean.
type HeightsSummary struct {
	Format  string     `json:"format"` // "PNG, 16 bit"
	Name    string     `json:"name"`
	Width   int        `json:"width_px"`
	Height  int        `json:"height_px"`
	Pixel   float64    `json:"pixel_um"`
	Box     [4]float64 `json:"box_mm"`    // outer edges of the outermost pixels
	Black   float64    `json:"black_um"`  // height of the level 0: the deepest cut
	White   float64    `json:"white_um"`  // height of the level 65535: the uncut surface
	Level   float64    `json:"level_um"`  // height of one level
	Lowest  float64    `json:"lowest_um"` // found in the window
	Highest float64    `json:"highest_um"`
}

// MaxHeightsPixels is the largest picture of heights, and maxHeightsSide its
// longest side.
const (
	MaxHeightsPixels = 1 << 30
	maxHeightsSide   = 1 << 16
)

// Heights writes the surface that the cuts leave in flat stock as a PNG of 16-bit
// grey levels, linear in height, white being the uncut surface. The height of a
// pixel is that at its middle; x runs to the right and y upwards. The scale stands
// in the file too, as a comment. (PNG: ISO/IEC 15948, from memory.)
func Heights(ctx context.Context, w io.Writer, cuts []engine.Cut, c cutter.Cutter, opts HeightsOptions) (HeightsSummary, error) {
	width, height := opts.Window.Max.X-opts.Window.Min.X, opts.Window.Max.Y-opts.Window.Min.Y
	far := max(math.Abs(opts.Window.Min.X), math.Abs(opts.Window.Min.Y), math.Abs(opts.Window.Max.X), math.Abs(opts.Window.Max.Y))
	if !(width > 0 && height > 0 && far <= 10000) {
		return HeightsSummary{}, fault.List{{Field: "window", Problem: "it is no window on the work", Mend: "give its left, lower, right and upper edge in mm"}}
	}
	nx, ny := math.Round(width/opts.Pixel), math.Round(height/opts.Pixel)
	if !(opts.Pixel > 0 && nx >= 1 && ny >= 1 && nx <= maxHeightsSide && ny <= maxHeightsSide && nx*ny <= MaxHeightsPixels) {
		return HeightsSummary{}, fault.List{{Field: "pixel", Problem: fmt.Sprintf("pixels of %g um make a picture of %.4g × %.4g of them", opts.Pixel*1000, nx, ny),
			Mend: fmt.Sprintf("choose them so that no side has more than %d and the picture not more than %d", maxHeightsSide, MaxHeightsPixels)}}
	}
	deep := deepestTip(cuts)
	if !(deep > 0) {
		deep = 0.001 // nothing is cut: all is white whatever the scale
	}
	carver, err := surface.NewCarver(cuts, c)
	if err != nil {
		return HeightsSummary{}, err
	}
	s := HeightsSummary{Format: "PNG, 16 bit", Name: opts.Name, Width: int(nx), Height: int(ny), Pixel: opts.Pixel * 1000,
		Box:   [4]float64{opts.Window.Min.X, opts.Window.Min.Y, opts.Window.Min.X + nx*opts.Pixel, opts.Window.Min.Y + ny*opts.Pixel},
		Black: -deep * 1000, Level: deep * 1000 / math.MaxUint16, Lowest: math.Inf(1), Highest: math.Inf(-1)}
	p := &pngWriter{w: bufio.NewWriterSize(w, 1<<16)}
	p.begin(s)
	chunks := bufio.NewWriterSize(p, 1<<16) // one chunk a fill
	z := zlib.NewWriter(chunks)
	row := make([]byte, 1+2*s.Width)
	const lines = 256 // carved at a time
	for top := s.Height; top > 0; top -= lines {
		low := max(0, top-lines)
		f, err := surface.NewField(surface.Grid{X0: s.Box[0] + opts.Pixel/2, Y0: s.Box[1] + (float64(low)+0.5)*opts.Pixel, Cell: opts.Pixel, Nx: s.Width, Ny: top - low})
		if err == nil {
			err = carver.Carve(ctx, f)
		}
		if err != nil {
			return HeightsSummary{}, fmt.Errorf("export: carving the heights of %q: %w", opts.Name, err)
		}
		for j := f.Ny - 1; j >= 0; j-- {
			s.line(row, f.Row(j), deep)
			if _, err := z.Write(row); err != nil {
				return HeightsSummary{}, fmt.Errorf("export: writing the heights of %q: %w", opts.Name, err)
			}
		}
	}
	err = errors.Join(z.Close(), chunks.Flush(), p.end())
	if err != nil {
		return HeightsSummary{}, fmt.Errorf("export: writing the heights of %q: %w", opts.Name, err)
	}
	return s, nil
}

// line fills a row of the picture: the filter "left" and, of every level, what it
// differs from its left neighbour's by, byte for byte.
func (s *HeightsSummary) line(row []byte, z []float32, deep float64) {
	row[0] = 1
	var left [2]byte
	for i, h := range z {
		s.Lowest, s.Highest = min(s.Lowest, float64(h)*1000), max(s.Highest, float64(h)*1000)
		v := uint16(math.Round(max(0, min(1, 1+float64(h)/deep)) * math.MaxUint16))
		hi, lo := byte(v>>8), byte(v)
		row[1+2*i], row[2+2*i] = hi-left[0], lo-left[1]
		left = [2]byte{hi, lo}
	}
}

// pngWriter frames what it is given as chunks of image data.
type pngWriter struct{ w *bufio.Writer }

func (p *pngWriter) chunk(kind string, data []byte) error {
	var b [4]byte
	binary.BigEndian.PutUint32(b[:], uint32(len(data)))
	p.w.Write(b[:])
	sum := crc32.NewIEEE()
	to := io.MultiWriter(p.w, sum)
	io.WriteString(to, kind)
	to.Write(data)
	binary.BigEndian.PutUint32(b[:], sum.Sum32())
	_, err := p.w.Write(b[:])
	return err
}

func (p *pngWriter) Write(b []byte) (int, error) { return len(b), p.chunk("IDAT", b) }

func (p *pngWriter) begin(s HeightsSummary) {
	p.w.WriteString("\x89PNG\r\n\x1a\n")
	head := binary.BigEndian.AppendUint32(nil, uint32(s.Width))
	head = binary.BigEndian.AppendUint32(head, uint32(s.Height))
	p.chunk("IHDR", append(head, 16, 0, 0, 0, 0))
	if perMetre := math.Round(1e6 / s.Pixel); perMetre >= 1 && perMetre < 1<<31 {
		size := binary.BigEndian.AppendUint32(nil, uint32(perMetre))
		size = binary.BigEndian.AppendUint32(size, uint32(perMetre))
		p.chunk("pHYs", append(size, 1))
	}
	p.chunk("tEXt", []byte("Title\x00"+ascii(s.Name, "")))
	p.chunk("tEXt", []byte("Comment\x00"+fmt.Sprintf("Heights, linear: level 0 is %.4f um, level 65535 is 0 um, the uncut surface; %.6g um a level. Pixels of %g um; x to the right, y upwards, the lower left corner at (%g, %g) mm.",
		s.Black, s.Level, s.Pixel, s.Box[0], s.Box[1])))
}

func (p *pngWriter) end() error {
	p.chunk("IEND", nil)
	return p.w.Flush()
}
