package export

import (
	"bufio"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// STL writes the solid as binary STL in millimetres: 80 bytes of text, the number
// of facets, and 50 bytes for each. The number is known before the first facet,
// so that the writer need not seek.
func STL(ctx context.Context, w io.Writer, s Solid) (SolidSummary, error) {
	_, n := s.counts()
	fail := func(err error) (SolidSummary, error) {
		return SolidSummary{}, fmt.Errorf("export: writing %q as STL: %w", s.solidName(), err)
	}
	if n > math.MaxUint32 {
		return fail(fmt.Errorf("it has %d facets, more than the format counts", n))
	}
	out := bufio.NewWriterSize(w, 1<<18)
	// A header that begins with "solid" would be taken for the text form.
	head := []byte(fmt.Sprintf("%-80s", "Binary STL, mm: "+ascii(s.solidName(), "")))[:80]
	head = binary.LittleEndian.AppendUint32(head, uint32(n))
	out.Write(head)
	var sum sums
	var origin [3]float64
	buf := make([]byte, 0, 50)
	err := s.facets(ctx, func(f facet) error {
		if sum.n == 0 {
			origin = [3]float64{float64(f[0][0]), float64(f[0][1]), float64(f[0][2])}
		}
		normal := sum.add(f, origin)
		buf = buf[:0]
		for _, v := range [4][3]float32{normal, f[0], f[1], f[2]} {
			for _, x := range v {
				buf = binary.LittleEndian.AppendUint32(buf, math.Float32bits(x))
			}
		}
		_, err := out.Write(append(buf, 0, 0))
		return err
	})
	if err != nil {
		return fail(err)
	}
	if sum.n != n {
		return fail(fmt.Errorf("%d facets were counted and %d came", n, sum.n))
	}
	if err := out.Flush(); err != nil {
		return fail(err)
	}
	return sum.summary("STL", s), nil
}
