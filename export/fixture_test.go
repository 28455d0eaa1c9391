package export

import (
	"context"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/bar"
	"brightcut/depth"
	"brightcut/examples"
	"brightcut/job"
)

// templates are bars and rosettes of every figure, with ends, holes, bores and
// keyways; nothing about them is symmetric that could hide a swap.
func templates(t testing.TB) map[string]*Template {
	t.Helper()
	hole := func(x, y, d float64) Hole { return Hole{At: r2.Vec{X: x, Y: y}, Diameter: d} }
	slot := Hole{At: r2.Vec{X: 36, Y: -5}, Diameter: 3.2, Length: 4, Angle: 0.3}
	out := map[string]*Template{}
	for name, c := range map[string]struct {
		e bar.Edge
		s Shape
	}{
		"sine":      {bar.Edge{Figure: bar.Sine, Wave: 3, Amplitude: 0.25, Length: 61}, Shape{Back: 9, Ends: 14, EndTop: -1, Holes: []Hole{hole(-38, -5, 4), slot}}},
		"plain":     {bar.Edge{Figure: bar.Plain}, Shape{From: -20, To: 35, Back: 7}},
		"arcs":      {bar.Edge{Figure: bar.Arcs, Wave: 4, Amplitude: 0.3, Crest: 0.6}, Shape{From: -21.3, To: 30.9, Back: 8, Holes: []Hole{hole(-15, -4, 5)}}},
		"scallops":  {bar.Edge{Figure: bar.Arcs, Wave: 2, Amplitude: 0.2, Crest: 1}, Shape{From: 0, To: 23, Back: 8}},
		"zigzag":    {bar.Edge{Figure: bar.Zigzag, Wave: 2.2, Amplitude: 0.4, Nose: 0.1, Root: 0.2}, Shape{From: -10, To: 13.4, Back: 5, Ends: 6, EndTop: 0.4}},
		"trapezoid": {bar.Edge{Figure: bar.Trapezoid, Wave: 5, Amplitude: 0.5, Crest: 0.2, Hollow: 0.3, Length: 40}, Shape{Back: 6}},
		"bumps":     {bar.Edge{Figure: bar.Bumps, Wave: 2.5, Heights: []float64{0.3, 0.5, 0.1}}, Shape{From: -9, To: 21, Back: 4}},
		"two edges": {bar.Edge{Figure: bar.Sine, Wave: 3, Amplitude: 0.25, Other: &bar.Edge{Figure: bar.Arcs, Wave: 4, Amplitude: 0.3, Crest: 0.6}},
			Shape{From: -17, To: 26.3, Back: 9, Ends: 5, EndTop: -0.6, Holes: []Hole{hole(-15, -4, 3)}}},
		"points":     {bar.Edge{Figure: bar.Points, Drawn: [][2]float64{{-8, 0.1}, {-3, 0.7}, {1, 0.2}, {9, 0.4}}, Spline: true}, Shape{Back: 5, Holes: []Hole{hole(2, -2.4, 2.5)}}},
		"rosette":    {bar.Edge{Figure: bar.Sine, Radius: 30, Count: 24, Amplitude: 0.7}, Shape{Bore: 12, KeyWidth: 4, KeyDepth: 2, Holes: []Hole{hole(-3, 18, 5)}}},
		"disc":       {bar.Edge{Figure: bar.Plain, Radius: 21}, Shape{Bore: 8, Holes: []Hole{hole(5, 12, 3)}}},
		"flats":      {bar.Edge{Figure: bar.Trapezoid, Radius: 30, Count: 12, Amplitude: 0.5, Crest: 0.3, Hollow: 0.2}, Shape{Bore: 10}},
		"round arcs": {bar.Edge{Figure: bar.Arcs, Radius: 25, Count: 16, Amplitude: 0.6, Crest: 0.4}, Shape{}},
		"unequal":    {bar.Edge{Figure: bar.Bumps, Radius: 22, Count: 9, Heights: []float64{0.4, 1, 0.7}}, Shape{Bore: 6}},
	} {
		c.s.Name = name
		template, err := NewTemplate(c.e, c.s)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		out[name] = template
	}
	return out
}

// jobs are the example workshop's: names of files.
func jobs(t testing.TB) []string {
	t.Helper()
	names, err := fs.Glob(examples.Workshop, "*.yaml")
	if err != nil || len(names) < 20 {
		t.Fatalf("%d example jobs, %v", len(names), err)
	}
	return names
}

// piece works a job out; planned asks for the plan of its depth too.
func piece(t testing.TB, name string, planned bool) (*Piece, *depth.Plan) {
	t.Helper()
	j, err := job.ReadFS(examples.Workshop, name)
	if err != nil {
		t.Fatal(err)
	}
	l, err := j.Cuts(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	var plan *depth.Plan
	var stock *depth.Stock
	if planned && j.Planned() {
		var work *depth.Work
		if plan, work, err = j.Plan(context.Background(), l); err != nil {
			t.Fatal(err)
		}
		stock = work.Stock
	}
	return NewPiece(j, l, plan, stock), plan
}

// tool finds a reader that another made. Without it a test is skipped; where the
// project checks itself, CI=true, it fails.
func tool(t testing.TB, name, pack string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s is not installed (Debian package %s)", name, pack)
	}
	t.Skipf("%s is not installed (Debian package %s): what it would read is not checked here", name, pack)
	return ""
}

// python is the system's, for which Debian's python3-ezdxf is installed.
func python(t testing.TB) string {
	t.Helper()
	const system = "/usr/bin/python3"
	if err := exec.Command(system, "-c", "import ezdxf").Run(); err != nil {
		tool(t, "python3-ezdxf (a module of "+system+")", "python3-ezdxf")
	}
	return system
}

func run(t testing.TB, name string, args ...string) string {
	t.Helper()
	c := exec.Command(name, args...)
	var errs strings.Builder
	c.Stderr = &errs
	text, err := c.Output()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s\n%.2000s", name, strings.Join(args, " "), err, errs.String(), text)
	}
	return string(text)
}

// file writes a file for a reader.
func file(t testing.TB, name string, write func(*os.File) error) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := write(f); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}
