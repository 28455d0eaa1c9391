package light

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"time"
)

// Reel writes a film as an animated PNG (Portable Network Graphics, third edition,
// W3C 2025): what cannot show films shows the first frame. It holds one frame.
type Reel struct {
	w       io.Writer
	header  []byte // of the first frame, and so of all
	head    []byte // what stands between it and the first frame
	frames  int    // still to come
	size    image.Point
	control []byte // of every frame: size, place, how long it stands
	number  uint32 // of the next numbered chunk
	frame   bytes.Buffer
}

// NewReel begins a film of so many frames, each standing for the given time and the
// whole shown so many times, 0 for ever. For pixel and about see WritePNG.
func NewReel(w io.Writer, frames, times int, each time.Duration, pixel float64, about string) (*Reel, error) {
	if frames < 1 || frames > math.MaxInt32 || times < 0 || times > math.MaxInt32 {
		return nil, fmt.Errorf("a film of %d frames shown %d times cannot be written; give at least 1 frame, and 0 times for ever", frames, times)
	}
	ms := each.Milliseconds()
	if ms < 1 || ms > math.MaxUint16 {
		return nil, fmt.Errorf("a frame cannot stand for %v; give 1 ms to 65 s", each)
	}
	r := &Reel{w: w, frames: frames}
	head, err := opening(pixel, about)
	if err != nil {
		return nil, err
	}
	r.head = append(head, chunk("acTL", binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, uint32(frames)), uint32(times)))...)
	r.control = binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16(nil, uint16(ms)), 1000)
	r.control = append(r.control, 0, 0) // the next frame takes the place of all of this one
	return r, nil
}

// Frame writes the next frame. All frames have the size of the first.
func (r *Reel) Frame(img image.Image) error {
	if r.frames == 0 {
		return errors.New("writing a film: there are more frames than were told of")
	}
	r.frame.Reset()
	if err := png.Encode(&r.frame, img); err != nil {
		return fmt.Errorf("writing a film: %w", err)
	}
	first := r.header == nil
	if first {
		r.size = img.Bounds().Size()
		r.header = bytes.Clone(r.frame.Bytes()[:headerLength])
		if _, err := r.w.Write(append(r.header, r.head...)); err != nil {
			return err
		}
	} else if !bytes.Equal(r.header, r.frame.Bytes()[:headerLength]) {
		return fmt.Errorf("writing a film: a frame of %v pixels is of another kind than the first of %v", img.Bounds().Size(), r.size)
	}
	control := binary.BigEndian.AppendUint32(nil, r.next())
	control = binary.BigEndian.AppendUint32(control, uint32(r.size.X))
	control = binary.BigEndian.AppendUint32(control, uint32(r.size.Y))
	control = append(control, make([]byte, 8)...) // at the upper left
	if _, err := r.w.Write(chunk("fcTL", append(control, r.control...))); err != nil {
		return err
	}
	for data := r.frame.Bytes()[8:]; len(data) >= 12; {
		n := 12 + int(binary.BigEndian.Uint32(data))
		if string(data[4:8]) == "IDAT" {
			c := data[:n]
			if !first {
				c = chunk("fdAT", append(binary.BigEndian.AppendUint32(nil, r.next()), data[8:n-4]...))
			}
			if _, err := r.w.Write(c); err != nil {
				return err
			}
		}
		data = data[n:]
	}
	r.frames--
	return nil
}

func (r *Reel) next() uint32 {
	r.number++
	return r.number - 1
}

// Close ends the film; an error says that frames are missing or the end was not
// written.
func (r *Reel) Close() error {
	if r.frames > 0 {
		return fmt.Errorf("writing a film: %d frames are missing", r.frames)
	}
	_, err := r.w.Write(chunk("IEND", nil))
	return err
}
