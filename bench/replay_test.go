package bench

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// story is a log written down by hand: its events are numbered as they come.
type story struct {
	t     *testing.T
	tally *Tally
}

func newStory(t *testing.T, strokes int) *story { return &story{t, NewTally(strokes)} }

// says adds an event and checks what becomes of it; it returns its Seq.
func (s *story) says(want Verdict, e Event) int64 {
	s.t.Helper()
	if e.ID == "" {
		e.ID = fmt.Sprintf("%s-%s-%d-%d", e.Device, e.Kind, e.Cut, e.Seen)
	}
	if out := s.tally.Take(e); out.Verdict != want {
		s.t.Fatalf("%+v: %s (%s), want %s", e, out.Verdict, out.Why, want)
	}
	return s.tally.seq
}

// counts adds the counts of cuts.
func (s *story) counts(want Verdict, device string, seen int64, from, to int) int64 {
	s.t.Helper()
	for n := from; n <= to; n++ {
		s.says(want, Event{Kind: Done, Cut: n, Device: device, Seen: seen})
	}
	return s.tally.seq
}

func (s *story) stands(next, counted, questions int) State {
	s.t.Helper()
	is := s.tally.State()
	if is.Next != next || is.Counted != counted || len(is.Open) != questions {
		s.t.Fatalf("cut %d is the next, %d counted, %d questions; want %d, %d, %d", is.Next, is.Counted, len(is.Open), next, counted, questions)
	}
	return is
}

// A tablet counts 30 cuts without the network while the bench's own screen
// counted the first 10 of them: 30 in all, whoever is heard first.
func TestTabletComesBack(t *testing.T) {
	s := newStory(t, 40)
	s.counts(Kept, "bench", 0, 1, 10)
	s.counts(Already, "tablet", 0, 1, 10)
	s.counts(Kept, "tablet", 0, 11, 30)
	s.stands(31, 30, 0)

	s = newStory(t, 40)
	s.counts(Kept, "tablet", 0, 1, 30)
	s.counts(Already, "bench", 0, 1, 10)
	s.stands(31, 30, 0)
}

// The bench takes cut 10 back meanwhile: one question holds all that the tablet
// counted from there on, and either answer ends it.
func TestTakenBackMeanwhile(t *testing.T) {
	ask := func() *story {
		s := newStory(t, 40)
		seen := s.counts(Kept, "bench", 0, 1, 10)
		s.says(Kept, Event{Kind: Undone, Undoes: "bench-done-10-0", Device: "bench", Seen: seen})
		s.counts(Already, "tablet", 0, 1, 9)
		s.counts(Conflict, "tablet", 0, 10, 30)
		q := s.stands(10, 9, 1).Open[0]
		if q.Event.Cut != 10 || len(q.Following) != 20 || q.Why != "Cut 10 was counted, and was taken back on bench." {
			t.Fatalf("the question is cut %d and %d more: %s", q.Event.Cut, len(q.Following), q.Why)
		}
		return s
	}
	s := ask()
	s.says(Kept, Event{Kind: Settled, Settles: "tablet-done-10-0", Choice: Count, Device: "bench", Seen: s.tally.seq})
	s.stands(31, 30, 0)
	s.says(Kept, Event{Kind: Undone, Undoes: "tablet-done-30-0", Device: "bench", Seen: s.tally.seq}) // a settled count can be taken back
	s.stands(30, 29, 0)

	s = ask()
	s.says(Kept, Event{Kind: Settled, Settles: "tablet-done-10-0", Choice: Drop, Device: "bench", Seen: s.tally.seq})
	s.stands(10, 9, 0)
	s.counts(Kept, "bench", s.tally.seq, 10, 30)
	s.counts(Conflict, "tablet", 0, 31, 31) // built on what was dropped
	s.stands(31, 30, 1)
	s.says(Already, Event{Kind: Settled, Settles: "tablet-done-10-0", Choice: Count, Device: "phone", Seen: s.tally.seq})

	s = ask() // counting goes on where it stands
	s.counts(Kept, "bench", s.tally.seq, 10, 12)
	s.stands(13, 12, 1)
	s.says(Kept, Event{Kind: Settled, Settles: "tablet-done-10-0", Choice: Count, Device: "bench", Seen: s.tally.seq})
	s.stands(31, 30, 0)

	s = ask() // the dials answer
	s.says(Kept, Event{Kind: Placed, Cut: 28, Device: "bench", Seen: s.tally.seq})
	if is := s.stands(28, 9, 0); len(is.Unwitnessed) != 18 || is.Last != nil {
		t.Fatalf("%d passed over, an undo takes back %v", len(is.Unwitnessed), is.Last)
	}
}

