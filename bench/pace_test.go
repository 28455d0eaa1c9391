package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// worked makes the counts of cuts that took so many seconds each, cut 1 at 0 s.
func worked(seconds []float64) []Event {
	at := time.Date(2031, 3, 14, 9, 0, 0, 0, time.UTC)
	out := []Event{{ID: "s", Kind: Started, At: at}, {ID: "1", Kind: Done, Cut: 1, Device: "bench", At: at}}
	for i, s := range seconds {
		at = at.Add(time.Duration(s * 1e9))
		out = append(out, Event{ID: fmt.Sprint(i + 2), Kind: Done, Cut: i + 2, Device: "bench", At: at})
	}
	return out
}

// Ten times by hand: 8, 9, 10, 11, 12 s twice have the mean 10, the tenth and
// ninetieth parts 8 and 12; a break of an hour and one of 40 s are left out.
func TestPaceByHand(t *testing.T) {
	p := PaceOf(worked([]float64{8, 9, 10, 3600, 11, 12, 8, 9, 40, 10, 11, 12}), nil)
	if p.Cuts != 10 || p.Breaks != 2 || math.Abs(p.Seconds-10) > 1e-9 || math.Abs(p.Low-8) > 1e-9 || math.Abs(p.High-12) > 1e-9 || p.PerMM != 0 {
		t.Fatalf("%+v", p)
	}
	if l := p.Left(100, nil); math.Abs(l.Seconds-1000) > 1e-9 || !(l.Low < 1000 && l.High > 1000) {
		t.Fatalf("%+v", l)
	}
	if p := PaceOf(worked([]float64{8, 9, 10}), nil); p.Cuts != 0 || p.Left(10, nil) != (Span{}) {
		t.Fatalf("three times tell %+v", p)
	}
	if p := PaceOf(nil, nil); p.Cuts != 0 {
		t.Fatalf("nothing tells %+v", p)
	}
}

// A pause, an undo or a change of hold between two counts is no pace; another
// device's counts of the same cuts are not counted twice.
func TestPaceInterrupted(t *testing.T) {
	all := worked([]float64{10, 10, 10, 25, 10, 10, 10})
	paused := append([]Event{}, all[:5]...)
	paused = append(paused, Event{ID: "p", Kind: Paused, At: all[4].At})
	paused = append(paused, all[5:]...)
	if p := PaceOf(paused, nil); p.Cuts != 6 || p.Breaks != 1 || p.Seconds != 10 {
		t.Fatalf("%+v", p)
	}
	twice := []Event{}
	for _, e := range worked([]float64{10, 10, 10, 10, 10, 10}) {
		twice = append(twice, e)
		if e.Kind == Done {
			e.Device, e.At = "tablet", e.At.Add(5*time.Second)
			twice = append(twice, e)
		}
	}
	if p := PaceOf(twice, nil); p.Cuts != 6 || p.Seconds != 10 {
		t.Fatalf("%+v", p)
	}
}

// Cuts that differ in length: the fixed time and the time a millimetre come back
// within their noise, and the time that is left goes by the lengths.
func TestPaceByLength(t *testing.T) {
	seed := uint64(11)
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 5))
	lengths := []float64{20}
	var seconds []float64
	for i := range 200 {
		l := 5 + 30*math.Abs(math.Sin(float64(i)/40))
		lengths = append(lengths, l)
		seconds = append(seconds, 4+0.3*l+0.5*random.NormFloat64())
	}
	p := PaceOf(worked(seconds), lengths)
	if math.Abs(p.Fixed-4) > 0.25 || math.Abs(p.PerMM-0.3) > 0.012 { // three standard errors: 0.5/√200·… of a spread of 9 mm
		t.Fatalf("%+v", p)
	}
	if l := p.Left(2, []float64{100, 200}); math.Abs(l.Seconds-(8+0.3*300)) > 5 {
		t.Fatalf("%+v", l)
	}
	same := make([]float64, 201)
	for i := range same {
		same[i] = 20
	}
	if p := PaceOf(worked(seconds), same); p.PerMM != 0 {
		t.Fatalf("equal lengths tell %+v", p)
	}
}

// The range holds what it says: of simulated runs four in five end within it, with
// breaks, noise that is not normal and a hand that drifts.
func TestPaceRangeHolds(t *testing.T) {
	seed := uint64(7)
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 6))
	const trials = 400
	within := 0
	for range trials {
		mood := 0.0
		var made []float64
		left := 0.0
		for i := range 300 {
			mood = 0.9*mood + 0.04*random.NormFloat64()
			s := 10 * math.Exp(mood+0.15*random.NormFloat64())
			if i < 120 {
				if random.IntN(40) == 0 {
					s += 60 + 600*random.Float64()
				}
				made = append(made, s)
			} else {
				left += s
			}
		}
		if l := PaceOf(worked(made), nil).Left(180, nil); left > l.Low && left < l.High {
			within++
		}
	}
	if share := float64(within) / trials; share < 0.70 || share > 0.93 {
		t.Fatalf("%.0f %% of the runs end within the range that is to hold four in five", 100*share)
	}
}

// Lengths between touch-ups: what was cut before the first and after the last is
// left out.
func TestLearn(t *testing.T) {
	run := func(seconds float64, touched ...int) Worked {
		w := Worked{}
		all := worked(make([]float64, 99))
		for i := range all {
			if all[i].Kind == Done {
				all[i].At = all[0].At.Add(time.Duration(float64(all[i].Cut) * seconds * 1e9))
			}
			w.Events = append(w.Events, all[i])
			for _, n := range touched {
				if all[i].Kind == Done && all[i].Cut == n {
					w.Events = append(w.Events, Event{ID: fmt.Sprint("t", n), Kind: TouchedUp, At: all[i].At})
				}
			}
		}
		for range 100 {
			w.Lengths = append(w.Lengths, 20)
		}
		return w
	}
	got := Learn([]Worked{run(8, 10, 50, 80), run(10), run(12, 30, 90)})
	if got.Runs != 3 || math.Abs(got.Stroke.Seconds-10) > 1e-6 {
		t.Fatalf("%+v", got)
	}
	// mean 10, s = 2, range of another run 1.2816·2·√(4/3) = 2.960
	if math.Abs(got.Stroke.High-12.960) > 0.001 || math.Abs(got.Stroke.Low-7.040) > 0.001 {
		t.Fatalf("%+v", got.Stroke)
	}
	// 40 cuts, 30 and 60 of 20 mm: 800, 600 and 1200 mm
	if got.TouchUps != 3 || math.Abs(got.Life.Length-2600.0/3) > 1e-6 || got.Life.Low > 600 || got.Life.High < 1200 {
		t.Fatalf("%+v", got.Life)
	}
	if none := Learn(nil); none != (Learned{}) {
		t.Fatalf("%+v", none)
	}
}
