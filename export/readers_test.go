package export

import (
	"encoding/json"
	"fmt"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// readDXF is what testdata/measure_dxf.py tells.
type readDXF struct {
	Errors  []string
	Version string
	Units   int
	Layers  map[string]struct {
		Lines        int
		Length, Area float64
	}
	Box [4]float64
}

// TestDXFByEzdxf has every template and two pieces audited and measured by ezdxf
// (Debian python3-ezdxf), which is not ours: no errors, the same layers, lengths
// and box.
func TestDXFByEzdxf(t *testing.T) {
	py := python(t)
	figures := map[string]Figure{}
	for name, tm := range templates(t) {
		figures[name] = tm.Figure()
	}
	for _, name := range []string{"parallel-lines.yaml", "triangular-points.yaml"} {
		p, _ := piece(t, name, false)
		figures[name] = p.Figure()
	}
	const flat = 1e-4
	type written struct {
		name string
		v    DXFVersion
		s    Summary
	}
	var all []written
	args := []string{"testdata/measure_dxf.py", fmt.Sprint(flat)}
	for name, f := range figures {
		for _, v := range []DXFVersion{R12, DXF2000} {
			one := written{name: name, v: v}
			args = append(args, file(t, "f.dxf", func(w *os.File) (err error) { one.s, err = DXF(w, f, v); return err }))
			all = append(all, one)
		}
	}
	read := json.NewDecoder(strings.NewReader(run(t, py, args...)))
	for _, one := range all {
		name, v, s := one.name, one.v, one.s
		var got readDXF
		if err := read.Decode(&got); err != nil {
			t.Fatal(err)
		}
		if len(got.Errors) > 0 {
			t.Errorf("%s, %s: the audit finds %v", name, s.Format, got.Errors)
		}
		version, units := "AC1009", 0
		if v == DXF2000 {
			version, units = "AC1015", 4
		}
		if got.Version != version || got.Units != units {
			t.Errorf("%s: version %s, units %d; want %s, %d", name, got.Version, got.Units, version, units)
		}
		areas := map[string]float64{} // arcs that bulge the wrong way have the same length
		for l := range figures[name].Lines {
			if l.Closed {
				areas[l.Layer] += math.Abs(l.Area())
			}
		}
		length, lines := 0.0, 0
		for layer, l := range got.Layers {
			length += l.Length
			lines += l.Lines
			if want := areas[layer]; math.Abs(l.Area-want) > 5e-4*want { // the reader takes arcs as cubic curves
				t.Errorf("%s, %s: %.5f mm² in the layer %s, want %.5f", name, s.Format, l.Area, layer, want)
			}
			if l.Lines != s.Counts[layer] {
				t.Errorf("%s: %d lines in the layer %s, want %d", name, l.Lines, layer, s.Counts[layer])
			}
		}
		// The reader measures chords of the arcs, shorter by 8/3·flat/chord of theirs.
		if math.Abs(length-s.Length) > 1e-3*s.Length || lines != s.Counts["lines"] {
			t.Errorf("%s, %s: %d lines of %.4f mm, want %d of %.4f", name, s.Format, lines, length, s.Counts["lines"], s.Length)
		}
		for i := range got.Box {
			if math.Abs(got.Box[i]-s.Box[i]) > 2*flat {
				t.Errorf("%s, %s: box %v, want %v", name, s.Format, got.Box, s.Box)
				break
			}
		}
	}
}

// TestSVGByLibrsvg has templates drawn by librsvg (Debian librsvg2-bin) and looks
// for its pixels: on the outline they are dark, off it they are white; the picture
// is as large in true millimetres as the summary's box. xmllint (Debian
// libxml2-utils) finds the file well formed.
func TestSVGByLibrsvg(t *testing.T) {
	rsvg := tool(t, "rsvg-convert", "librsvg2-bin")
	lint := tool(t, "xmllint", "libxml2-utils")
	for name, tm := range templates(t) {
		tm.Name = "a <name> & \x01 a half"
		var s Summary
		path := file(t, "f.svg", func(w *os.File) (err error) { s, err = SVG(w, tm.Figure()); return err })
		run(t, lint, "--noout", "--nonet", path)
		const dpi = 508 // 20 pixels a mm
		picture := filepath.Join(t.TempDir(), "f.png")
		run(t, rsvg, "--dpi-x", fmt.Sprint(dpi), "--dpi-y", fmt.Sprint(dpi), "--background-color", "white", "-o", picture, path)
		f, err := os.Open(picture)
		if err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(f)
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		const scale = dpi / 25.4
		x0, y0 := math.Floor(s.Box[0]-1), math.Floor(-s.Box[3]-1)
		wide := (math.Ceil(s.Box[2]+1) - x0) * scale
		if w := img.Bounds().Dx(); math.Abs(float64(w)-wide) > 1 {
			t.Fatalf("%s: %d pixels wide, want %.1f: the size is not true", name, w, wide)
		}
		dark := func(p r2.Vec) bool { // a pixel about it is drawn
			x, y := (p.X-x0)*scale, (-p.Y-y0)*scale
			for dx := -1; dx <= 1; dx++ {
				for dy := -1; dy <= 1; dy++ {
					if r, g, b, _ := img.At(int(math.Floor(x))+dx, int(math.Floor(y))+dy).RGBA(); min(r, g, b) < 0x9000 {
						return true
					}
				}
			}
			return false
		}
		for _, l := range append([]Line{tm.Outer}, tm.Inner...) {
			p := l.Points(0.01)
			near := index(p, 0.5)
			missed, ghosts, off := 0, 0, 0
			for i, a := range p {
				b := p[(i+1)%len(p)]
				m := r2.Scale(0.5, r2.Add(a, b))
				if !dark(m) {
					missed++
				}
				u := r2.Unit(r2.Sub(b, a))
				for _, side := range []float64{-0.2, 0.2} { // four pixels off
					q := r2.Add(m, r2.Vec{X: -side * u.Y, Y: side * u.X})
					if near(q) > 0.15 {
						off++
						if dark(q) {
							ghosts++
						}
					}
				}
			}
			if missed > 0 || ghosts > 0 || off == 0 {
				t.Errorf("%s: of %d places of a line %d are not drawn; of %d beside it %d are", name, len(p), missed, off, ghosts)
			}
		}
	}
}

// motion is one that the interpreter commands, mm.
type motion struct {
	feed bool
	to   [3]float64
	arc  stretch // in the plane; only when bulge is not 0
}

var canon = regexp.MustCompile(`(STRAIGHT_TRAVERSE|STRAIGHT_FEED|ARC_FEED|COMMENT|USE_LENGTH_UNITS)\(([^)]*)\)`)

// interpret runs a program through LinuxCNC's stand-alone interpreter (Debian
// linuxcnc-uspace) and returns the motions that it commands.
func interpret(t testing.TB, path string, inch bool) []motion {
	rs274 := tool(t, "rs274", "linuxcnc-uspace")
	dir := t.TempDir()
	table, vars := filepath.Join(dir, "tool.tbl"), filepath.Join(dir, "vars")
	var b strings.Builder // the interpreter asks for its parameters in order
	for _, r := range [][2]int{{5161, 5169}, {5181, 5189}, {5210, 5220}} {
		for i := r[0]; i <= r[1]; i++ {
			fmt.Fprintf(&b, "%d\t%d\n", i, i/5220)
		}
	}
	for i := 5221; i <= 5390; i++ {
		if i%20 >= 1 && i%20 <= 10 {
			fmt.Fprintf(&b, "%d\t0\n", i)
		}
	}
	for name, text := range map[string]string{table: "", vars: b.String()} {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	unit := 1.0
	if inch {
		unit = 25.4
	}
	var out []motion
	at := r2.Vec{}
	ended := false
	for line := range strings.Lines(run(t, rs274, "-g", "-t", table, "-v", vars, path)) {
		if strings.Contains(line, "PROGRAM_END") {
			ended = true
		}
		m := canon.FindStringSubmatch(line)
		if m == nil || m[1] == "COMMENT" {
			continue
		}
		if m[1] == "USE_LENGTH_UNITS" {
			if want := map[bool]string{false: "CANON_UNITS_MM", true: "CANON_UNITS_INCHES"}[inch]; len(out) > 0 && m[2] != want {
				t.Fatalf("the interpreter works in %s", m[2])
			}
			continue
		}
		var v []float64
		for _, w := range strings.Split(m[2], ",") {
			x, err := strconv.ParseFloat(strings.TrimSpace(w), 64)
			if err != nil {
				t.Fatalf("%s: %v", line, err)
			}
			v = append(v, x)
		}
		q := motion{feed: m[1] != "STRAIGHT_TRAVERSE", to: [3]float64{v[0] * unit, v[1] * unit, v[2] * unit}}
		if m[1] == "ARC_FEED" { // end, centre, turns, z
			q.to[2] = v[5] * unit
			to, c := r2.Vec{X: q.to[0], Y: q.to[1]}, r2.Vec{X: v[2] * unit, Y: v[3] * unit}
			φ := math.Atan2(r2.Cross(r2.Sub(at, c), r2.Sub(to, c)), r2.Dot(r2.Sub(at, c), r2.Sub(to, c)))
			if v[4] > 0 && φ <= 0 {
				φ += 2 * math.Pi
			}
			if v[4] < 0 && φ >= 0 {
				φ -= 2 * math.Pi
			}
			q.arc = stretch{at, to, math.Tan(φ / 4)}
			if r := r2.Norm(r2.Sub(at, c)); math.Abs(q.arc.radius()-r) > 0.05*(1+r) && math.Abs(φ) > 0.05 {
				t.Fatalf("%s: an arc of radius %.4f read as %.4f", line, r, q.arc.radius())
			}
		}
		at = r2.Vec{X: q.to[0], Y: q.to[1]}
		out = append(out, q)
	}
	if !ended || len(out) == 0 {
		t.Fatalf("the interpreter did not come to the end of %s", path)
	}
	return out
}
