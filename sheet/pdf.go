package sheet

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
)

// Paper is a size of paper.
type Paper int

// The papers a sheet is set for.
const (
	A4     Paper = iota + 1 // ISO 216, 210 × 297 mm
	Letter                  // ANSI/ASME Y14.1, 8½ × 11 in
)

// Size returns the width and height of the paper, mm.
func (p Paper) Size() (width, height float64) {
	switch p {
	case A4:
		return 210, 297
	case Letter:
		return 8.5 * inch, 11 * inch
	}
	panic("sheet: Paper is neither A4 nor Letter")
}

const (
	side     = 15.0 // margins, mm
	top      = 22.0
	bottom   = 15.0
	body     = 11.5 // points: read from a step away
	small    = 9.5
	point    = inch / 72 // mm
	leading  = 1.36      // of the size of type
	boxSide  = 4.0       // of a box to tick, mm
	boxPitch = 4.7
	boxLine  = boxSide + 2.6
)

// WritePDF writes the sheet as a PDF document. It is black on white; no colour
// carries a meaning. The same sheet gives the same bytes.
func WritePDF(w io.Writer, s *Sheet, paper Paper) error {
	pages, err := setPDF(s, paper, 0)
	if err != nil {
		return fmt.Errorf("sheet: setting the PDF: %w", err)
	}
	p, err := setPDF(s, paper, pages.PageCount())
	if err != nil {
		return fmt.Errorf("sheet: setting the PDF: %w", err)
	}
	if err := p.Output(w); err != nil {
		return fmt.Errorf("sheet: writing the PDF: %w", err)
	}
	return nil
}

// setPDF sets the whole sheet in type. The number of pages stands in every
// header, so it is set twice: once to count them.
func setPDF(s *Sheet, paper Paper, pages int) (*page, error) {
	p, err := newPage(s, paper, pages)
	if err != nil {
		return nil, err
	}
	p.AddPage()
	p.paragraph(words(s.Title), 20, 0)
	p.space(2)
	for _, t := range s.Totals {
		p.paragraph(t, body, 0)
	}
	p.section("Before you begin")
	for _, c := range s.Cautions {
		p.item("•", words(c), 10.5)
	}
	if len(s.Warnings) > 0 {
		p.section("Warnings")
		for _, t := range s.Warnings {
			p.item("!", t, body)
		}
	}
	p.section("Set-up")
	for i, t := range s.Setup {
		p.item(strconv.Itoa(i+1)+".", t, body)
	}
	if len(s.Depth) > 0 {
		p.section("Depth")
		for _, t := range s.Depth {
			p.item("•", t, body)
		}
	}
	if len(s.Closures) > 0 {
		p.section("How it comes out")
		for _, t := range s.Closures {
			p.item("•", t, body)
		}
	}
	if len(s.Notes) > 0 {
		p.section("Notes")
		for _, t := range s.Notes {
			p.paragraph(words(t), body, 0)
		}
	}
	if s.Drawing != nil {
		p.drawing(s.Drawing)
	}
	if s.Look != nil {
		p.look(s.Look)
	}
	if len(s.Table) > 0 {
		p.sequence(s)
	}
	if len(s.Readings) > 0 {
		p.readings(s)
	}
	return p, p.Error()
}

// page is a PDF document with a place on its last page.
type page struct {
	*fpdf.Fpdf
	font          *sfnt.Font
	buf           sfnt.Buffer
	width, height float64 // of the paper
	y             float64 // top of what comes next
	onNew         func()  // set after a page break
}

