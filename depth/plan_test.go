package depth

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"brightcut/blank"
	"brightcut/engine"
	"brightcut/fault"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

func planned(t *testing.T, w *Work, wishes Wishes) *Plan {
	t.Helper()
	p, err := MakePlan(context.Background(), w, wishes)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func (p *Plan) said(kind string) string {
	var all []string
	for _, c := range p.Choices {
		if c.Kind == kind {
			all = append(all, c.Text)
		}
	}
	return strings.Join(all, "\n")
}

func (p *Plan) spread(name string) Spread {
	for _, s := range p.Compared {
		if s.Name == name {
			return s
		}
	}
	return Spread{}
}

// bowedDial is a dial on stock bowed along the given direction, begun where the
// bow is steepest, its guide on the side that runs behind.
func bowedDial(direction float64) *Work {
	cuts := sunburst(180, 5, 17, 2*math.Pi/180)
	w := dial(cuts, Right)
	w.Cell = 0.02
	w.Stock = bowedAlong(w.Blank, 2500, direction)
	w.Guide.Compliance, w.Stop.Compliance = 0.0003, 0.00015
	w.Guide.Extension = 0.045 - 0.0003*12
	w.Pressure = Pressure{Force: 12, Scatter: 2}
	return w
}

// The issue's own case: guide only fails on the closing cuts (and here at once,
// for the foot runs behind), the stop alone on the bow, and the plan holds the
// width within 5 %.
func TestPlanHolds(t *testing.T) {
	p := planned(t, bowedDial(30*deg), Wishes{})
	plan := p.Prediction.Spread
	if plan.Out != 0 || plan.Within != 1 || plan.Name != "plan" {
		t.Errorf("the plan leaves the tolerance: %+v", plan)
	}
	for _, other := range []string{"guide only", "stop only", "fixed height"} {
		if s := p.spread(other); s.Out < 10 || s.Within > 0.9 {
			t.Errorf("%s: %+v", other, s)
		}
	}
	if p.Advance != Reversed || !p.Closed {
		t.Errorf("advanced %v, closed %v", p.Advance, p.Closed)
	}
	if len(p.Holds) != 2 || p.Holds[0].By != ByGuide || p.Holds[1].By != ByStop || p.Holds[1].Last != 180 {
		t.Fatalf("holds %v", p.Holds)
	}
	h := p.Holds[1]
	if h.Groove != h.First-1 || math.Abs(h.Lift-0.0018) > 1e-9 {
		t.Errorf("the stop is set %v above the groove of cut %d", h.Lift, h.Groove)
	}
	// At work the tip comes down to the groove.
	q, ok := p.Prediction.At(h.Groove, h.Reading)
	if !ok || math.Abs(q.Tip-h.Height) > 1e-7 {
		t.Errorf("tip at work %v, the groove at %v", h.Height, q.Tip)
	}
	for kind, words := range map[string]string{
		"advance": "Advance the other way", "begin": "Begin with cut", "guide": "Hold cuts 1–",
		"stop": "retract the guide and engage the stop; with the cutter at rest in the groove of cut", "trust": "may be trusted for ±5 %", "spread": "guide only",
	} {
		if !strings.Contains(p.said(kind), words) {
			t.Errorf("%s does not say %q: %s", kind, words, p.said(kind))
		}
	}
	if !strings.Contains(p.said("stop"), "set it 1.8 µm above") {
		t.Errorf("no setting in %q", p.said("stop"))
	}
}

// Turning the bow turns the place where the plan begins, and nothing else: the
// closing cuts lie along the bow's axis, where the stock is flattest.
func TestBeginsOverTheFlattestSector(t *testing.T) {
	for _, direction := range []float64{30 * deg, 130 * deg} {
		p := planned(t, bowedDial(direction), Wishes{})
		// The middle one of those that close the round; they are 2° apart.
		k := p.Prediction.task.closing()
		middle := p.Cuts[len(p.Cuts)-1-k/2].Pieces[0].Path[0]
		angle := math.Atan2(middle.Y, middle.X) // of the ray on the work
		// The bow falls along direction and is level square to it.
		off := math.Remainder(angle-direction-math.Pi/2, math.Pi)
		if math.Abs(off) > 4*deg {
			t.Errorf("bow along %.0f°: the round closes about %.0f°, %.0f° from the level line", direction/deg, angle/deg, off/deg)
		}
	}
}

// On random small works the plan costs no more than the guide alone in the same
// order, every place is held once, and the cuts carry the predicted heights.
func TestPlanIsNoWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWork(t)
		w.Pressure.Scatter = rapid.SampledFrom([]float64{0, 1}).Draw(t, "scatter")
		wishes := Wishes{Advance: AsWritten, Begin: 1}
		p, err := MakePlan(context.Background(), w, wishes)
		if err != nil {
			t.Fatal(err)
		}
		c := &chooser{task: p.Prediction.task, wishes: &wishes}
		alone, err := Predict(context.Background(), w, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		n := len(w.List.Cuts)
		if a, b := c.cost(p.Prediction, 1, n), c.cost(alone, 1, n); a > b {
			t.Fatalf("the plan costs %v, the guide alone %v", a, b)
		}
		// Predicted afresh, the plan's holds give what it says.
		again, err := Predict(context.Background(), w, p.Holds, 0)
		if err != nil {
			t.Fatal(err)
		}
		for k := range again.tip {
			if again.tip[k] != p.Prediction.tip[k] {
				t.Fatalf("place %d: tip %v, predicted afresh %v", k, p.Prediction.tip[k], again.tip[k])
			}
		}
		next := 1
		for _, h := range p.Holds {
			if h.First != next || h.Last < h.First {
				t.Fatalf("holds %v", p.Holds)
			}
			next = h.Last + 1
		}
		if next != n+1 {
			t.Fatalf("holds end at %d", next-1)
		}
		for i, cut := range p.Cuts {
			for _, q := range p.Prediction.Places(i + 1) {
				if h := heightAt(&cut, q.Reading); math.Abs(h-q.Tip) > HeightError+1e-7 {
					t.Fatalf("cut %d at %v: the path lies at %v, the tip is predicted at %v", i+1, q.Reading, h, q.Tip)
				}
			}
		}
	})
}

