package bench

import (
	"context"
	"reflect"
	"testing"
)

// What is read on from a place is what a look at the whole log has there, also
// when another process added to it.
func TestEventsAfter(t *testing.T) {
	l, r := begun(t)
	ctx := context.Background()
	if _, err := l.Append(ctx, r.ID, done("bench", 1, 1, 30)); err != nil {
		t.Fatal(err)
	}
	other, err := Open(l.folder)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	if _, err := other.Append(ctx, r.ID, done("tablet", 31, 31, 40)); err != nil {
		t.Fatal(err)
	}
	all, err := l.Events(ctx, r.ID, 0)
	if err != nil || len(all) != 41 {
		t.Fatalf("%d events, %v", len(all), err)
	}
	for _, after := range []int64{1, 20, 31, 40, 41, 99} {
		got, err := l.Events(ctx, r.ID, after)
		want := all[min(int(after), len(all)):]
		if err != nil || len(got) != len(want) || len(got) > 0 && !reflect.DeepEqual(got, want) {
			t.Errorf("after %d: %d events, want %d, %v", after, len(got), len(want), err)
		}
	}
}
