package sheet

import (
	"strconv"
	"strings"
)

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
		p.face(stretch{bold: true}, rowSize)
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
		x := side + float64(i%3)*step + 0.5 + float64(g.Skip)*boxPitch
		p.SetLineWidth(0.25)
		p.SetDrawColor(0, 0, 0)
		for _, m := range g.Marks {
			p.Rect(x, p.y, boxSide, boxSide, "D")
			if m != "" {
				p.SetTextColor(90, 90, 90)
				p.face(stretch{}, 7)
				p.set(x+boxSide/2-p.measure(stretch{text: m})/2, p.y+boxSide/2+0.8, stretch{text: m})
				p.SetTextColor(0, 0, 0)
			}
			x += boxPitch
		}
		p.face(stretch{bold: true}, small)
		p.set(x+0.3, p.y+boxSide-0.6, stretch{text: strconv.Itoa(g.Last), bold: true})
	}
	if len(groups) > 0 {
		p.space(boxLine + 0.5)
	}
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
		p.face(st, small)
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
		p.face(st, small)
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