func heightAt(c *engine.Cut, reading float64) float64 {
	for _, p := range c.Pieces {
		for k := 1; k < len(p.Readings); k++ {
			if a, b := p.Readings[k-1], p.Readings[k]; a <= reading && reading <= b {
				if a == b {
					return p.Path[k].Z
				}
				return mix(p.Path[k-1].Z, p.Path[k].Z, (reading-a)/(b-a))
			}
		}
	}
	return math.NaN()
}

// The moves of a plan lead from cut to cut: their counts add up to the settings,
// round the wheel, and lines before each cut are few.
func TestOrder(t *testing.T) {
	w := dial(sunburst(96, 5, 9, 2*math.Pi/96), Right)
	w.Cell = 0.05
	for _, wish := range []Wishes{{Begin: 17, Advance: Reversed}, {Begin: 17, Advance: AsWritten}, {Begin: 1, Advance: Reversed}} {
		p := planned(t, w, wish)
		at := 0
		for i, c := range p.Cuts {
			if c.Number != i+1 {
				t.Fatalf("cut %d is numbered %d", i+1, c.Number)
			}
			for _, m := range c.Moves {
				at += m.Count
				if m.Reading != c.Settings.Index {
					t.Fatalf("cut %d: move to %d, the setting is %d", i+1, m.Reading, c.Settings.Index)
				}
				if i > 0 && (m.Count != 1 && m.Count != -1 || m.Motion != engine.Turn || math.Abs(m.Exact-float64(m.Count)*2*math.Pi/96) > 1e-12) {
					t.Fatalf("cut %d: %+v", i+1, m)
				}
			}
			if floorMod(at, 96) != floorMod(c.Settings.Index, 96) {
				t.Fatalf("cut %d: the counts add up to %d, the index stands at %d", i+1, at, c.Settings.Index)
			}
			if want := w.List.Cuts[p.Prediction.Cuts[i].Written-1].Settings; want != c.Settings {
				t.Fatalf("cut %d has the settings %+v of another cut than %d", i+1, c.Settings, p.Prediction.Cuts[i].Written)
			}
		}
		if p.Prediction.Cuts[0].Written != p.Begin || p.Begin != wish.Begin || p.Advance != wish.Advance {
			t.Errorf("%+v: begins with %d, %v", wish, p.Begin, p.Advance)
		}
		if len(p.said("advance")) == 0 || !strings.Contains(p.said("advance"), "as the job asks") {
			t.Errorf("not said to be asked for: %q", p.said("advance"))
		}
	}
}

