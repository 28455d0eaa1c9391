package depth

import (
	"math"
	"strings"
	"testing"

	"brightcut/engine"
)

// On bowed stock the machine's heights hold the bow; the grooves' do not, and are
// as deep as predicted.
func TestGroovesLieBelowTheUncutWork(t *testing.T) {
	w := dial(sunburst(60, 5, 17, 2*math.Pi/60), Left)
	w.Stock = bowed(w.Blank, 2000)
	p, err := MakePlan(t.Context(), w, Wishes{})
	if err != nil {
		t.Fatal(err)
	}
	machine := 0.0
	for i, c := range p.Grooves() {
		d := p.Prediction.Cuts[i].Depth
		for k, piece := range c.Pieces {
			if len(piece.Readings) != len(piece.Path) {
				t.Fatalf("cut %d has %d readings for %d places", i+1, len(piece.Readings), len(piece.Path))
			}
			for _, v := range piece.Path {
				if -v.Z < d.Min-1e-4 || -v.Z > d.Max+1e-4 {
					t.Fatalf("cut %d is %v deep, predicted %v to %v", i+1, -v.Z, d.Min, d.Max)
				}
			}
			for _, v := range p.Cuts[i].Pieces[k].Path {
				machine = max(machine, math.Abs(v.Z+0.045))
			}
		}
	}
	if machine < 0.03 {
		t.Errorf("the machine's heights differ from the wished depth by %v mm at most: the bow is not in them", machine)
	}
}

// The change from guide to stop stands before the cut that begins it, and nowhere
// else; the work's own list stays as it was.
func TestListTellsTheChange(t *testing.T) {
	w := dial(sunburst(360, 5, 17, 2*math.Pi/360), Left)
	w.Cell, w.Stop.Compliance, w.Pressure = 0.03, 0.0002, Pressure{Force: 8}
	p, err := MakePlan(t.Context(), w, Wishes{Begin: 1, Advance: AsWritten, Hold: []Override{{From: 1, To: 353, By: ByGuide}, {From: 354, To: 360, By: ByStop, Groove: 353}}})
	if err != nil {
		t.Fatal(err)
	}
	notes := 0
	for _, c := range p.List(w.List).Cuts {
		for _, m := range c.Moves {
			if m.Motion != engine.Note {
				continue
			}
			notes++
			if c.Number != 354 || !strings.HasPrefix(m.Name, "Retract the guide and engage the stop, set 1.6 µm above the groove of cut 353 at ") {
				t.Errorf("before cut %d: %s", c.Number, m.Name)
			}
		}
	}
	if notes != 1 {
		t.Errorf("%d notes tell a change of hold", notes)
	}
	for _, c := range w.List.Cuts {
		for _, m := range c.Moves {
			if m.Motion == engine.Note {
				t.Fatalf("cut %d of the job has a note of the plan", c.Number)
			}
		}
	}
}
