package bench

import (
	"fmt"
	"slices"
	"time"
)

// Replay tells what a log means: that of a run of so many strokes, in its order.
// Events that are malformed or there twice are passed over.
func Replay(strokes int, events []Event) State {
	t := NewTally(strokes)
	for i := range events {
		t.Take(events[i])
	}
	return t.State()
}

// Tally is the count of a run, event by event. The package's comment has its
// rules.
type Tally struct {
	strokes int
	seq     int64
	ids     map[string]mark
	cuts    []entry // those done, skipped or passed over: 1 to next−1
	counted int     // of cuts: done
	history []act   // what an undo takes back, the last at the end

	reopened map[int]stamp    // the latest undo of a cut
	placed   stamp            // the latest Placed
	changed  map[string]int64 // by device, the Seq of its latest change of the count
	dropped  map[string]int64 // by device, the Seq at which another dropped what it had counted
	open     []Question

	ended    Kind // Finished, Abandoned or ""
	endedBy  stamp
	paused   bool
	held     *Event
	notes    []Event
	measured int
	touchUps int
	began    time.Time
	latest   time.Time
}

// stamp says which device did something, and where in the log.
type stamp struct {
	seq    int64
	device string
}

// unseenBy says whether a device did not know of the stamp, another's, when it
// made an event.
func (s stamp) unseenBy(e *Event) bool { return s.seq > e.Seen && s.device != e.Device }

// entry is what is known of one cut.
type entry struct {
	kind   Kind    // Done, Skipped or Placed: passed over
	act    int64   // Seq of the event that it stands on
	by     stamp   // the latest that changed it
	others []stamp // who counted it as well
	text   string
}

// unseen returns a stamp, another device's, that e's did not know of.
func (c *entry) unseen(e *Event) (stamp, bool) {
	if c.by.unseenBy(e) {
		return c.by, true
	}
	for _, s := range c.others {
		if s.unseenBy(e) {
			return s, true
		}
	}
	return stamp{}, false
}

// mark is what became of an event.
type mark struct {
	cut int   // that it counted
	act int64 // Seq of the event that the cut stood on then
	is  standing
}

type standing byte

const (
	fact    standing = iota // it counts nothing
	counted                 // it stands for mark.act
	inQuestion
	isDropped
)

// act is a count that an undo can take back.
type act struct {
	Act
	seq int64
	was *entry // what stood there before, of a skipped cut that was cut later
}

// NewTally begins the count of a run of so many strokes.
func NewTally(strokes int) *Tally {
	return &Tally{strokes: strokes, ids: map[string]mark{}, reopened: map[int]stamp{}, changed: map[string]int64{}, dropped: map[string]int64{}}
}

// next is the first cut neither done nor skipped.
func (t *Tally) next() int { return len(t.cuts) + 1 }

// Take adds the next event of the log. An event without a Seq is given the one
// that follows.
func (t *Tally) Take(e Event) Outcome {
	out := Outcome{ID: e.ID, Verdict: Refused}
	if out.Why = e.unfit(t.strokes); out.Why != "" {
		return out
	}
	if _, ok := t.ids[e.ID]; ok {
		return Outcome{e.ID, Already, "This was counted when it came first."}
	}
	if e.Seq == 0 {
		e.Seq = t.seq + 1
	}
	switch {
	case e.Kind == Settled:
		out.Verdict, out.Why = t.settle(&e)
	case e.Kind == Reopened:
		out.Verdict, out.Why = t.reopen(&e)
	case e.Kind.counting():
		out.Verdict, out.Why = t.count(&e)
	default:
		out.Verdict = Kept
		t.note(&e)
	}
	if out.Verdict == Refused {
		return out
	}
	if _, ok := t.ids[e.ID]; !ok {
		t.ids[e.ID] = mark{}
	}
	t.seq = max(t.seq, e.Seq)
	if t.began.IsZero() {
		t.began = e.At
	}
	if e.Kept.After(t.latest) {
		t.latest = e.Kept
	}
	return out
}

