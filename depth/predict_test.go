package depth

import (
	"context"
	"math"
	"testing"
)

func predicted(t *testing.T, w *Work, holds ...Hold) *Prediction {
	t.Helper()
	p, err := Predict(context.Background(), w, holds, 0)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func depthAt(t *testing.T, p *Prediction, cut int, reading float64) float64 {
	t.Helper()
	q, ok := p.At(cut, reading)
	if !ok {
		t.Fatalf("cut %d has no place at %v", cut, reading)
	}
	return q.Depth
}

// Values from a separate brute-force script on flat stock (N = 360, 130°,
// e = 45 µm, g = 0.6, round foot 0.8). That on a full circle of rays the guide
// fails at the closing cuts, a handful, is common practice, no source.
func TestClosingCuts(t *testing.T) {
	p := predicted(t, dial(sunburst(360, 2, 17, 2*math.Pi/360), Left))
	for i := 1; i <= 360; i++ {
		d := 1000 * depthAt(t, p, i, 8)
		switch {
		case i <= 355 && math.Abs(d-45) > 0.1:
			t.Errorf("r 8: cut %d is %.2f µm deep with its foot on virgin ground, want 45.0", i, d)
		case i > 356 && !(d > 56.5 && d < 58.5):
			t.Errorf("r 8: cut %d is %.2f µm deep, want 57 to 58", i, d)
		}
		if d := 1000 * depthAt(t, p, i, 13); d > 45.6 || d < 44.9 {
			t.Errorf("r 13: cut %d is %.2f µm deep, want 45 to 45.25", i, d)
		}
	}
}

// Advanced the other way the foot soon stands on cut ground, and the cuts deepen
// one upon another (common practice, no source; values from the same script).
func TestRunningAway(t *testing.T) {
	p := predicted(t, dial(sunburst(360, 7, 9, 2*math.Pi/360)[:12], Right))
	for cut, want := range map[int]float64{1: 45, 5: 47, 6: 58, 10: 66, 11: 71} {
		if d := 1000 * depthAt(t, p, cut, 8); math.Abs(d-want) > 0.7 {
			t.Errorf("cut %d is %.2f µm deep, want %v", cut, d, want)
		}
	}
}
