// Command outside makes the reference figures of light/testdata/outside with a
// general-purpose renderer, POV-Ray 3.7 as Debian packages it (povray), from scenes
// that it writes itself; the tests of package light compare with them.
//
//	go run ./light/outside light/testdata/outside          # all, some minutes
//	go run ./light/outside --small scratch                 # grooves at few samples
//	go run ./light/outside --clock                         # how long either takes
//
// The scenes are geometry and mirrors alone: V grooves and crossing grooves cut out of
// a slab, seen by a parallel camera from straight above, that throw back nine tenths
// of a smooth sky as often as a ray meets them. The sky is the one in the tests:
// 0.2 + 0.5·z + 0.25·x + 0.3·x² of a direction.
package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

const head = `#version 3.7;
global_settings { assumed_gamma 1.0 max_trace_level 60 adc_bailout 0 }
sky_sphere { pigment { function { 0.2 + 0.5*z + 0.25*x + 0.3*x*x } color_map { [0 rgb 0] [1 rgb 1] } } }
#declare Mirror = texture { pigment { rgb 1 } finish { ambient 0 diffuse 0 reflection { 0.9 } } }
`

// camera looks down on a square of that side round (x, y).
func camera(x, y, w, h float64) string {
	return fmt.Sprintf("camera { orthographic location <%g, %g, 10> direction <0, 0, -1> up <0, %g, 0> right <%g, 0, 0> }\n", x, y, h, w)
}

func main() {
	args := os.Args[1:]
	if len(args) == 1 && args[0] == "--clock" {
		if err := clock(); err != nil {
			fmt.Fprintln(os.Stderr, "outside:", err)
			os.Exit(1)
		}
		return
	}
	small := len(args) > 0 && args[0] == "--small"
	if small {
		args = args[1:]
	}
	if len(args) != 1 {
		fmt.Fprintln(os.Stderr, "outside: give the folder for the figures")
		os.Exit(2)
	}
	if err := run(args[0], small); err != nil {
		fmt.Fprintln(os.Stderr, "outside:", err)
		os.Exit(1)
	}
}

