package record

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"

	"brightcut/light"
	"brightcut/sheet"
)

// The type area, mm, and the size of type, points.
const (
	side        = 18.0
	top         = 24.0
	bottom      = 16.0
	body        = 10.5
	line        = 5.1 // mm, of the body
	small       = 8.5
	pictureMost = 110.0 // mm, so that text stands beside it on the first page
)

// WritePDF writes the record as a PDF document, black on white. The run's file is
// attached where the record carries it. The same record gives the same bytes.
func WritePDF(w io.Writer, r *Record, paper sheet.Paper) error {
	wide, high := paper.Size()
	p := &paperPage{Fpdf: fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: wide, Ht: high}}), faces: map[string]*face{}, wide: wide, high: high}
	fixed := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC) // the record's own dates stand in it
	p.SetCreationDate(fixed)
	p.SetModificationDate(fixed)
	p.SetCatalogSort(true)
	p.SetTitle(r.heading(), true)
	p.SetCreator("Brightcut", true)
	p.SetLang("en-GB")
	for _, f := range []struct {
		name, style string
		ttf         []byte
	}{{"go", "", goregular.TTF}, {"go", "B", gobold.TTF}, {"mono", "", gomono.TTF}} {
		font, err := sfnt.Parse(f.ttf)
		if err != nil {
			return fmt.Errorf("record: setting the PDF: %w", err)
		}
		p.AddUTF8FontFromBytes(f.name, f.style, bytes.Clone(f.ttf)) // fpdf writes into it
		p.faces[f.name+f.style] = &face{font, map[sfnt.GlyphIndex]rune{}}
	}
	p.SetFont("go", "", body)
	p.SetMargins(side, top, side)
	p.SetAutoPageBreak(true, bottom)
	p.AliasNbPages("{pages}")
	p.SetHeaderFuncMode(func() {
		p.SetFont("go", "", small)
		p.SetXY(side, 11)
		p.CellFormat(0, 4, p.printable(short(r.Title, 60)), "", 0, "L", false, 0, "")
		p.SetXY(side, 11)
		p.CellFormat(0, 4, fmt.Sprintf("job %s    page %d of {pages}", r.Digest, p.PageNo()), "", 0, "R", false, 0, "")
		p.SetLineWidth(0.3)
		p.Line(side, 16.5, p.wide-side, 16.5)
		p.SetY(top)
	}, false)
	if len(r.Archive) > 0 {
		p.SetAttachments([]fpdf.Attachment{{Content: r.Archive, Filename: r.Run + ".run", Description: "the run, to be taken in again"}})
	}
	p.AddPage()
	p.SetFont("go", "B", 19)
	p.MultiCell(0, 9, p.printable(r.Title), "", "L", false)
	p.SetFont("go", "", small)
	p.MultiCell(0, 5, p.printable(fmt.Sprintf("Record of run %s, job %s", r.Run, r.Digest)), "", "L", false)
	p.Ln(2)
	for _, t := range r.Summary {
		p.paragraph("", t)
	}
	if err := p.picture(r); err != nil {
		return err
	}
	for _, s := range r.Sections {
		p.section(s)
	}
	p.heading("The job and its parts, as they were")
	p.paragraph("", "With these files in one folder, under these names, the program makes the same cuts again.")
	for _, f := range r.Files {
		p.need(24)
		p.Ln(2)
		p.SetFont("go", "B", body)
		p.MultiCell(0, line, p.printable(f.Name), "", "L", false)
		p.SetFont("mono", "", 7.8)
		for _, l := range strings.Split(strings.TrimRight(f.Text, "\n"), "\n") {
			if l == "" {
				p.Ln(3.6)
				continue
			}
			p.MultiCell(0, 3.6, p.printable(l), "", "L", false)
		}
	}
	if err := p.Output(w); err != nil {
		return fmt.Errorf("record: writing the PDF: %w", err)
	}
	return nil
}

// paperPage is a PDF document.
type paperPage struct {
	*fpdf.Fpdf
	faces      map[string]*face
	now        *face
	buf        sfnt.Buffer
	wide, high float64
}

// face is a type with the character that each of its glyphs was first used for.
type face struct {
	font   *sfnt.Font
	glyphs map[sfnt.GlyphIndex]rune
}

// SetFont chooses the type.
func (p *paperPage) SetFont(name, style string, size float64) {
	p.Fpdf.SetFont(name, style, size)
	p.now = p.faces[name+style]
}

// printable puts a box for every character that the type last chosen does not have.
func (p *paperPage) printable(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t':
			return ' '
		case r == '\u00a0':
			return ' '
		case r > 0xffff || r < ' ':
			return '□'
		}
		i, err := p.now.font.GlyphIndex(&p.buf, r)
		if err != nil || i == 0 {
			return '□'
		}
		// Of two characters with one glyph (the micro sign and the Greek mu) one is
		// used: fpdf would take either, by chance.
		if same, ok := p.now.glyphs[i]; ok {
			return same
		}
		p.now.glyphs[i] = r
		return r
	}, text)
}

// need begins a new page unless so much height is left.
func (p *paperPage) need(height float64) {
	if p.GetY()+height > p.high-bottom && p.GetY() > top {
		p.AddPage()
	}
}

