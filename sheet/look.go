package sheet

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"

	"codeberg.org/go-pdf/fpdf"
)

// Look is a picture of the piece as it will look.
type Look struct {
	PNG    []byte
	W, H   int     // pixels
	Across float64 // width of the work that it shows, mm
	About  string  // what it is seen as
}

const lookMost = 70.0 // mm, its longer side on paper

// size is how large it is set, mm.
func (l *Look) size() (w, h float64) {
	most := float64(max(l.W, l.H))
	return lookMost * float64(l.W) / most, lookMost * float64(l.H) / most
}

func (l *Look) caption() string {
	return fmt.Sprintf("As it will look, %.1f mm across the picture: %s.", l.Across, l.About)
}

// look sets the picture with its caption.
func (p *page) look(l *Look) {
	w, h := l.size()
	p.need(h + 10)
	p.RegisterImageOptionsReader("look", fpdf.ImageOptions{ImageType: "PNG"}, bytes.NewReader(l.PNG))
	p.ImageOptions("look", (p.width-w)/2, p.y, w, h, false, fpdf.ImageOptions{ImageType: "PNG"}, 0, "")
	p.y += h + 3
	p.paragraph(words(l.caption()), small, 0)
}

// img writes the picture as an element of a page.
func (l *Look) img() template.HTML {
	if l == nil {
		return ""
	}
	w, h := l.size()
	return template.HTML(fmt.Sprintf(`<img alt="The piece as it will look" style="width:%smm;height:%smm" src="data:image/png;base64,%s" /><figcaption class="small">%s</figcaption>`,
		fmt.Sprintf("%.1f", w), fmt.Sprintf("%.1f", h), base64.StdEncoding.EncodeToString(l.PNG), template.HTMLEscapeString(l.caption())))
}
