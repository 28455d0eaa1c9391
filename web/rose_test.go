package web

import (
	"math"
	"strings"
	"testing"

	"brightcut/sight"
)

func TestRose(t *testing.T) {
	b := newBench(t)
	var f struct {
		sight.Figures
		Sentences []string `json:"sentences"`
	}
	b.want(200, "GET", "/api/jobs/barleycorn/rose?metal=copper&from=90&height=30", nil, &f)
	if len(f.Rose.Brightness) != len(f.Rose.Heights) || len(f.Rose.Brightness[0]) != len(f.Rose.Azimuths) || len(f.Rose.Heights) < 10 {
		t.Errorf("a rose of %d heights and %d azimuths", len(f.Rose.Heights), len(f.Rose.Azimuths))
	}
	if f.FlashAt == nil || math.Abs(*f.FlashAt-50) > 3 || !strings.Contains(f.Scene, "copper") || !strings.Contains(f.Scene, "from 90° at a height of 30°") {
		t.Errorf("it flashes at %v in %q", f.FlashAt, f.Scene)
	}
	if len(f.Sentences) < 6 {
		t.Errorf("it is said in %q", f.Sentences)
	}
	b.problem(400, "request", "GET", "/api/jobs/barleycorn/rose?room=cellar", nil)
	b.problem(400, "request", "GET", "/api/jobs/barleycorn/rose?tilt=x", nil)
	b.problem(404, "not-found", "GET", "/api/jobs/nothing/rose", nil)
}
