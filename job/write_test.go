package job

import (
	"math"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"brightcut/bar"
	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/depth"
	"brightcut/engine"
	"brightcut/fault"
)

// bared takes away what a file does not hold: where things stood.
func bared(j *Job) *Job {
	b := *j
	b.File, b.Digest, b.reading = "", "", nil
	b.Setup.Starts = append([]engine.Start(nil), j.Setup.Starts...)
	for i := range b.Setup.Starts {
		b.Setup.Starts[i].Origin = fault.Origin{}
	}
	b.Setup.Sequence = baredItems(j.Setup.Sequence)
	if j.Stock != nil && j.Stock.Readings != nil {
		stock, read := *j.Stock, *j.Stock.Readings
		read.Name, read.Points = "", append([]blank.Reading(nil), read.Points...)
		for i := range read.Points {
			read.Points[i].Line = 0
		}
		stock.Readings, b.Stock = &read, &stock
	}
	return &b
}

func baredItems(items []engine.Item) []engine.Item {
	var out []engine.Item
	for _, it := range items {
		it.Origin = fault.Origin{}
		it.Body = baredItems(it.Body)
		var choices [][]engine.Item
		for _, c := range it.Choices {
			choices = append(choices, baredItems(c))
		}
		it.Choices = choices
		out = append(out, it)
	}
	return out
}

// Any job that Marshal writes reads as the same job, to the last bit, and what
// is read is written as the same bytes.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := drawJob(t)
		text, err := j.Marshal()
		if err != nil {
			t.Fatal(err)
		}
		back, err := ReadFS(fstest.MapFS{"job.yaml": &fstest.MapFile{Data: text}}, "job.yaml")
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if got := bared(back); !reflect.DeepEqual(got, bared(j)) {
			t.Fatalf("%s\nread as\n%+v\nwant\n%+v", text, got, bared(j))
		}
		again, err := back.Marshal()
		if err != nil || string(again) != string(text) {
			t.Fatalf("written twice, two texts: %v\n%s\n%s", err, text, again)
		}
	})
}

func mm(lo, hi float64) *rapid.Generator[float64] {
	return rapid.Custom(func(t *rapid.T) float64 {
		if rapid.Bool().Draw(t, "round") { // as a person would write it
			return math.Round(rapid.Float64Range(lo, hi).Draw(t, "v")*1000)/1000 + 0
		}
		v := rapid.Float64Range(lo, hi).Draw(t, "v")
		if math.Abs(v) < 1e-40 { // a file's exponents have two digits, and it knows one zero
			v = 0
		}
		return v
	})
}

var words = rapid.StringOfN(rapid.RuneFrom([]rune("abc XYZ019:#-'\"{}[]&*!|>%@`é—,?\n~=<.")), 0, 30, -1)

// name draws a text that reads as itself: YAML keeps no trailing line ends of
// a line apart.
var name = words

