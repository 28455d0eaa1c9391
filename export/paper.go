package export

import (
	"fmt"
	"io"
	"math"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/goregular"
	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/fault"
)

// Paper is a size of paper.
type Paper int

// The papers a template is printed on.
const (
	A4     Paper = iota + 1 // ISO 216, 210 × 297 mm
	Letter                  // ANSI/ASME Y14.1, 8½ × 11 in
)

func (p Paper) size() (width, height float64) {
	if p == Letter {
		return 8.5 * inchLength, 11 * inchLength
	}
	return 210, 297
}

const (
	paperMargin = 12.0  // most printers reach so far
	paperHead   = 16.0  // for the words and the line to check the print by
	paperLap    = 8.0   // that neighbouring pages have in common
	printed     = 0.005 // mm; curves are drawn to it, below what a printer shows
	checkLine   = 50.0  // mm
	mostPages   = 100
)

// tiling lays a figure out over pages that overlap.
type tiling struct {
	paper         Paper
	wide, high    float64 // of a page's window on the figure
	columns, rows int
	corner        r2.Vec // of the figure, at the lower left of the first page's window
}

func (t tiling) window(column, row int) r2.Box {
	at := r2.Vec{X: t.corner.X + float64(column)*(t.wide-paperLap), Y: t.corner.Y + float64(row)*(t.high-paperLap)}
	return r2.Box{Min: at, Max: r2.Vec{X: at.X + t.wide, Y: at.Y + t.high}}
}

// tile takes upright or lying paper, whichever needs fewer pages.
func tile(box r2.Box, paper Paper) (t tiling, lying bool, err error) {
	size := r2.Sub(box.Max, box.Min)
	short, long := paper.size()
	best := math.Inf(1)
	for _, l := range []bool{false, true} {
		w, h := short, long
		if l {
			w, h = long, short
		}
		one := tiling{paper: paper, wide: w - 2*paperMargin, high: h - 2*paperMargin - paperHead}
		count := func(length, window float64) float64 {
			return max(1, math.Ceil((length+2-paperLap)/(window-paperLap)))
		}
		c, r := count(size.X, one.wide), count(size.Y, one.high)
		if c*r < best {
			best = c * r
			one.columns, one.rows = int(min(c, 1e6)), int(min(r, 1e6))
			spare := r2.Vec{X: one.wide + float64(one.columns-1)*(one.wide-paperLap) - size.X, Y: one.high + float64(one.rows-1)*(one.high-paperLap) - size.Y}
			one.corner = r2.Sub(box.Min, r2.Scale(0.5, spare))
			t, lying = one, l
		}
	}
	if best > mostPages {
		return t, lying, fault.List{{Field: "paper", Problem: fmt.Sprintf("%.0f × %.0f mm take %.0f pages", size.X, size.Y, best), Mend: fmt.Sprintf("print no more than %d pages: have the drawing plotted from the SVG or DXF instead", mostPages)}}
	}
	return t, lying, nil
}

// PDF writes the figure at true scale, to be printed, over as many pages as it
// takes. Each has a line of 50 mm to check the print by, a scale in centimetres
// and millimetres, and marks where it joins its neighbours.
func PDF(w io.Writer, f Figure, paper Paper) (Summary, error) {
	if paper != A4 && paper != Letter {
		panic("export: PDF on a paper that is neither A4 nor Letter")
	}
	s, err := f.measure("PDF")
	if err != nil {
		return s, err
	}
	// A page's words stay in memory until all are written.
	const mostNodes = 2_000_000
	if s.Counts["nodes"] > mostNodes {
		return s, fmt.Errorf("export: drawing %q on paper: it has %d corners, more than the %d that a page holds; export it as SVG or DXF", f.Name, s.Counts["nodes"], mostNodes)
	}
	t, lying, err := tile(s.box(), paper)
	if err != nil {
		return s, err
	}
	short, long := paper.size()
	orientation := "P"
	if lying {
		orientation = "L"
	}
	d := fpdf.NewCustom(&fpdf.InitType{OrientationStr: orientation, UnitStr: "mm", Size: fpdf.SizeType{Wd: short, Ht: long}})
	fixed := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC) // the same drawing gives the same bytes
	d.SetCreationDate(fixed)
	d.SetModificationDate(fixed)
	d.SetCatalogSort(true)
	d.SetTitle(oneLine(f.Name), true)
	d.SetCreator("Brightcut", true)
	d.SetLang("en-GB")
	d.AddUTF8FontFromBytes("go", "", goregular.TTF)
	d.SetAutoPageBreak(false, 0)
	for row := range t.rows {
		for column := range t.columns {
			t.page(d, f, s, column, row)
		}
	}
	s.Counts["pages"] = t.rows * t.columns
	s.Tolerance = math.Max(s.Tolerance, printed)
	if err := d.Output(w); err != nil {
		return s, fmt.Errorf("export: writing PDF of %q: %w", f.Name, err)
	}
	return s, nil
}

