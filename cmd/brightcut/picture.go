package main

import (
	"image"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/engine"
	"brightcut/internal/whole"
	"brightcut/job"
	"brightcut/light"
	"brightcut/surface"
)

type pictureCommand struct {
	Job     string  `arg:"" help:"Job file."`
	Out     string  `required:"" short:"o" placeholder:"FILE.png" help:"Where to write the picture."`
	Pixels  int     `default:"1200" help:"Pixels along the longer side."`
	Centre  string  `placeholder:"X,Y" help:"Close up: the place in the middle, mm."`
	Across  float64 `placeholder:"MM" help:"Close up: width of the work that the picture shows, mm."`
	Samples int     `default:"4" help:"Samples along each side of a pixel (${default})."`
	sceneFlags
}

func (pictureCommand) Help() string {
	return `The lamp is a soft one; a flank flashes when it stands twice the flank's tilt off
the vertical: 50 degrees for a 130 degree cutter, so at a height of 40. Examples:

  brightcut picture barleycorn.yaml --out barleycorn.png
  brightcut picture barleycorn.yaml --out raking.png --from 120 --height 25
  brightcut picture barleycorn.yaml --out close.png --centre 2,0 --across 3
  brightcut picture barleycorn.yaml --out gold.png --metal "18 carat gold" --room softbox
  brightcut picture barleycorn.yaml --out leaned.png --tilt 10 --toward 90 --eye 250`
}

func (c pictureCommand) Run(b console) error {
	if !strings.EqualFold(filepath.Ext(c.Out), ".png") {
		return usage("--out %s: pictures are written as PNG; end the name in .png", c.Out)
	}
	j, list, _, err := readPlanned(b, c.Job)
	if err != nil {
		return err
	}
	view, err := c.view(j)
	if err != nil {
		return err
	}
	scene, err := c.scene(j)
	if err != nil {
		return err
	}
	img, err := render(b, j, list, view, scene, "Lighting the piece")
	if err != nil {
		return err
	}
	return whole.Write(c.Out, func(w io.Writer) error { return light.WritePNG(w, img, view.Pixel(), scene.String()) })
}

// view is the whole blank, or the part that --centre and --across name.
func (c pictureCommand) view(j *job.Job) (light.View, error) {
	view := light.Whole(&j.Setup.Blank, c.Pixels)
	view.Samples = c.Samples
	if c.Across == 0 && c.Centre == "" {
		return view, nil
	}
	if c.Across <= 0 {
		return view, usage("--centre wants --across too: the width of the work to show, mm")
	}
	view.Width, view.W, view.H = c.Across, c.Pixels, c.Pixels
	if c.Centre == "" {
		return view, nil
	}
	x, y, found := strings.Cut(c.Centre, ",")
	px, errX := strconv.ParseFloat(strings.TrimSpace(x), 64)
	py, errY := strconv.ParseFloat(strings.TrimSpace(y), 64)
	if !found || errX != nil || errY != nil {
		return view, usage("--centre %s: give a place on the work as two numbers, X,Y in mm, such as 2,-3.5", c.Centre)
	}
	view.Centre = r2.Vec{X: px, Y: py}
	return view, nil
}

// render carves the cuts and lights them, with a progress bar on a terminal.
func render(b console, j *job.Job, list *engine.List, view light.View, scene light.Scene, label string) (image.Image, error) {
	carver, err := surface.NewCarver(list.Cuts, j.Setup.Cutter)
	if err != nil {
		return nil, err
	}
	told, stop := progress(b, label)
	defer stop()
	return light.Render(b, view, carver, &j.Setup.Blank, scene, told)
}