func drawJob(t *rapid.T) *Job {
	j := &Job{
		Title: name.Draw(t, "title"), Units: rapid.SampledFrom([]Units{Millimetre, Inch}).Draw(t, "units"), Notes: name.Draw(t, "notes"),
		Finish: Finish{Land: rapid.SampledFrom([]string{"", "polished", "grained", "frosted"}).Draw(t, "land"), Enamel: rapid.SampledFrom([]string{"", "clear", "blue"}).Draw(t, "enamel"), Thickness: mm(0, 1).Draw(t, "enamel's thickness")},
		Metal:  cutter.Metal{Name: name.Draw(t, "metal"), Colour: name.Draw(t, "colour"), Cutting: mm(0, 3000).Draw(t, "kc"), Exponent: mm(0, 1).Draw(t, "mc")},
	}
	s := &j.Setup
	s.Touch = mm(0, 5).Draw(t, "touch")
	s.Cutter = cutter.Cutter{Name: name.Draw(t, "cutter"), Included: mm(0.2, 3).Draw(t, "included"), Flat: mm(0, 1).Draw(t, "flat"), Clearance: mm(0.1, 1).Draw(t, "clearance")}
	s.Blank = blank.Blank{Metal: j.Metal.Name, Thickness: mm(0.5, 5).Draw(t, "thickness"), Outline: drawOutline(t), Border: mm(0, 1).Draw(t, "border")}
	for range rapid.IntRange(0, 2).Draw(t, "windows") {
		s.Blank.Windows = append(s.Blank.Windows, blank.Window{Name: name.Draw(t, "window"), Border: mm(0, 0.3).Draw(t, "border"), Open: rapid.Bool().Draw(t, "open"), Shape: drawWindow(t)})
	}
	if rapid.Bool().Draw(t, "clear") {
		s.Blank.KeepClear = append(s.Blank.KeepClear, blank.Window{Name: name.Draw(t, "clear"), Shape: drawWindow(t)})
	}
	s.Depth = mm(0.001, 0.4).Draw(t, "depth")
	if rapid.Bool().Draw(t, "guided") {
		j.Guide = &depth.Guide{Name: name.Draw(t, "guide"), Offset: mm(0, 3).Draw(t, "offset"), Side: rapid.SampledFrom([]depth.Side{depth.Right, depth.Left}).Draw(t, "side"),
			FootRadius: mm(0.1, 3).Draw(t, "foot"), Extension: mm(0.01, 0.1).Draw(t, "extension"), Compliance: mm(0, 0.01).Draw(t, "compliance")}
	}
	if rapid.Bool().Draw(t, "rose") {
		drawRose(t, s)
	} else {
		drawStraight(t, s)
	}
	drawDepth(t, j)
	s.Sequence = drawItems(t, s, 2)
	for _, axis := range []engine.Axis{engine.SlideAxis, engine.ShiftAxis, engine.IndexAxis, engine.ChuckAxis} {
		if rapid.Bool().Draw(t, "start") {
			s.Starts = append(s.Starts, engine.Start{Axis: axis, Amount: drawAmount(t, s.Engine.Kind, axis)})
		}
	}
	return j
}

