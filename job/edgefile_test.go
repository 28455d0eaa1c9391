package job

import (
	"io/fs"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"brightcut/bar"
	"brightcut/examples"
)

// Every bar and rosette of the example workshop, written and read again, is the
// same, and so is one of many points.
func TestEdgeFile(t *testing.T) {
	var edges []bar.Edge
	for _, pattern := range []string{"bars/*.yaml", "rosettes/*.yaml"} {
		files, err := fs.Glob(examples.Workshop, pattern)
		if err != nil || len(files) == 0 {
			t.Fatal(files, err)
		}
		for _, file := range files {
			e, err := ReadEdge(examples.Workshop, file)
			if err != nil {
				t.Fatal(err)
			}
			edges = append(edges, e)
		}
	}
	many := bar.Edge{Name: "Traced", Figure: bar.Points, Spline: true}
	for i := range 5000 {
		many.Drawn = append(many.Drawn, [2]float64{-50 + float64(i)/50, float64(i%7) / 1000})
	}
	for _, e := range append(edges, many) {
		text, err := MarshalEdge(e, "Traced from a scan,\nthresh 0.5.")
		if err != nil {
			t.Fatalf("%s: %v", e.Name, err)
		}
		if !strings.HasPrefix(string(text), "# Traced from a scan, thresh 0.5.\n") {
			t.Errorf("%s begins %.60q", e.Name, text)
		}
		back, err := ReadEdge(fstest.MapFS{"bars/x.yaml": {Data: text}}, "bars/x.yaml")
		if err != nil || !reflect.DeepEqual(back, e) {
			t.Errorf("%s: %v:\n%+v\n%+v", e.Name, err, back, e)
		}
	}
	if _, err := MarshalEdge(bar.Edge{Name: "None", Figure: bar.Sine}); err == nil {
		t.Error("a sine without a wave was written")
	}
}
