package light

import (
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/png"
	"io"
	"math"
)

// WritePNG writes a picture as PNG (ISO/IEC 15948), stating that its colours are
// sRGB and how large a pixel is on the work, mm, so that the picture prints at
// true size, and what it shows if about is not empty. The same picture gives the
// same bytes.
func WritePNG(w io.Writer, img image.Image, pixel float64, about string) error {
	chunks, err := opening(pixel, about)
	if err != nil {
		return err
	}
	if err := png.Encode(&inserter{w: w, chunks: chunks}, img); err != nil {
		return fmt.Errorf("writing a PNG: %w", err)
	}
	return nil
}

// opening is the chunks that stand behind a PNG's header: its colour space, its size
// and what it shows.
func opening(pixel float64, about string) ([]byte, error) {
	if !(pixel > 0) || math.IsInf(pixel, 0) {
		return nil, fmt.Errorf("writing a PNG: %v mm is no size of a pixel; give a length above 0", pixel)
	}
	perMetre := math.Round(1000 / pixel)
	if perMetre < 1 || perMetre > math.MaxInt32 {
		return nil, fmt.Errorf("writing a PNG: a pixel of %v mm cannot be stated in whole pixels per metre", pixel)
	}
	var physical [9]byte
	binary.BigEndian.PutUint32(physical[0:], uint32(perMetre))
	binary.BigEndian.PutUint32(physical[4:], uint32(perMetre))
	physical[8] = 1 // the unit is the metre
	const perceptual = 0
	chunks := append(chunk("sRGB", []byte{perceptual}), chunk("pHYs", physical[:])...)
	if about != "" {
		text := []byte("Description\x00")
		for _, r := range about {
			if r > 0xff || r == 0 {
				r = '?' // the standard's text is Latin-1
			}
			text = append(text, byte(r))
		}
		chunks = append(chunks, chunk("tEXt", text)...)
	}
	return chunks, nil
}

// chunk is a PNG chunk: length, name, data and their check sum.
func chunk(name string, data []byte) []byte {
	c := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	c = append(c, name...)
	c = append(c, data...)
	return binary.BigEndian.AppendUint32(c, crc32.ChecksumIEEE(c[4:]))
}

// inserter passes a PNG file on with chunks put in behind its header, where the
// standard wants those that govern colour and size.
type inserter struct {
	w      io.Writer
	passed int
	chunks []byte // nil once they are written
}

// headerLength is that of the signature and the IHDR chunk.
const headerLength = 8 + 4 + 4 + 13 + 4

func (i *inserter) Write(b []byte) (int, error) {
	n := 0
	if i.chunks != nil {
		head := min(len(b), headerLength-i.passed)
		m, err := i.w.Write(b[:head])
		n, i.passed = n+m, i.passed+m
		if err != nil {
			return n, err
		}
		if i.passed < headerLength {
			return n, nil
		}
		if _, err := i.w.Write(i.chunks); err != nil {
			return n, err
		}
		i.chunks = nil
		b = b[head:]
	}
	m, err := i.w.Write(b)
	return n + m, err
}
