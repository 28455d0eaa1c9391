package sheet

import (
	"bytes"
	"strings"
	"testing"

	"brightcut/depth"
	"brightcut/examples"
	"brightcut/job"
)

// The sheet of a planned job tells the plan's choices, the ways side by side and
// the test cuts it goes by; its rows tell what holds each cut, and the note stands
// where the hold changes.
func TestSheetTellsThePlan(t *testing.T) {
	j, err := job.ReadFS(examples.Workshop, "bowed-dial.yaml")
	if err != nil {
		t.Fatal(err)
	}
	list, err := j.Cuts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	plan, _, err := j.Plan(t.Context(), list)
	if err != nil {
		t.Fatal(err)
	}
	l := plan.List(list)
	s := NewPlanned(j, l, plan)
	var text bytes.Buffer
	if err := WriteText(&text, s); err != nil {
		t.Fatal(err)
	}
	told := strings.Join(strings.Fields(text.String()), " ")
	for _, c := range plan.Choices {
		if !strings.Contains(told, strings.Join(strings.Fields(stop(typeset(c.Text))), " ")) {
			t.Errorf("the sheet does not tell: %s", c.Text)
		}
	}
	for _, want := range []string{"test cuts of 2031-03-14", "True the work on the chuck first", "stop only 0.0 to 390.0 µm (360 cuts outside)", "How it is held is told under Depth."} {
		if !strings.Contains(told, want) {
			t.Errorf("the sheet does not tell: %s", want)
		}
	}
	for _, b := range s.Table {
		for _, r := range b.Rows {
			if i := r.First - 1; !strings.HasSuffix(r.Hold, ", "+plan.Prediction.Cuts[i].By.String()) {
				t.Errorf("cut %d: %s, held by %s", r.First, r.Hold, plan.Prediction.Cuts[i].By)
			}
		}
	}
	changes := 0
	for _, h := range plan.Holds[1:] {
		if m := s.Moves(&l.Cuts[h.First-1]); h.By == depth.ByStop && strings.Contains(m.String(), "Retract the guide and engage the stop, set ") {
			changes++
		}
	}
	if changes != 1 {
		t.Errorf("%d changes from guide to stop are told before their cuts", changes)
	}
	// Without a plan nothing of it is told.
	if s := New(j, list); len(s.Depth) != 0 {
		t.Errorf("a sheet without a plan tells %v", s.Depth)
	}
}

// On curved work every cut has its swing, in whole teeth of the slide.
func TestSheetTellsTheSwing(t *testing.T) {
	j, err := job.ReadFS(examples.Workshop, "napkin-ring.yaml")
	if err != nil {
		t.Fatal(err)
	}
	list, err := j.Cuts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	s := New(j, list)
	if len(s.Depth) != 1+len(list.Cuts) {
		t.Fatalf("%d sentences of %d cuts", len(s.Depth), len(list.Cuts))
	}
	if got, want := s.Depth[1].String(), "Cut 1: swing 21.54°, slide to 789 teeth (3.945 mm), tip 19.249 mm above the axis."; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}
