package bench

import (
	"context"
	"fmt"
	"testing"
	"time"

	"brightcut/examples"
)

// frozen freezes a job of the example workshop.
func frozen(t testing.TB, name string) *Frozen {
	t.Helper()
	f, err := Freeze(examples.Workshop, name+".yaml")
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// begun opens a log in a new folder with a run of the barleycorn panel.
func begun(t testing.TB) (*Log, *Run) {
	t.Helper()
	l, err := Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	r, err := l.Start(context.Background(), Start{ID: "run-1", Frozen: frozen(t, "barleycorn"), Device: "bench", At: time.Date(2031, 3, 14, 9, 0, 0, 0, time.UTC)})
	if err != nil {
		t.Fatal(err)
	}
	return l, r
}

// done makes the counts of cuts.
func done(device string, seen int64, from, to int) []Event {
	var out []Event
	for n := from; n <= to; n++ {
		out = append(out, Event{ID: fmt.Sprintf("%s-%d-%d", device, seen, n), Kind: Done, Cut: n, Device: device, Seen: seen, At: time.Date(2031, 3, 14, 9, 0, 8*n, 0, time.UTC)})
	}
	return out
}

func TestCountIsKept(t *testing.T) {
	l, r := begun(t)
	ctx := context.Background()
	if r.State.Next != 1 || r.State.Strokes != 160 {
		t.Fatalf("a new run stands at %+v", r.State)
	}
	a, err := l.Append(ctx, r.ID, done("bench", 1, 1, 30))
	if err != nil {
		t.Fatal(err)
	}
	if a.State.Next != 31 || a.Seq != 31 {
		t.Fatalf("after 30 counts: %+v", a.State)
	}
	again, err := Open(l.folder)
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	other, err := again.Run(ctx, r.ID)
	if err != nil || other.State.Next != 31 {
		t.Fatalf("another process sees %+v, %v", other, err)
	}
}
