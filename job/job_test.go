package job

import (
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"go.yaml.in/yaml/v4"

	"brightcut/engine"
	"brightcut/fault"
)

// The values of the two test jobs, worked out by hand from their text and that
// of their parts.
func TestTheWorkshopReads(t *testing.T) {
	panel, err := Read("testdata/shop/barleycorn.yaml")
	if err != nil {
		t.Fatal(err)
	}
	rings, err := Read("testdata/shop/rings.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p, r := &panel.Setup, &rings.Setup
	for what, c := range map[string][2]any{
		"file":                    {panel.File, "testdata/shop/barleycorn.yaml"},
		"metal":                   {panel.Metal.Name, "Sterling silver"},
		"metal of the blank":      {p.Blank.Metal, "Sterling silver"},
		"metal the program knows": {rings.Metal.Cutting, 700.0},
		"bar":                     {p.Bar, "fine-sine"},
		"wave":                    {p.Bars["fine-sine"].Wave, 3.0},
		"wave in inches":          {p.Bars["coarse-sine"].Wave, 6.35},
		"thou":                    {p.Bars["coarse-sine"].Amplitude, 0.254},
		"lever left out":          {p.Engine.Lever, 1.0},
		"worm left out":           {p.Engine.Index.Worm, 1},
		"stroke":                  {p.Engine.StrokeMin, -45.0},
		"included":                {p.Cutter.Included, 130 * math.Pi / 180},
		"guide":                   {panel.Guide.Extension, 0.045},
		"give":                    {panel.Guide.Compliance, 0.0003},
		"limits":                  {*p.Limits, engine.Limits{From: -9, To: 9}},
		"limits of a cut":         {*p.Sequence[6].Limits, engine.Limits{From: 2, To: 9}},
		"set is two":              {p.Sequence[5].Axis, engine.ShiftAxis},
		"where the step stands":   {p.Sequence[0].Body[1].Origin, fault.Origin{File: panel.File, Line: 27, Column: 9}},
		"pitch":                   {r.Engine.Slide.Pitch, 127.0 / 70},
		"crossing":                {r.Engine.Crossing.Circles[0], 192},
		"no name":                 {r.Bars["twenty-four"].Name, "twenty-four"},
		"drawn angle":             {r.Bars["petals"].Drawn[1][0], 15 * math.Pi / 180},
		"pump":                    {r.Pump, "cam-8"},
		"rubber":                  {r.Touch, 1.0},
		"spindle":                 {r.Limits.To, 1.5 * math.Pi},
		"no guide":                {rings.Guide == nil, true},
		"depth":                   {r.Depth, 0.0762},
	} {
		if c[0] != c[1] {
			t.Errorf("%s: %v, want %v", what, c[0], c[1])
		}
	}
}

// Parts have units of their own: an inch job does not change a part that names
// none, and a part in the job may name its own.
func TestUnitsOfParts(t *testing.T) {
	shop := workshop(t, nil)
	shop["inch.yaml"] = &fstest.MapFile{}
	shop["inch.yaml"].Data = []byte(`title: Inches
units: inch
blank: {metal: brass, thickness: 1/16, outline: {shape: disc, diameter: 1 1/2}}
engine: long-bench
bar: fine-sine
bars: {own: {units: mm, figure: sine, wave: 3, amplitude: 0.1}, given: {figure: sine, wave: 0.125, amplitude: 0.1 mm}}
cutter: bright-130
depth: 2 thou
sequence: [cut, {step: 0.01}]
`)
	j, err := ReadFS(shop, "inch.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s := &j.Setup
	for what, c := range map[string][2]float64{
		"thickness":        {s.Blank.Thickness, 1.5875},
		"diameter":         {s.Blank.Outline.Diameter, 38.1},
		"engine's pitch":   {s.Engine.Slide.Pitch, 1},
		"bar's own file":   {s.Bars["fine-sine"].Wave, 3},
		"bar's own units":  {s.Bars["own"].Wave, 3},
		"bar in the job's": {s.Bars["given"].Wave, 3.175},
		"text":             {s.Bars["given"].Amplitude, 0.1},
		"depth":            {s.Depth, 0.0508},
		"step":             {s.Sequence[1].Amount.Value, 0.254},
	} {
		if c[0] != c[1] {
			t.Errorf("%s: %v mm, want %v", what, c[0], c[1])
		}
	}
}

// A number out of range is told once, in the words of the part's own check where
// it has some.
func TestTheBetterWordsWin(t *testing.T) {
	shop := workshop(t, nil)
	shop["job.yaml"] = &fstest.MapFile{}
	shop["job.yaml"].Data = []byte(`title: Out of range
blank: {metal: brass, thickness: -1, outline: {shape: disc, diameter: 30}}
engine: long-bench
cutter: {included: 200, clearance: 15}
depth: 0.05
sequence: [cut, {depth: 20000}, {depth: 0}]
`)
	_, err := ReadFS(shop, "job.yaml")
	l, ok := err.(fault.List)
	if !ok || len(l) != 4 {
		t.Fatalf("got %v, want four faults", err)
	}
	for i, want := range []bool{false, false, true, true} {
		if got := strings.HasSuffix(l[i].Problem, " is out of range"); got != want {
			t.Errorf("%v", l[i])
		}
	}
}

func TestBounds(t *testing.T) {
	angle, length := angleOf(span{0, 90, true}), lengthOf(fromZero)
	for _, c := range []struct {
		codec codec[float64]
		text  string
		ok    bool
	}{
		{angle, "0", false}, {angle, "0.001", true}, {angle, "89.99 deg", true}, {angle, "90", true}, {angle, "90.01", false}, {angle, "1/4 turn", true}, {angle, "0.26 turn", false},
		{length, "0", true}, {length, "-1e-9", false}, {length, "10000", true}, {length, "10000.1", false}, {length, "400 in", false}, {length, "393 in", true},
	} {
		all := &reading{places: map[string]place{}}
		r := &reader{reading: all, src: newSource("x", nil), units: Millimetre}
		if _, ok := c.codec.read(r, &yaml.Node{Kind: yaml.ScalarNode, Value: c.text}, "x"); !ok || (len(all.faults) == 0) != c.ok {
			t.Errorf("%s: %v", c.text, all.faults)
		}
	}
}

func TestWithin(t *testing.T) {
	for _, c := range []struct {
		path, outer string
		want        bool
	}{
		{"bar", "bar", true}, {"bar.wave", "bar", true}, {"bars[0]", "bars", true}, {"anything", "", true},
		{"bars", "bar", false}, {"bar", "bar.wave", false}, {"", "bar", false},
	} {
		if got := within(c.path, c.outer); got != c.want {
			t.Errorf("within(%q, %q) = %v", c.path, c.outer, got)
		}
	}
}

func TestNamesOfParts(t *testing.T) {
	for name, want := range map[string]bool{
		"fine-sine": true, "24": true, "Größe 3": true, "a.b": true,
		"": false, ".": false, "..": false, ".hidden": false, "../x": false, "a/b": false, `a\b`: false, "C:x": false,
		" a": false, "a ": false, "a.": false, "a\x00": false, "a\nb": false, "*": false, strings.Repeat("x", 81): false,
	} {
		if got := validName(name); got != want {
			t.Errorf("%q: %v", name, got)
		}
	}
	for name, want := range map[string]string{"Fine sine": "fine-sine", "N° 3 (old)": "n°-3-(old)", "../x": "x", "": "", "1/2 wave": "12-wave"} {
		if got := slug(name); got != want || got != "" && !validName(got) {
			t.Errorf("%q became %q, want %q", name, got, want)
		}
	}
}
