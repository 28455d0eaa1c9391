package job_test

import (
	"io/fs"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"brightcut/bar"
	"brightcut/examples"
	"brightcut/job"
)

// workshopWith is the example workshop with files laid over it.
func workshopWith(t *testing.T, over map[string]string) fs.FS {
	t.Helper()
	shop := fstest.MapFS{}
	err := fs.WalkDir(examples.Workshop, ".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(path, ".yaml") {
			var text []byte
			text, err = fs.ReadFile(examples.Workshop, path)
			shop[path] = &fstest.MapFile{Data: text}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range over {
		shop[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return shop
}

// A bar cut on both edges is two bars to a job, and is written as the one it is.
func TestOtherSide(t *testing.T) {
	text, err := fs.ReadFile(examples.Workshop, "waves-in-step.yaml")
	if err != nil {
		t.Fatal(err)
	}
	with := func(name string) (*job.Job, error) {
		return job.ReadFS(workshopWith(t, map[string]string{"piece.yaml": strings.Replace(string(text), "bar: fine-sine", "bar: "+name, 1)}), "piece.yaml")
	}
	j, err := with("two-sided other side")
	if err != nil {
		t.Fatal(err)
	}
	if e := j.Setup.Bars[j.Setup.Bar]; e.Wave != 4 || e.Name != "Two-sided bar turned round" {
		t.Errorf("%+v", e)
	}
	if e := j.Setup.Bars["two-sided"]; e.Wave != 3 {
		t.Errorf("%+v", e)
	}
	if _, err := with("fine-sine other side"); err == nil || !strings.Contains(err.Error(), "has no other side") {
		t.Error(err)
	}
	out, err := j.Marshal()
	if err != nil {
		t.Fatal(err)
	}
	again, err := job.ReadFS(workshopWith(t, map[string]string{"again.yaml": string(out)}), "again.yaml")
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if again.Setup.Bar != j.Setup.Bar || again.Setup.Bars[again.Setup.Bar].Wave != 4 || len(again.Setup.Bars) != 2 {
		t.Errorf("%s", out)
	}
}

// Edges that are put together are read with their parts.
func TestCompoundEdges(t *testing.T) {
	text, err := fs.ReadFile(examples.Workshop, "waves-in-step.yaml")
	if err != nil {
		t.Fatal(err)
	}
	j, err := job.ReadFS(workshopWith(t, map[string]string{"piece.yaml": strings.Replace(string(text), "bar: fine-sine", "bar: quickening", 1)}), "piece.yaml")
	if err != nil {
		t.Fatal(err)
	}
	e := j.Setup.Bars["quickening"]
	if e.Figure != bar.Blend || e.First.Wave != 6 || e.Second.Wave != 3 || e.Over != 12 || e.Changes[1] != 18 {
		t.Errorf("%+v", e)
	}
	if h, _ := e.Height(0.75); math.Abs(h-0.25) > 1e-6 { // the crest of the finer
		t.Error(h)
	}
	for _, name := range []string{"half-leaf", "worn-swell", "rippled"} {
		if faults := job.CheckPart(examples.Workshop, "rosette", name); len(faults) > 0 {
			t.Error(faults)
		}
	}
	for text, want := range map[string]string{
		"{figure: blend, from: quickening, into: fine-sine, changes: [0], over: 3, length: 100}":                                                          "blend",
		"{figure: blend, from: fine-sine, into: coarse-sine, changes: [0, 1], over: 3, length: 100}":                                                      "before the passage before",
		"{figure: blend, from: fine-sine, into: coarse-sine, changes: [0], over: 3}":                                                                      "length",
		"{figure: harmonics, wave: 3, sines: [{order: 1.5, amplitude: 0.2}]}":                                                                             "order",
		"{figure: points, points: [[0, 0], [1, 0.2]], mirror: true, repeats: true, joint: 0.2}":                                                           "joint",
		"{figure: sine, wave: 3, amplitude: 0.2, other_side: {figure: sine, wave: 3, amplitude: 0.2, other_side: {figure: sine, wave: 3, amplitude: 1}}}": "other_side",
	} {
		faults := job.CheckPart(workshopWith(t, map[string]string{"bars/odd.yaml": text + "\n"}), "bar", "odd")
		if len(faults) == 0 || !strings.Contains(faults.Error(), want) || faults[0].Mend == "" {
			t.Errorf("%s: %v", text, faults)
		}
	}
}
