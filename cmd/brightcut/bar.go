package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"brightcut/bar"
	"brightcut/internal/whole"
	"brightcut/job"
	"brightcut/tracing"
)

type barCommand struct {
	Report  barReport  `cmd:"" help:"Say what a touchpiece makes of a bar or a rosette: hollows, slopes, what is lost."`
	Trace   barTrace   `cmd:"" help:"Take the edge from an SVG or DXF drawing, a table of points or a picture of a worn bar."`
	Inverse barInverse `cmd:"" help:"Say which edge gives a wanted path, where that cannot be, and the nearest that can."`
}

func (barCommand) Help() string {
	return `A bar or a rosette stands in a file of its own in bars/ or rosettes/; docs/bars.md
tells the whole way from a drawing to the metal. Examples:

  brightcut bar report bars/fine-sine.yaml --touchpiece 0.3
  brightcut bar trace worn.svg --out bars/worn.yaml
  brightcut bar inverse bars/wanted.yaml --touchpiece 0.3 --tool 0.5 --out bars/made.yaml`
}

// edgeFrom reads the file of a bar or a rosette, or the first edge of a job.
func edgeFrom(path string) (bar.Edge, error) {
	return job.ReadEdge(os.DirFS(filepath.Dir(path)), filepath.Base(path))
}

// length reads a length in millimetres or with its unit; "" is 0.
func lengthFlag(name, text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	v, err := job.ParseLength(text, job.Millimetre)
	if err != nil {
		return 0, usage("--%s %s: give a length, as 0.3 or '12 thou'", name, text)
	}
	return v, nil
}

type barReport struct {
	File       string `arg:"" help:"File of a bar or a rosette."`
	Touchpiece string `default:"0.3 mm" placeholder:"RADIUS" help:"Nose radius of the touchpiece or rubber (${default})."`
	JSON       bool   `name:"json" help:"Print the report as JSON (docs/json.md names the keys)."`
}

// barFigures is what bar report --json prints.
type barFigures struct {
	Name           string    `json:"name"`
	Kind           string    `json:"kind"` // "bar" or "rosette"
	Unit           string    `json:"unit"` // of places along the edge: "mm" or "deg"
	TouchMM        float64   `json:"touch_mm"`
	Period         float64   `json:"period,omitempty"`
	DrawnMM        float64   `json:"drawn_mm"`
	LeftMM         float64   `json:"left_mm"`
	SmallestHollow *float64  `json:"smallest_hollow_mm,omitempty"`
	HollowAt       *float64  `json:"smallest_hollow_at,omitempty"`
	SmallestBump   *float64  `json:"smallest_bump_mm,omitempty"`
	SteepestEdge   float64   `json:"steepest_edge_deg"`
	SteepestPath   float64   `json:"steepest_path_deg"`
	Kinks          []float64 `json:"kinks"`
	Lost           []lostRow `json:"lost"`

	OtherSide *barFigures `json:"other_side,omitempty"` // of a bar cut on both edges
}

type lostRow struct {
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	Depth float64 `json:"depth_um"`
}

func (c barReport) Run(b console) error {
	touch, err := lengthFlag("touchpiece", c.Touchpiece)
	if err != nil {
		return err
	}
	e, err := edgeFrom(c.File)
	if err != nil {
		return err
	}
	path, err := bar.Follow(e, touch)
	if err != nil {
		return err
	}
	f := figuresOf(e, path, touch)
	var turned *bar.Path
	if e.Other != nil {
		if turned, err = bar.Follow(*e.Other, touch); err != nil {
			return fmt.Errorf("the other side: %w", err)
		}
		other := figuresOf(*e.Other, turned, touch)
		f.OtherSide = &other
	}
	if c.JSON {
		return printJSON(b.out, f)
	}
	f.print(b.out, path.Report())
	if turned != nil {
		fmt.Fprint(b.out, "\nThe other side: ")
		f.OtherSide.print(b.out, turned.Report())
	}
	return nil
}

