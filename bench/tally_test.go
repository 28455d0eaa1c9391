package bench

import (
	"fmt"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// twin is the count by the plainest means: after every event all that held is
// gone through again from the beginning, and what other devices did is looked for
// in the list of it. It follows the rules of the package's comment by number.
type twin struct {
	strokes int
	verdict map[string]Verdict
	deeds   []deed
	open    [][]Event
	dropped map[string]bool
	drops   []deed // of what a device counted, by another
	ended   Kind
}

// deed is something that held: by whom and where in the log it came to hold, and
// the event that says what.
type deed struct {
	device string
	seq    int64
	Event
	witness, force bool
}

type slot struct {
	kind   Kind
	id     string // of the event it stands on
	by     []deed // all that made or witnessed it
	latest deed
	before *slot
}

// replayed goes through all deeds.
func (w *twin) replayed() (slots []slot, history []string, stands map[string]string) {
	stands = map[string]string{} // event → the event of the slot that it stands for
	for _, d := range w.deeds {
		n := d.Cut
		switch d.Kind {
		case Done, Skipped:
			if d.witness {
				s := &slots[n-1]
				if d.Kind == Done && s.kind == Placed {
					*s = slot{kind: Done, id: d.ID, latest: d}
				}
				s.by = append(s.by, d)
				stands[d.ID] = s.id
				continue
			}
			if n <= len(slots) {
				s := slots[n-1]
				if s.kind == d.Kind {
					stands[d.ID] = s.id
					continue
				}
				slots[n-1] = slot{kind: d.Kind, id: d.ID, by: []deed{d}, latest: d, before: &s}
			} else {
				for len(slots) < n-1 {
					slots, history = append(slots, slot{kind: Placed}), nil
				}
				slots = append(slots, slot{kind: d.Kind, id: d.ID, by: []deed{d}, latest: d})
			}
			history = append(history, d.ID)
			stands[d.ID] = d.ID
		case Undone:
			at := -1
			for i := range slots {
				if slots[i].id != "" && slots[i].id == stands[d.Undoes] {
					at = i
				}
			}
			if at < 0 {
				continue
			}
			id := slots[at].id
			if len(history) == 0 || history[len(history)-1] != id {
				slots[at] = slot{kind: Skipped, id: d.ID, by: []deed{d}, latest: d}
				history = nil
				continue
			}
			history = history[:len(history)-1]
			if b := slots[at].before; b != nil {
				slots[at] = *b
				slots[at].latest = d
			} else {
				slots = slots[:at]
			}
		case Placed:
			for len(slots) < n-1 {
				slots = append(slots, slot{kind: Placed})
			}
			slots, history = slots[:n-1], nil
		}
	}
	return slots, history, stands
}

func (w *twin) take(e Event) Verdict {
	if e.unfit(w.strokes) != "" { // 1
		return Refused
	}
	if _, ok := w.verdict[e.ID]; ok { // 2
		return Already
	}
	v := w.judge(e)
	if v != Refused {
		w.verdict[e.ID] = v
	}
	return v
}

func (w *twin) judge(e Event) Verdict {
	switch e.Kind {
	case Done, Undone, Skipped, Placed, Finished, Abandoned:
	case Settled:
		for i, q := range w.open {
			for _, f := range q {
				if f.ID == e.Settles {
					w.open = append(w.open[:i:i], w.open[i+1:]...)
					if e.Choice == Count {
						for _, g := range q {
							w.hold(g, e.Device, e.Seq, true)
						}
					} else {
						for _, g := range q {
							w.dropped[g.ID] = true
						}
						w.drops = append(w.drops, deed{device: e.Device, seq: e.Seq, Event: q[0]})
					}
					return Kept
				}
			}
		}
		return Already
	case Reopened:
		if w.ended == "" {
			return Already
		}
		w.ended = ""
		return Kept
	default:
		return Kept // 3
	}
	for i, q := range w.open { // 5
		if q[0].Device == e.Device && q[0].Seq > e.Seen {
			w.open[i] = append(q, e)
			return Conflict
		}
	}
	v := w.plain(e)
	switch v {
	case Kept:
		w.hold(e, e.Device, e.Seq, false)
		if e.Kind == Placed {
			var left [][]Event
			for _, q := range w.open {
				if q[0].Seq > e.Seen {
					left = append(left, q)
					continue
				}
				for _, f := range q {
					w.dropped[f.ID] = true
				}
			}
			w.open = left
		}
	case Already:
		if e.Kind == Done || e.Kind == Skipped {
			w.deeds = append(w.deeds, deed{e.Device, e.Seq, e, true, false})
		}
	case Conflict:
		w.open = append(w.open, []Event{e})
	}
	return v
}

func (w *twin) hold(e Event, device string, seq int64, force bool) {
	if e.Kind == Finished || e.Kind == Abandoned {
		w.ended = e.Kind
	}
	w.deeds = append(w.deeds, deed{device, seq, e, false, force})
	if force && e.Kind == Placed {
		var left [][]Event
		for _, q := range w.open {
			if q[0].Seq > e.Seen {
				left = append(left, q)
				continue
			}
			for _, f := range q {
				w.dropped[f.ID] = true
			}
		}
		w.open = left
	}
}

func (w *twin) plain(e Event) Verdict {
	slots, history, stands := w.replayed()
	next, n := len(slots)+1, e.Cut
	unseen := func(d deed) bool { return d.seq > e.Seen && d.device != e.Device }
	changed := false
	var lastPlaced, lastOpened deed
	for _, d := range w.deeds {
		changed = changed || !d.witness && unseen(d)
		if d.Kind == Placed {
			lastPlaced = d
		}
	}
	count := e.Kind == Done || e.Kind == Skipped
	if count && n < next && (slots[n-1].kind == e.Kind || e.Kind == Done && slots[n-1].kind == Placed) { // 6
		return Already
	}
	if e.Kind == Undone { // 7
		v, ok := w.verdict[e.Undoes]
		if !ok {
			return Conflict
		}
		for _, q := range w.open {
			for _, f := range q {
				if f.ID == e.Undoes {
					return Conflict
				}
			}
		}
		_, counted := stands[e.Undoes]
		if !counted && !w.dropped[e.Undoes] && v != Refused {
			return Refused
		}
		at := 0
		for i := range slots {
			if slots[i].id != "" && slots[i].id == stands[e.Undoes] {
				at = i + 1
			}
		}
		if at == 0 || w.dropped[e.Undoes] {
			return Already
		}
		n = at
	}
	if e.Kind == w.ended { // 8
		return Already
	}
	if e.Seen >= e.Seq || w.ended != "" { // 9, 10
		return Conflict
	}
	for _, d := range w.drops { // 11
		if d.Device == e.Device && d.device != e.Device && d.seq > e.Seen {
			return Conflict
		}
	}
	switch {
	case count && n < next: // 12
		if e.Kind == Skipped || unseen(slots[n-1].latest) {
			return Conflict
		}
	case count && n > next: // 13
		return Conflict
	case count: // 14
		keep := w.deeds
		for i := range keep { // the last undoing of n: where an undo left n open
			if keep[i].Kind != Undone {
				continue
			}
			w.deeds = keep[:i]
			before, _, is := w.replayed()
			w.deeds = keep[:i+1]
			after, h, _ := w.replayed()
			_ = h
			if len(before) == n && len(after) == n-1 {
				lastOpened = keep[i]
			}
			if n <= len(before) && n <= len(after) && before[n-1].id == is[keep[i].Undoes] && before[n-1].before != nil && after[n-1].id == before[n-1].before.id {
				lastOpened = keep[i]
			}
		}
		w.deeds = keep
		if unseen(lastPlaced) || unseen(lastOpened) {
			return Conflict
		}
	case e.Kind == Undone: // 15
		s := slots[n-1]
		if len(history) == 0 || history[len(history)-1] != s.id || unseen(s.latest) {
			return Conflict
		}
		last := map[string]deed{} // the latest of each device
		for _, d := range s.by {
			last[d.device] = d
		}
		for _, d := range last {
			if unseen(d) {
				return Conflict
			}
		}
	case e.Kind == Placed: // 16
		if n != next && changed {
			return Conflict
		}
	case e.Kind == Finished: // 17
		if next <= w.strokes {
			return Conflict
		}
	case e.Kind == Abandoned:
		if changed {
			return Conflict
		}
	}
	return Kept
}

// anyLog draws a log of a few cuts and devices in which anything may stand.
func anyLog(t *rapid.T, strokes int) []Event {
	n := rapid.IntRange(1, 40).Draw(t, "events")
	var out []Event
	next := 1 // where the twin of the generator believes the count is, so that events hit
	for i := range n {
		e := Event{ID: fmt.Sprint("e", i+1), Seq: int64(i + 1), Device: rapid.SampledFrom([]string{"", "a", "b"}).Draw(t, "device"), Seen: int64(i)}
		if rapid.IntRange(0, 2).Draw(t, "stale") == 0 {
			e.Seen = int64(rapid.IntRange(0, i+1).Draw(t, "seen"))
		}
		e.Kind = rapid.SampledFrom([]Kind{Done, Done, Done, Done, Done, Undone, Undone, Skipped, Placed, Settled, Settled, Finished, Abandoned, Reopened, Reopened, Note, Paused, Measured}).Draw(t, "kind")
		switch e.Kind {
		case Done, Skipped, Placed, Measured:
			e.Cut = min(max(next+rapid.SampledFrom([]int{0, 0, 0, 0, -1, 1, -2, 2}).Draw(t, "cut"), 1), strokes)
			e.Width = 0.1
			if e.Kind != Measured && e.Cut == next {
				next = min(next+1, strokes)
			}
		case Undone:
			e.Undoes = fmt.Sprint("e", rapid.IntRange(max(0, i-4), i).Draw(t, "undoes"))
		case Settled:
			e.Settles = fmt.Sprint("e", rapid.IntRange(max(1, i-6), i+1).Draw(t, "settles"))
			e.Choice = rapid.SampledFrom([]string{Count, Drop}).Draw(t, "choice")
		}
		out = append(out, e)
	}
	return out
}

// The tally says of every event what the twin says, and counts as it does.
func TestTallyAgreesWithItsTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const strokes = 7
		all := anyLog(t, strokes)
		tally, w := NewTally(strokes), &twin{strokes: strokes, verdict: map[string]Verdict{}, dropped: map[string]bool{}}
		for i, e := range all {
			before := tally.State()
			out, want := tally.Take(e), w.take(e)
			if out.Verdict != want {
				t.Fatalf("event %d %+v: %s (%s), the twin says %s", i+1, e, out.Verdict, out.Why, want)
			}
			if (out.Why == "") != (out.Verdict == Kept) {
				t.Fatalf("event %d: %q says why %q", i+1, out.Verdict, out.Why)
			}
			s := tally.State()
			slots, history, _ := w.replayed()
			got := make([]Kind, s.Next-1)
			for j := range got {
				got[j] = Done
			}
			for _, k := range s.Skipped {
				got[k.Cut-1] = Skipped
			}
			for _, n := range s.Unwitnessed {
				got[n-1] = Placed
			}
			want2 := make([]Kind, len(slots))
			for j := range slots {
				want2[j] = slots[j].kind
			}
			if !reflect.DeepEqual(got, want2) {
				t.Fatalf("event %d %+v: the cuts are %v, the twin's %v", i+1, e, got, want2)
			}
			if s.Counted+len(s.Skipped)+len(s.Unwitnessed) != s.Next-1 {
				t.Fatalf("event %d: %d counted, %d skipped, %d unwitnessed before cut %d", i+1, s.Counted, len(s.Skipped), len(s.Unwitnessed), s.Next)
			}
			if (s.Last == nil) != (len(history) == 0) || s.Last != nil && s.Last.ID != history[len(history)-1] {
				t.Fatalf("event %d: an undo would take back %v, the twin's %v", i+1, s.Last, history)
			}
			if len(s.Open) != len(w.open) {
				t.Fatalf("event %d: %d questions, the twin has %d", i+1, len(s.Open), len(w.open))
			}
			if out.Verdict == Conflict && (s.Next != before.Next || s.Counted != before.Counted || s.Phase != before.Phase || !reflect.DeepEqual(s.Last, before.Last)) {
				t.Fatalf("event %d: a conflict changed the count", i+1)
			}
		}
	})
}
