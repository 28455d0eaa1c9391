package depth

import (
	"context"
	"testing"
)

func planned(t *testing.T, w *Work, wishes Wishes) *Plan {
	t.Helper()
	p, err := MakePlan(context.Background(), w, wishes)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestTry(t *testing.T) {
	w := dial(sunburst(360, 5, 17, 6.283185307179586/360), Right)
	w.Stock = bowed(w.Blank, 2500)
	w.Stop = &Stop{Compliance: 0.00015}
	w.Guide.Compliance = 0.0003
	w.Pressure = Pressure{Force: 0, Scatter: 2}
	p := planned(t, w, Wishes{})
	for _, c := range p.Choices {
		t.Log(c.Kind, c.First, c.Last, c.Value, c.Text)
	}
	for _, c := range p.Compared {
		t.Logf("%+v", c)
	}
	t.Logf("%+v", p.Trust)
}