func newPage(s *Sheet, paper Paper, pages int) (*page, error) {
	w, h := paper.Size()
	p := &page{width: w, height: h}
	var err error
	if p.font, err = sfnt.Parse(goregular.TTF); err != nil {
		return nil, err
	}
	p.Fpdf = fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: w, Ht: h}})
	// A job has no date, and the clock would make two sheets of one job differ.
	fixedDate := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	p.SetCreationDate(fixedDate)
	p.SetModificationDate(fixedDate)
	p.SetCatalogSort(true)
	p.SetTitle(p.printable(s.Title), true)
	p.SetSubject("Cut sheet", true)
	p.SetCreator("Brightcut", true)
	p.SetLang("en-GB")
	// Clones, since fpdf writes into what it is given.
	p.AddUTF8FontFromBytes("go", "", bytes.Clone(goregular.TTF))
	p.AddUTF8FontFromBytes("go", "B", bytes.Clone(gobold.TTF))
	p.SetAutoPageBreak(false, 0)
	p.SetMargins(side, top, side)
	p.SetHeaderFuncMode(func() {
		right := fmt.Sprintf("page %d of %d", p.PageNo(), pages)
		if s.Digest != "" {
			right = "job " + s.Digest + "    " + right
		}
		p.face(stretch{text: right}, small)
		wide := p.measure(stretch{text: right})
		p.set(p.width-side-wide, 13, stretch{text: right})
		title := wrap([]stretch{{text: s.Title, bold: true}}, p.width-2*side-wide-8, func(s stretch) float64 {
			p.face(s, small)
			return p.measure(s)
		})
		if len(title) > 0 {
			if len(title) > 1 {
				title[0] = append(title[0], stretch{text: " …", bold: true})
			}
			p.setLine(side, 13, title[0], small)
		}
		p.SetLineWidth(0.3)
		p.SetDrawColor(0, 0, 0)
		p.SetDashPattern(nil, 0)
		p.Line(side, 15.5, p.width-side, 15.5)
	}, false)
	return p, nil
}

// AddPage begins a page.
func (p *page) AddPage() {
	p.Fpdf.AddPage()
	p.y = top
}

// need begins a new page unless so much height is left.
func (p *page) need(height float64) {
	if p.y+height <= p.height-bottom || p.y == top {
		return
	}
	p.AddPage()
	if p.onNew != nil {
		p.onNew()
	}
}

func (p *page) space(height float64) { p.y += height }

// printable puts a box for every character that the type does not have.
func (p *page) printable(text string) string {
	return strings.Map(func(r rune) rune {
		if r == '\u00a0' {
			return ' '
		}
		if r > 0xffff || r < ' ' {
			return '□'
		}
		if i, err := p.font.GlyphIndex(&p.buf, r); err != nil || i == 0 {
			return '□'
		}
		return r
	}, text)
}

// face chooses weight and size (points).
func (p *page) face(s stretch, size float64) {
	style := ""
	if s.bold {
		style = "B"
	}
	p.SetFont("go", style, size)
}

// measure returns the width of a stretch in the type last chosen.
func (p *page) measure(s stretch) float64 { return p.GetStringWidth(p.printable(s.text)) }

// set writes a stretch with its baseline at y in the type last chosen.
func (p *page) set(x, y float64, s stretch) { p.Text(x, y, p.printable(s.text)) }

// setLine writes the stretches of a line.
func (p *page) setLine(x, y float64, line []stretch, size float64) {
	for _, s := range line {
		p.face(s, size)
		p.set(x, y, s)
		x += p.measure(s)
	}
}

func (p *page) lines(s []stretch, width, size float64) [][]stretch {
	return wrap(s, width, func(s stretch) float64 {
		p.face(s, size)
		return p.measure(s)
	})
}

// paragraph writes a sentence, its lines set in by indent.
func (p *page) paragraph(s Sentence, size, indent float64) {
	h := size * point * leading
	for _, l := range p.lines(stretches(s), p.width-2*side-indent, size) {
		p.need(h)
		p.setLine(side+indent, p.y+0.76*h, l, size)
		p.y += h
	}
}

// item writes a sentence behind a number or mark.
func (p *page) item(mark string, s Sentence, size float64) {
	h := size * point * leading
	p.need(h)
	p.face(stretch{bold: true}, size)
	p.set(side+1, p.y+0.76*h, stretch{text: mark})
	p.paragraph(s, size, 8)
	p.space(0.8)
}

func (p *page) section(name string) {
	p.need(24) // not alone at the foot of a page
	p.space(4)
	p.face(stretch{bold: true}, 14)
	p.set(side, p.y+5, stretch{text: name})
	p.SetLineWidth(0.2)
	p.SetDrawColor(0, 0, 0)
	p.Line(side, p.y+6.6, p.width-side, p.y+6.6)
	p.space(8.4)
}

// rule draws a thin line across.
func (p *page) rule(width float64) {
	p.SetLineWidth(width)
	p.SetDrawColor(0, 0, 0)
	p.Line(side, p.y, p.width-side, p.y)
}
