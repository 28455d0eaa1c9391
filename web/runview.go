package web

import (
	"context"
	"math"
	"time"

	"brightcut/bench"
)

// runView is a run as the page shows it.
type runView struct {
	ID          string         `json:"id"`
	Job         string         `json:"job"`
	Title       string         `json:"title"`
	Digest      string         `json:"digest"`
	Changed     bool           `json:"changed"`
	Device      string         `json:"device,omitempty"`
	Started     time.Time      `json:"started"`
	Total       int            `json:"total"`
	Seq         int64          `json:"seq"`
	State       bench.Phase    `json:"state"`
	Next        int            `json:"next"`
	Counted     int            `json:"counted"`
	Skipped     []skippedView  `json:"skipped"`
	Unwitnessed []int          `json:"unwitnessed"`
	Last        *actView       `json:"last,omitempty"`
	Conflicts   []conflictView `json:"conflicts"`
	Pace        *paceView      `json:"pace,omitempty"`
	Left        *spanView      `json:"left,omitempty"`
	Elapsed     float64        `json:"elapsed_seconds"`
	Held        *heldView      `json:"held,omitempty"`
	Measured    int            `json:"measured"`
	TouchUps    int            `json:"touch_ups"`
	Notes       []noteView     `json:"notes"`
}

type skippedView struct {
	Cut    int    `json:"cut"`
	Text   string `json:"text"`
	Device string `json:"device,omitempty"`
}

type actView struct {
	ID     string     `json:"id"`
	Kind   bench.Kind `json:"kind"`
	Cut    int        `json:"cut,omitempty"`
	Device string     `json:"device,omitempty"`
	At     time.Time  `json:"at"`
}

type conflictView struct {
	actView
	Why       string    `json:"why"`
	Following []actView `json:"following,omitempty"` // counted on top of it
}

type paceView struct {
	spanView
	Cuts int `json:"cuts"` // times that it rests on
}

// spanView is a time with the range in which it lies four times in five.
type spanView struct {
	Seconds float64 `json:"seconds"`
	Low     float64 `json:"low"`
	High    float64 `json:"high"`
}

type heldView struct {
	By   string    `json:"by,omitempty"` // the device
	Text string    `json:"text"`
	At   time.Time `json:"at"`
}

type noteView struct {
	At     time.Time `json:"at"`
	Cut    int       `json:"cut,omitempty"`
	Device string    `json:"device,omitempty"`
	Text   string    `json:"text"`
}

// mostNotes bounds the notes that are shown with the run; the latest are.
const mostNotes = 200

// paceOver bounds the events that a pace is told by: a run goes on as it went
// lately, and a count does not wait for a long run to be gone through.
const paceOver = 1000

// tenths of a second are more than a pace deserves.
func tenths(v float64) float64 { return math.Round(10*v) / 10 }

// runView tells a run whose log comes to the state.
func (s *Server) runView(ctx context.Context, id string, st *bench.State) (*runView, error) {
	l, err := s.ledger(ctx, id)
	if err != nil {
		return nil, err
	}
	v := &runView{ID: l.id, Job: l.job, Title: l.title, Digest: l.digest, Changed: s.differs(l), Device: s.devices.called(l.device), Started: l.started,
		Total: st.Strokes, Seq: st.Seq, State: st.Phase, Next: st.Next, Counted: st.Counted, Measured: st.Measured, TouchUps: st.TouchUps,
		Skipped: []skippedView{}, Unwitnessed: append([]int{}, st.Unwitnessed...), Conflicts: []conflictView{}, Notes: []noteView{}}
	for _, one := range st.Skipped {
		v.Skipped = append(v.Skipped, skippedView{one.Cut, one.Text, s.devices.called(one.Device)})
	}
	if a := st.Last; a != nil {
		v.Last = &actView{a.ID, a.Kind, a.Cut, s.devices.called(a.Device), a.At}
	}
	act := func(e *bench.Event) actView { return actView{e.ID, e.Kind, e.Cut, s.devices.called(e.Device), e.At} }
	for i := range st.Open {
		q := &st.Open[i]
		c := conflictView{actView: act(&q.Event), Why: q.Why}
		for j := range q.Following {
			c.Following = append(c.Following, act(&q.Following[j]))
		}
		v.Conflicts = append(v.Conflicts, c)
	}
	if e := st.Held; e != nil {
		v.Held = &heldView{s.devices.called(e.Device), e.Text, e.At}
	}
	for _, e := range st.Notes[max(0, len(st.Notes)-mostNotes):] {
		v.Notes = append(v.Notes, noteView{e.At, e.Cut, s.devices.called(e.Device), e.Text})
	}
	events, err := s.eventsOf(ctx, l, st.Seq)
	if err != nil {
		return nil, err
	}
	v.Elapsed = tenths(elapsed(events, st.Phase, time.Now()))
	lengths := s.lengths(l)
	if p := bench.PaceOf(events[max(0, len(events)-paceOver):], lengths); p.Cuts > 0 {
		v.Pace = &paceView{spanView{tenths(p.Seconds), tenths(p.Low), tenths(p.High)}, p.Cuts}
		if left := st.Strokes + 1 - st.Next; left > 0 {
			if lengths != nil {
				lengths = lengths[st.Next-1:]
			}
			t := p.Left(left, lengths)
			v.Left = &spanView{tenths(t.Seconds), tenths(t.Low), tenths(t.High)}
		}
	}
	return v, nil
}

// elapsed is how long a run has gone on, by the log's clock and without its
// pauses, s.
func elapsed(events []bench.Event, phase bench.Phase, now time.Time) float64 {
	if len(events) == 0 {
		return 0
	}
	begun, still := events[0].Kept, time.Time{} // since when it stands still
	sum := time.Duration(0)
	for i := range events {
		e := &events[i]
		switch e.Kind {
		case bench.Paused, bench.Finished, bench.Abandoned:
			if still.IsZero() {
				still = e.Kept
			}
		case bench.Resumed, bench.Done, bench.Reopened:
			if !still.IsZero() {
				sum += e.Kept.Sub(still)
				still = time.Time{}
			}
		}
	}
	end := now
	if phase != bench.UnderWay && !still.IsZero() {
		end = still
	}
	return max(0, (end.Sub(begun) - sum).Seconds())
}