// What the job asks for is done, as far as it can be.
func TestOverrides(t *testing.T) {
	w := dial(sunburst(90, 6, 10, 2*math.Pi/90), Left)
	w.Cell, w.Pressure = 0.04, Pressure{Force: 10, Scatter: 1}
	at := 7.0
	p := planned(t, w, Wishes{Advance: AsWritten, Begin: 1, Hold: []Override{{From: 40, To: 60, By: ByHand}, {From: 20, To: 25, By: ByStop, Groove: 10, Reading: &at}, {From: 90, By: ByGuide}}})
	want := map[int]Way{19: ByGuide, 20: ByStop, 25: ByStop, 26: ByGuide, 39: ByGuide, 40: ByHand, 60: ByHand, 61: ByGuide, 90: ByGuide}
	for cut, by := range want {
		if got := p.Prediction.Cuts[cut-1].By; got != by {
			t.Errorf("cut %d by %v, the job asks for %v", cut, got, by)
		}
	}
	for _, h := range p.Holds {
		if h.By == ByStop && h.First == 20 && (h.Groove != 10 || math.Abs(h.Reading-at) > 0.05) {
			t.Errorf("the stop is set in cut %d at %v", h.Groove, h.Reading)
		}
	}
	if s := p.Prediction.Cuts[44].Scatter; math.Abs(s-2*math.Tan(65*deg)*w.Guide.Compliance) > 1e-12 {
		t.Errorf("by hand the width scatters by %v", s)
	}
	forced := 0
	for _, c := range p.Choices {
		if c.Forced && c.First > 0 {
			forced++
		}
	}
	if forced < 3 {
		t.Errorf("%d holds are said to be asked for", forced)
	}
}

// Where the foot must not go and where it finds nothing is told, and the plan
// keeps it off ground that has to stay unmarked.
func TestReferences(t *testing.T) {
	w := dial(sunburst(200, 5, 17, 2*math.Pi/200), Left)
	w.Cell = 0.04
	w.Blank.Windows = []blank.Window{{Name: "date", Open: true, Shape: blank.Shape{Form: blank.Disc, Diameter: 2, Centre: r2.Vec{X: 10, Y: 0}}}}
	w.Blank.KeepClear = []blank.Window{{Name: "name", Shape: blank.Shape{Form: blank.Rectangle, Width: 5, Height: 1.5, Centre: r2.Vec{X: -9, Y: 0}}}}
	alone := predicted(t, w)
	seen := map[Reference]int{}
	for i := range alone.Cuts {
		for _, q := range alone.Places(i + 1) {
			seen[q.Reference]++
			foot := r2.Vec{X: q.FootX, Y: q.FootY}
			over := w.Blank.Windows[0].Shape.Distance(foot)
			clear := w.Blank.KeepClear[0].Shape.Distance(foot)
			if hair := 0.04; over < -hair && q.Reference != OverWindow || over > hair && q.Reference == OverWindow {
				t.Fatalf("the foot at %v, %.3f mm from the window, is said to be %v", foot, over, q.Reference)
			}
			if clear < 0 != (q.Reference == KeepClear) {
				t.Fatalf("the foot at %v, %.3f mm from the name, is said to be %v", foot, clear, q.Reference)
			}
			if q.Reference == VirginGround && (q.Lowered > 2e-3 || math.Abs(q.Depth-0.045) > 2e-3) {
				t.Fatalf("on virgin ground at %v: %+v", foot, q)
			}
			if q.Reference == Lowered && q.Lowered < 1e-5 {
				t.Fatalf("not lowered at %v: %+v", foot, q)
			}
		}
	}
	for _, r := range []Reference{VirginGround, Crests, Lowered, KeepClear, OverWindow} {
		if seen[r] == 0 {
			t.Errorf("the foot is never said to be %v: %v", r, seen)
		}
	}
	p := planned(t, w, Wishes{Advance: AsWritten, Begin: 1})
	for _, c := range p.Prediction.Cuts {
		if c.By == ByGuide && c.Reference == KeepClear {
			t.Errorf("cut %d lets the foot run over ground to keep clear", c.Number)
		}
	}
	off := dial(sunburst(30, 5, 17.9, 2*math.Pi/120), Left)
	off.Cell = 0.04
	off.Guide.Offset = 3
	edge := predicted(t, off)
	if q, ok := edge.At(1, 17.88); !ok || q.Reference != OverEdge {
		t.Errorf("3 mm beside the end of a ray: %+v", q)
	}
	if !strings.Contains(planned(t, off, Wishes{Hold: []Override{{From: 1, To: 30, By: ByGuide}}}).said("warning"), "over the edge of the work") {
		t.Error("no warning of the edge")
	}
}

