package export

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"strconv"
)

// OBJ writes the solid as the text of vertices and faces that modelling programs
// read. The format has no units; these are millimetres.
func OBJ(ctx context.Context, w io.Writer, s Solid) (SolidSummary, error) {
	sum, err := measure(ctx, s)
	if err != nil {
		return SolidSummary{}, fmt.Errorf("export: measuring %q: %w", s.solidName(), err)
	}
	o := bufio.NewWriterSize(w, 1<<18)
	o.WriteString("# millimetres\no " + ascii(s.solidName(), " ") + "\n")
	var b []byte
	err = s.vertices(ctx, func(p [3]float32) error {
		b = append(b[:0], 'v')
		for _, x := range p {
			b = appendCoordinate(append(b, ' '), x)
		}
		_, err := o.Write(append(b, '\n'))
		return err
	})
	if err == nil {
		err = s.triangles(ctx, func(v1, v2, v3 int) error {
			b = append(b[:0], 'f')
			for _, v := range [3]int{v1, v2, v3} {
				b = strconv.AppendInt(append(b, ' '), int64(v)+1, 10)
			}
			_, err := o.Write(append(b, '\n'))
			return err
		})
	}
	if err == nil {
		err = o.Flush()
	}
	if err != nil {
		return SolidSummary{}, fmt.Errorf("export: writing %q as OBJ: %w", s.solidName(), err)
	}
	return sum.summary("OBJ", s), nil
}