// drawDepth adds stock, stop, hand, plan, truing chuck and calibration.
func drawDepth(t *rapid.T, j *Job) {
	if rapid.Bool().Draw(t, "stock") {
		drawStock(t, j)
	}
	j.Hand = depth.Pressure{Hand: rapid.SampledFrom([]string{"", "light", "usual", "firm"}).Draw(t, "class"), Force: mm(0, 20).Draw(t, "force"), Scatter: mm(0, 3).Draw(t, "scatter")}
	if rapid.Bool().Draw(t, "stop") {
		j.Stop = &depth.Stop{Compliance: mm(0, 0.01).Draw(t, "compliance")}
	}
	if rapid.Bool().Draw(t, "plan") {
		j.Wishes = &depth.Wishes{Tolerance: rapid.OneOf(mm(0.01, 0.9), rapid.Just(float64(depth.Unseen))).Draw(t, "tolerance"), Begin: rapid.IntRange(0, 9).Draw(t, "begin"), Advance: depth.Advance(rapid.IntRange(0, 2).Draw(t, "advance"))}
		for i := range rapid.IntRange(0, 2).Draw(t, "holds") {
			o := depth.Override{From: 10*i + 2, To: 10*i + 6, By: depth.ByHand}
			if j.Stop != nil {
				at := mm(-3, 3).Draw(t, "reading")
				o.By, o.Groove, o.Reading = depth.ByStop, rapid.IntRange(0, 1).Draw(t, "groove"), &at
			}
			j.Wishes.Hold = append(j.Wishes.Hold, o)
		}
	}
	known := func(what string, lo, hi float64) *depth.Known {
		if !rapid.Bool().Draw(t, what) {
			return nil
		}
		return &depth.Known{Value: mm(lo, hi).Draw(t, what), Uncertainty: mm(0, 0.1).Draw(t, what)}
	}
	if rapid.Bool().Draw(t, "calibrated") {
		j.Calibration = &Calibration{Date: "2031-03-14", From: name.Draw(t, "from"), Cuts: rapid.IntRange(0, 99).Draw(t, "cuts"), Hand: rapid.SampledFrom([]string{"", "usual"}).Draw(t, "hand"),
			Angle: known("angle", 0.2, 3), Flat: known("flat", 0, 0.1), Zero: known("zero", -0.001, 0.001), Compliance: known("give", 0, 0.01), Scatter: mm(0, 0.01).Draw(t, "scatter"),
			Wear: known("wear", 0, 0.01), Withdrawn: rapid.SampledFrom([]string{"", "2031-03-15"}).Draw(t, "withdrawn")}
		for i := range j.Calibration.Correlation {
			j.Calibration.Correlation[i] = mm(-1, 1).Draw(t, "correlation")
		}
		j.Calibration.apply(&j.Setup.Cutter, j.Guide)
	}
	if rapid.Bool().Draw(t, "drunken") {
		j.Setup.Engine.Slide.Error = &engine.Periodic{Size: mm(0.001, 0.1).Draw(t, "size"), Turns: 2, From: mm(0, 1.9).Draw(t, "from")}
	}
	if rapid.Bool().Draw(t, "swings") {
		j.Setup.Engine.Swing = &engine.Swing{Axis: mm(-30, 30).Draw(t, "axis"), Min: mm(-1.5, 0).Draw(t, "least"), Max: mm(0.1, 1.5).Draw(t, "most")}
	}
	switch rapid.IntRange(0, 2).Draw(t, "truing") {
	case 1:
		c := &blank.TruingChuck{Division: rapid.IntRange(1, 64).Draw(t, "division")}
		for i := range 3 {
			c.Screws = append(c.Screws, blank.Screw{Name: name.Draw(t, "screw"), Angle: float64(2 * i), Radius: mm(20, 40).Draw(t, "radius"), Pitch: mm(0.1, 1).Draw(t, "pitch"), Lowers: rapid.Bool().Draw(t, "lowers")})
		}
		j.Setup.Engine.Truing = c
	case 2:
		j.Setup.Engine.Truing = &blank.TruingChuck{Division: 8, Axes: []blank.Axis{{Arm: mm(20, 40).Draw(t, "arm"), Pitch: 0.5}, {Along: mm(1, 2).Draw(t, "along"), Arm: 30, Pitch: 0.5, Lowers: true}}}
	}
}

func drawStock(t *rapid.T, j *Job) {
	j.Stock = &Stock{Untrued: rapid.Bool().Draw(t, "untrued"), Scatter: mm(0, 0.01).Draw(t, "scatter")}
	n := &j.Setup.Blank.Nominal
	n.Figure = blank.Figure(rapid.IntRange(0, int(blank.Turned)).Draw(t, "figure"))
	if n.Figure != blank.Flat {
		n.Centre = r2.Vec{X: mm(-1, 1).Draw(t, "x"), Y: mm(-1, 1).Draw(t, "y")}
	}
	switch n.Figure {
	case blank.Cylinder, blank.Dome:
		n.Radius = mm(50, 100).Draw(t, "radius") * rapid.SampledFrom([]float64{1, -1}).Draw(t, "hollow")
		if n.Figure == blank.Cylinder {
			n.Axis = mm(-3, 3).Draw(t, "axis")
		}
	case blank.Cone:
		n.Fall = mm(-1, 1).Draw(t, "fall")
	case blank.Turned:
		n.Profile = []r2.Vec{{}, {X: mm(1, 9).Draw(t, "r"), Y: mm(-1, 1).Draw(t, "h")}, {X: 60, Y: mm(-1, 1).Draw(t, "h")}}
	}
	if rapid.Bool().Draw(t, "read") {
		points := []blank.Reading{{Place: r2.Vec{X: 12}}, {Place: r2.Vec{X: -12}, Z: mm(-0.1, 0.1).Draw(t, "z")}, {Place: r2.Vec{Y: mm(5, 12).Draw(t, "y")}}, {Place: r2.Vec{X: 12}}}
		for i := range points {
			points[i].Line = i + 1
		}
		rs, err := blank.NewReadings("job.yaml", points, blank.ReadingOptions{})
		if err != nil {
			t.Fatal(err)
		}
		j.Stock.Readings = rs
	}
}

