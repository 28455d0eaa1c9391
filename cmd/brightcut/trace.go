package main

import (
	"fmt"
	"strings"

	"brightcut/tracing"
)

type barTrace struct {
	File       string  `arg:"" help:"Drawing (.svg, .dxf), table of points (.csv) or picture (.png, .jpg, .tif)."`
	Out        string  `placeholder:"FILE.yaml" help:"File of the bar or rosette to write, in bars/ or rosettes/; without it, it is printed."`
	Name       string  `help:"What the workshop will call it; without it, the name of the drawing."`
	Unit       string  `placeholder:"LENGTH" help:"Length of one unit of the drawing, in place of what the file says, as '1 mm' or '1 in'."`
	Line       string  `placeholder:"NAME" help:"Take only what bears this name: id, group, layer or block."`
	Index      int     `placeholder:"N" help:"Take only this line, counted from 1 in the order of the drawing."`
	Silhouette bool    `help:"Take the upper outline of all lines together."`
	Under      bool    `help:"Take the lower edge of the bar: the drawing is turned half round."`
	Rosette    bool    `help:"Take it as a rosette."`
	Centre     string  `placeholder:"X,Y" help:"Centre of the rosette, mm; without it that of a circle drawn inside, or of the area."`
	Radius     string  `placeholder:"LENGTH" help:"Mean radius of a rosette given as a table of angles and heights."`
	Repeat     string  `default:"find" enum:"find,none,once" help:"Of a bar: look for a repeating wave (find), none, or the drawing is one wave (once)."`
	Count      int     `placeholder:"N" help:"Of a rosette: repeats round it, when they are known."`
	Gap        string  `placeholder:"LENGTH" help:"Ends that are taken to meet when they lie so near."`
	Tolerance  string  `placeholder:"LENGTH" help:"How far the edge may lie from what is drawn."`
	Spline     bool    `help:"Join the points by a smooth curve rather than straight lines."`
	AnySize    bool    `help:"Take a size too that no bar or rosette has."`
	Marks      string  `placeholder:"X,Y,X,Y" help:"Of a picture: two places in pixels, from the upper left, whose distance is known."`
	Distance   string  `placeholder:"LENGTH" help:"Of a picture: the distance between the marks."`
	Base       string  `placeholder:"X,Y,X,Y" help:"Of a picture: two places in pixels on a line along the bar; without them the rows run along it."`
	Threshold  float64 `placeholder:"SHARE" help:"Of a picture: light between metal and ground, 0 to 1; without it, it is found."`
	Smooth     string  `placeholder:"LENGTH" help:"Of a picture: how far smoothing may move a place; 'none' is not at all."`
	Force      bool    `help:"Write over a file that is there."`
	JSON       bool    `name:"json" help:"Print what was read as JSON (docs/json.md names the keys)."`
}

func (barTrace) Help() string {
	return `What is mended in the drawing (ends joined, doubled lines dropped) is told; what
cannot be mended safely is named with its place, and nothing is written. Examples:

  brightcut bar trace worn.svg --out bars/worn.yaml
  brightcut bar trace plate.dxf --line EDGE --out bars/plate.yaml --spline
  brightcut bar trace scan.png --marks 40,812,2040,812 --distance '100 mm' --out bars/scan.yaml`
}

// traceReport is what bar trace --json prints.
type traceReport struct {
	File    string   `json:"file"`
	Kind    string   `json:"kind"`
	Unit    string   `json:"unit"`
	Points  int      `json:"points"`
	Drawn   int      `json:"drawn_points"`
	Wave    float64  `json:"wave,omitempty"`
	Waves   float64  `json:"waves,omitempty"`
	OffUM   float64  `json:"waves_differ_um,omitempty"`
	Count   int      `json:"count,omitempty"`
	Remarks []string `json:"remarks"`
	Written string   `json:"written,omitempty"`
}