func figuresOf(e bar.Edge, path *bar.Path, touch float64) barFigures {
	r := path.Report()
	f := barFigures{Name: e.Name, Kind: "bar", Unit: "mm", TouchMM: touch, DrawnMM: rounded(r.Drawn, 1e6), LeftMM: rounded(r.Left, 1e6),
		SteepestEdge: rounded(degrees(r.SteepestSlope), 1e4), SteepestPath: rounded(degrees(r.SteepestPath), 1e4), Kinks: []float64{}, Lost: []lostRow{}}
	at := func(s float64) float64 { return rounded(s, 1e6) }
	if e.Radius > 0 {
		f.Kind, f.Unit = "rosette", "deg"
		at = func(s float64) float64 { return rounded(degrees(s), 1e6) }
	}
	f.Period = at(e.Period())
	if r.HasHollow {
		h, where := rounded(r.SmallestHollow, 1e6), at(r.HollowAt)
		f.SmallestHollow, f.HollowAt = &h, &where
	}
	if r.HasBump {
		h := rounded(r.SmallestBump, 1e6)
		f.SmallestBump = &h
	}
	for _, k := range path.Kinks() {
		f.Kinks = append(f.Kinks, at(k))
	}
	for _, l := range r.Lost {
		f.Lost = append(f.Lost, lostRow{at(l.From), at(l.To), rounded(1000*l.Depth, 1e4)})
	}
	return f
}

// mostShown bounds the places listed in words.
const mostShown = 12

func (f *barFigures) print(w io.Writer, r bar.Report) {
	touch := "touchpiece"
	if f.Kind == "rosette" {
		touch = "rubber"
	}
	fmt.Fprintf(w, "%s, a %s under a %s of %s mm radius\n\n", f.Name, f.Kind, touch, short(f.TouchMM))
	if f.Period > 0 {
		fmt.Fprintf(w, "It repeats after %s %s.\n", short(f.Period), f.Unit)
	}
	fmt.Fprintf(w, "Drawn it swings %.4f mm to either side of its middle; the path %.4f mm.\n", f.DrawnMM, f.LeftMM)
	lost, slight := r.Told()
	switch {
	case f.SmallestHollow == nil:
		fmt.Fprintln(w, "It is hollow nowhere.")
	case *f.SmallestHollow == 0 && len(lost) == 0:
		fmt.Fprintf(w, "Its hollows have sharp corners, but what the %s misses there is too little to see.\n", touch)
	case *f.SmallestHollow == 0:
		fmt.Fprintf(w, "Its hollows come to a sharp corner at %s %s: no %s reaches it.\n", short(*f.HollowAt), f.Unit, touch)
	default:
		fmt.Fprintf(w, "Its tightest hollow has a radius of %.4f mm, at %s %s.\n", *f.SmallestHollow, short(*f.HollowAt), f.Unit)
	}
	fmt.Fprintf(w, "It is steepest at %.2f°; the path, where the %s jams first, at %.2f°.\n", f.SteepestEdge, touch, f.SteepestPath)
	if f.SteepestPath > degrees(bar.UsualAngle) {
		fmt.Fprintf(w, "Above %.0f° the side thrust is felt; push the slide gently and do not force it. (Common practice.)\n", degrees(bar.UsualAngle))
	}
	if len(f.Lost) == 0 {
		fmt.Fprintf(w, "The %s reaches all of it.\n", touch)
	}
	place := short
	if f.Kind == "rosette" {
		place = func(rad float64) string { return short(degrees(rad)) }
	}
	for i, l := range lost {
		if i == mostShown {
			fmt.Fprintf(w, "… and %d more.\n", len(lost)-i)
			break
		}
		fmt.Fprintf(w, "From %s to %s %s it stays off the edge, by %.1f µm at most.\n", place(l.From), place(l.To), f.Unit, 1000*l.Depth)
	}
	if slight > 0 {
		fmt.Fprintf(w, "In %s it stays off by less than %.1f µm: too little to see.\n", places(slight), 1000*bar.Slight)
	}
}

func places(n int) string {
	if n == 1 {
		return "one place"
	}
	return fmt.Sprintf("%d places", n)
}

// short is a number with no more digits than it needs, four decimals at most.
func short(v float64) string { return strconv.FormatFloat(rounded(v, 1e4), 'f', -1, 64) }