func drawOutline(t *rapid.T) blank.Shape {
	centre := r2.Vec{X: mm(-1, 1).Draw(t, "x"), Y: mm(-1, 1).Draw(t, "y")}
	switch rapid.IntRange(0, 3).Draw(t, "form") {
	case 0:
		return blank.Shape{Form: blank.Disc, Centre: centre, Diameter: mm(30, 50).Draw(t, "diameter")}
	case 1:
		return blank.Shape{Form: blank.Ring, Centre: centre, Diameter: mm(40, 50).Draw(t, "diameter"), Inner: mm(1, 20).Draw(t, "inner")}
	case 2:
		return blank.Shape{Form: blank.Rectangle, Centre: centre, Width: mm(30, 50).Draw(t, "width"), Height: mm(30, 50).Draw(t, "height"),
			Corner: mm(0, 5).Draw(t, "corner"), Angle: mm(-4, 4).Draw(t, "angle")}
	}
	return blank.Shape{Form: blank.Polygon, Centre: centre, Points: []r2.Vec{{X: -20, Y: -20}, {X: mm(20, 30).Draw(t, "px"), Y: -20}, {X: 20, Y: mm(20, 30).Draw(t, "py")}, {X: -20, Y: 20}}}
}

func drawWindow(t *rapid.T) blank.Shape {
	return blank.Shape{Form: blank.Disc, Centre: r2.Vec{X: mm(11, 12).Draw(t, "x"), Y: mm(-3, 3).Draw(t, "y")}, Diameter: mm(0.5, 2).Draw(t, "diameter")}
}

func drawScrew(t *rapid.T) engine.Screw {
	return engine.Screw{Pitch: mm(0.1, 5).Draw(t, "pitch"), Ratchet: rapid.IntRange(1, 500).Draw(t, "ratchet"), Min: mm(-50, 0).Draw(t, "min"), Max: mm(1, 50).Draw(t, "max")}
}

func drawStraight(t *rapid.T, s *engine.Setup) {
	s.Engine = engine.Engine{Name: name.Draw(t, "engine"), Kind: engine.StraightLine, StrokeMin: mm(-60, -30).Draw(t, "from"), StrokeMax: mm(30, 60).Draw(t, "to"),
		Lever: mm(0.1, 2).Draw(t, "lever"), Slide: drawScrew(t), SecondsPerStroke: mm(0, 60).Draw(t, "seconds"),
		Index: engine.Wheel{Circles: []int{96, 360}, Worm: rapid.IntRange(1, 40).Draw(t, "worm")}}
	if rapid.Bool().Draw(t, "shifts") {
		s.Engine.Shift = drawScrew(t)
	}
	if rapid.Bool().Draw(t, "chuck") {
		s.Engine.Chuck = engine.Wheel{Circles: []int{rapid.IntRange(1, 720).Draw(t, "graduations")}, Worm: 1}
	}
	s.Bars = map[string]bar.Edge{
		"fine":    {Name: name.Draw(t, "bar"), Figure: bar.Sine, Wave: mm(2, 5).Draw(t, "wave"), Amplitude: mm(0.01, 0.3).Draw(t, "amplitude"), Length: mm(50, 100).Draw(t, "length")},
		"zigzag":  {Figure: bar.Zigzag, Wave: 3, Amplitude: 0.2, Nose: mm(0, 0.1).Draw(t, "nose"), Root: mm(0, 0.1).Draw(t, "root")},
		"blocks":  {Figure: bar.Trapezoid, Wave: 3, Amplitude: 0.2, Crest: mm(0, 0.3).Draw(t, "crest"), Hollow: mm(0, 0.3).Draw(t, "hollow")},
		"drawn":   {Figure: bar.Points, Drawn: [][2]float64{{0, 0.1}, {mm(1, 2).Draw(t, "y"), mm(0, 0.5).Draw(t, "h")}, {4, 0.1}}, Spline: rapid.Bool().Draw(t, "spline"), Repeats: true},
		"uneven":  {Figure: bar.Bumps, Wave: 4, Heights: []float64{mm(0.1, 0.5).Draw(t, "h"), 0.2}},
		"12 plus": {Figure: bar.Plain},
	}
	s.Bar = "fine"
	if rapid.Bool().Draw(t, "limited") {
		s.Limits = &engine.Limits{From: mm(-20, -5).Draw(t, "from"), To: mm(0, 20).Draw(t, "to")}
	}
	s.Circle = rapid.SampledFrom([]int{0, 96, 360}).Draw(t, "circle")
}

