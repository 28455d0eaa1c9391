package main

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/bar"
	"brightcut/depth"
	"brightcut/engine"
	"brightcut/export"
	"brightcut/internal/whole"
	"brightcut/job"
)

type exportCommand struct {
	Source string `arg:"" help:"Job file, or the file of a bar or a rosette."`
	Out    string `required:"" placeholder:"FILE" help:"File to write; its ending says the format: .svg .dxf .pdf .png .csv .ngc .stl .3mf .obj."`
	What   string `placeholder:"WHAT" enum:",cuts,places,surface,bar" default:"" help:"Of a job: its cuts, the places of their paths, the surface they leave, or one of its bars."`
	Bar    string `placeholder:"NAME" help:"Which bar or rosette of the job; without it the one that is on at the start."`
	Force  bool   `help:"Write over a file that is there."`
	JSON   bool   `name:"json" help:"Print what was written as JSON (docs/json.md names the keys)."`

	Dxf       string  `default:"2000" enum:"r12,2000" help:"Version of a DXF: r12 or 2000 (${default})."`
	Tolerance string  `placeholder:"LENGTH" help:"How far lines, or a surface's triangles, may lie from the true ones."`
	Paper     string  `default:"a4" enum:"a4,letter" help:"Paper of a PDF: a4 or letter (${default})."`
	Pixels    float64 `placeholder:"N" help:"Pixels to the millimetre of a PNG; without it, its longer side has 2000."`
	Window    string  `placeholder:"X0,Y0,X1,Y1" help:"Part of the surface, mm; without it, 5 mm square in the middle (all of it as a picture of heights)."`
	Base      string  `placeholder:"LENGTH" help:"How far below the surface the underside of its solid lies."`

	Thickness string   `placeholder:"LENGTH" help:"Of a bar or rosette: thickness of the sheet."`
	From      string   `placeholder:"LENGTH" help:"Of a bar: first reading that bears its edge."`
	To        string   `placeholder:"LENGTH" help:"Of a bar: last reading that bears its edge."`
	Back      string   `placeholder:"LENGTH" help:"Of a bar: how far its straight back, or the datum of its other edge, lies below the datum."`
	Ends      string   `placeholder:"LENGTH" help:"Of a bar: length of the plain end at either side."`
	Bore      string   `placeholder:"DIAMETER" help:"Of a rosette: its bore."`
	Hole      []string `placeholder:"X,Y,DIAMETER" sep:"none" help:"A hole for a mounting pin, mm; may be given several times."`
	Name      string   `placeholder:"TEXT" help:"A name sunk into the upper face of a solid."`

	Cutter  string  `placeholder:"DIAMETER" help:"G-code of a bar: diameter of the milling cutter."`
	Pass    string  `placeholder:"LENGTH" help:"G-code of a bar: depth of one pass."`
	Tabs    int     `placeholder:"N" help:"G-code of a bar: bridges that hold it in the sheet."`
	Feed    float64 `placeholder:"MM/MIN" help:"G-code: feed."`
	Plunge  float64 `placeholder:"MM/MIN" help:"G-code: feed downwards."`
	Spindle float64 `placeholder:"RPM" help:"G-code: turns of the spindle a minute; 0 drags a point over the work."`
	Safe    string  `placeholder:"LENGTH" help:"G-code: height above the work for quick moves."`
	Inch    bool    `help:"G-code in inches."`
}

func (exportCommand) Help() string {
	return `Every format is named by the ending of --out; nothing is written over without --force,
and a file is whole or not there. docs/export.md tells what each is for. Examples:

  brightcut export barleycorn.yaml --out barleycorn.dxf
  brightcut export hobnail.yaml --out hobnail.stl --window=-2,-2,2,2
  brightcut export bars/fine-sine.yaml --out fine-sine.svg --from='-40 mm' --to '40 mm'
  brightcut export bars/fine-sine.yaml --out fine-sine.ngc --cutter '0.8 mm' --thickness '2 mm'

G-code moves a machine: read it, run it above the work first, wear eye protection, and
keep to the rules of your place and the machine's maker.`
}

