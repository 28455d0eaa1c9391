package record

import (
	"bytes"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"

	"brightcut/light"
)

//go:embed record.html
var layout string

var page = template.Must(template.New("record").Funcs(template.FuncMap{"svg": (*Chart).svg}).Parse(layout))

// WriteHTML writes the record as one self-contained page: no scripts, nothing
// fetched.
func WriteHTML(w io.Writer, r *Record) error {
	data := struct {
		*Record
		Heading string
		Image   template.URL
		Wide    string
	}{Record: r, Heading: r.heading()}
	if r.Picture != nil {
		var b bytes.Buffer
		if err := light.WritePNG(&b, r.Picture, r.Pixel, ""); err != nil {
			return fmt.Errorf("record: writing the picture: %w", err)
		}
		data.Image = template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(b.Bytes()))
		data.Wide = fmt.Sprintf("%.1f", float64(r.Picture.Bounds().Dx())*r.Pixel)
	}
	if err := page.Execute(w, data); err != nil {
		return fmt.Errorf("record: writing the page: %w", err)
	}
	return nil
}

// drawn is a chart as SVG.
type drawn struct{ bytes.Buffer }

func (d *drawn) line(grey int, width float64, points ...Point) {
	fmt.Fprintf(d, `<path fill="none" stroke="rgb(%d,%d,%d)" stroke-width="%.2f" d="M`, grey, grey, grey, width)
	for i, p := range points {
		if i > 0 {
			d.WriteByte('L')
		}
		fmt.Fprintf(d, "%.2f %.2f", p.X, p.Y)
	}
	d.WriteString(`"/>`)
}

func (d *drawn) dot(at Point, radius float64) {
	fmt.Fprintf(d, `<circle cx="%.2f" cy="%.2f" r="%.2f"/>`, at.X, at.Y, radius)
}

func (d *drawn) text(at Point, size float64, middle bool, words string) {
	anchor := ""
	if middle {
		anchor = ` text-anchor="middle"`
	}
	fmt.Fprintf(d, `<text x="%.2f" y="%.2f" font-size="%.1f"%s>%s</text>`, at.X, at.Y, size, anchor, template.HTMLEscapeString(words))
}

func (c *Chart) svg() template.HTML {
	d := &drawn{}
	fmt.Fprintf(d, `<svg viewBox="0 0 %g %g" role="img" aria-label="%s">`, chartWidth, chartHeight, template.HTMLEscapeString(c.Caption))
	c.draw(d)
	d.WriteString("</svg>")
	return template.HTML(d.String())
}