func drawRose(t *rapid.T, s *engine.Setup) {
	s.Engine = engine.Engine{Name: name.Draw(t, "engine"), Kind: engine.Rose, Rocking: mm(0.1, 2).Draw(t, "rocking"), Pumping: mm(0.1, 1).Draw(t, "pumping"), Slide: drawScrew(t),
		Crossing: engine.Wheel{Circles: []int{rapid.IntRange(1, 400).Draw(t, "crossing")}, Worm: 1}}
	s.Bars = map[string]bar.Edge{
		"twenty-four": {Name: name.Draw(t, "rosette"), Figure: bar.Sine, Radius: mm(20, 60).Draw(t, "radius"), Count: rapid.IntRange(2, 48).Draw(t, "count"), Amplitude: mm(0.01, 0.3).Draw(t, "amplitude")},
		"petals":      {Figure: bar.Points, Radius: 50, Count: 6, Drawn: [][2]float64{{0, 0}, {mm(0.3, 0.7).Draw(t, "angle"), 0.2}, {math.Pi / 3, 0}}},
	}
	s.Bar, s.Pump = "twenty-four", rapid.SampledFrom([]string{"", "petals"}).Draw(t, "pump")
	if rapid.Bool().Draw(t, "limited") {
		s.Limits = &engine.Limits{From: mm(0, 2).Draw(t, "from"), To: mm(3, 6).Draw(t, "to")}
	}
}

