package sheet

import (
	"bytes"
	_ "embed"
	"fmt"
	"html"
	"html/template"
	"io"
	"strconv"
	"strings"
)

//go:embed sheet.html
var pageText string

// WriteHTML writes the sheet as one self-contained page: no scripts, nothing
// fetched, well-formed XML. Every value of the job carries the field that sets
// it in data-field.
func WriteHTML(w io.Writer, s *Sheet) error {
	groups, leftOut := s.stints()
	err := htmlPage.Execute(w, map[string]any{
		"S": s, "Boxes": groups, "LeftOut": leftOut, "HowTo": s.howToRead() + " " + s.howToTick(),
		"Rows": s.leftOutRows(), "More": s.leftOutReadings(), "HowToReadings": s.howToReadings(), "Scale": capital(strings.TrimPrefix(s.scale, "the ")), "Picture": s.Drawing.svg(), "Look": s.Look.img(),
	})
	if err != nil {
		return fmt.Errorf("sheet: writing the page: %w", err)
	}
	return nil
}

var htmlPage = template.Must(template.New("sheet").Funcs(template.FuncMap{
	"dials":  Row.dialLines,
	"spans":  spanLines,
	"motion": Row.motion,
	"cuts":   Block.cuts,
	"number": Reading.numbers,
	"head":   Block.heading,
}).Parse(pageText))

// svg writes the drawing as an SVG element in millimetres.
func (d *Drawing) svg() template.HTML {
	if d == nil {
		return ""
	}
	var b bytes.Buffer
	num := func(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="Drawing of the piece" width="%smm" height="%smm" viewBox="0 0 %[1]s %[2]s">`, num(d.Width), num(d.Height))
	style := func(pen Pen) string {
		look := pens[pen]
		text := fmt.Sprintf(`fill="none" stroke="#%02x%02[1]x%02[1]x" stroke-width="%s"`, look.grey, num(look.width))
		if len(look.dash) > 0 {
			text += ` stroke-dasharray="`
			for i, v := range look.dash {
				if i > 0 {
					text += " "
				}
				text += num(v)
			}
			text += `"`
		}
		return text
	}
	for _, l := range d.Lines {
		fmt.Fprintf(&b, `<path %s d="`, style(l.Pen))
		for i, p := range l.Points {
			op := "L"
			if i == 0 {
				op = "M"
			}
			b.WriteString(op + num(p.X) + " " + num(p.Y))
		}
		if l.Closed {
			b.WriteString("Z")
		}
		b.WriteString(`"/>`)
	}
	for _, l := range d.Labels {
		if l.Ground {
			box := l.box()
			fmt.Fprintf(&b, `<rect fill="#fff" x="%s" y="%s" width="%s" height="%s"/>`, num(box.Min.X-0.2), num(box.Min.Y-0.1), num(box.Max.X-box.Min.X+0.4), num(box.Max.Y-box.Min.Y+0.2))
		}
		weight := ""
		if l.Bold {
			weight = ` font-weight="bold"`
		}
		fmt.Fprintf(&b, `<text x="%s" y="%s" font-size="%s" text-anchor="middle"%s>%s</text>`, num(l.At.X), num(l.At.Y+0.36*l.Size), num(l.Size), weight, html.EscapeString(l.Text))
	}
	b.WriteString(`</svg><p class="key">`)
	for _, k := range d.Legend {
		fmt.Fprintf(&b, `<span><svg width="12mm" height="2mm" viewBox="0 0 12 2" aria-hidden="true"><path %s d="M0 1L12 1"/></svg> %s</span> `, style(k.Pen), html.EscapeString(k.Text))
	}
	b.WriteString(`</p><figcaption>` + html.EscapeString(d.Caption) + `</figcaption>`)
	return template.HTML(b.String())
}
