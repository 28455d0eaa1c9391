package export

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"brightcut/depth"
	"brightcut/internal/polyline"
)

func engraving() Engraving { return Engraving{Feed: 400, Plunge: 90, Safe: 0.8, Tolerance: 0.002} }

// TestEveryJob exports every job of the example workshop in every flat format,
// twice with the same bytes; reads the tables back; and holds the lengths of the
// drawings, read back by a small reader of our own, against those of the list.
func TestEveryJob(t *testing.T) {
	for i, name := range jobs(t) {
		if i%5 != 0 && os.Getenv("BRIGHTCUT_SLOW") == "" {
			continue // all of them take most of a minute
		}
		p, _ := piece(t, name, false)
		f := p.Figure()
		want, cuts := 0.0, 0
		for i := range p.Cuts {
			for k := range p.Cuts[i].Pieces {
				want += p.Cuts[i].Pieces[k].Length()
			}
			cuts++
		}
		for format, write := range map[string]func(w io.Writer) (Summary, error){
			"SVG":      func(w io.Writer) (Summary, error) { return SVG(w, f) },
			"R12":      func(w io.Writer) (Summary, error) { return DXF(w, f, R12) },
			"2000":     func(w io.Writer) (Summary, error) { return DXF(w, f, DXF2000) },
			"vertices": func(w io.Writer) (Summary, error) { return VerticesCSV(w, p) },
			"cuts":     func(w io.Writer) (Summary, error) { return CutsCSV(w, p) },
			"G-code":   func(w io.Writer) (Summary, error) { return Engrave(w, p, engraving()) },
		} {
			var a, b bytes.Buffer
			s, err := write(&a)
			if err != nil {
				t.Fatalf("%s, %s: %v", name, format, err)
			}
			if _, err := write(&b); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Errorf("%s, %s: written twice, the bytes differ (%v)", name, format, err)
			}
			if bytes.Contains(a.Bytes(), []byte("NaN")) || bytes.Contains(a.Bytes(), []byte("Inf")) {
				t.Errorf("%s, %s: a number that is none", name, format)
			}
			got := math.NaN()
			switch format {
			case "SVG":
				got = svgLength(t, a.String())
			case "R12", "2000":
				got = dxfLength(t, a.String())
			case "vertices":
				got = csvLength(t, &a)
			case "cuts":
				rows, err := csv.NewReader(&a).ReadAll()
				if err != nil || len(rows) != cuts+1 {
					t.Fatalf("%s: %d rows for %d cuts, %v", name, len(rows), cuts, err)
				}
				got = 0
				for _, r := range rows[1:] {
					x, _ := strconv.ParseFloat(r[10], 64)
					got += x
				}
			case "G-code":
				got = s.Length - plunged(p)
			}
			slack := 2e-3 * want
			if p.form != nil && format == "G-code" { // the way over curved work is longer than seen from above
				slack = 0.02 * want
			}
			if math.Abs(got-want) > slack {
				t.Errorf("%s, %s: the cuts are %.3f mm long in the file, want %.3f", name, format, got, want)
			}
		}
	}
}

// plunged is the way straight down into the work, which is not part of a cut.
func plunged(p *Piece) (sum float64) {
	_, top, _, _ := p.engravingRemarks(engraving())
	for i := range p.Cuts {
		for k := range p.Cuts[i].Pieces {
			q := p.onSurface(p.Cuts[i].Pieces[k].Path[:1])[0]
			if q.Z < 0 {
				sum += top + engraving().Safe - q.Z
			}
		}
	}
	return sum
}