func drawAmount(t *rapid.T, kind engine.Kind, axis engine.Axis) engine.Amount {
	number := rapid.SampledFrom([]string{"16", "-3", "1/4", "1 1/2", "0.156", "-0.5", "0", "half a", "2.500"}).Draw(t, "number")
	whole := rapid.SampledFrom([]string{"16 ", "-3 ", "0 "}).Draw(t, "whole")
	line := map[engine.Axis][]string{
		engine.SlideAxis: {number + " mm", whole + "teeth", number + " in"},
		engine.IndexAxis: {number + " deg", number + " turn", whole + "holes", "360 round"},
		engine.ShiftAxis: {number + " mm", whole + "teeth", number + " waves"},
		engine.ChuckAxis: {number + " deg", number + " turn", whole + "divisions"},
	}[axis]
	if kind == engine.Rose && axis == engine.ShiftAxis {
		line = []string{number + " deg", whole + "teeth", number + " waves"}
	}
	a, err := ParseAmount(rapid.SampledFrom(line).Draw(t, "amount"), Millimetre, engine.Length)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func drawItems(t *rapid.T, s *engine.Setup, deeper int) []engine.Item {
	moves := map[engine.Motion]engine.Axis{engine.Step: engine.SlideAxis, engine.Turn: engine.IndexAxis, engine.Shift: engine.ShiftAxis, engine.Chuck: engine.ChuckAxis}
	var items []engine.Item
	for range rapid.IntRange(1, 4).Draw(t, "items") {
		it := engine.Item{Motion: engine.Motion(rapid.IntRange(int(engine.CutOne), int(engine.Note)).Draw(t, "motion"))}
		switch it.Motion {
		case engine.CutOne:
			if rapid.Bool().Draw(t, "own") {
				it.Depth = mm(0.001, 0.3).Draw(t, "depth")
				it.Limits = &engine.Limits{From: mm(0, 1).Draw(t, "from"), To: mm(2, 3).Draw(t, "to")}
			}
		case engine.Step, engine.Turn, engine.Shift, engine.Chuck:
			it.Amount = drawAmount(t, s.Engine.Kind, moves[it.Motion])
		case engine.Set:
			it.Axis = engine.Axis(rapid.IntRange(int(engine.SlideAxis), int(engine.ChuckAxis)).Draw(t, "axis"))
			it.Amount = drawAmount(t, s.Engine.Kind, it.Axis)
		case engine.Swap:
			it.Name = s.Bar
		case engine.SetDepth:
			it.Depth = mm(0.001, 0.3).Draw(t, "depth")
		case engine.Repeat, engine.Alternate:
			if deeper == 0 {
				it = engine.Item{Motion: engine.CutOne}
				break
			}
			if it.Motion == engine.Repeat {
				it.Count, it.Body = rapid.IntRange(1, 50).Draw(t, "times"), drawItems(t, s, deeper-1)
				break
			}
			it.Choices = [][]engine.Item{drawItems(t, s, deeper-1), drawItems(t, s, deeper-1)}
		case engine.Note:
			it.Name = name.Draw(t, "note")
		}
		items = append(items, it)
	}
	return items
}

// A job that no file can hold is refused, not written wrongly.
func TestMarshalRefuses(t *testing.T) {
	for what, spoil := range map[string]func(*Job){
		"not a number":   func(j *Job) { j.Setup.Depth = math.NaN() },
		"no end":         func(j *Job) { j.Setup.Engine.StrokeMax = math.Inf(1) },
		"no kind":        func(j *Job) { j.Setup.Engine.Kind = 0 },
		"no motion":      func(j *Job) { j.Setup.Sequence = append(j.Setup.Sequence, engine.Item{}) },
		"no unit":        func(j *Job) { j.Setup.Sequence = append(j.Setup.Sequence, engine.Item{Motion: engine.Step}) },
		"a long title":   func(j *Job) { j.Title = strings.Repeat("x", 1000) },
		"a control code": func(j *Job) { j.Notes = "\x1b[2J" },
		"no such bar":    func(j *Job) { j.Setup.Bar = "none" },
		"no sequence":    func(j *Job) { j.Setup.Sequence = nil },
	} {
		j, err := Read("testdata/shop/barleycorn.yaml")
		if err != nil {
			t.Fatal(err)
		}
		spoil(j)
		if text, err := j.Marshal(); err == nil {
			t.Errorf("%s: written as\n%s", what, text)
		} else if !strings.Contains(err.Error(), "no file can hold it") {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// An amount made by a program, without text of its own, is written in full.
func TestAmountsWithoutText(t *testing.T) {
	for _, c := range []struct {
		a    engine.Amount
		want string
	}{
		{engine.Amount{Value: 0.25, Num: 1, Den: 4, Unit: engine.Length}, "1/4 mm"},
		{engine.Amount{Value: 0.1, Unit: engine.Length}, "0.1 mm"},
		{engine.Amount{Value: 3, Num: 3, Den: 1, Unit: engine.Teeth}, "3 holes"},
		{engine.Amount{Value: math.Pi / 2, Unit: engine.Angle}, "90 deg"},
		{engine.Amount{Value: 0.5, Num: 1, Den: 2, Unit: engine.Waves, Text: "a lie"}, "1/2 waves"},
		{engine.Amount{Value: 0.5, Num: 1, Den: 2, Unit: engine.Turns, Text: "1/3 turn"}, "1/2 turns"},
	} {
		if got := writeAmount(c.a, "holes"); got != c.want {
			t.Errorf("%+v: written %q, want %q", c.a, got, c.want)
		}
	}
}