// The other way round: the tablet counted cut 12 and took it back, and the bench
// had counted it as well.
func TestUndoOfWhatAnotherCounted(t *testing.T) {
	s := newStory(t, 40)
	s.counts(Kept, "bench", 0, 1, 12)
	s.counts(Already, "tablet", 0, 1, 12)
	s.says(Conflict, Event{Kind: Undone, Undoes: "tablet-done-12-0", Device: "tablet"})
	s.stands(13, 12, 1)
	s.says(Kept, Event{Kind: Settled, Settles: "tablet-undone-0-0", Choice: Count, Device: "bench", Seen: s.tally.seq})
	s.stands(12, 11, 0)

	s = newStory(t, 40) // the same heard in the other order is a question too
	s.counts(Kept, "tablet", 0, 1, 12)
	s.says(Kept, Event{Kind: Undone, Undoes: "tablet-done-12-0", Device: "tablet"})
	s.counts(Already, "bench", 0, 1, 11)
	s.counts(Conflict, "bench", 0, 12, 12)
	s.stands(12, 11, 1)

	s = newStory(t, 40) // with the other's count in view it is an undo like any
	seen := s.counts(Kept, "bench", 0, 1, 12)
	s.says(Kept, Event{ID: "u1", Kind: Undone, Undoes: "bench-done-12-0", Device: "tablet", Seen: seen})
	s.says(Already, Event{ID: "u2", Kind: Undone, Undoes: "bench-done-12-0", Device: "bench", Seen: seen}) // both at once: once
	s.stands(12, 11, 0)
	s.counts(Kept, "tablet", s.tally.seq, 12, 12)
	s.stands(13, 12, 0)
	s.says(Already, Event{ID: "u3", Kind: Undone, Undoes: "bench-done-12-0", Device: "bench", Seen: seen}) // late: that count stands no more
	s.stands(13, 12, 0)
}

// A third device counted the cut as well, and the one that takes it back does not
// know: a question, though it had seen the count that it names.
func TestUndoOfWhatAThirdCounted(t *testing.T) {
	s := newStory(t, 40)
	seen := s.counts(Kept, "bench", 0, 1, 12)
	s.counts(Already, "phone", 0, 12, 12)
	s.says(Conflict, Event{ID: "u", Kind: Undone, Undoes: "bench-done-12-0", Device: "tablet", Seen: seen})
	s.stands(13, 12, 1)
}

// A cut that later counts were built on is not opened in their midst.
func TestUndoOvertaken(t *testing.T) {
	s := newStory(t, 40)
	seen := s.counts(Kept, "bench", 0, 1, 12)
	s.counts(Kept, "bench", seen, 13, 14)
	s.says(Conflict, Event{ID: "u", Kind: Undone, Undoes: "bench-done-12-0", Device: "tablet", Seen: seen})
	s.stands(15, 14, 1)
	s.says(Kept, Event{Kind: Settled, Settles: "u", Choice: Count, Device: "bench", Seen: s.tally.seq})
	if is := s.stands(15, 13, 0); len(is.Skipped) != 1 || is.Skipped[0].Cut != 12 || is.Skipped[0].Text != "taken back on tablet" {
		t.Fatalf("skipped: %+v", is.Skipped)
	}
}

// A skipped cut can be cut after all, in full view of the skipping; a count that
// did not know of it is a question.
func TestSkippedAndCut(t *testing.T) {
	s := newStory(t, 40)
	seen := s.counts(Kept, "bench", 0, 1, 4)
	s.says(Kept, Event{Kind: Skipped, Cut: 5, Text: "the clamp is in the way", Device: "bench", Seen: seen})
	s.counts(Conflict, "tablet", 4, 5, 7)
	s.stands(6, 4, 1)
	s.says(Kept, Event{Kind: Settled, Settles: "tablet-done-5-4", Choice: Drop, Device: "bench", Seen: s.tally.seq})
	s.counts(Kept, "bench", s.tally.seq, 6, 8)
	s.says(Kept, Event{ID: "late", Kind: Done, Cut: 5, Device: "tablet", Seen: s.tally.seq})
	s.stands(9, 8, 0)
	s.says(Kept, Event{Kind: Undone, Undoes: "late", Device: "tablet", Seen: s.tally.seq})
	if is := s.stands(9, 7, 0); len(is.Skipped) != 1 || is.Skipped[0].Text != "the clamp is in the way" || is.Last.Cut != 8 {
		t.Fatalf("%+v", is)
	}
}

