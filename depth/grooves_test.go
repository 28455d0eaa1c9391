package depth

import (
	"math"
	"testing"
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
	if l := p.List(w.List); len(l.Cuts) != 60 || &l.Cuts[0] == &w.List.Cuts[0] {
		t.Error("the list is not that of the plan")
	}
	if machine < 0.03 {
		t.Errorf("the machine's heights differ from the wished depth by %v mm at most: the bow is not in them", machine)
	}
}
