package costing_test

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"brightcut/bench"
	"brightcut/costing"
	"brightcut/examples"
	"brightcut/job"
)

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*math.Max(1, math.Abs(want)) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

// The sums of a sunburst, reckoned by hand: 360 strokes of 15 mm on a disc of 36 mm
// and 0.8 mm of sterling silver.
func TestQuote(t *testing.T) {
	j, err := job.ReadFS(examples.Workshop, "sunburst.yaml")
	if err != nil {
		t.Fatal(err)
	}
	list, err := j.Cuts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	weight := math.Pi * 18 * 18 * j.Setup.Blank.Thickness / 1000 * j.Metal.Density
	prices := &job.Prices{Currency: "crowns", Hour: 60, Preparation: 30, TouchUp: 10, Life: 2, Lost: 0.1, Gram: map[string]float64{j.Metal.Name: 2}}

	q := costing.Of(j, list, bench.Learned{}, prices)
	near(t, "seconds", q.Cutting.Value, 8*360)
	near(t, "least seconds", q.Cutting.Low, 0.7*8*360)
	near(t, "weight", q.Weight, weight)
	// 5.4 m and 2 m between touch-ups: after 2 and after 4.
	near(t, "touch-ups", q.TouchUps.Value, 2)
	near(t, "work", q.Work.Value, (30+48+20)/60.0*60)
	near(t, "metal", q.Metal, weight*1.1*2)
	near(t, "total", q.Total.Value, 98+weight*2.2)
	near(t, "least total", q.Total.Low, 98+weight*2.2-0.3*48)

	// What runs tell comes before the engine's file and the workshop's figure. The
	// life of the cutter from 1 to 3 m means 1 to 5 touch-ups.
	learned := bench.Learned{Runs: 3, Stroke: bench.Span{Seconds: 10, Low: 9, High: 12}, TouchUps: 4, Life: bench.Life{Length: 2000, Low: 1000, High: 3000}}
	q = costing.Of(j, list, learned, prices)
	near(t, "seconds", q.Cutting.Value, 3600)
	near(t, "most seconds", q.Cutting.High, 12*360)
	near(t, "least touch-ups", q.TouchUps.Low, 1)
	near(t, "most touch-ups", q.TouchUps.High, 5)
	near(t, "work", q.Work.Value, 30+60+20)
	near(t, "most work", q.Work.High, 110+math.Hypot(12, 30)) // 12 min of cutting, 3 touch-ups
	for _, want := range []string{"learned from 3 runs", "touch it up 1 to 5 times", "between 9.0 s", "1 h 00 min (54 min to 1 h 12 min)"} {
		if want == "between 9.0 s" {
			want = "(9.0 to 12)"
		}
		if text := strings.Join(q.Sentences(), "\n"); !strings.Contains(text, want) {
			t.Errorf("%q is not told:\n%s", want, text)
		}
	}

	// Nothing known: nothing made up.
	list.SecondsPerStroke = 0
	q = costing.Of(j, list, bench.Learned{}, prices)
	if q.Basis != costing.Unknown || q.Currency != "" || q.Total.Value != 0 {
		t.Errorf("out of nothing comes %+v", q)
	}
	prices.Gram = nil
	list.SecondsPerStroke = 8
	if q = costing.Of(j, list, bench.Learned{}, prices); q.Priced || !strings.Contains(strings.Join(q.Sentences(), " "), "is not in it") {
		t.Errorf("metal without a price: %+v", q)
	}
}

// A run that was counted in a workshop teaches the pace of its engine, and of no
// other.
func TestLearn(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, examples.Workshop); err != nil {
		t.Fatal(err)
	}
	log, err := bench.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	ctx := context.Background()
	frozen, err := bench.Freeze(os.DirFS(dir), "sunburst.yaml")
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2031, 4, 2, 9, 0, 0, 0, time.UTC)
	if _, err := log.Start(ctx, bench.Start{ID: "run-1", Frozen: frozen, Device: "bench", At: at}); err != nil {
		t.Fatal(err)
	}
	var events []bench.Event
	for n := 1; n <= 100; n++ {
		at = at.Add(11 * time.Second)
		events = append(events, bench.Event{ID: "event-" + string(rune('a'+n/26)) + string(rune('a'+n%26)), Kind: bench.Done, Cut: n, At: at, Device: "bench"})
	}
	if _, err := log.Append(ctx, "run-1", events); err != nil {
		t.Fatal(err)
	}
	j, err := job.Read(filepath.Join(dir, "sunburst.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	l, err := costing.Learn(ctx, log, j.Setup.Engine.Name)
	if err != nil || l.Runs != 1 || math.Abs(l.Stroke.Seconds-11) > 1e-9 {
		t.Errorf("%v: learned %+v", err, l)
	}
	if l, err = costing.Learn(ctx, log, "another engine"); err != nil || l.Runs != 0 {
		t.Errorf("%v: another engine learned %+v", err, l)
	}
}

func TestPrices(t *testing.T) {
	p, err := job.ReadPrices(examples.Workshop)
	if err != nil || p.Currency != "crowns" || p.Lost != 0.15 || p.Gram["Sterling silver"] != 1.05 {
		t.Fatalf("%v: %+v", err, p)
	}
	dir := t.TempDir()
	if p, err := job.ReadPrices(os.DirFS(dir)); p != nil || err != nil {
		t.Errorf("%v: prices from nowhere: %+v", err, p)
	}
	if err := os.Mkdir(filepath.Join(dir, "prices"), 0o755); err != nil {
		t.Fatal(err)
	}
	text := "currency: crowns\nhour: -2\nhuor: 3\nmetals: {silver: free, brass: 1}\nlost: 15\n"
	if err := os.WriteFile(filepath.Join(dir, job.PricesFile), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	_, err = job.ReadPrices(os.DirFS(dir))
	if err := os.WriteFile(filepath.Join(dir, job.PricesFile), []byte("currency: 3\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := job.ReadPrices(os.DirFS(dir)); err == nil || !strings.Contains(err.Error(), "hour") {
		t.Errorf("no price of an hour, and %v", err)
	}
	for _, want := range []string{"prices/prices.yaml:2:7", "prices/prices.yaml:3:1", "hour", "metals.silver", "prices/prices.yaml:5:7"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q is not told: %v", want, err)
		}
	}
}