// note takes the facts that have their effect in any order.
func (t *Tally) note(e *Event) {
	switch e.Kind {
	case Note:
		t.notes = append(t.notes, *e)
	case Held:
		own := *e
		t.held = &own
	case Measured:
		t.measured++
	case TouchedUp:
		t.touchUps++
	case Paused:
		t.paused = true
	case Resumed:
		t.paused = false
	}
}

// count takes an event that changes the count.
func (t *Tally) count(e *Event) (Verdict, string) {
	for i := range t.open {
		if q := &t.open[i]; q.Event.Device == e.Device && e.Seen < q.Event.Seq {
			q.Following = append(q.Following, *e)
			t.ids[e.ID] = mark{is: inQuestion}
			return Conflict, "It builds on " + describe(&q.Event) + ", which is in question."
		}
	}
	verdict, why := t.judge(e)
	switch verdict {
	case Kept:
		t.apply(e, stamp{e.Seq, e.Device})
	case Already:
		t.witness(e)
	case Conflict:
		t.ids[e.ID] = mark{is: inQuestion}
		t.open = append(t.open, Question{Event: *e, Why: why})
	}
	return verdict, why
}

// judge says what an event that changes the count comes to; it changes nothing.
func (t *Tally) judge(e *Event) (Verdict, string) {
	n := e.Cut
	counts := e.Kind == Done || e.Kind == Skipped
	if counts && n < t.next() { // the same fact twice needs no other look
		switch kind := t.cuts[n-1].kind; {
		case e.Kind == Done && kind == Done:
			return Already, fmt.Sprintf("Cut %d is counted.", n)
		case e.Kind == Done && kind == Placed:
			return Already, fmt.Sprintf("Cut %d counts as done since the dials told the place; now it is witnessed.", n)
		case e.Kind == Skipped && kind == Skipped:
			return Already, fmt.Sprintf("Cut %d is skipped.", n)
		}
	}
	var m mark
	if e.Kind == Undone {
		var ok bool
		if m, ok = t.ids[e.Undoes]; !ok {
			return Conflict, "It takes back a count that the log does not have."
		}
		switch {
		case m.is == fact:
			return Refused, "What it takes back is not a count."
		case m.is == inQuestion:
			return Conflict, "The count that it takes back is in question itself."
		case m.is == isDropped || !t.stands(m):
			return Already, "That count does not stand any more."
		}
		n = m.cut
	}
	switch {
	case e.Kind == Finished && t.ended == Finished, e.Kind == Abandoned && t.ended == Abandoned:
		return Already, fmt.Sprintf("The run is %s.", t.ended)
	case e.Seen >= e.Seq:
		return Conflict, fmt.Sprintf("The device has seen event %d of the run, and the log ended at %d: an older copy of the log seems to have been put back.", e.Seen, e.Seq-1)
	case t.ended != "":
		return Conflict, fmt.Sprintf("The run was %s%s before this came.", t.ended, on(t.endedBy.device))
	case t.dropped[e.Device] > e.Seen:
		return Conflict, "It was made before the device knew that what it had counted was dropped."
	}
	switch e.Kind {
	case Done, Skipped:
		return t.judgeCount(e)
	case Undone:
		if top := len(t.history) - 1; top < 0 || t.history[top].seq != m.act {
			return Conflict, fmt.Sprintf("Cut %d was taken back, and is no longer the one counted last.", n)
		}
		if s, ok := t.cuts[n-1].unseen(e); ok {
			return Conflict, fmt.Sprintf("Cut %d was taken back, and was counted%s as well.", n, on(s.device))
		}
	case Placed:
		if d, ok := t.changedUnseen(e); ok && n != t.next() {
			return Conflict, fmt.Sprintf("Cut %d was said to be the next, and the count had gone on%s; it stands at cut %d.", n, on(d), t.next())
		}
	case Finished:
		if t.next() <= t.strokes {
			return Conflict, fmt.Sprintf("The run was said to be finished, and cut %d of %d is the next.", t.next(), t.strokes)
		}
	case Abandoned:
		if d, ok := t.changedUnseen(e); ok {
			return Conflict, fmt.Sprintf("The run was abandoned, and the count had gone on%s.", on(d))
		}
	}
	return Kept, ""
}