// svgLength adds up the straight lines of the cuts' groups.
func svgLength(t *testing.T, text string) (sum float64) {
	in := false
	for line := range strings.Lines(text) {
		switch {
		case strings.HasPrefix(line, "<g "):
			in = strings.Contains(line, `id="CUTS-`)
		case in && strings.HasPrefix(line, "<path"):
			d := line[strings.Index(line, `d="M`)+4 : strings.LastIndex(line, `"`)]
			closed := strings.HasSuffix(d, "Z")
			var first, last r2.Vec
			for i, w := range strings.Split(strings.TrimSuffix(d, "Z"), "L") {
				var p r2.Vec
				if _, err := fmt.Sscanf(w, "%f %f", &p.X, &p.Y); err != nil {
					t.Fatalf("%q: %v", w, err)
				}
				if i == 0 {
					first = p
				} else {
					sum += r2.Norm(r2.Sub(p, last))
				}
				last = p
			}
			if closed {
				sum += r2.Norm(r2.Sub(first, last))
			}
		}
	}
	return sum
}

// dxfLength adds up the polylines of the cuts' layers.
func dxfLength(t *testing.T, text string) (sum float64) {
	lines := strings.Split(text, "\n")
	var points []r2.Vec
	closed, layer, kind := false, "", ""
	end := func() {
		if strings.HasPrefix(layer, "CUTS-") {
			for i := range points {
				if i > 0 {
					sum += r2.Norm(r2.Sub(points[i], points[i-1]))
				}
			}
			if closed && len(points) > 0 {
				sum += r2.Norm(r2.Sub(points[0], points[len(points)-1]))
			}
		}
		points, closed, layer = nil, false, ""
	}
	for i := 0; i+1 < len(lines); i += 2 {
		code, value := lines[i], lines[i+1]
		x, _ := strconv.ParseFloat(value, 64)
		switch code {
		case "0":
			if value == "POLYLINE" || value == "LWPOLYLINE" || value == "SEQEND" || value == "ENDSEC" {
				end()
			}
			kind = value
		case "8":
			layer = value
		case "70":
			closed = closed || (kind == "POLYLINE" || kind == "LWPOLYLINE") && value == "1"
		case "10":
			if kind == "VERTEX" || kind == "LWPOLYLINE" {
				points = append(points, r2.Vec{X: x})
			}
		case "20":
			if kind == "VERTEX" || kind == "LWPOLYLINE" {
				points[len(points)-1].Y = x
			}
		}
	}
	return sum
}

func csvLength(t *testing.T, r io.Reader) (sum float64) {
	rows, err := csv.NewReader(r).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i := 2; i < len(rows); i++ {
		if rows[i][0] != rows[i-1][0] || rows[i][1] != rows[i-1][1] {
			continue
		}
		var d r3.Vec
		for k, c := range []*float64{&d.X, &d.Y, &d.Z} {
			a, _ := strconv.ParseFloat(rows[i-1][2+k], 64)
			b, _ := strconv.ParseFloat(rows[i][2+k], 64)
			*c = b - a
		}
		sum += math.Sqrt(r3.Norm2(d))
	}
	return sum
}

