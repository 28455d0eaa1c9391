package job

import (
	"errors"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"brightcut/engine"
	"brightcut/fault"
)

const curvedJob = `
title: Curved
blank: {metal: silver, thickness: 2, outline: {shape: rectangle, width: 30, height: 20}}
stock: {form: cylinder, radius: 30, axis: 90 deg}
engine:
  kind: straight line
  stroke: {from: -40, to: 40}
  slide: {pitch: 1, ratchet: 100, from: -14, to: 14}
  swing: {axis: AXIS, from: -20 deg, to: 25 deg}
cutter: {included: 120 deg, clearance: 15 deg}
guide: {offset: 0.6, side: left, foot_radius: 0.8, extension: 40 um}
depth: 0.04
start: {slide: FIRST}
sequence: [cut, {step: 4}, cut, {step: 4}, cut]
`

func curved(t *testing.T, axis, first string) (*Job, *engine.List) {
	t.Helper()
	text := strings.NewReplacer("AXIS", axis, "FIRST", first).Replace(curvedJob)
	j, err := ReadFS(fstest.MapFS{"job.yaml": &fstest.MapFile{Data: []byte(text)}}, "job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	l, err := j.Cuts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return j, l
}

// With the swing's axis in that of the cylinder neither slide nor cutter moves,
// and the swing is asin(x/R); the guide's error is g²/(2R) (both derived).
func TestStances(t *testing.T) {
	j, l := curved(t, "-30", "-4")
	all, err := j.Stances(l)
	if err != nil {
		t.Fatal(err)
	}
	for i, x := range []float64{-4, 0, 4} {
		s := all[i]
		if math.Abs(s.Swing-math.Asin(x/30)) > 1e-9 || math.Abs(s.Slide) > 1e-9 || math.Abs(s.Advance+30) > 1e-9 {
			t.Errorf("cut %d at %v: %+v", i+1, x, s)
		}
		if want := 0.6 * 0.6 / 60; math.Abs(s.GuideError-want) > 1e-6 {
			t.Errorf("the guide is off by %v mm, want %v", s.GuideError, want)
		}
	}
	// Over the work the slide has to follow: x + a·sin φ, a = (h − z)/cos φ.
	j, l = curved(t, "5", "-4")
	if all, err = j.Stances(l); err != nil {
		t.Fatal(err)
	}
	z := math.Sqrt(900-16) - 30
	if want := 4 + (5-z)*4/math.Sqrt(900-16); math.Abs(all[2].Slide-want) > 1e-9 {
		t.Errorf("the slide is to stand at %v, want %v", all[2].Slide, want)
	}
	j.Setup.Engine.Swing = nil
	if all, err = j.Stances(l); all != nil || err != nil {
		t.Error("a fast assembly has stances: ", all, err)
	}
}

// What the swing or the slide does not reach is told at the line that cuts it.
func TestStancesOutOfReach(t *testing.T) {
	for _, c := range []struct{ axis, first, want string }{
		{"-30", "-12", "for cut 1 the slide assembly would have to swing by -23.6 deg; it swings from -20 to 25 deg"},
		{"30", "2", "for cut 3, with the slide assembly swung by 19.5 deg, the slide would have to stand at 21.2"},
	} {
		j, l := curved(t, c.axis, c.first)
		_, err := j.Stances(l)
		var found fault.List
		if !errors.As(err, &found) || !strings.Contains(found[0].Problem, c.want) || found[0].Origin.Line != 14 || found[0].Mend == "" {
			t.Errorf("axis %s: got %v, want %s", c.axis, err, c.want)
		}
	}
}
