package job

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"brightcut/depth"
	"brightcut/engine"
)

// What was kept counts from then on; withdrawn, the job is read as before; taken
// back, it counts again and the file is as it was.
func TestWithdraw(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("testdata/shop")); err != nil {
		t.Fatal(err)
	}
	readAs := func(name string) *Job {
		t.Helper()
		j, err := Read(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		return j
	}
	read := func() *Job { t.Helper(); return readAs("dial.yaml") }
	rings := func() *Job { t.Helper(); return readAs("rings.yaml") }
	bytesOf := func(file string) string {
		text, err := os.ReadFile(filepath.Join(dir, "calibrations", file+".yaml"))
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	was := read()

	worn := func(c *Calibration) {
		c.Wear = &depth.Known{Value: 0.0012, Uncertainty: 0.0001}
		c.Zero = &depth.Known{Value: 0.005, Uncertainty: 0.0003}
	}
	if _, err := was.KeepCorrection(dir, "2031-06-01", "runs/dial", false, worn); err != nil {
		t.Fatal(err)
	}
	j := read()
	if j.Calibration.Wear == nil || j.Calibration.Angle == nil || *j.Calibration.Angle != *was.Calibration.Angle {
		t.Fatalf("what was not changed has to stay: %+v", j.Calibration)
	}
	list, err := j.Cuts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	w, err := j.Work(list)
	if err != nil || math.Abs(w.Wear-1.2e-6) > 1e-18 || math.Abs(w.Guide.Extension-j.Guide.Extension-0.005) > 1e-12 {
		t.Fatalf("%v: the tip recedes %v, the cutter stands out %v", err, w.Wear, w.Guide.Extension)
	}

	engineWas := bytesOf("engine-rose")
	off := &engine.Periodic{Size: 0.006, Turns: 1, From: 0.5}
	if file, err := rings().KeepCorrection(dir, "2031-06-02", "runs/dial", true, func(c *Calibration) { c.Slide = off }); err != nil || filepath.Base(file) != "engine-rose.yaml" {
		t.Fatal(file, err)
	}
	if e := rings().Setup.Engine.Slide.Error; e == nil || *e != *off {
		t.Fatalf("the screw's error is read as %+v", e)
	}
	if !strings.HasPrefix(bytesOf("engine-rose"), engineWas) {
		t.Error("what stood in the engine's file has changed")
	}

	all, err := Calibrations(os.DirFS(dir))
	if err != nil || len(all) != 7 {
		t.Fatalf("%d kept, %v", len(all), err)
	}
	for _, k := range all {
		if k.Counts {
			before := bytesOf(k.File)
			if err := Withdraw(dir, k.File, k.Number, "2031-07-01"); err != nil {
				t.Fatal(err)
			}
			if err := Withdraw(dir, k.File, k.Number, ""); err != nil {
				t.Fatal(err)
			}
			if got := bytesOf(k.File); got != before {
				t.Errorf("taken back, %s is\n%s\nand was\n%s", k.File, got, before)
			}
			if err := Withdraw(dir, k.File, k.Number, "2031-07-01"); err != nil {
				t.Fatal(err)
			}
		}
	}
	j = read()
	if *j.Calibration.Zero != *was.Calibration.Zero || j.Calibration.Wear != nil || rings().Setup.Engine.Slide.Error != nil {
		t.Errorf("withdrawn, it is read as %+v", j.Calibration)
	}

	for _, bad := range []struct {
		file   string
		number int
	}{{"engine-rose", 9}, {"engine-rose", 0}, {"none", 1}, {"../dial", 1}} {
		if err := Withdraw(dir, bad.file, bad.number, "2031-07-01"); err == nil {
			t.Errorf("withdrew %d of %s", bad.number, bad.file)
		}
	}
	if _, err := rings().KeepCorrection(dir, "2031-07-02", "runs/dial", true, func(c *Calibration) { worn(c); c.Slide = off }); err == nil {
		t.Error("kept a calibration of engine and cutter at once")
	}
}