// judgeCount judges a Done or Skipped that is not the same fact again.
func (t *Tally) judgeCount(e *Event) (Verdict, string) {
	n, was := e.Cut, "counted"
	if e.Kind == Skipped {
		was = "skipped"
	}
	switch next := t.next(); {
	case n > next:
		return Conflict, fmt.Sprintf("Cut %d was %s, and cut %d is the next.", n, was, next)
	case n < next && e.Kind == Skipped:
		return Conflict, fmt.Sprintf("Cut %d was skipped, and was counted%s.", n, on(t.cuts[n-1].by.device))
	case n < next: // a cut skipped before is cut after all
		if by := t.cuts[n-1].by; by.unseenBy(e) {
			return Conflict, fmt.Sprintf("Cut %d was counted, and was skipped%s.", n, on(by.device))
		}
	case t.placed.unseenBy(e):
		return Conflict, fmt.Sprintf("Cut %d was %s, and the place had been told anew%s.", n, was, on(t.placed.device))
	default:
		if by := t.reopened[n]; by.unseenBy(e) {
			return Conflict, fmt.Sprintf("Cut %d was %s, and was taken back%s.", n, was, on(by.device))
		}
	}
	return Kept, ""
}

// stands says whether the count that a mark stands for still does.
func (t *Tally) stands(m mark) bool {
	return m.cut > 0 && m.cut < t.next() && t.cuts[m.cut-1].act == m.act
}

// changedUnseen returns another device that changed the count unknown to e's.
func (t *Tally) changedUnseen(e *Event) (string, bool) {
	who, latest := "", e.Seen
	for d, seq := range t.changed {
		if d != e.Device && seq > latest {
			who, latest = d, seq
		}
	}
	return who, latest > e.Seen
}

// witness records that a device told the same again.
func (t *Tally) witness(e *Event) {
	if e.Kind != Done && e.Kind != Skipped {
		return
	}
	c := &t.cuts[e.Cut-1]
	here := stamp{e.Seq, e.Device}
	if e.Kind == Done && c.kind == Placed {
		*c = entry{kind: Done, act: e.Seq, by: here}
		t.counted++
	} else if i := slices.IndexFunc(c.others, func(s stamp) bool { return s.device == e.Device }); i >= 0 {
		c.others[i] = here
	} else {
		c.others = append(c.others, here)
	}
	t.ids[e.ID] = mark{e.Cut, c.act, counted}
}

// apply changes the count as an event says, in the name of by: the event itself,
// or the one that settled it. Whoever settles decides: cuts before a counted one
// are then passed over, and a count taken back that others were built on leaves
// its cut skipped.
func (t *Tally) apply(e *Event, by stamp) {
	n := e.Cut
	t.changed[by.device] = max(t.changed[by.device], by.seq)
	t.paused = false
	switch e.Kind {
	case Done, Skipped:
		now := entry{kind: e.Kind, act: e.Seq, by: by, text: e.Text}
		t.ids[e.ID] = mark{n, e.Seq, counted}
		a := act{Act{e.ID, e.Kind, n, e.Device, e.At}, e.Seq, nil}
		if n >= t.next() {
			t.pass(n)
			t.cuts = append(t.cuts, now)
			t.history = append(t.history, a)
		} else if c := &t.cuts[n-1]; c.kind != e.Kind {
			was := *c
			a.was = &was
			*c = now
			if was.kind == Done {
				t.counted--
			}
			t.history = append(t.history, a)
		} else {
			t.ids[e.ID] = mark{n, c.act, counted}
			return
		}
		if e.Kind == Done {
			t.counted++
		}
	case Undone:
		t.undo(e, by)
	case Placed:
		t.pass(n)
		for t.next() > n {
			t.pop()
		}
		t.placed, t.history = by, nil
		t.open = slices.DeleteFunc(t.open, func(q Question) bool { // the dials have answered
			if q.Event.Seq > e.Seen {
				return false
			}
			t.drop(&q)
			return true
		})
	case Finished, Abandoned:
		t.ended, t.endedBy = e.Kind, by
	}
}