// writeEdge writes the file of a bar or a rosette.
func writeEdge(b console, path string, e bar.Edge, force bool, remarks ...string) error {
	text, err := job.MarshalEdge(e, remarks...)
	if err != nil {
		return err
	}
	if path == "" {
		_, err := b.out.Write(text)
		return err
	}
	if err := mayWrite(path, force); err != nil {
		return err
	}
	return whole.Write(path, func(w io.Writer) error { _, err := w.Write(text); return err })
}

type barInverse struct {
	File       string  `arg:"" help:"The path wanted on the work: a file as of a bar or a rosette, its heights being the motion of the work; or a drawing of it."`
	Touchpiece string  `default:"0.3 mm" placeholder:"RADIUS" help:"Nose radius of the touchpiece or rubber (${default})."`
	Lever      float64 `default:"1" placeholder:"RATIO" help:"Motion of the work for one of the touchpiece, as in the engine's file (${default})."`
	Tool       string  `placeholder:"RADIUS" help:"Radius of the cutter that will make the edge, or half the kerf of wire or beam."`
	Tolerance  string  `placeholder:"LENGTH" help:"How far the edge written may lie from the exact one."`
	Nearest    bool    `help:"Write the edge whose path strays least to either side, not the one that nowhere stands above the wanted path."`
	Out        string  `placeholder:"FILE.yaml" help:"File of the bar or rosette to write, in bars/ or rosettes/."`
	Name       string  `help:"What the workshop will call it."`
	Force      bool    `help:"Write over a file that is there."`
	JSON       bool    `name:"json" help:"Print what was found as JSON (docs/json.md names the keys)."`
}

// inverseReport is what bar inverse --json prints.
type inverseReport struct {
	Unit           string    `json:"unit"`
	Possible       bool      `json:"possible"`
	FallUM         float64   `json:"fall_um"`
	Missed         []lostRow `json:"missed"`
	NearestUM      float64   `json:"nearest_off_um"`
	SmallestHollow *float64  `json:"smallest_hollow_mm,omitempty"`
	Steepest       float64   `json:"steepest_deg"`
	ToolLeaves     []lostRow `json:"tool_leaves,omitempty"`
	DepartureUM    *float64  `json:"departure_um,omitempty"`
	Points         int       `json:"points"`
	Written        string    `json:"written,omitempty"`
}

func (c barInverse) Run(b console) error {
	want := bar.Want{Lever: c.Lever}
	var err error
	for _, f := range []struct {
		name, text string
		to         *float64
	}{{"touchpiece", c.Touchpiece, &want.Touch}, {"tool", c.Tool, &want.Tool}, {"tolerance", c.Tolerance, &want.Tolerance}} {
		if *f.to, err = lengthFlag(f.name, f.text); err != nil {
			return err
		}
	}
	if strings.EqualFold(filepath.Ext(c.File), ".yaml") {
		want.Path, err = edgeFrom(c.File)
	} else {
		var t *tracing.Traced
		if t, err = traceFile(c.File, tracing.Options{}, tracing.Take{}); err == nil {
			want.Path = t.Edge
		}
	}
	if err != nil {
		return err
	}
	v, err := want.Inverse()
	if err != nil {
		return err
	}
	e := v.Edge
	if c.Nearest {
		e = v.Nearest
	}
	e.Name = c.Name
	if e.Name == "" {
		e.Name = "For " + want.Path.Name
	}
	r := newInverseReport(want, v, e)
	if c.Out != "" {
		err := writeEdge(b, c.Out, e, c.Force, fmt.Sprintf("The edge that gives the path of %s under a nose of %s mm radius.", filepath.Base(c.File), short(want.Touch)))
		if err != nil {
			return err
		}
		r.Written = c.Out
	}
	if c.JSON {
		return printJSON(b.out, r)
	}
	r.print(b.out, want, v)
	return nil
}

