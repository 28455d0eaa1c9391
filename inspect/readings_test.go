package inspect

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"brightcut/depth"
	"brightcut/fault"
)

// Every fault of a file at once, with its line.
func TestFaultsOfTheWidths(t *testing.T) {
	_, err := ReadWidths(strings.NewReader("cut, place mm, width um, pitch um, after, time\n1, 2, 150, 160, 3, 10:42\nx, 2, 150\n2, 2, 0\n3, 2, 150, -4, 2, noon\n"), "w.csv")
	var l fault.List
	if !errors.As(err, &l) {
		t.Fatal(err)
	}
	var got []string
	for _, f := range l {
		got = append(got, strings.Join([]string{f.Field, string(rune('0' + f.Origin.Line))}, ":"))
	}
	if s := strings.Join(got, " "); s != "cut:3 width:4 pitch:5 after:5 time:5" {
		t.Errorf("found %s\n%v", s, err)
	}
	q, err := ReadWidths(strings.NewReader("cut, place mm, width um, pitch um, after, time\n1, 2, 150, 160, 3, 10:42\n"), "w.csv")
	if err != nil || len(q) != 1 || math.Abs(q[0].Width-0.15) > 1e-12 || math.Abs(q[0].Pitch-0.16) > 1e-12 || q[0].After != 3 || math.Abs(q[0].Hours-10.7) > 1e-9 {
		t.Errorf("%+v, %v", q, err)
	}
}

func FuzzReadWidths(f *testing.F) {
	f.Add("cut, place mm, width um\n1, 2, 150\n")
	f.Add("cut; angle deg; width um; time\n1; 2,5; 150; 10:42\n")
	f.Add("cut,x mm,y mm,width um,pitch um,after,time,note\n1,0,0,9,9,9,2031-03-14 10:42,x\n")
	f.Fuzz(func(t *testing.T, text string) {
		q, err := ReadWidths(strings.NewReader(text), "w.csv")
		for _, r := range q {
			if err == nil && (r.Cut < 1 || !(r.Width > 0) || r.Pitch < 0 || r.After != 0 && r.After < r.Cut) {
				t.Fatalf("%+v was let through", r)
			}
		}
	})
}

