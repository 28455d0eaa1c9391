package sheet

import (
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
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p.SetAutoPageBreak(false, 0)
	p.SetMargins(side, top, side)
	p.SetHeaderFuncMode(func() {
		right := fmt.Sprintf("page %d of %d", p.PageNo(), pages)
		if s.Digest != "" {
			right = "job " + s.Digest + "    " + right
		}
		p.type_(stretch{text: right}, small)
		wide := p.measure(stretch{text: right})
		p.set(p.width-side-wide, 13, stretch{text: right})
		title := wrap([]stretch{{text: s.Title, bold: true}}, p.width-2*side-wide-8, func(s stretch) float64 {
			p.type_(s, small)
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

// type_ chooses weight and size (points).
func (p *page) type_(s stretch, size float64) {
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
		p.type_(s, size)
		p.set(x, y, s)
		x += p.measure(s)
	}
}

func (p *page) lines(s []stretch, width, size float64) [][]stretch {
	return wrap(s, width, func(s stretch) float64 {
		p.type_(s, size)
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
	p.type_(stretch{bold: true}, size)
	p.set(side+1, p.y+0.76*h, stretch{text: mark})
	p.paragraph(s, size, 8)
	p.space(0.8)
}

func (p *page) section(name string) {
	p.need(24) // not alone at the foot of a page
	p.space(4)
	p.type_(stretch{bold: true}, 14)
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

// tableColumns are the columns of the sequence; what a wider paper has more
// goes to the motion.
func (p *page) tableColumns() (names []string, widths []float64) {
	names = []string{"", "Cuts", "Before each cut", "Dials, first to last", "Stroke", "Depth"}
	widths = []float64{6, 21, 58, 48, 28, 19}
	sum := 0.0
	for _, w := range widths {
		sum += w
	}
	widths[2] += p.width - 2*side - sum
	return names, widths
}

func (p *page) sequence(s *Sheet) {
	names, widths := p.tableColumns()
	names[4] = capital(strings.TrimPrefix(s.scale, "the "))
	header := make([][][]stretch, len(names))
	for i, n := range names {
		header[i] = [][]stretch{{{text: n, bold: true}}}
	}
	head := func() {
		p.setRow(p.lay(header, widths, small), widths, small)
		p.rule(0.5)
		p.space(1)
	}
	groups, leftOut := s.stints()
	blocks := make([]laidBlock, len(s.Table))
	for i, b := range s.Table {
		blocks[i] = p.layBlock(b, widths, groups[i])
	}
	// The table does not begin at the foot of a page with its first cut alone.
	p.need(42 + blocks[0].height + blocks[min(1, len(blocks)-1)].height)
	p.section("Sequence")
	p.paragraph(words(s.howToRead()+" "+s.howToTick()), 10.5, 0)
	p.space(2)
	head()
	p.onNew = head
	defer func() { p.onNew = nil }()
	for i, b := range s.Table {
		p.block(b, blocks[i], widths, groups[i])
	}
	for _, text := range []string{s.leftOutRows(), leftOut} {
		if text != "" {
			p.paragraph(words(text), body, 0)
		}
	}
}

// laidBlock is a block broken into lines. Its rows and boxes stand on one page
// where they fit on one: the rows are read while the boxes are ticked.
type laidBlock struct {
	rows   []laidRow
	height float64
}

type laidRow struct {
	cells  [][][]stretch // lines of each cell
	height float64
}

const rowSize = 11 // points

func (p *page) layBlock(b Block, widths []float64, groups []tens) laidBlock {
	plain := func(texts ...string) (out [][]stretch) {
		for _, t := range texts {
			out = append(out, []stretch{{text: t}})
		}
		return out
	}
	var l laidBlock
	if len(b.Rows) > 1 {
		l.height = 7
	}
	for _, r := range b.Rows {
		row := p.lay([][][]stretch{
			{{{text: r.Mark, bold: true}}},
			plain(b.cuts(r)),
			{stretches(r.motion())},
			plain(r.dialLines()...),
			plain(spanLines(r.Spans)...),
			plain(r.Hold),
		}, widths, rowSize)
		l.rows = append(l.rows, row)
		l.height += row.height
	}
	l.height += float64((len(groups)+2)/3)*boxLine + 2
	return l
}

// block sets a block's rows and boxes.
func (p *page) block(b Block, l laidBlock, widths []float64, groups []tens) {
	p.need(min(l.height, p.height-bottom-top-30))
	if len(b.Rows) > 1 {
		p.space(1)
		p.type_(stretch{bold: true}, rowSize)
		p.set(side, p.y+3.8, stretch{text: b.heading()})
		p.space(6)
	}
	for _, r := range l.rows {
		p.setRow(r, widths, rowSize)
	}
	p.boxes(groups)
	p.rule(0.2)
	p.space(1)
}

// lay breaks the paragraphs of a row's cells into lines. A row never outgrows a
// page.
func (p *page) lay(cells [][][]stretch, widths []float64, size float64) laidRow {
	h := size * point * 1.28
	most := int((p.height - top - bottom - 20) / h)
	l := laidRow{cells: make([][][]stretch, len(cells))}
	rows := 0
	for i, c := range cells {
		for _, para := range c {
			l.cells[i] = append(l.cells[i], p.lines(para, widths[i]-2.5, size)...)
		}
		if len(l.cells[i]) > most {
			l.cells[i] = append(l.cells[i][:most-1], []stretch{{text: "…"}})
		}
		rows = max(rows, len(l.cells[i]))
	}
	l.height = float64(rows)*h + 1.5
	return l
}

func (p *page) setRow(l laidRow, widths []float64, size float64) {
	p.need(l.height)
	h := size * point * 1.28
	x := side
	for i, lines := range l.cells {
		for n, line := range lines {
			p.setLine(x, p.y+float64(n)*h+0.78*h, line, size)
		}
		x += widths[i]
	}
	p.y += l.height
}

// boxes draws a block's boxes, three groups of ten a line.
func (p *page) boxes(groups []tens) {
	step := (p.width - 2*side) / 3
	for i, g := range groups {
		if i%3 == 0 {
			if i == 0 {
				p.space(0.5)
			} else {
				p.space(boxLine)
			}
			p.need(boxLine)
		}
		x := side + float64(i%3)*step + 0.5 + float64(g.skip)*boxPitch
		p.SetLineWidth(0.25)
		p.SetDrawColor(0, 0, 0)
		for _, m := range g.Marks {
			p.Rect(x, p.y, boxSide, boxSide, "D")
			if m != "" {
				p.SetTextColor(90, 90, 90)
				p.type_(stretch{}, 7)
				p.set(x+boxSide/2-p.measure(stretch{text: m})/2, p.y+boxSide/2+0.8, stretch{text: m})
				p.SetTextColor(0, 0, 0)
			}
			x += boxPitch
		}
		p.type_(stretch{bold: true}, small)
		p.set(x+0.3, p.y+boxSide-0.6, stretch{text: strconv.Itoa(g.Last), bold: true})
	}
	if len(groups) > 0 {
		p.space(boxLine + 0.5)
	}
}

// drawing sets the drawing of the piece with its legend and caption.
func (p *page) drawing(d *Drawing) {
	p.need(d.Height + 34)
	p.section("The piece")
	x0, y0 := (p.width-d.Width)/2, p.y
	for _, l := range d.Lines {
		p.pen(l.Pen)
		p.MoveTo(x0+l.Points[0].X, y0+l.Points[0].Y)
		for _, q := range l.Points[1:] {
			p.LineTo(x0+q.X, y0+q.Y)
		}
		if l.Closed {
			p.ClosePath()
		}
		p.DrawPath("D")
	}
	p.SetDashPattern(nil, 0)
	for _, l := range d.Labels {
		box := l.box()
		if l.Ground {
			p.SetFillColor(255, 255, 255)
			p.Rect(x0+box.Min.X-0.2, y0+box.Min.Y-0.1, box.Max.X-box.Min.X+0.4, box.Max.Y-box.Min.Y+0.2, "F")
		}
		s := stretch{text: l.Text, bold: l.Bold}
		p.type_(s, l.Size/point)
		p.set(x0+l.At.X-p.measure(s)/2, y0+l.At.Y+0.36*l.Size, s)
	}
	p.y += d.Height + 3
	x := side
	for _, key := range d.Legend {
		p.type_(stretch{}, small)
		wide := 14 + p.measure(stretch{text: key.Text}) + 6
		if x+wide > p.width-side {
			x = side
			p.y += 5
		}
		p.pen(key.Pen)
		p.Line(x, p.y+2, x+12, p.y+2)
		p.SetDashPattern(nil, 0)
		p.set(x+14, p.y+3.2, stretch{text: key.Text})
		x += wide
	}
	p.y += 6
	p.paragraph(words(d.Caption), small, 0)
}

func (p *page) pen(pen Pen) {
	look := pens[pen]
	p.SetLineWidth(look.width)
	p.SetDrawColor(look.grey, look.grey, look.grey)
	p.SetDashPattern(look.dash, 0)
}

// readings sets the appendix in as many columns as the page holds.
func (p *page) readings(s *Sheet) {
	p.need(40 + float64(min(len(s.Readings), 40))*small*point*1.25)
	p.section("Readings, cut by cut")
	p.paragraph(words(s.howToReadings()), 10.5, 0)
	p.space(1)
	const gutter = 7.0
	h := small * point * 1.25
	cutWide, dialWide, readWide := p.widest(s)
	wide := cutWide + dialWide*float64(len(s.Dials)) + 2*readWide + gutter
	columns := max(1, int((p.width-2*side+gutter)/wide))
	wide = (p.width - 2*side + gutter) / float64(columns)
	right := func(x, y float64, st stretch) {
		p.type_(st, small)
		p.set(x-p.measure(st), y, st)
	}
	startY := p.y
	head := func(c int) {
		p.y = startY
		x := side + float64(c)*wide
		y := p.y + h
		right(x+cutWide, y, stretch{text: "cuts", bold: true})
		for i, d := range s.Dials {
			right(x+cutWide+dialWide*float64(i+1), y, stretch{text: d, bold: true})
		}
		at := x + cutWide + dialWide*float64(len(s.Dials))
		right(at+readWide, y, stretch{text: "start", bold: true})
		right(at+2*readWide, y, stretch{text: "stop", bold: true})
		p.SetLineWidth(0.3)
		p.Line(x, y+1.2, x+wide-gutter, y+1.2)
		p.y += h + 2.2
	}
	head(0)
	c := 0
	for _, r := range s.Readings {
		rows := max(1, len(r.Spans))
		if p.y+float64(min(rows, 20))*h > p.height-bottom {
			if c++; c == columns {
				p.AddPage()
				c, startY = 0, p.y
			}
			head(c)
		}
		x := side + float64(c)*wide
		right(x+cutWide, p.y+0.78*h, stretch{text: r.numbers(), bold: true})
		for i, d := range r.Dials {
			right(x+cutWide+dialWide*float64(i+1), p.y+0.78*h, stretch{text: d})
		}
		at := x + cutWide + dialWide*float64(len(r.Dials))
		if len(r.Spans) == 0 {
			right(at+2*readWide, p.y+0.78*h, stretch{text: "none"})
		}
		for i, sp := range r.Spans {
			y := p.y + 0.78*h + float64(i)*h
			if i == 20 {
				right(at+2*readWide, y, stretch{text: "…"})
				break
			}
			if sp.Ring {
				right(at+2*readWide, y, stretch{text: "all round"})
				continue
			}
			right(at+readWide, y, stretch{text: sp.Start})
			right(at+2*readWide, y, stretch{text: sp.Stop})
		}
		p.y += float64(min(rows, 21)) * h
	}
	if more := s.leftOutReadings(); more != "" {
		p.AddPage()
		p.paragraph(words(more), body, 0)
	}
}

// widest are the widths of the appendix's columns: of the cuts' numbers, of a
// dial and of a start or stop.
func (p *page) widest(s *Sheet) (cut, dial, read float64) {
	grow := func(w *float64, text string, bold bool, space float64) {
		st := stretch{text: text, bold: bold}
		p.type_(st, small)
		*w = max(*w, p.measure(st)+space)
	}
	grow(&cut, "cuts", true, 1)
	grow(&read, "start", true, 5)
	for _, d := range s.Dials {
		grow(&dial, d, true, 4)
	}
	for _, r := range s.Readings {
		grow(&cut, r.numbers(), true, 1)
		for _, d := range r.Dials {
			grow(&dial, d, false, 4)
		}
		for _, sp := range r.Spans {
			grow(&read, sp.Start, false, 5)
			grow(&read, sp.Stop, false, 5)
		}
	}
	return cut, dial, read
}