func newInverseReport(want bar.Want, v *bar.Inverse, e bar.Edge) inverseReport {
	r := inverseReport{Unit: "mm", Possible: len(v.Missed) == 0, FallUM: rounded(1000*v.Fall, 1e3), NearestUM: rounded(1000*v.Off, 1e3),
		Steepest: rounded(degrees(v.Steepest), 1e3), Missed: []lostRow{}, Points: len(e.Drawn)}
	at := func(s float64) float64 { return rounded(s, 1e6) }
	if want.Path.Radius > 0 {
		r.Unit = "deg"
		at = func(s float64) float64 { return rounded(degrees(s), 1e6) }
	}
	for _, m := range v.Missed {
		r.Missed = append(r.Missed, lostRow{at(m.From), at(m.To), rounded(1000*m.Fall, 1e3)})
	}
	if v.HasHollow {
		h := rounded(v.SmallestHollow, 1e6)
		r.SmallestHollow = &h
	}
	if v.Cut != nil {
		for _, l := range v.Cut.Left {
			r.ToolLeaves = append(r.ToolLeaves, lostRow{at(l.From), at(l.To), rounded(1000*l.Depth, 1e3)})
		}
		d := rounded(1000*v.Departure, 1e3)
		r.DepartureUM = &d
	}
	return r
}

func (r *inverseReport) print(w io.Writer, want bar.Want, v *bar.Inverse) {
	if r.Possible {
		fmt.Fprintf(w, "The path of %s can be had with a nose of %s mm radius.\n", want.Path.Name, short(want.Touch))
	} else {
		fmt.Fprintf(w, "The path of %s cannot be had everywhere with a nose of %s mm radius: its bumps are sharper than the nose.\n", want.Path.Name, short(want.Touch))
		for i, m := range r.Missed {
			if i == mostShown {
				fmt.Fprintf(w, "… and %d more places.\n", len(r.Missed)-i)
				break
			}
			fmt.Fprintf(w, "From %s to %s %s it falls short by %.1f µm at most.\n", short(m.From), short(m.To), r.Unit, m.Depth)
		}
		fmt.Fprintf(w, "The nearest that can be made strays %.1f µm to either side (--nearest).\n", r.NearestUM)
	}
	if r.SmallestHollow != nil {
		fmt.Fprintf(w, "The tightest hollow of the edge has a radius of %.4f mm: no larger tool makes all of it.\n", *r.SmallestHollow)
	}
	fmt.Fprintf(w, "The path is steepest at %.2f°.\n", r.Steepest)
	if v.Steepest > bar.UsualAngle {
		fmt.Fprintf(w, "Above %.0f° the side thrust is felt; a gentler path or a longer wave runs easier. (Common practice.)\n", degrees(bar.UsualAngle))
	}
	if r.DepartureUM != nil {
		for i, l := range r.ToolLeaves {
			if i == mostShown {
				fmt.Fprintf(w, "… and %d more.\n", len(r.ToolLeaves)-i)
				break
			}
			fmt.Fprintf(w, "The tool leaves metal from %s to %s %s, %.1f µm high at most.\n", short(l.From), short(l.To), r.Unit, l.Depth)
		}
		fmt.Fprintf(w, "Over the edge as the tool leaves it the path strays %.1f µm from the one wanted.\n", *r.DepartureUM)
	}
	if r.Written != "" {
		fmt.Fprintf(w, "%s: an edge of %s.\n", r.Written, count(r.Points, "point"))
	}
}

// pair reads two numbers, "X,Y".
func pair(name, text string) (x, y float64, err error) {
	a, b, ok := strings.Cut(text, ",")
	x, errX := strconv.ParseFloat(strings.TrimSpace(a), 64)
	y, errY := strconv.ParseFloat(strings.TrimSpace(b), 64)
	if !ok || errX != nil || errY != nil || math.IsNaN(x+y) || math.IsInf(x+y, 0) {
		return 0, 0, usage("--%s %s: give two numbers, X,Y", name, text)
	}
	return x, y, nil
}

// traceFile reads a drawing and takes an edge from it.
func traceFile(path string, o tracing.Options, t tracing.Take) (*tracing.Traced, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read the drawing: %w", err)
	}
	defer file.Close()
	if info, err := file.Stat(); err == nil && info.IsDir() {
		return nil, fmt.Errorf("read the drawing: %s is a folder; name a file", path)
	}
	d, err := tracing.Read(file, path, o)
	if err != nil {
		return nil, err
	}
	if t.Name == "" {
		t.Name = strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
	}
	traced, err := d.Edge(t)
	if err != nil {
		return nil, err
	}
	traced.Remarks = append(d.Remarks, traced.Remarks...)
	return traced, nil
}
