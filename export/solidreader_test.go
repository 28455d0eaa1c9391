package export

import (
	"context"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/bar"
	"brightcut/engine"
)

// foreign runs a program that is not ours. Where it is missing the test is skipped,
// but fails in the project's own check.
func foreign(t *testing.T, pack, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s is not installed; apt-get install %s", name, pack)
		}
		t.Skipf("%s is not installed (apt-get install %s), so nothing foreign reads the file", name, pack)
	}
	cmd := exec.Command(path, args...)
	cmd.Env = append(os.Environ(), "LC_ALL=C", "QT_QPA_PLATFORM=offscreen")
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, out)
	}
	return string(out)
}

func solidFile(t *testing.T, s Solid, format, ext string) (path string, sum SolidSummary) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "solid"+ext)
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if sum, err = writers[format](context.Background(), f, s); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return path, sum
}

// admesh returns the volume that admesh finds, having failed the test unless it
// finds one part, closed, with nothing to mend.
func admesh(t *testing.T, path string, facets int, normals bool) float64 {
	t.Helper()
	out := foreign(t, "admesh", "admesh", "--no-check", path)
	full := foreign(t, "admesh", "admesh", path)
	number := func(text, pattern string) float64 {
		m := regexp.MustCompile(pattern).FindStringSubmatch(text)
		if m == nil {
			t.Fatalf("admesh says nothing of %s:\n%s", pattern, text)
		}
		v, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	if got := number(out, `Number of facets\s*:\s*(\d+)`); int(got) != facets {
		t.Errorf("admesh finds %v facets of %d", got, facets)
	}
	zeros := []string{`Total disconnected facets\s*:\s*(\d+)`, `Degenerate facets\s*:\s*(\d+)`, `Edges fixed\s*:\s*(\d+)`, `Facets removed\s*:\s*(\d+)`, `Facets added\s*:\s*(\d+)`, `Facets reversed\s*:\s*(\d+)`, `Backwards edges\s*:\s*(\d+)`}
	if normals {
		zeros = append(zeros, `Normals fixed\s*:\s*(\d+)`)
	}
	for _, zero := range zeros {
		if n := number(full, zero); n != 0 {
			t.Errorf("admesh: %s is %v, not 0\n%s", zero, n, full)
		}
	}
	if n := number(full, `Number of parts\s*:\s*(\d+)`); n != 1 {
		t.Errorf("admesh finds %v parts", n)
	}
	return number(full, `Volume\s*:\s*(-?[\d.]+)`)
}

type solidCase struct {
	name   string
	solid  Solid
	volume float64 // from formulas
}

func solidCases(t *testing.T) []solidCase {
	t.Helper()
	var cases []solidCase
	body := func(name string, e bar.Edge, s Shape, thick float64, eng *Lettering, volume float64) {
		tpl, err := NewTemplate(e, s)
		if err != nil {
			t.Fatal(name, err)
		}
		b, err := NewBody(name, tpl.Loops(DefaultTolerance), thick, eng)
		if err != nil {
			t.Fatal(name, err)
		}
		cases = append(cases, solidCase{name, b, volume})
	}
	// A plain rosette is a cylinder, π(R² − r²)t.
	body("plain rosette", bar.Edge{Name: "plain", Figure: bar.Plain, Radius: 40}, Shape{Bore: 12}, 5, nil, math.Pi*(40*40-6*6)*5)
	// A sine of amplitude a round R encloses π(R² + a²/2).
	body("sine rosette", bar.Edge{Name: "sine", Figure: bar.Sine, Radius: 50, Count: 24, Amplitude: 1}, Shape{Bore: 20}, 6,
		&Lettering{Text: "Lantern Yard 24", At: r2.Vec{Y: 25}, Height: 3, Depth: 0.02}, math.Pi*(50*50+0.5-100)*6)
	body("plain bar", bar.Edge{Name: "plain", Figure: bar.Plain, Length: 120}, Shape{Back: 15, Holes: []Hole{{At: r2.Vec{X: -50, Y: -8}, Diameter: 5}, {At: r2.Vec{X: 50, Y: -8}, Diameter: 5}}}, 4, nil,
		(120*15-2*math.Pi*2.5*2.5)*4)
	// A whole number of waves of a sine adds nothing to the strip below the datum.
	body("sine bar", bar.Edge{Name: "sine", Figure: bar.Sine, Wave: 3, Amplitude: 0.3, Length: 120}, Shape{Back: 15}, 4, nil, 120*15*4)
	// Grooves right through a window take d²·tan(half) a length each.
	const d = 0.06
	var lines, net []engine.Cut
	for i := range 5 {
		s := 0.2 + 0.4*float64(i)
		lines = append(lines, straight(r2.Vec{X: s, Y: -1}, r2.Vec{X: s, Y: 3}, d))
		net = append(net, lines[i], straight(r2.Vec{X: -1, Y: s}, r2.Vec{X: 3, Y: s}, d))
	}
	ditch := d * d * math.Tan(bright.Half())
	cases = append(cases, solidCase{"parallel lines", relief(t, lines, bright, box(0, 0, 2, 2), 0.004, 0.2), 2*2*0.2 - 5*ditch*2})
	// Where two equal V grooves cross at right angles they share a pyramid of base
	// w² and height d, so much is taken once: w = 2d·tan(half), shared w²d/3.
	w := 2 * d * math.Tan(bright.Half())
	cases = append(cases, solidCase{"hobnail", relief(t, net, bright, box(0, 0, 2, 2), 0.004, 0.2), 2*2*0.2 - 10*ditch*2 + 25*w*w*d/3})
	return cases
}

// STL read by admesh: closed, one part, nothing to mend, the volume of the formula.
func TestSTLByAdmesh(t *testing.T) {
	for _, c := range solidCases(t) {
		t.Run(c.name, func(t *testing.T) {
			path, sum := solidFile(t, c.solid, "STL", ".stl")
			head, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if len(head) != 84+50*sum.Triangles || strings.HasPrefix(string(head), "solid") {
				t.Errorf("%d bytes for %d facets, beginning %q", len(head), sum.Triangles, head[:20])
			}
			got := admesh(t, path, sum.Triangles, true)
			near(t, "volume by formula", got, c.volume, 1e-3*c.volume)
			near(t, "volume in the summary", sum.Volume, got, 1e-4*got)
		})
	}
}

// 3MF and OBJ read by assimp, which writes what it read as STL for admesh.
func TestSolidsByAssimp(t *testing.T) {
	for _, c := range solidCases(t) {
		for format, ext := range map[string]string{"3MF": ".3mf", "OBJ": ".obj"} {
			t.Run(c.name+ext, func(t *testing.T) {
				path, sum := solidFile(t, c.solid, format, ext)
				back := filepath.Join(t.TempDir(), "back.stl")
				foreign(t, "assimp-utils", "assimp", "export", path, back, "-fstlb")
				// assimp gives smoothed normals to what comes without any.
				near(t, "volume", admesh(t, back, sum.Triangles, false), c.volume, 1e-3*c.volume)
			})
		}
	}
}

// 3MF is a zip of XML: xmllint reads its parts.
func TestThreeMFByXmllint(t *testing.T) {
	b, err := NewBody(`A "name" <of> & sorts`, [][]r2.Vec{{{X: 0}, {X: 1}, {Y: 1}}}, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	path, _ := solidFile(t, b, "3MF", ".3mf")
	dir := t.TempDir()
	foreign(t, "unzip", "unzip", "-q", path, "-d", dir)
	for _, part := range []string{"[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"} {
		foreign(t, "libxml2-utils", "xmllint", "--noout", filepath.Join(dir, part))
	}
	title := foreign(t, "libxml2-utils", "xmllint", "--xpath", `string(//*[local-name()="metadata"])`, filepath.Join(dir, "3D/3dmodel.model"))
	if strings.TrimSpace(title) != `A "name" <of> & sorts` {
		t.Errorf("the title reads %q", title)
	}
}

// Heights read by pngcheck and ImageMagick; levels compared with the V's own
// section by the standard library's decoder.
func TestHeightsByOthers(t *testing.T) {
	const d = 0.05
	cuts := []engine.Cut{straight(r2.Vec{X: 0.5, Y: -1}, r2.Vec{X: 0.5, Y: 3}, d), straight(r2.Vec{X: 1.2, Y: 0.4}, r2.Vec{X: 1.2, Y: 3}, d/2)}
	path := filepath.Join(t.TempDir(), "h.png")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	sum, err := Heights(context.Background(), f, cuts, bright, HeightsOptions{Name: "Lantern Yard", Window: box(0, 0, 1.6, 0.9), Pixel: 0.002})
	if err != nil {
		t.Fatal(err)
	}
	f.Close()
	f, err = os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	if b := img.Bounds(); b.Dx() != 800 || b.Dy() != 450 || sum.Width != 800 || sum.Height != 450 {
		t.Fatalf("%v and %+v", b, sum)
	}
	cot := 1 / math.Tan(bright.Half())
	for j := range 450 {
		for i := range 800 {
			x, y := (float64(i)+0.5)*0.002, 0.9-(float64(j)+0.5)*0.002
			want := min(0, -d+math.Abs(x-0.5)*cot)
			if y > 0.4 {
				want = min(want, -d/2+math.Abs(x-1.2)*cot)
			}
			v, _, _, _ := img.At(i, j).RGBA()
			if got := (sum.Black + float64(v)*sum.Level) / 1000; math.Abs(got-want) > 2e-6 {
				t.Fatalf("pixel (%d, %d): %v mm, want %v", i, j, got, want)
			}
		}
	}
	if out := foreign(t, "pngcheck", "pngcheck", "-t", path); !strings.Contains(out, "OK:") || !strings.Contains(out, "level 65535 is 0 um") {
		t.Errorf("pngcheck: %s", out)
	}
	if out := foreign(t, "imagemagick", "identify", "-format", "%w %h %z %[colorspace]", path); strings.TrimSpace(out) != "800 450 16 Gray" {
		t.Errorf("ImageMagick: %s", out)
	}
	low := foreign(t, "imagemagick", "identify", "-format", "%[min]", path)
	near(t, "least level by ImageMagick", func() float64 { v, _ := strconv.ParseFloat(strings.TrimSpace(low), 64); return v }(),
		math.Round((1-(d-0.001*cot)/d)*65535), 2)
}