func run(folder string, small bool) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	version, _ := exec.Command("povray", "--version").CombinedOutput()
	name := "POV-Ray"
	for line := range strings.Lines(string(version)) {
		if strings.HasPrefix(line, "POV-Ray") {
			name = strings.TrimSpace(line)
		}
	}
	var csv bytes.Buffer
	fmt.Fprintf(&csv, "# Mean radiance of a flank that faces x, in V grooves of a mirror of 0.9, made by\n# go run ./light/outside with %s on %s.\n", name, time.Now().Format(time.DateOnly))
	csv.WriteString("included_deg,land_share,radiance\n")
	angles, lands, across := []float64{60, 75, 90, 100, 110, 120, 130, 150}, []float64{0, 0.3}, 400
	if small {
		angles, lands, across = []float64{90, 130}, []float64{0}, 100
	}
	for _, included := range angles {
		for _, land := range lands {
			half := (1 - land) / 2
			scene := head + camera(-half/2, 0, half, half) + grooves(included, land)
			p, err := render(scene, across, 4, 1)
			if err != nil {
				return err
			}
			fmt.Fprintf(&csv, "%g,%g,%.5f\n", included, land, p.mean())
		}
	}
	if err := os.WriteFile(filepath.Join(folder, "grooves.csv"), csv.Bytes(), 0o644); err != nil || small {
		return err
	}
	// Crossing grooves: a pitch of 1 mm, as deep as leaves neither land nor more.
	for _, included := range []float64{130, 100} {
		p, err := render(head+camera(0, 0, 4, 4)+crossing(included), 200, 200, 9)
		if err != nil {
			return err
		}
		f, err := os.Create(filepath.Join(folder, fmt.Sprintf("crossing-%g.png", included)))
		if err != nil {
			return err
		}
		err = png.Encode(f, p.grey())
		if e := f.Close(); err == nil {
			err = e
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// grooves are V grooves along y, a pitch of 1 apart, in a slab that takes the given
// share of it for lands.
func grooves(included, land float64) string {
	half := (1 - land) / 2
	depth := half / math.Tan(included*math.Pi/360)
	var b strings.Builder
	b.WriteString("mesh {\n")
	quad := func(x0, z0, x1, z1 float64) {
		fmt.Fprintf(&b, " triangle { <%[1]g,-90,%[2]g>, <%[3]g,-90,%[4]g>, <%[3]g,90,%[4]g> } triangle { <%[1]g,-90,%[2]g>, <%[3]g,90,%[4]g>, <%[1]g,90,%[2]g> }\n", x0, z0, x1, z1)
	}
	for k := -30.0; k <= 30; k++ {
		quad(k-half, 0, k, -depth)
		quad(k, -depth, k+half, 0)
		if land > 0 {
			quad(k+half, 0, k+1-half, 0)
		}
	}
	b.WriteString(" texture { Mirror }\n}\n")
	return b.String()
}

// crossing are grooves along y and along x, which leave pyramids.
func crossing(included float64) string {
	depth := 0.5 / math.Tan(included*math.Pi/360)
	var b strings.Builder
	b.WriteString("mesh {\n")
	for i := -20.0; i < 20; i++ {
		for j := -20.0; j < 20; j++ {
			c := [4][2]float64{{i, j}, {i + 1, j}, {i + 1, j + 1}, {i, j + 1}}
			for k := range c {
				p, q := c[k], c[(k+1)%4]
				fmt.Fprintf(&b, " triangle { <%g,%g,%g>, <%g,%g,%g>, <%g,%g,0> }\n", p[0], p[1], -depth, q[0], q[1], -depth, i+0.5, j+0.5)
			}
		}
	}
	b.WriteString(" texture { Mirror }\n}\n")
	return b.String()
}

// picture is a linear grey picture.
type picture struct {
	w, h  int
	value []float64
}

func (p *picture) mean() float64 {
	var sum float64
	for _, v := range p.value {
		sum += v
	}
	return sum / float64(len(p.value))
}

func (p *picture) grey() image.Image {
	img := image.NewGray16(image.Rect(0, 0, p.w, p.h))
	for i, v := range p.value {
		img.SetGray16(i%p.w, i/p.w, color.Gray16{Y: uint16(min(max(v, 0), 1)*65535 + 0.5)})
	}
	return img
}

// render renders a scene at samples × samples to the pixel.
func render(scene string, w, h, samples int) (*picture, error) {
	folder, err := os.MkdirTemp("", "outside")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(folder)
	file, out := filepath.Join(folder, "scene.pov"), filepath.Join(folder, "out.ppm")
	if err := os.WriteFile(file, []byte(scene), 0o644); err != nil {
		return nil, err
	}
	args := []string{"+I" + file, "+O" + out, "+FP16", "File_Gamma=1.0", fmt.Sprintf("+W%d", w), fmt.Sprintf("+H%d", h), "-D", "+WT2"}
	if samples > 1 {
		args = append(args, "+A0.0", "+AM1", fmt.Sprintf("+R%d", samples), "-J")
	}
	if text, err := exec.Command("povray", args...).CombinedOutput(); err != nil {
		return nil, fmt.Errorf("povray: %w\n%s", err, text)
	}
	f, err := os.Open(out)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return readPPM(f)
}

// readPPM reads a binary PPM of 16 bits a component, as its middle component.
func readPPM(r io.Reader) (*picture, error) {
	b, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	var p picture
	var most int
	var kind string
	var top []string // the renderer puts comments between
	for line := range strings.Lines(string(b[:min(len(b), 2000)])) {
		if !strings.HasPrefix(line, "#") {
			top = append(top, line)
		}
		if len(top) == 3 {
			break
		}
	}
	if _, err := fmt.Fscan(strings.NewReader(strings.Join(top, " ")), &kind, &p.w, &p.h, &most); err != nil || kind != "P6" || most != 65535 {
		return nil, fmt.Errorf("no PPM of 16 bits: %s %d %v", kind, most, err)
	}
	data := b[len(b)-6*p.w*p.h:]
	for i := range p.w * p.h {
		p.value = append(p.value, float64(binary.BigEndian.Uint16(data[6*i+2:]))/65535)
	}
	return &p, nil
}