// undo takes back the count that e names.
func (t *Tally) undo(e *Event, by stamp) {
	m := t.ids[e.Undoes]
	if m.is != counted || !t.stands(m) {
		return
	}
	c := &t.cuts[m.cut-1]
	top := len(t.history) - 1
	if top < 0 || t.history[top].seq != m.act { // settled: others stand on it
		if c.kind == Done {
			t.counted--
		}
		*c = entry{kind: Skipped, act: e.Seq, by: by, text: "taken back" + on(e.Device)}
		t.history = nil
		return
	}
	was := t.history[top].was
	t.history = t.history[:top]
	t.reopened[m.cut] = by
	if was == nil {
		t.pop()
		return
	}
	if c.kind == Done {
		t.counted--
	}
	*c = *was
	c.by = by
	if c.kind == Done {
		t.counted++
	}
}

// pass passes over the cuts before n.
func (t *Tally) pass(n int) {
	if t.next() < n {
		t.history = nil
	}
	for t.next() < n {
		t.cuts = append(t.cuts, entry{kind: Placed})
	}
}

// pop opens the last cut again.
func (t *Tally) pop() {
	last := len(t.cuts) - 1
	if t.cuts[last].kind == Done {
		t.counted--
	}
	t.cuts = t.cuts[:last]
}

// reopen takes a run up again that was ended.
func (t *Tally) reopen(e *Event) (Verdict, string) {
	if t.ended == "" {
		return Already, "The run is under way."
	}
	t.ended, t.paused = "", false
	return Kept, ""
}

// settle closes a question.
func (t *Tally) settle(e *Event) (Verdict, string) {
	i := slices.IndexFunc(t.open, func(q Question) bool {
		return q.Event.ID == e.Settles || slices.ContainsFunc(q.Following, func(f Event) bool { return f.ID == e.Settles })
	})
	if i < 0 {
		return Already, "Nothing of this is in question any more."
	}
	q := t.open[i]
	t.open = slices.Delete(t.open, i, i+1)
	if e.Choice == Drop {
		t.drop(&q)
		if q.Event.Device != e.Device {
			t.dropped[q.Event.Device] = e.Seq
		}
		return Kept, ""
	}
	for _, held := range append([]Event{q.Event}, q.Following...) {
		t.ids[held.ID] = mark{}
		t.apply(&held, stamp{e.Seq, e.Device})
	}
	return Kept, ""
}

// drop marks what a question holds as dropped.
func (t *Tally) drop(q *Question) {
	t.ids[q.Event.ID] = mark{is: isDropped}
	for i := range q.Following {
		t.ids[q.Following[i].ID] = mark{is: isDropped}
	}
}

// State tells what the log means so far.
func (t *Tally) State() State {
	s := State{Strokes: t.strokes, Seq: t.seq, Phase: UnderWay, Next: t.next(), Counted: t.counted,
		Notes: slices.Clone(t.notes), Measured: t.measured, TouchUps: t.touchUps, Begun: t.began, Latest: t.latest}
	switch {
	case t.ended == Finished:
		s.Phase = IsFinished
	case t.ended == Abandoned:
		s.Phase = IsAbandoned
	case t.paused:
		s.Phase = AtRest
	}
	if t.counted < len(t.cuts) {
		for i := range t.cuts {
			switch c := &t.cuts[i]; c.kind {
			case Skipped:
				s.Skipped = append(s.Skipped, Skip{i + 1, c.text, c.by.device})
			case Placed:
				s.Unwitnessed = append(s.Unwitnessed, i+1)
			}
		}
	}
	if n := len(t.history); n > 0 {
		last := t.history[n-1].Act
		s.Last = &last
	}
	for _, q := range t.open {
		q.Following = slices.Clone(q.Following)
		s.Open = append(s.Open, q)
	}
	if t.held != nil {
		held := *t.held
		s.Held = &held
	}
	return s
}

// on names a device in a sentence.
func on(device string) string {
	if device == "" {
		return " on the workshop's own screen"
	}
	return " on " + device
}

// describe names a counting event in a sentence.
func describe(e *Event) string {
	switch e.Kind {
	case Done:
		return fmt.Sprintf("the count of cut %d", e.Cut)
	case Skipped:
		return fmt.Sprintf("the skipping of cut %d", e.Cut)
	case Undone:
		return "a count taken back"
	case Placed:
		return fmt.Sprintf("the placing at cut %d", e.Cut)
	}
	return "the end of the run"
}