func (p *paperPage) heading(name string) {
	p.need(24)
	p.Ln(4)
	p.SetFont("go", "B", 13)
	p.MultiCell(0, 6.5, p.printable(name), "", "L", false)
	p.SetLineWidth(0.2)
	p.Line(side, p.GetY(), p.wide-side, p.GetY())
	p.Ln(1.5)
}

// paragraph sets text behind a mark.
func (p *paperPage) paragraph(mark, text string) {
	p.SetFont("go", "", body)
	if mark != "" {
		p.CellFormat(5, line, mark, "", 0, "L", false, 0, "")
	}
	p.SetLeftMargin(p.GetX())
	p.MultiCell(0, line, p.printable(text), "", "L", false)
	p.SetLeftMargin(side)
	p.SetX(side)
	p.Ln(0.8)
}

func (p *paperPage) section(s Section) {
	p.heading(s.Name)
	for _, t := range s.Text {
		p.paragraph("", t)
	}
	for _, t := range s.List {
		p.paragraph("•", t)
	}
	if s.Chart != nil {
		p.need(chartHeight + 10)
		x, y := (p.wide-chartWidth)/2, p.GetY()+2
		s.Chart.draw(&inked{p, x, y})
		p.SetDrawColor(0, 0, 0)
		p.SetXY(side, y+chartHeight+1)
		p.SetFont("go", "", small)
		p.MultiCell(0, 4.2, p.printable(s.Chart.Caption), "", "L", false)
	}
	if s.Table != nil {
		p.table(s.Table)
	}
}

// table sets a table whose columns share the width by what stands in them.
func (p *paperPage) table(t *Table) {
	p.Ln(1)
	p.SetFont("go", "B", small)
	wide := make([]float64, len(t.Head))
	for i, h := range t.Head {
		wide[i] = p.GetStringWidth(p.printable(h)) + 4
	}
	p.SetFont("go", "", small)
	sum := 0.0
	for i := range wide {
		for _, row := range t.Rows {
			wide[i] = max(wide[i], p.GetStringWidth(p.printable(row[i]))+4)
		}
		sum += wide[i]
	}
	if room := p.wide - 2*side; sum > room {
		for i := range wide {
			wide[i] *= room / sum
		}
	}
	set := func(row []string, style string) {
		p.need(5)
		p.SetFont("go", style, small)
		for i, c := range row {
			align := "L"
			if t.numbers(i) {
				align = "R"
			}
			text := p.printable(c)
			for p.GetStringWidth(text) > wide[i]-1 && len(text) > 1 {
				r := []rune(text)
				text = string(r[:max(1, len(r)-2)]) + "…"
				if len(r) <= 2 {
					break
				}
			}
			p.CellFormat(wide[i], 4.4, text, "", 0, align, false, 0, "")
		}
		p.Ln(4.4)
	}
	set(t.Head, "B")
	p.Line(side, p.GetY(), side+min(sum, p.wide-2*side), p.GetY())
	for _, row := range t.Rows {
		set(row, "")
	}
}

func (p *paperPage) picture(r *Record) error {
	if r.Picture == nil {
		return nil
	}
	var b bytes.Buffer
	if err := light.WritePNG(&b, r.Picture, r.Pixel, ""); err != nil {
		return fmt.Errorf("record: writing the picture: %w", err)
	}
	p.RegisterImageOptionsReader("piece", fpdf.ImageOptions{ImageType: "PNG"}, &b)
	size := r.Picture.Bounds()
	w := min(pictureMost, p.wide-2*side)
	h := w * float64(size.Dy()) / float64(size.Dx())
	if h > pictureMost {
		w, h = w*pictureMost/h, pictureMost
	}
	p.need(h + 10)
	p.Ln(2)
	y := p.GetY()
	p.ImageOptions("piece", (p.wide-w)/2, y, w, h, false, fpdf.ImageOptions{ImageType: "PNG"}, 0, "")
	p.SetXY(side, y+h+1)
	p.SetFont("go", "", small)
	p.MultiCell(0, 4.2, fmt.Sprintf("The piece as it was planned, %.1f mm across the picture.", float64(size.Dx())*r.Pixel), "", "C", false)
	return p.Error()
}

// inked draws a chart on a page.
type inked struct {
	p    *paperPage
	x, y float64
}

func (k *inked) line(grey int, width float64, points ...Point) {
	k.p.SetDrawColor(grey, grey, grey)
	k.p.SetLineWidth(width)
	k.p.MoveTo(k.x+points[0].X, k.y+points[0].Y)
	for _, q := range points[1:] {
		k.p.LineTo(k.x+q.X, k.y+q.Y)
	}
	k.p.DrawPath("D")
}

func (k *inked) dot(at Point, radius float64) {
	k.p.SetFillColor(0, 0, 0)
	k.p.Circle(k.x+at.X, k.y+at.Y, radius, "F")
}

func (k *inked) text(at Point, size float64, middle bool, words string) {
	k.p.SetFont("go", "", size/0.3528)
	words = k.p.printable(words)
	x := k.x + at.X
	if middle {
		x -= k.p.GetStringWidth(words) / 2
	}
	k.p.Text(x, k.y+at.Y, words)
}

// short cuts a text to at most n characters.
func short(text string, n int) string {
	if r := []rune(text); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return text
}
