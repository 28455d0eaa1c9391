package export

import (
	"bytes"
	"errors"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/bar"
	"brightcut/fault"
)

// dots are the dark pixels of a picture, row by row.
func dots(t *testing.T, path string) (wide, high int, dark func(x, y int) bool) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	b := img.Bounds()
	return b.Dx(), b.Dy(), func(x, y int) bool {
		r, _, _, _ := img.At(x, y).RGBA()
		return r < 0xb000
	}
}

// TestPDFByPoppler prints a bar of 300 mm over several pages: qpdf (Debian qpdf)
// finds no fault; poppler's pdftoppm (Debian poppler-utils) draws it, and there the
// line to check the print by is 50 mm long, every place of the outline is drawn on
// a page where its window holds it, and what two pages have in common is drawn on
// both.
func TestPDFByPoppler(t *testing.T) {
	qpdf, ppm := tool(t, "qpdf", "qpdf"), tool(t, "pdftoppm", "poppler-utils")
	long, err := NewTemplate(bar.Edge{Figure: bar.Sine, Wave: 7, Amplitude: 1.3}, Shape{Name: "Long – bar", From: -140, To: 160.5, Back: 21, Holes: []Hole{{At: r2.Vec{X: -100, Y: -9}, Diameter: 8}}})
	if err != nil {
		t.Fatal(err)
	}
	wheel, err := NewTemplate(bar.Edge{Figure: bar.Sine, Radius: 150, Count: 30, Amplitude: 4}, Shape{Name: "Wheel", Bore: 20})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		t     *Template
		paper Paper
		pages int
	}{{long, A4, 2}, {long, Letter, 2}, {wheel, A4, 4}} {
		f := c.t.Figure()
		var s Summary
		path := file(t, "f.pdf", func(w *os.File) (err error) { s, err = PDF(w, f, c.paper); return err })
		run(t, qpdf, "--check", path)
		if s.Counts["pages"] != c.pages {
			t.Errorf("%s: %d pages, want %d", f.Name, s.Counts["pages"], c.pages)
			continue
		}
		const dpi = 254 // 10 pixels a mm
		base := filepath.Join(t.TempDir(), "p")
		run(t, ppm, "-r", strconv.Itoa(dpi), "-png", "-gray", path, base)
		tl, _, err := tile(s.box(), c.paper)
		if err != nil {
			t.Fatal(err)
		}
		drawn := map[int]int{}
		points := c.t.Outer.Points(0.001)
		for page := range c.pages {
			wide, high, dark := dots(t, base+"-"+strconv.Itoa(page+1)+".png")
			// The line to check by is the longest in its row.
			row, left, right := int(math.Round((paperMargin+11)*10)), -1, -1
			for x := range wide {
				if dark(x, row) || dark(x, row-1) {
					if left < 0 {
						left = x
					}
					right = x
				} else if left >= 0 {
					break
				}
			}
			if math.Abs(float64(right-left)-500) > 4 {
				t.Errorf("%s, page %d: the line to check by is %.1f mm long", f.Name, page+1, float64(right-left)/10)
			}
			win := tl.window(page%tl.columns, page/tl.columns)
			held, missed := 0, 0
			for i, p := range points {
				if p.X < win.Min.X+0.2 || p.X > win.Max.X-0.2 || p.Y < win.Min.Y+0.2 || p.Y > win.Max.Y-0.2 {
					continue
				}
				held++
				drawn[i]++
				x := (paperMargin + p.X - win.Min.X) * 10
				y := float64(high) - (paperMargin+p.Y-win.Min.Y)*10
				found := false
				for dx := -1; dx <= 1; dx++ {
					for dy := -1; dy <= 1; dy++ {
						found = found || dark(int(math.Floor(x))+dx, int(math.Floor(y))+dy)
					}
				}
				if !found {
					missed++
				}
			}
			if held == 0 || missed > 0 {
				t.Errorf("%s, page %d: of %d places %d are not drawn where they should be", f.Name, page+1, held, missed)
			}
		}
		if len(drawn) != len(points) {
			t.Errorf("%s: %d of %d places are on no page", f.Name, len(points)-len(drawn), len(points))
		}
	}
}

// TestPaperRefuses what would take a ream.
func TestPaperRefuses(t *testing.T) {
	tm, err := NewTemplate(bar.Edge{Figure: bar.Plain, Radius: 1000}, Shape{})
	if err != nil {
		t.Fatal(err)
	}
	var list fault.List
	if _, err := PDF(&bytes.Buffer{}, tm.Figure(), A4); !errors.As(err, &list) || list[0].Field != "paper" {
		t.Errorf("%v, want a fault of the paper", err)
	}
	if _, err := PNG(&bytes.Buffer{}, tm.Figure(), 50); !errors.As(err, &list) || list[0].Field != "pixels" {
		t.Errorf("%v, want a fault of the pixels", err)
	}
}

// TestPNG reads the picture back: whole pixels a metre in its pHYs chunk, every
// place of the outline dark, and the scale below it 10 mm long.
func TestPNG(t *testing.T) {
	for name, tm := range templates(t) {
		const pixels = 12
		var s Summary
		path := file(t, "f.png", func(w *os.File) (err error) { s, err = PNG(w, tm.Figure(), pixels); return err })
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if want := "\x00\x00\x00\x09pHYs\x00\x00\x2e\xe0\x00\x00\x2e\xe0\x01"; string(text[33:33+len(want)]) != want {
			t.Errorf("%s: no pHYs of 12000 a metre: %q", name, text[33:33+len(want)])
		}
		wide, high, dark := dots(t, path)
		if wide != s.Counts["pixels wide"] || high != s.Counts["pixels high"] {
			t.Errorf("%s: %d × %d pixels, the summary says %v", name, wide, high, s.Counts)
		}
		x0, y0 := s.Box[0]-2, s.Box[3]+2
		inked := func(p r2.Vec) bool { return dark(int((p.X-x0)*pixels), int((y0-p.Y)*pixels)) }
		for _, l := range append([]Line{tm.Outer}, tm.Inner...) {
			near := index(l.Points(0.01), 1)
			for _, p := range l.Points(0.01) {
				if !inked(p) {
					t.Fatalf("%s: nothing is drawn at %v", name, p)
				}
				if q := r2.Add(p, r2.Vec{X: 0.31, Y: 0.17}); near(q) > 0.2 && inked(q) && index(tm.Outer.Points(0.01), 1)(q) > 0.2 {
					clear := true
					for _, k := range tm.Inner {
						clear = clear && index(k.Points(0.01), 1)(q) > 0.2
					}
					if clear {
						t.Fatalf("%s: something is drawn at %v", name, q)
					}
				}
			}
		}
		y := s.Box[1] - 3
		length := 0
		for x := s.Box[0] - 1; x < s.Box[0]+12; x += 1.0 / pixels {
			if inked(r2.Vec{X: x, Y: y}) {
				length++
			}
		}
		if math.Abs(float64(length)-10*pixels) > 3 {
			t.Errorf("%s: the scale is %.2f mm long", name, float64(length)/pixels)
		}
	}
}

// TestPNGByOthers: pngcheck (Debian pngcheck) finds no fault.
func TestPNGByOthers(t *testing.T) {
	check := tool(t, "pngcheck", "pngcheck")
	path := file(t, "f.png", func(w *os.File) error {
		_, err := PNG(w, templates(t)["rosette"].Figure(), 20)
		return err
	})
	run(t, check, "-q", path)
}
