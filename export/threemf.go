package export

import (
	"archive/zip"
	"bufio"
	"context"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// The parts of a 3MF file that are the same for every model (3MF core
// specification 1.4.0 and the packaging conventions it rests on, from memory;
// held by foreign readers in the tests).
const (
	contentTypes = xml.Header + `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">` +
		`<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>` +
		`<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>` + "\n"
	relationships = xml.Header + `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">` +
		`<Relationship Target="/3D/3dmodel.model" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>` + "\n"
)

// ThreeMF writes the solid as a 3MF model in millimetres: vertices first, then the
// triangles that name them.
func ThreeMF(ctx context.Context, w io.Writer, s Solid) (SolidSummary, error) {
	sum, err := measure(ctx, s)
	if err != nil {
		return SolidSummary{}, fmt.Errorf("export: measuring %q: %w", s.solidName(), err)
	}
	z := zip.NewWriter(w)
	for _, part := range []struct {
		name  string
		write func(*bufio.Writer) error
	}{
		{"[Content_Types].xml", func(o *bufio.Writer) error { o.WriteString(contentTypes); return nil }},
		{"_rels/.rels", func(o *bufio.Writer) error { o.WriteString(relationships); return nil }},
		{"3D/3dmodel.model", func(o *bufio.Writer) error { return model(ctx, o, s) }},
	} {
		// A fixed day, so that the same model gives the same bytes.
		f, err := z.CreateHeader(&zip.FileHeader{Name: part.name, Method: zip.Deflate, Modified: time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)})
		if err == nil {
			out := bufio.NewWriterSize(f, 1<<18)
			if err = part.write(out); err == nil {
				err = out.Flush()
			}
		}
		if err != nil {
			return SolidSummary{}, fmt.Errorf("export: writing %q as 3MF: %w", s.solidName(), err)
		}
	}
	if err := z.Close(); err != nil {
		return SolidSummary{}, fmt.Errorf("export: writing %q as 3MF: %w", s.solidName(), err)
	}
	return sum.summary("3MF", s), nil
}

// measure walks the solid once.
func measure(ctx context.Context, s Solid) (*sums, error) {
	var sum sums
	var origin [3]float64
	err := s.facets(ctx, func(f facet) error {
		if sum.n == 0 {
			origin = [3]float64{float64(f[0][0]), float64(f[0][1]), float64(f[0][2])}
		}
		sum.add(f, origin)
		return nil
	})
	return &sum, err
}

func model(ctx context.Context, o *bufio.Writer, s Solid) error {
	o.WriteString(xml.Header)
	o.WriteString(`<model unit="millimeter" xml:lang="en" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">` + "\n")
	title := escaped(s.solidName())
	o.WriteString(`<metadata name="Title">` + title + "</metadata>\n<resources><object id=\"1\" type=\"model\" name=\"" + title + "\"><mesh><vertices>\n")
	var b []byte
	if err := s.vertices(ctx, func(p [3]float32) error {
		b = append(b[:0], `<vertex x="`...)
		b = appendCoordinate(b, p[0])
		b = append(b, `" y="`...)
		b = appendCoordinate(b, p[1])
		b = append(b, `" z="`...)
		b = appendCoordinate(b, p[2])
		b = append(b, "\"/>\n"...)
		_, err := o.Write(b)
		return err
	}); err != nil {
		return err
	}
	o.WriteString("</vertices><triangles>\n")
	if err := s.triangles(ctx, func(v1, v2, v3 int) error {
		b = append(b[:0], `<triangle v1="`...)
		b = strconv.AppendInt(b, int64(v1), 10)
		b = append(b, `" v2="`...)
		b = strconv.AppendInt(b, int64(v2), 10)
		b = append(b, `" v3="`...)
		b = strconv.AppendInt(b, int64(v3), 10)
		b = append(b, "\"/>\n"...)
		_, err := o.Write(b)
		return err
	}); err != nil {
		return err
	}
	o.WriteString(`</triangles></mesh></object></resources><build><item objectid="1"/></build></model>` + "\n")
	return nil
}

// appendCoordinate writes the shortest text that gives the same float32 back.
func appendCoordinate(b []byte, x float32) []byte {
	if x == 0 {
		x = 0 // without the sign of nothing
	}
	return strconv.AppendFloat(b, float64(x), 'f', -1, 32)
}

// escaped is a name as XML text.
func escaped(name string) string {
	var b strings.Builder
	if !utf8.ValidString(name) {
		name = strings.ToValidUTF8(name, "?")
	}
	xml.EscapeText(&b, []byte(name)) // a strings.Builder takes everything
	return b.String()
}