// The dials tell the place: what was not counted is done and nobody saw it, until
// a device comes back that did.
func TestPlaced(t *testing.T) {
	s := newStory(t, 40)
	seen := s.counts(Kept, "bench", 0, 1, 10)
	s.says(Kept, Event{Kind: Placed, Cut: 31, Device: "bench", Seen: seen})
	s.stands(31, 10, 0)
	s.counts(Already, "tablet", 0, 1, 30)
	if is := s.stands(31, 30, 0); len(is.Unwitnessed) != 0 {
		t.Fatalf("unwitnessed: %v", is.Unwitnessed)
	}
	s.counts(Conflict, "tablet", 0, 31, 31) // made before the dials were looked at
	s.stands(31, 30, 1)
	s.says(Kept, Event{Kind: Placed, Cut: 8, Device: "bench", Seen: s.tally.seq}) // further back
	s.stands(8, 7, 0)
	s.says(Conflict, Event{Kind: Placed, Cut: 20, Device: "phone", Seen: seen}) // did not know of it
	s.stands(8, 7, 1)
}

// After the end only facts are taken, until the run is taken up again.
func TestEnds(t *testing.T) {
	s := newStory(t, 3)
	s.counts(Kept, "bench", 0, 1, 2)
	s.says(Conflict, Event{ID: "early", Kind: Finished, Device: "bench", Seen: 2})
	s.says(Kept, Event{Kind: Settled, Settles: "early", Choice: Drop, Device: "bench", Seen: 3})
	s.counts(Kept, "bench", s.tally.seq, 3, 3)
	s.says(Kept, Event{Kind: Paused, Device: "bench", Seen: s.tally.seq})
	if p := s.tally.State().Phase; p != AtRest {
		t.Fatalf("the run is %s", p)
	}
	seen := s.says(Kept, Event{ID: "end", Kind: Finished, Device: "bench", Seen: s.tally.seq})
	s.says(Already, Event{ID: "end2", Kind: Finished, Device: "tablet", Seen: seen})
	s.says(Already, Event{ID: "x", Kind: Done, Cut: 3, Device: "tablet", Seen: 0})
	s.says(Kept, Event{Kind: Measured, Cut: 2, Width: 0.19, Device: "tablet", Seen: 0})
	s.says(Kept, Event{Kind: Note, Text: "polished", Device: "tablet", Seen: 0})
	s.says(Conflict, Event{ID: "u", Kind: Undone, Undoes: "bench-done-3-4", Device: "tablet", Seen: s.tally.seq})
	if is := s.stands(4, 3, 1); is.Phase != IsFinished || is.Measured != 1 || len(is.Notes) != 1 {
		t.Fatalf("%+v", is)
	}
	s.says(Kept, Event{Kind: Reopened, Device: "bench", Seen: s.tally.seq})
	if p := s.tally.State().Phase; p != UnderWay {
		t.Fatalf("the run is %s", p)
	}
}

// A device that has seen more than the log holds tells that an older copy of the
// log was put back; its count is not taken as if nothing had happened.
func TestOlderCopy(t *testing.T) {
	s := newStory(t, 40)
	s.counts(Kept, "bench", 0, 1, 5)
	if out := s.tally.Take(Event{ID: "x", Kind: Done, Cut: 6, Device: "tablet", Seen: 50}); out.Verdict != Conflict || !strings.Contains(out.Why, "older copy") {
		t.Fatalf("%+v", out)
	}
}

// Whatever is delivered again, and however late, changes nothing.
func TestDeliveredAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var all []Event // those that a log holds: none refused
		tally := NewTally(7)
		for _, e := range anyLog(t, 7) {
			if tally.Take(e).Verdict != Refused {
				all = append(all, e)
			}
		}
		var twice []Event
		for i, e := range all {
			twice = append(twice, e)
			for range rapid.IntRange(0, 2).Draw(t, "again") {
				old := all[rapid.IntRange(0, i).Draw(t, "which")]
				twice = append(twice, old)
			}
		}
		if a, b := Replay(7, all), Replay(7, twice); !reflect.DeepEqual(a, b) {
			t.Fatalf("once %+v, again %+v", a, b)
		}
	})
}