func (c exportCommand) Run(b console) error {
	format := strings.TrimPrefix(strings.ToLower(filepath.Ext(c.Out)), ".")
	e, j, err := c.source()
	if err != nil {
		return err
	}
	subject := export.Subject(c.What)
	switch {
	case e != nil && c.What != "" && subject != export.Edge:
		return usage("--what %s: %s is a bar or a rosette", c.What, c.Source)
	case e != nil:
		subject = export.Edge
	case c.What == "":
		subject = export.Usual(format)
	}
	o, err := c.order(subject, format)
	if err != nil {
		return err
	}
	if l := o.Check(); len(l) > 0 {
		return usage("--out %s: %s; %s", c.Out, l[0].Problem, l[0].Mend)
	}
	if err := mayWrite(c.Out, c.Force); err != nil {
		return err
	}
	if e == nil && subject == export.Edge {
		if e, err = c.edgeOf(j); err != nil {
			return err
		}
		reach(&o, e, j)
	}
	var told any
	write := func(w io.Writer) error { told, err = o.Edge(b, w, *e); return err }
	if e == nil {
		list, err := j.Cuts(b)
		if err != nil {
			return err
		}
		write, err = c.ofJob(b, &o, j, list, &told)
		if err != nil {
			return err
		}
	}
	if err := whole.Write(c.Out, write); err != nil {
		return err
	}
	if c.JSON {
		return printJSON(b.out, struct {
			File    string `json:"file"`
			Summary any    `json:"summary"`
		}{c.Out, told})
	}
	return printSummary(b.out, c.Out, told)
}

// source reads what is exported: the file of an edge, or a job.
func (c exportCommand) source() (*bar.Edge, *job.Job, error) {
	if dir := filepath.Base(filepath.Dir(c.Source)); dir == "bars" || dir == "rosettes" {
		e, err := edgeFrom(c.Source)
		return &e, nil, err
	}
	j, err := job.Read(c.Source)
	return nil, j, err
}

// edgeOf is the bar of a job that is asked for.
func (c exportCommand) edgeOf(j *job.Job) (*bar.Edge, error) {
	name := c.Bar
	if name == "" {
		name = j.Setup.Bar
	}
	e, ok := j.Setup.Bars[name]
	if !ok {
		if name == "" {
			return nil, fmt.Errorf("%s: the job has no bar or rosette on at the start; name one with --bar", c.Source)
		}
		return nil, fmt.Errorf("%s: the job has no bar or rosette %q; it has %s", c.Source, name, strings.Join(slices.Sorted(maps.Keys(j.Setup.Bars)), ", "))
	}
	return &e, nil
}

// reach lets a bar that has no length of its own bear its edge along the stroke of
// the job's engine.
func reach(o *export.Order, e *bar.Edge, j *job.Job) {
	if from, _ := e.Span(); math.IsInf(from, 0) {
		o.Of(j)
	}
}

// order puts the flags into an order.
func (c exportCommand) order(subject export.Subject, format string) (export.Order, error) {
	o := export.UsualOrder(subject, format)
	if c.Dxf == "r12" {
		o.DXF = export.R12
	}
	if c.Paper == "letter" {
		o.Paper = export.Letter
	}
	if c.Pixels < 0 || math.IsNaN(c.Pixels) || math.IsInf(c.Pixels, 0) {
		return o, usage("--pixels %g: give pixels to the millimetre, above 0", c.Pixels)
	}
	o.Pixels = c.Pixels
	var tolerance float64
	for _, f := range []struct {
		name, text string
		to         *float64
	}{
		{"tolerance", c.Tolerance, &tolerance}, {"base", c.Base, &o.Base}, {"thickness", c.Thickness, &o.Thickness},
		{"from", c.From, &o.Shape.From}, {"to", c.To, &o.Shape.To}, {"back", c.Back, &o.Shape.Back}, {"ends", c.Ends, &o.Shape.Ends}, {"bore", c.Bore, &o.Shape.Bore},
		{"cutter", c.Cutter, &o.Milling.Cutter}, {"pass", c.Pass, &o.Milling.Pass}, {"safe", c.Safe, &o.Milling.Safe},
	} {
		if f.text == "" {
			continue
		}
		var err error
		if *f.to, err = lengthFlag(f.name, f.text); err != nil {
			return o, err
		}
	}
	if tolerance != 0 {
		o.Tolerance, o.Relief = tolerance, tolerance
	}
	o.Milling.Thickness, o.Milling.Tabs, o.Milling.Inch, o.Engraving.Inch = o.Thickness, c.Tabs, c.Inch, c.Inch
	if c.Tabs > 0 {
		o.Milling.TabWidth, o.Milling.TabHeight = 2, o.Thickness/3
	}
	if c.Safe != "" {
		o.Engraving.Safe = o.Milling.Safe
	}
	if c.Feed != 0 {
		o.Milling.Feed, o.Engraving.Feed = c.Feed, c.Feed
	}
	if c.Plunge != 0 {
		o.Milling.Plunge, o.Engraving.Plunge = c.Plunge, c.Plunge
	}
	if c.Spindle != 0 {
		o.Milling.Spindle, o.Engraving.Spindle = c.Spindle, c.Spindle
	}
	if c.Window != "" {
		v, err := numbers("window", c.Window, 4)
		if err != nil {
			return o, err
		}
		o.Window = &r2.Box{Min: r2.Vec{X: min(v[0], v[2]), Y: min(v[1], v[3])}, Max: r2.Vec{X: max(v[0], v[2]), Y: max(v[1], v[3])}}
	}
	for _, h := range c.Hole {
		v, err := numbers("hole", h, 3)
		if err != nil {
			return o, err
		}
		o.Shape.Holes = append(o.Shape.Holes, export.Hole{At: r2.Vec{X: v[0], Y: v[1]}, Diameter: v[2]})
	}
	if c.Name != "" {
		o.Name = &export.Lettering{Text: c.Name}
	}
	return o, nil
}