// TestEngraveByLinuxCNC runs cuts through LinuxCNC's interpreter: straight ones,
// rings, and a bowed dial whose plan and readings are followed. Every vertex of
// every cut, at the height of the surface less the wished depth, is within the
// tolerance of the motions, in their order; quick moves are clear of the work.
func TestEngraveByLinuxCNC(t *testing.T) {
	for _, c := range []struct {
		name    string
		planned bool
		inch    bool
	}{{"parallel-lines.yaml", false, false}, {"barleycorn-rings.yaml", false, true}, {"bowed-dial.yaml", true, false}} {
		p, plan := piece(t, c.name, c.planned)
		if c.planned && plan == nil {
			t.Fatalf("%s: has no plan", c.name)
		}
		if len(p.Cuts) > 60 {
			p.Cuts = p.Cuts[:60]
		}
		e := engraving()
		e.Inch = c.inch
		e.Spindle = 9000
		path := file(t, "e.ngc", func(w *os.File) error { _, err := Engrave(w, p, e); return err })
		motions := interpret(t, path, c.inch)
		slack := e.Tolerance + 0.0005
		if c.inch {
			slack = e.Tolerance + 0.004
		}
		var at r3.Vec
		var ways [][]r3.Vec // at feed, between quick moves
		for _, m := range motions {
			to := r3.Vec{X: m.to[0], Y: m.to[1], Z: m.to[2]}
			if m.feed {
				if n := len(ways); n > 0 && len(ways[n-1]) > 0 {
					ways[n-1] = append(ways[n-1], to)
				}
			} else {
				if (to.X != at.X || to.Y != at.Y) && at.Z < e.Safe-0.01 {
					t.Fatalf("%s: a quick move at the height %.3f", c.name, at.Z)
				}
				if n := len(ways); n == 0 || len(ways[n-1]) > 1 {
					ways = append(ways, nil)
				}
				ways[len(ways)-1] = []r3.Vec{to}
			}
			at = to
		}
		n, worst, heights := 0, 0.0, map[float64]bool{}
		for i := range p.Cuts {
			for k := range p.Cuts[i].Pieces {
				way := ways[n][1:] // without the plunge
				n++
				seg := 0
				for _, v := range p.Cuts[i].Pieces[k].Path {
					z, known := 0.0, false
					if p.stock != nil {
						z, _, known = p.stock.Height(r2.Vec{X: v.X, Y: v.Y})
						heights[math.Round(z*1e4)] = known
					}
					q := r3.Vec{X: v.X, Y: v.Y, Z: z + v.Z}
					best := math.Inf(1)
					for s := seg; s+1 < len(way); s++ { // never back
						if d := polyline.Off3(q, way[s], way[s+1]); d < best {
							best, seg = d, s
						}
						if best < slack && s > seg+3 {
							break
						}
					}
					worst = max(worst, best)
				}
			}
		}
		if worst > slack {
			t.Errorf("%s: a vertex is %.4f mm off the motions", c.name, worst)
		}
		if c.planned && len(heights) < 10 {
			t.Errorf("%s: the surface under the cuts has %d heights only: nothing is followed", c.name, len(heights))
		}
	}
}

// TestPlannedPiece: cuts come in the plan's order, under its holds, with the depth
// that is wished, not the one that is predicted.
func TestPlannedPiece(t *testing.T) {
	p, plan := piece(t, "bowed-dial.yaml", true)
	written, _ := piece(t, "bowed-dial.yaml", false)
	byNumber := map[int]r2.Vec{}
	for _, c := range written.Cuts {
		if len(c.Pieces) > 0 {
			byNumber[c.Number] = r2.Vec{X: c.Pieces[0].Path[0].X, Y: c.Pieces[0].Path[0].Y}
		}
	}
	holds := map[depth.Way]int{}
	for i, c := range p.Cuts {
		if c.Number != i+1 {
			t.Fatalf("cut %d stands at place %d", c.Number, i+1)
		}
		holds[p.Hold(c.Number)]++
		if len(c.Pieces) == 0 {
			continue
		}
		v := c.Pieces[0].Path[0]
		if d := r2.Norm(r2.Sub(byNumber[plan.Written(c.Number)], r2.Vec{X: v.X, Y: v.Y})); d > 1e-9 {
			t.Fatalf("cut %d begins %.3f mm from where the job has it", c.Number, d)
		}
		if math.Abs(v.Z+c.Depth) > 1e-9 {
			t.Fatalf("cut %d has its tip at %.5f mm, want the wished depth of %.5f", c.Number, v.Z, c.Depth)
		}
	}
	want := map[depth.Way]int{}
	for _, h := range plan.Holds {
		want[h.By] += h.Last - h.First + 1
	}
	for w, n := range want {
		if holds[w] != n {
			t.Errorf("%d cuts by the %v, the plan has %d", holds[w], w, n)
		}
	}
	if len(want) < 2 {
		t.Errorf("the plan holds all cuts one way: this test sees nothing")
	}
}