// The guide's error on curved work is g²/(2R): R = 1125, g = 0.6 → 0.16 µm.
func TestGuideOnCurvedWork(t *testing.T) {
	w := dial(sunburst(4, 5, 9, 2*math.Pi/120), Left)
	w.Cell = 0.02
	var err error
	if w.Stock, err = NewStock(w.Blank, blank.Nominal{Figure: blank.Dome, Radius: 1125}, nil, false); err != nil {
		t.Fatal(err)
	}
	p := predicted(t, w)
	if d := p.Cuts[0].Depth.Mean - 0.045; math.Abs(d-0.00016) > 2e-5 {
		t.Errorf("the cut is %v µm deeper than on flat work, want 0.16", 1000*d)
	}
	if e := w.Guide.CurvatureError(1125); math.Abs(e-0.00016) > 1e-7 {
		t.Errorf("g²/(2R) comes to %v", e)
	}
}

// Foot sink w²/(8R_f): w = 0.193, R_f = 0.8 → 5.84 µm; lost reference
// (g + w/2)·N/(2πr): 3.6 cuts at r = 11, 8.0 at r = 5 (closed forms).
func TestClosedForms(t *testing.T) {
	g := Guide{Offset: 0.6, FootRadius: 0.8}
	if s := g.Sink(0.193); math.Abs(s-0.00584) > 2e-5 {
		t.Errorf("sink %v", s)
	}
	for r, want := range map[float64]float64{11: 3.6, 5: 8.0} {
		if n := g.LostCuts(360, 0.193, r); math.Abs(n-want) > 0.05 {
			t.Errorf("at r = %v the reference is lost for %v cuts, want %v", r, n, want)
		}
	}
	// A foot astride one straight groove sinks so far.
	cuts := []engine.Cut{}
	for i, x := range []float64{0, 0.6} {
		a, b := engine.Vertex{X: x, Y: -3, Z: -0.045}, engine.Vertex{X: x, Y: 3, Z: -0.045}
		cuts = append(cuts, engine.Cut{Number: i + 1, Depth: 0.045, Pieces: []engine.Piece{{Start: -3, Stop: 3, Path: []engine.Vertex{a, b}, Readings: []float64{-3, 3}}}})
	}
	p := predicted(t, dial(cuts, Left))
	if d := p.Cuts[1].Depth.Mean - 0.045; math.Abs(d-g.Sink(bright.Width(0.045))) > 2e-4 {
		t.Errorf("astride a groove the foot sinks %v, want %v", d, g.Sink(bright.Width(0.045)))
	}
}

// Coarser and finer cells agree to a few tenths of a micron: crests are found
// between cells.
func TestFinerCells(t *testing.T) {
	depths := func(cell float64) *Prediction {
		w := dial(sunburst(360, 7, 9, 2*math.Pi/360)[:24], Right)
		w.Cell, w.Pitch = cell, 0.02
		return predicted(t, w)
	}
	fine, coarse := depths(0.005), depths(0.01)
	for i := range fine.Cuts {
		if d := math.Abs(fine.Cuts[i].Depth.Mean - coarse.Cuts[i].Depth.Mean); d > 0.0004 {
			t.Errorf("cut %d: %.2f µm apart", i+1, 1000*d)
		}
	}
}