// numbers reads so many numbers between commas.
func numbers(name, text string, n int) ([]float64, error) {
	parts := strings.Split(text, ",")
	out := make([]float64, 0, n)
	for _, p := range parts {
		v, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			break
		}
		out = append(out, v)
	}
	if len(parts) != n || len(out) != n {
		return nil, usage("--%s %s: give %d numbers between commas, mm", name, text, n)
	}
	return out, nil
}

// printSummary tells what was written.
func printSummary(w io.Writer, file string, summary any) error {
	text, err := json.Marshal(summary)
	if err != nil {
		return err
	}
	var s struct {
		Format    string         `json:"format"`
		Units     string         `json:"units"`
		Box       []float64      `json:"box_mm"`
		Length    float64        `json:"length_mm"`
		Counts    map[string]int `json:"counts"`
		Triangles int            `json:"triangles"`
		Volume    float64        `json:"volume_mm3"`
		Bound     float64        `json:"error_bound_um"`
		Remarks   []string       `json:"remarks"`
	}
	if err := json.Unmarshal(text, &s); err != nil {
		return err
	}
	fmt.Fprintf(w, "%s: %s", file, s.Format)
	if s.Units != "" {
		fmt.Fprintf(w, " in %s", s.Units)
	}
	if n := len(s.Box) / 2; n > 0 {
		size := make([]string, n)
		for i := range size {
			size[i] = strconv.FormatFloat(rounded(s.Box[n+i]-s.Box[i], 1e3), 'f', -1, 64)
		}
		fmt.Fprintf(w, ", %s mm", strings.Join(size, " × "))
	}
	if s.Length > 0 {
		fmt.Fprintf(w, ", %.1f mm of line", s.Length)
	}
	if s.Triangles > 0 {
		fmt.Fprintf(w, ", %s, %.3f mm³", count(s.Triangles, "triangle"), s.Volume)
	}
	if s.Bound > 0 {
		fmt.Fprintf(w, ", true to %.2f µm", s.Bound)
	}
	fmt.Fprintln(w, ".")
	for _, r := range s.Remarks {
		fmt.Fprintln(w, r)
	}
	return nil
}

// ofJob returns what writes the order of a job; told takes the summary.
func (c exportCommand) ofJob(b console, o *export.Order, j *job.Job, list *engine.List, told *any) (func(io.Writer) error, error) {
	work, err := j.Work(list)
	if err != nil {
		return nil, err
	}
	var plan *depth.Plan
	if j.Planned() {
		if plan, _, err = j.Plan(b, list); err != nil {
			return nil, err
		}
	}
	return func(w io.Writer) error {
		var err error
		*told, err = o.Job(b, w, j, list, plan, work.Stock)
		return err
	}, nil
}