func (c barTrace) Run(b console) error {
	o, t, err := c.wishes()
	if err != nil {
		return err
	}
	traced, err := traceFile(c.File, o, t)
	if err != nil {
		return err
	}
	e := traced.Edge
	r := traceReport{File: c.File, Kind: "bar", Unit: "mm", Points: len(e.Drawn), Drawn: traced.Drawn, Wave: rounded(traced.Wave, 1e6), Waves: rounded(traced.Waves, 1e3), OffUM: rounded(1000*traced.Off, 1e3), Remarks: []string{}}
	if e.Radius > 0 {
		r.Kind, r.Unit, r.Count, r.Wave = "rosette", "deg", e.Count, rounded(degrees(traced.Wave), 1e6)
	}
	for _, m := range traced.Remarks {
		r.Remarks = append(r.Remarks, m.String())
	}
	if c.Out != "" || !c.JSON {
		if err := writeEdge(b, c.Out, e, c.Force, append([]string{"Traced from " + c.File + "."}, remarkTexts(traced.Remarks)...)...); err != nil {
			return err
		}
		r.Written = c.Out
	}
	if c.JSON {
		return printJSON(b.out, r)
	}
	out := b.out
	if c.Out == "" {
		out = b.err // the part itself is on the output
	}
	for _, m := range r.Remarks {
		fmt.Fprintln(out, m)
	}
	if c.Out != "" {
		fmt.Fprintf(out, "%s: a %s of %s", c.Out, r.Kind, count(r.Points, "point"))
		switch {
		case r.Kind == "rosette" && r.Count > 1:
			fmt.Fprintf(out, ", repeated %d times round it", r.Count)
		case r.Wave > 0:
			fmt.Fprintf(out, ", a wave of %s mm", short(r.Wave))
		}
		fmt.Fprintln(out, ".")
	}
	return nil
}

func remarkTexts(remarks []tracing.Remark) []string {
	var out []string
	for _, m := range remarks {
		out = append(out, m.Text)
	}
	return out
}

// wishes are the options as the drawing's reader takes them.
func (c barTrace) wishes() (o tracing.Options, t tracing.Take, err error) {
	t = tracing.Take{Name: c.Name, Line: c.Line, Index: c.Index, Silhouette: c.Silhouette, Under: c.Under, Rosette: c.Rosette, Spline: c.Spline, Count: c.Count, AnySize: c.AnySize,
		Repeat: map[string]tracing.Repeat{"find": tracing.Find, "none": tracing.Whole, "once": tracing.Once}[c.Repeat]}
	smooth := c.Smooth
	if smooth == "none" {
		smooth, o.Photo.Smooth = "", -1
	}
	var moved float64
	for _, f := range []struct {
		name, text string
		to         *float64
	}{{"unit", c.Unit, &o.Unit}, {"radius", c.Radius, &o.Radius}, {"gap", c.Gap, &t.Gap}, {"tolerance", c.Tolerance, &t.Tolerance}, {"distance", c.Distance, &o.Photo.Distance}, {"smooth", smooth, &moved}} {
		if *f.to, err = lengthFlag(f.name, f.text); err != nil {
			return o, t, err
		}
	}
	if moved > 0 {
		o.Photo.Smooth = moved
	}
	o.Photo.Threshold = c.Threshold
	if c.Centre != "" {
		x, y, err := pair("centre", c.Centre)
		if err != nil {
			return o, t, err
		}
		t.Centre = &tracing.Point{X: x, Y: y}
	}
	if c.Marks != "" {
		if o.Photo.Marks, err = pixels("marks", c.Marks); err != nil {
			return o, t, err
		}
		if c.Distance == "" {
			return o, t, usage("--marks wants --distance too: how far apart the marks are")
		}
	}
	if c.Base != "" {
		base, err := pixels("base", c.Base)
		if err != nil {
			return o, t, err
		}
		o.Photo.Base = &base
	}
	return o, t, nil
}

// pixels reads two places, "X,Y,X,Y".
func pixels(name, text string) (out [2]tracing.Pixel, err error) {
	parts := strings.SplitN(text, ",", 3)
	if len(parts) == 3 {
		for i, t := range []string{parts[0] + "," + parts[1], parts[2]} {
			if out[i].X, out[i].Y, err = pair(name, t); err != nil {
				break
			}
		}
	}
	if len(parts) < 3 || err != nil {
		return out, usage("--%s %s: give two places in pixels, X,Y,X,Y", name, text)
	}
	return out, nil
}