func TestBadInput(t *testing.T) {
	good := func() *Work { return dial(sunburst(12, 5, 9, 2*math.Pi/90), Left) }
	for _, v := range []struct {
		name   string
		spoil  func(w *Work, x *Wishes)
		fields string
	}{
		{"no foot", func(w *Work, _ *Wishes) { w.Guide.FootRadius = 0 }, "guide"},
		{"two feet", func(w *Work, _ *Wishes) { w.Guide.FootWidth = 1 }, "guide.foot_width"},
		{"a point of a foot", func(w *Work, _ *Wishes) { w.Guide.FootRadius, w.Guide.FootWidth = 0, 0.001 }, "guide.foot_width"},
		{"not numbers", func(w *Work, _ *Wishes) {
			w.Guide.Offset, w.Guide.Extension, w.Stop.Compliance, w.Pressure.Force = math.NaN(), math.Inf(1), -1, math.NaN()
		}, "guide.offset guide.extension stop.compliance hand.force"},
		{"no side", func(w *Work, _ *Wishes) { w.Guide.Side = 0 }, "guide.side"},
		{"no cut", func(w *Work, _ *Wishes) { w.List = &engine.List{} }, "sequence"},
		{"fine cells", func(w *Work, _ *Wishes) { w.Cell = 1e-9 }, "cell"},
		{"too many cells", func(w *Work, _ *Wishes) { w.Cell = 2e-4 }, "cell"},
		{"too many places", func(w *Work, _ *Wishes) { w.List.Cuts[0].Pieces[0].Readings[1] = 1e6; w.Pitch = 1e-3 }, "pitch"},
		{"cuts that are not there", func(_ *Work, x *Wishes) { x.Hold = []Override{{From: 9, To: 40, By: ByHand}}; x.Begin = 99 }, "plan.begin plan.hold[0].to"},
		{"held twice", func(_ *Work, x *Wishes) {
			x.Hold = []Override{{From: 2, To: 5, By: ByHand}, {From: 5, To: 6, By: ByGuide}}
		}, "plan.hold[1].from"},
		{"no way", func(_ *Work, x *Wishes) { x.Hold = []Override{{From: 2, By: Fixed}} }, "plan.hold[0].by"},
		{"groove ahead", func(_ *Work, x *Wishes) { x.Hold = []Override{{From: 2, By: ByStop, Groove: 2}} }, "plan.hold[0].groove"},
		{"no stop", func(w *Work, x *Wishes) { w.Stop = nil; x.Hold = []Override{{From: 2, By: ByStop}} }, "plan.hold[0].by"},
		{"no guide", func(w *Work, x *Wishes) { w.Guide = nil; x.Hold = []Override{{From: 2, By: ByGuide}} }, "plan.hold[0].by"},
		{"tolerance", func(_ *Work, x *Wishes) { x.Tolerance = math.NaN(); x.Advance = 7 }, "plan.tolerance plan.advance"},
	} {
		w, x := good(), Wishes{}
		v.spoil(w, &x)
		_, err := MakePlan(context.Background(), w, x)
		var l fault.List
		if !errors.As(err, &l) {
			t.Errorf("%s: %v", v.name, err)
			continue
		}
		var fields []string
		for _, f := range l {
			fields = append(fields, f.Field)
			if f.Problem == "" || f.Mend == "" {
				t.Errorf("%s: %+v", v.name, f)
			}
		}
		if got := strings.Join(fields, " "); got != v.fields {
			t.Errorf("%s: faults of %q, want %q", v.name, got, v.fields)
		}
	}
	w := good()
	w.List.Cuts[3].Pieces[0].Path[1].X = math.NaN()
	if _, err := MakePlan(context.Background(), w, Wishes{}); err == nil || !strings.Contains(err.Error(), "cut 4") {
		t.Errorf("a path that is not finite: %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := MakePlan(ctx, good(), Wishes{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	for _, without := range []func(*Work){func(w *Work) { w.Guide = nil }, func(w *Work) { w.Stop = nil }, func(w *Work) { w.Guide, w.Stop = nil, nil }} {
		w := good()
		without(w)
		p, err := MakePlan(context.Background(), w, Wishes{})
		if err != nil || len(p.Holds) == 0 {
			t.Errorf("with less: %v", err)
		}
	}
}
