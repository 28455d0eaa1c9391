package tracing

import (
	"encoding/json"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"brightcut/fault"
)

func read(t testing.TB, name, text string, o Options) *Drawing {
	t.Helper()
	d, err := Read(strings.NewReader(text), name, o)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func refused(t testing.TB, name, text string, line int, words string) {
	t.Helper()
	_, err := Read(strings.NewReader(text), name, Options{})
	var l fault.List
	if !errors.As(err, &l) {
		t.Fatalf("%.60q: got %v, want a fault with %q", text, err, words)
	}
	if !strings.Contains(l.Error(), words) || l[0].Mend == "" || line > 0 && l[0].Origin.Line != line {
		t.Errorf("%.60q: got line %d: %v\nwant line %d with %q", text, l[0].Origin.Line, l, line, words)
	}
}

// The fixtures are drawn and measured by ezdxf 0.18.1 (testdata/fixtures.py), by
// its own points of the exact curves.
func TestDXFAgainstEzdxf(t *testing.T) {
	text, err := os.ReadFile("testdata/ezdxf.json")
	if err != nil {
		t.Fatal(err)
	}
	var want map[string]struct {
		Lengths [][2]any
		Box     [4]float64
	}
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	files, _ := filepath.Glob("testdata/*.dxf")
	if len(files) != len(want) || len(files) < 4 {
		t.Fatalf("%d fixtures, %d measured", len(files), len(want))
	}
	for _, file := range files {
		w := want[filepath.Base(file)]
		unit := 1.0
		if strings.Contains(file, "inch") {
			unit = 25.4
		}
		f, err := os.Open(file)
		if err != nil {
			t.Fatal(err)
		}
		d, err := Read(f, filepath.Base(file), Options{Tolerance: 1e-5})
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		if len(d.Lines) != len(w.Lengths) {
			t.Fatalf("%s: %d lines, ezdxf has %d", file, len(d.Lines), len(w.Lengths))
		}
		box := [4]float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
		for i := range d.Lines {
			l := &d.Lines[i]
			if kind, length := w.Lengths[i][0].(string), w.Lengths[i][1].(float64)*unit; l.Kind != kind || math.Abs(l.Length()-length) > 1e-5*length {
				t.Errorf("%s: %s of %.6f mm, ezdxf has %s of %.6f mm", file, l.Kind, l.Length(), kind, length)
			}
			for _, p := range l.Points {
				box = [4]float64{min(box[0], p.X), min(box[1], p.Y), max(box[2], p.X), max(box[3], p.Y)}
			}
		}
		for i := range box {
			if math.Abs(box[i]-w.Box[i]*unit) > 1e-3 {
				t.Errorf("%s: box %v mm, ezdxf has %v units", file, box, w.Box)
				break
			}
		}
	}
}

// groups writes a DXF file of one entity section.
func groups(text string) string {
	return "0\nSECTION\n2\nENTITIES\n" + strings.ReplaceAll(strings.TrimSpace(text), " ", "\n") + "\n0\nENDSEC\n0\nEOF\n"
}

// Bulge = tan(angle/4), counter-clockwise above 0 (DXF reference, LWPOLYLINE): a
// bulge of 1 is a half circle, of √2−1 a quarter.
func TestBulge(t *testing.T) {
	for _, c := range []struct{ bulge, angle, highest float64 }{
		{-1, math.Pi, 5}, {1, math.Pi, 0}, {1 - math.Sqrt2, math.Pi / 2, 5*math.Sqrt2 - 5}, {-math.Tan(3 * math.Pi / 8), 3 * math.Pi / 2, 5*math.Sqrt2 + 5},
	} {
		a := bulged(Point{}, Point{10, 0}, c.bulge)
		p := a.follow([]Point{{}}, 1000)
		top := 0.0
		for _, q := range p {
			top = max(top, q.Y)
		}
		if math.Abs(math.Abs(a.to-a.from)-c.angle) > 1e-12 || math.Abs(top-c.highest) > 1e-3 || p[1000].distance(Point{10, 0}) > 1e-12 {
			t.Errorf("bulge %g: turns %g, reaches %g, ends at %v", c.bulge, a.to-a.from, top, p[1000])
		}
	}
}

func TestDXFLayersUnitsInserts(t *testing.T) {
	head := "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n5\n0\nENDSEC\n" +
		"0\nSECTION\n2\nTABLES\n0\nTABLE\n2\nLAYER\n0\nLAYER\n2\nDIM\n70\n1\n62\n7\n0\nLAYER\n2\nOFF\n70\n0\n62\n-7\n0\nENDTAB\n0\nENDSEC\n" +
		"0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nB\n10\n1\n20\n0\n0\nLINE\n8\n0\n10\n1\n20\n0\n11\n2\n21\n1\n0\nENDBLK\n0\nENDSEC\n"
	d := read(t, "a.dxf", head+groups("0 LINE 8 DIM 11 5 0 LINE 8 off 11 5 0 TEXT 8 0 1 word 0 INSERT 8 EDGE 2 b 10 3 20 4 50 90 41 2 42 3 70 2 71 1 44 10 0 LINE 67 1 11 3"), Options{})
	if len(d.Lines) != 2 || d.Scale != 10 {
		t.Fatalf("%d lines, scale %g", len(d.Lines), d.Scale)
	}
	// (0,0)–(1,1) in the block, scaled to (2, 3), turned by 90°, set at (3, 4), then
	// the next column 10 along the turned x; all in cm.
	for i, want := range [][2]Point{{{30, 40}, {0, 60}}, {{30, 140}, {0, 160}}} {
		for k := range want {
			if d.Lines[i].Points[k].distance(want[k]) > 1e-9 {
				t.Errorf("copy %d: %v, want %v", i, d.Lines[i].Points, want)
			}
		}
		if n := d.Lines[i].Names; n[0] != "EDGE" {
			t.Errorf("layer 0 of a block is its insert's: %v", n)
		}
	}
	told := ""
	for _, r := range d.Remarks {
		told += r.String() + "\n"
	}
	for _, want := range []string{"2 entities are hidden", "1 TEXT", "1 on paper"} {
		if !strings.Contains(told, want) {
			t.Errorf("not told: %s in\n%s", want, told)
		}
	}
}

func TestDXFRefused(t *testing.T) {
	refused(t, "a.dxf", "AutoCAD Binary DXF\r\n\x1a\x00", 1, "binary DXF")
	refused(t, "a.dxf", "AC1032\x00\x00", 1, "DWG")
	refused(t, "a.dxf", "", 1, "empty")
	refused(t, "a.dxf", "0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nabc\n", 8, "no number")
	refused(t, "a.dxf", "0\nSECTION\n2\nENTITIES\n0\nLINE\nten\n1\n", 7, "no group code")
	refused(t, "a.dxf", "0\nSECTION\n2\nENTITIES\n0\nLINE\n10\n1\n", 0, "ends before")
	refused(t, "a.dxf", groups("0 LINE 10 0 20 0 11 nan 21 1"), 12, "no number")
	refused(t, "a.dxf", groups("0 INSERT 2 GONE"), 6, "has not")
	refused(t, "a.dxf", groups("0 SPLINE 71 3 11 0 21 0 11 5 21 5"), 6, "no control points")
	refused(t, "a.dxf", groups("0 SPLINE 71 3 40 0 10 0 20 0"), 6, "make no curve")
	refused(t, "a.dxf", groups("0 CIRCLE 10 0 20 0 40 5 210 1 220 0 230 0"), 6, "tilted")
	refused(t, "a.dxf", groups("0 CIRCLE 10 0 20 0 40 1e300"), 6, "more than 2000000 points")
	refused(t, "a.dxf", groups("0 LINE 10 0 20 0 11 1e12 21 1"), 6, "10 km")
	refused(t, "a.dxf", groups("0 INSERT 2 B 70 30000 71 30000"), 0, "has not")
	loop := "0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nB\n0\nINSERT\n2\nB\n0\nENDBLK\n0\nENDSEC\n"
	refused(t, "a.dxf", loop+groups("0 INSERT 2 B"), 0, "holds itself")
	// Seven blocks, each of ten columns and ten rows of the one before.
	bomb := "0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nB0\n0\nLINE\n11\n1\n0\nENDBLK\n"
	for i := range 7 {
		bomb += "0\nBLOCK\n2\nB" + string(rune('1'+i)) + "\n0\nINSERT\n2\nB" + string(rune('0'+i)) + "\n70\n10\n71\n10\n0\nENDBLK\n"
	}
	refused(t, "a.dxf", bomb+"0\nENDSEC\n"+groups("0 INSERT 2 B7"), 0, "things are drawn")
}

// endless is a drawing of 500 MB, without the 500 MB.
type endless struct{ left int64 }

func (e *endless) Read(p []byte) (int, error) {
	if e.left <= 0 {
		return 0, io.EOF
	}
	chunk := "8\n" + strings.Repeat("A", 997) + "\n"
	n := 0
	for n < len(p) && e.left > int64(n) {
		n += copy(p[n:], chunk[((500<<20)-e.left+int64(n))%1000:])
	}
	e.left -= int64(n)
	return n, nil
}

// A stream of 500 MB ends at the limit; a file of that length is not read at all.
func TestTooLong(t *testing.T) {
	e := &endless{500 << 20}
	r := io.MultiReader(strings.NewReader("0\nSECTION\n2\nENTITIES\n0\nTEXT\n"), e)
	_, err := Read(r, "a.dxf", Options{})
	if err == nil || !strings.Contains(err.Error(), "longer than the 128 MB") {
		t.Errorf("got %v", err)
	}
	if read := 500<<20 - e.left; read > MaxBytes+1<<20 {
		t.Errorf("%d MB were read", read>>20)
	}
	name := filepath.Join(t.TempDir(), "long.dxf")
	if err := os.WriteFile(name, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(name, 500<<20); err != nil {
		t.Skip("no sparse files here: ", err)
	}
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := Read(f, name, Options{}); err == nil || !strings.Contains(err.Error(), "longer than") {
		t.Errorf("got %v", err)
	}
	if at, _ := f.Seek(0, io.SeekCurrent); at != 0 {
		t.Errorf("%d bytes were read of a file known to be too long", at)
	}
}
