package depth

import (
	"context"
	"math"
	"testing"
)

// Differences on the model against the closed forms: dw = 2·tan α·dd for a
// micron of extension and for compliance × force; 2·d·(tan((θ+δ)/2) − tan(θ/2))
// for the angle; nothing under a guide and 2·tan α·dz under a stop for the stock.
func TestSensitivity(t *testing.T) {
	w := dial(sunburst(120, 6, 12, 2*math.Pi/120), Left)
	w.Guide.Compliance, w.Stop.Compliance = 0.0003, 0.0002
	w.Pressure = Pressure{Force: 10, Scatter: 2}
	w.Cell = 0.02
	p := planned(t, w, Wishes{Hold: []Override{{From: 100, To: 120, By: ByStop}}, Advance: AsWritten, Begin: 1})
	found, err := p.Sensitivity(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	tan := math.Tan(bright.Half())
	wider := math.Tan((bright.Included+0.1*deg)/2) - tan
	d := 0.045 + 0.003
	want := map[string][2]float64{ // by guide, by stop
		"extension":    {2 * tan * 0.001, 2 * tan * 0.001},
		"hand":         {2 * tan * 0.0003, 2 * tan * 0.0002},
		"cutter angle": {2 * d * wider, 2 * d * wider},
		"stock":        {0, 2 * tan * 0.010},
	}
	if len(found) != 8 {
		t.Fatalf("%d influences, want four under the guide and four under the stop: %+v", len(found), found)
	}
	for _, f := range found {
		v := want[f.Of][0]
		if f.By == ByStop {
			v = want[f.Of][1]
		}
		// The foot stands on ground not cut: only the rounding of heights is left.
		if math.Abs(f.Width-v) > 2e-6 || math.Abs(f.Most-v) > 5e-6 {
			t.Errorf("%s by %v: width changes by %v, at most %v; want %v", f.Of, f.By, f.Width, f.Most, v)
		}
		if s := v / (2 * tan * d); math.Abs(f.Share-s) > 1e-4 {
			t.Errorf("%s by %v: a share of %v, want %v", f.Of, f.By, f.Share, s)
		}
	}
}
