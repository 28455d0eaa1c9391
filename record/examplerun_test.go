package record_test

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"brightcut/bench"
	"brightcut/examples"
)

const exampleRun = "runs/bowed-dial.run"

// TestExampleRun takes the run that the example workshop has; with
// BRIGHTCUT_UPDATE=1 it is made anew. The piece is invented: the bowed dial, cut by
// a guide whose extension was 2 µm more than its scale told, measured with an
// uncertainty of 1.2 µm.
func TestExampleRun(t *testing.T) {
	if os.Getenv("BRIGHTCUT_UPDATE") != "" {
		writeExampleRun(t, "../examples/"+exampleRun)
	}
	text, err := fs.ReadFile(examples.Workshop, exampleRun)
	if err != nil {
		t.Fatal(err)
	}
	log, err := bench.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	id, err := log.Import(t.Context(), bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	run, err := log.Run(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := run.Plan(t.Context()); err != nil {
		t.Errorf("%v; BRIGHTCUT_UPDATE=1 go test ./record -run TestExampleRun makes the example anew", err)
	}
}

func writeExampleRun(t *testing.T, file string) {
	log, err := bench.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	frozen, err := bench.Freeze(examples.Workshop, "bowed-dial.yaml")
	if err != nil {
		t.Fatal(err)
	}
	ctx, rng := context.Background(), rand.New(rand.NewPCG(2031, 4))
	at := time.Date(2031, 4, 2, 8, 2, 0, 0, time.UTC)
	const id = "7d1f0c52-2c1e-4a7b-9a55-0d5e3c1f2a01"
	run, err := log.Start(ctx, bench.Start{ID: id, Frozen: frozen, Device: "bench", At: at})
	if err != nil {
		t.Fatal(err)
	}
	program, err := run.Plan(ctx)
	if err != nil {
		t.Fatal(err)
	}
	var events []bench.Event
	add := func(e bench.Event) {
		e.ID, e.At, e.Seen = fmt.Sprintf("e-%04d-%08x", len(events), rng.Uint32()), at, 1
		if e.Device == "" {
			e.Device = "bench"
		}
		events = append(events, e)
	}
	for n := 1; n <= len(program.Cuts); n++ {
		at = at.Add(time.Duration((8 + 1.2*rng.NormFloat64()) * float64(time.Second)))
		switch n {
		case 133:
			add(bench.Event{Kind: bench.Done, Cut: n})
			at = at.Add(3 * time.Second)
			add(bench.Event{Kind: bench.Undone, Cut: n, Undoes: events[len(events)-1].ID})
			at = at.Add(15 * time.Second)
		case 180:
			add(bench.Event{Kind: bench.Paused, Text: "tea"})
			at = at.Add(22 * time.Minute)
			add(bench.Event{Kind: bench.Resumed})
		case 240:
			add(bench.Event{Kind: bench.Note, Text: "A chip under the foot, wiped off."})
		case 353:
			at = at.Add(4 * time.Minute)
			add(bench.Event{Kind: bench.Held, Text: "guide retracted, stop engaged in the groove of cut 352"})
		}
		add(bench.Event{Kind: bench.Done, Cut: n})
	}
	at = at.Add(50 * time.Minute)
	tan := program.Job.Setup.Cutter.Sensitivity()
	for n := 5; n <= len(program.Cuts); n += 15 {
		for _, r := range []float64{13, 15, 16.5} /* where lands remain */ {
			q, ok := program.Plan.Prediction.At(n, r)
			if !ok {
				continue
			}
			width := q.Width + tan*0.002 + 0.0012*rng.NormFloat64()
			at = at.Add(40 * time.Second)
			add(bench.Event{Kind: bench.Measured, Cut: n, Reading: r, Width: width, Device: "microscope"})
		}
	}
	add(bench.Event{Kind: bench.Finished})
	answer, err := log.Append(ctx, id, events)
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range answer.Outcomes {
		if o.Verdict != bench.Kept {
			t.Fatalf("%+v", o)
		}
	}
	var b bytes.Buffer
	if err := log.Export(ctx, id, &b); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}
