package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"brightcut/internal/whole"
	"brightcut/sight"
)

type lightCommand struct {
	Job  string `arg:"" help:"Job file."`
	JSON bool   `name:"json" help:"Print the figures as JSON."`
	Out  string `short:"o" placeholder:"FILE.svg" help:"Write the light rose as a chart."`
	sceneFlags
}

func (lightCommand) Help() string {
	return `The light rose tells how bright the pattern is to the eye for every place of the lamp,
as times white paper that faces it. Contrast, evenness and sparkle are of the room
and the lamp as they are set; what still shows is reckoned from published figures of
the eye. Examples:

  brightcut light barleycorn.yaml
  brightcut light barleycorn.yaml --out rose.svg --height 30
  brightcut light barleycorn.yaml --json --room overcast --metal copper`
}

func (c lightCommand) Run(b console) error {
	if c.Out != "" && !strings.EqualFold(filepath.Ext(c.Out), ".svg") {
		return usage("--out %s: the rose is written as SVG; end the name in .svg", c.Out)
	}
	j, list, _, err := readPlanned(b, c.Job)
	if err != nil {
		return err
	}
	s, err := c.scene(j)
	if err != nil {
		return err
	}
	f, err := sight.Look(b, sight.Piece{Blank: &j.Setup.Blank, Cuts: list.Cuts, Cutter: j.Setup.Cutter, Depth: j.Setup.Depth}, s)
	if err != nil {
		return err
	}
	if c.Out != "" {
		set := sight.Place{Azimuth: s.Lamp.Azimuth * 180 / math.Pi, Height: s.Lamp.Elevation * 180 / math.Pi}
		if err := whole.Write(c.Out, func(w io.Writer) error { return f.Rose.WriteSVG(w, set) }); err != nil {
			return err
		}
	}
	if c.JSON {
		return printJSON(b.out, f)
	}
	_, err = fmt.Fprintf(b.out, "%s\n%s\n", j.Title, strings.Join(f.Sentences(s), "\n"))
	return err
}