// Readings that the piece cannot have shown are told, and nothing panics.
func TestReadingsOfAnotherPiece(t *testing.T) {
	p := load(t, "barleycorn")
	for field, q := range map[string]Reading{
		"cut":   {Cut: 161, Width: 0.1},
		"place": {Cut: 3, Place: 40, Width: 0.1},
		"x":     {Cut: 3, On: true, X: 9, Y: 0, Width: 0.1},
		"pitch": {Cut: 1, Place: 2, Width: 0.1, Pitch: 0.2},
		"width": {Cut: 3, Place: 2, Width: math.NaN()},
	} {
		_, err := Look(context.Background(), p, []Reading{q}, Options{})
		var l fault.List
		if !errors.As(err, &l) || l[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	if _, err := Look(context.Background(), p, nil, Options{}); err == nil {
		t.Error("no readings were looked at")
	}
}

// The example: the screw errs by 3.8 µm once a turn, one width was misread by 20 µm.
func TestExample(t *testing.T) {
	file, err := os.Open("../examples/widths/barleycorn.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	q, err := ReadWidths(file, "barleycorn.csv")
	if err != nil {
		t.Fatal(err)
	}
	r, err := Look(context.Background(), load(t, "barleycorn"), q, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Causes) != 1 || r.Causes[0].Kind != SlideScrew || len(r.Misread) != 1 || r.Misread[0].Cut != 62 {
		t.Fatalf("%+v\n%+v", r.Causes, r.Misread)
	}
	e := r.Causes[0].Corrects.Slide
	// 0.9 rad of a turn of 100 teeth.
	if e == nil || e.Turns != 1 || math.Abs(e.Size-0.0038) > 0.0006 || math.Abs(e.From-0.9/(2*math.Pi)) > 0.03 {
		t.Errorf("%+v", e)
	}
	if _, err := json.Marshal(r); err != nil {
		t.Error(err)
	}
}

// A step made twice between lines that stand apart shows in one pitch alone: it is
// named, with the doubt that it was misread, and never passed over.
func TestStepSeenInOnePitch(t *testing.T) {
	w := sampled(t, "parallel-lines")
	b := newBench(w.piece)
	b.slide = from(49, 25*w.piece.Job.Setup.Engine.Slide.Length(1))
	random := rand.New(rand.NewPCG(5, 5))
	r, err := Look(context.Background(), w.piece, noisy(w.read(t, b), w.times(random), random), Options{Repeatability: noise})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Causes) != 1 || r.Causes[0].Kind != SlideTeeth || r.Causes[0].From != 50 || len(r.Misread) != 0 {
		t.Fatalf("%+v\n%+v", r.Causes, r.Misread)
	}
	if c := r.Causes[0]; len(c.Rivals) == 0 || c.Rivals[0].Kind != Misreading || !strings.Contains(c.Undecided, "slip of the microscope at cut 50") {
		t.Errorf("the doubt is not told: %+v", c)
	}
}

// How guide and stop answer is what package depth predicts with the same thing
// wrong: an extension that is off, and a tip that wears.
func TestHoldsAnswerAsPredicted(t *testing.T) {
	p := load(t, "bowed-dial")
	r, err := newRig(p)
	if err != nil {
		t.Fatal(err)
	}
	if !r.holds(depth.ByStop) || !r.holds(depth.ByGuide) {
		t.Fatal("the job is to have both holds")
	}
	ctx := context.Background()
	list, err := p.Job.Cuts(ctx)
	if err != nil {
		t.Fatal(err)
	}
	wishes := depth.Wishes{Tolerance: p.Plan.Tolerance, Begin: p.Plan.Begin, Advance: p.Plan.Advance}
	for _, h := range p.Plan.Holds {
		wishes.Hold = append(wishes.Hold, depth.Override{From: h.First, To: h.Last, By: h.By, Groove: h.Groove, Reading: &h.Reading})
		if h.Groove == 0 {
			wishes.Hold[len(wishes.Hold)-1].Reading = nil
		}
	}
	plan := func(e, wear float64) *depth.Plan {
		w, err := p.Job.Work(list)
		if err != nil {
			t.Fatal(err)
		}
		w.Guide.Extension += e
		w.Wear = wear
		q, err := depth.MakePlan(ctx, w, wishes)
		if err != nil {
			t.Fatal(err)
		}
		return q
	}
	was := plan(0, 0)
	for _, c := range []struct {
		name    string
		e, wear float64
		answer  func(j int, x, y float64) float64
	}{
		{"extension", 0.004, 0, r.set(func(int) float64 { return 0.004 })},
		{"wear", 0, 2e-6, func(j int, x, y float64) float64 { return 2e-6 * r.worn(j, x, y) }},
	} {
		now := plan(c.e, c.wear)
		for _, j := range []int{0, 50, 200, 340, 350, 355, 358, 359} {
			got := now.Prediction.Cuts[j].Depth.Mean - was.Prediction.Cuts[j].Depth.Mean
			want := c.answer(j, 10, 0)
			// The foot of the last cuts stands on the first ones, and sinks in
			// deeper where these are wider: up to a micron.
			if math.Abs(got-want) > 0.001 {
				t.Errorf("%s: cut %d (%v) is %.2f µm deeper, foretold %.2f", c.name, j+1, r.by[j], 1000*got, 1000*want)
			}
		}
	}
}

// Steps of a quarter of a turn meet an error that comes twice a turn at two places of
// it: it is named, with the least that it can be, and nothing is reckoned with.
func TestErrorMetAtTwoPlaces(t *testing.T) {
	w := sampled(t, "parallel-lines")
	b := newBench(w.piece)
	b.slide = func(j int) float64 { return 0.004 * math.Sin(math.Pi*float64(j)+0.8) } // 2.9 µm of it show
	random := rand.New(rand.NewPCG(6, 6))
	r, err := Look(context.Background(), w.piece, noisy(w.read(t, b), w.times(random), random), Options{Repeatability: noise})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Causes) != 1 || r.Causes[0].Kind != SlideScrew {
		t.Fatalf("%+v", r.Causes)
	}
	c := r.Causes[0]
	if c.Corrects != nil || !strings.Contains(c.Text, "at least 2.") || !strings.Contains(c.Text, "0.5 turns") {
		t.Errorf("%s; corrects %+v", c.Text, c.Corrects)
	}
	if want := 4 * math.Sin(0.8); math.Abs(c.Sizes[0].Value-want) > 3*c.Sizes[0].Uncertainty {
		t.Errorf("%+v, want %.2f µm", c.Sizes[0], want)
	}
}