// Event by event comes to the same as all at once, at every event, and a State
// once given does not change with what comes after.
func TestStepByStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := anyLog(t, 7)
		tally := NewTally(7)
		var states []State
		for _, e := range all {
			tally.Take(e)
			states = append(states, tally.State())
		}
		for i := range states {
			if want := Replay(7, all[:i+1]); !reflect.DeepEqual(states[i], want) {
				t.Fatalf("after %d events %+v, replayed %+v", i+1, states[i], want)
			}
		}
	})
}

// Devices that count the same cuts, each as far as it got and in any interleaving
// with any knowledge of the others, count each cut once, and nobody is asked.
func TestSameCutsOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		devices := rapid.IntRange(1, 4).Draw(t, "devices")
		got, seen := make([]int, devices), make([]int64, devices)
		tally := NewTally(30)
		for range rapid.IntRange(1, 90).Draw(t, "events") {
			d := rapid.IntRange(0, devices-1).Draw(t, "device")
			furthest := 0
			for _, n := range got {
				furthest = max(furthest, n)
			}
			if rapid.Bool().Draw(t, "online") { // it hears of all that was counted
				got[d], seen[d] = furthest, tally.seq
			}
			if got[d] == 30 {
				continue
			}
			got[d]++
			out := tally.Take(Event{ID: fmt.Sprintf("%d-%d", d, tally.seq), Kind: Done, Cut: got[d], Device: fmt.Sprint(d), Seen: seen[d]})
			want := Kept
			if got[d] <= furthest {
				want = Already
			}
			if out.Verdict != want {
				t.Fatalf("%+v, want %s", out, want)
			}
		}
		furthest := 0
		for _, n := range got {
			furthest = max(furthest, n)
		}
		if s := tally.State(); s.Next != furthest+1 || s.Counted != furthest || len(s.Open) != 0 {
			t.Fatalf("%+v, the furthest device counted %d", s, furthest)
		}
	})
}

// No count gets lost: each stands, or its cut was counted by another, or it is in
// question, or somebody took it back, dropped it or told another place.
func TestNoCountLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := anyLog(t, 7)
		tally := NewTally(7)
		for _, e := range all {
			out := tally.Take(e)
			if e.Kind != Done || out.Verdict == Refused {
				continue
			}
			s := tally.State()
			open := false
			for _, q := range s.Open {
				for _, f := range append([]Event{q.Event}, q.Following...) {
					open = open || f.ID == e.ID
				}
			}
			holds := e.Cut < s.Next && !inList(s.Unwitnessed, e.Cut) && !skipped(s.Skipped, e.Cut)
			if (out.Verdict == Conflict) != open || !open && !holds {
				t.Fatalf("%+v: %+v; the cut is counted: %v, in question: %v", e, out, holds, open)
			}
		}
		// Whoever answers all questions is asked nothing more.
		for _, q := range tally.State().Open {
			tally.Take(Event{ID: "s" + q.Event.ID, Kind: Settled, Settles: q.Event.ID, Choice: rapid.SampledFrom([]string{Count, Drop}).Draw(t, "answer"), Seen: tally.seq})
		}
		if s := tally.State(); len(s.Open) != 0 {
			t.Fatalf("questions left: %+v", s.Open)
		}
	})
}

func inList(list []int, n int) bool {
	for _, m := range list {
		if m == n {
			return true
		}
	}
	return false
}

func skipped(list []Skip, n int) bool {
	for _, s := range list {
		if s.Cut == n {
			return true
		}
	}
	return false
}

// An undo with everything in view puts the count back to what it was, and the
// same count again brings it forward again.
func TestUndoAndAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tally := NewTally(7)
		for _, e := range anyLog(t, 7) {
			tally.Take(e)
		}
		before := tally.State()
		if before.Next > 7 || before.Phase == IsFinished || before.Phase == IsAbandoned || len(before.Open) > 0 {
			t.Skip("nothing can be counted")
		}
		for i, e := range []Event{{ID: "one", Kind: Done, Cut: before.Next}, {ID: "two", Kind: Undone, Undoes: "one"}, {ID: "three", Kind: Done, Cut: before.Next}} {
			e.Device, e.Seen = "c", tally.seq
			if out := tally.Take(e); out.Verdict != Kept {
				t.Fatalf("%+v: %+v", e, out)
			}
			if s := tally.State(); s.Next != before.Next+(i+1)%2 || s.Counted != before.Counted+(i+1)%2 || i == 1 && !reflect.DeepEqual(s.Last, before.Last) {
				t.Fatalf("after %+v: %+v, before %+v", e, s, before)
			}
		}
	})
}