// oneLine is a text in one line of letters that the type has.
func oneLine(s string) string {
	out := []rune{}
	for _, r := range s {
		if r < ' ' || r > 0xffff || r == 0xfffe || r == 0xffff {
			r = ' '
		}
		if out = append(out, r); len(out) == 80 {
			break
		}
	}
	return string(out)
}

func (t tiling) page(d *fpdf.Fpdf, f Figure, s Summary, column, row int) {
	d.AddPage()
	_, high := d.GetPageSize()
	win := t.window(column, row)
	left, bottom := paperMargin, high-paperMargin
	at := func(p r2.Vec) (x, y float64) { return left + p.X - win.Min.X, bottom - (p.Y - win.Min.Y) }

	d.ClipRect(left, bottom-t.high, t.wide, t.high, false)
	d.SetDrawColor(0, 0, 0)
	d.SetLineWidth(0.1)
	for l := range f.Lines {
		box := nobox()
		l.grow(&box)
		if box.Min.X > win.Max.X || box.Max.X < win.Min.X || box.Min.Y > win.Max.Y || box.Max.Y < win.Min.Y {
			continue
		}
		points := l.Points(printed)
		if len(points) < 2 {
			continue
		}
		d.MoveTo(at(points[0]))
		for _, p := range points[1:] {
			d.LineTo(at(p))
		}
		if l.Closed {
			d.ClosePath()
		}
		d.DrawPath("D")
	}
	d.ClipEnd()

	// Marks at the corners of what two pages have in common: laid one over the
	// other, the crosses meet.
	d.SetLineWidth(0.1)
	var marks []r2.Vec
	for _, x := range joins(win.Min.X, win.Max.X, column, t.columns) {
		for _, y := range []float64{win.Min.Y + paperLap/2, win.Max.Y - paperLap/2} {
			marks = append(marks, r2.Vec{X: x, Y: y})
		}
	}
	for _, y := range joins(win.Min.Y, win.Max.Y, row, t.rows) {
		for _, x := range []float64{win.Min.X + paperLap/2, win.Max.X - paperLap/2} {
			marks = append(marks, r2.Vec{X: x, Y: y})
		}
	}
	for _, m := range marks {
		x, y := at(m)
		d.Line(x-3, y, x+3, y)
		d.Line(x, y-3, x, y+3)
	}

	// The head.
	d.SetFont("go", "", 9)
	words := oneLine(f.Name)
	if t.rows*t.columns > 1 {
		words += fmt.Sprintf("    page %d of %d: column %d from the left, row %d from below", row*t.columns+column+1, t.rows*t.columns, column+1, row+1)
	}
	d.Text(left, paperMargin+3, words)
	d.SetFont("go", "", 8)
	y := paperMargin + 11.0
	d.SetLineWidth(0.2)
	d.Line(left, y, left+checkLine, y)
	for i := range int(checkLine) + 1 {
		tick := 0.8
		if i%10 == 0 {
			tick = 2
		} else if i%5 == 0 {
			tick = 1.3
		}
		d.Line(left+float64(i), y, left+float64(i), y-tick)
	}
	d.Text(left+checkLine+3, y, "Print at 100 %: this line is 50 mm long. Measure it before you use the drawing.")
}

// joins are the middles of what a page has in common with the page before and
// after it.
func joins(low, high float64, i, n int) (at []float64) {
	if i > 0 {
		at = append(at, low+paperLap/2)
	}
	if i < n-1 {
		at = append(at, high-paperLap/2)
	}
	return at
}
