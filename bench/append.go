package bench

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"time"

	"brightcut/engine"
)

// What a run may hold at most.
const (
	mostBatch   = 10_000    // events in one Append
	mostEvents  = 1_000_000 // events of a run
	mostLive    = 16        // runs whose count is kept in memory
	mostStrokes = engine.MaxCuts
)

// Answer is what became of the events of one Append.
type Answer struct {
	Seq      int64 // of the last event of the run
	Outcomes []Outcome
	State    State
}

// live is a run's count in memory, as far as the log was read.
type live struct {
	head     head
	settings []engine.Settings
	tally    *Tally
	seq      int64
	first    []byte // link of the head, with which the chain begins
	chain    []byte // link of event seq
	used     time.Time
}

// Append adds events to the log of a run in one transaction and returns when they
// are on the disk. Malformed events are refused one by one; all others are kept,
// also those that contradict the log. When the disk does not take them the error
// is an ErrNotKept, and neither the log nor the count has changed; the same events
// may be sent again.
func (l *Log) Append(ctx context.Context, run string, events []Event) (Answer, error) {
	if len(events) > mostBatch {
		return Answer{}, fmt.Errorf("add to the log of run %s: %d events come at once, more than %d; send them in parts", run, len(events), mostBatch)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return Answer{}, err
	}
	var a Answer
	err := l.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		r, err := l.follow(ctx, tx, run)
		if err != nil {
			return err
		}
		if r.seq+int64(len(events)) > mostEvents {
			return fmt.Errorf("add to the log of run %s: it would have more than %d events; begin another run", run, mostEvents)
		}
		a = Answer{Outcomes: make([]Outcome, 0, len(events))}
		for _, e := range events {
			out, err := r.add(ctx, tx, e)
			if err != nil {
				return err
			}
			a.Outcomes = append(a.Outcomes, out)
		}
		a.Seq, a.State = r.seq, r.tally.State()
		return nil
	})
	if err != nil {
		delete(l.live, run) // what it counted is not in the log
		return Answer{}, err
	}
	return a, nil
}

// write runs do in one transaction and returns when it is on the disk. The
// caller holds l.mu.
func (l *Log) write(ctx context.Context, do func(context.Context, *sql.Tx) error) error {
	if err := l.attach(ctx); err != nil {
		return notKept(err)
	}
	switch {
	case l.db == nil:
		return fmt.Errorf("%w in the log %s", ErrNoRun, FileName)
	case l.locked:
		// The folder may have become writable meanwhile.
		l.detach()
		if err := l.attach(ctx); err != nil {
			return notKept(err)
		}
		if l.locked {
			return &NotKept{Why: "the workshop's folder cannot be written.", Mend: "Give yourself the right to write in it, then count again.", Cause: os.ErrPermission}
		}
	}
	if err := l.there(); err != nil {
		return err
	}
	// Once begun it runs to its end: an answer that comes in half is no answer.
	ctx = context.WithoutCancel(ctx)
	tx, err := l.db.BeginTx(ctx, nil)
	if err != nil {
		return notKept(err)
	}
	if err := do(ctx, tx); err != nil {
		tx.Rollback()
		if code(err) != 0 {
			return notKept(err)
		}
		return err
	}
	if err := tx.Commit(); err != nil {
		return notKept(err)
	}
	return l.there()
}

// there finds out whether the files that the database has open are still those
// in the folder: what is written into a file that was taken away is lost with
// the last program that has it open.
func (l *Log) there() error {
	gone := func(name string) error {
		return &NotKept{Why: name + " was taken away while the program had it open.", Mend: "Put it back, or start the program again.", Cause: os.ErrNotExist}
	}
	if info, err := os.Stat(l.path); err != nil || !os.SameFile(info, l.is) {
		return gone(FileName)
	}
	info, err := os.Stat(l.path + "-wal")
	switch {
	case l.wal == nil && err == nil:
		l.wal = info
	case l.wal != nil && (err != nil || !os.SameFile(info, l.wal)):
		return gone(FileName + "-wal")
	}
	return nil
}

// querier is a database or a transaction in it.
type querier interface {
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
	QueryRowContext(context.Context, string, ...any) *sql.Row
}

// follow brings the count of a run up to the log's end; other processes may have
// added to it. The error is a *Torn where the log cannot be relied on.
func (l *Log) follow(ctx context.Context, q querier, run string) (*live, error) {
	r := l.live[run]
	if r != nil {
		err := r.read(ctx, q, nil)
		if err == nil {
			r.used = time.Now()
			return r, nil
		}
		delete(l.live, run)
		if !errors.Is(err, errAnother) {
			return nil, err
		}
	}
	r, err := begin(ctx, q, run)
	if err != nil {
		return nil, err
	}
	if err := r.read(ctx, q, nil); err != nil {
		return nil, err
	}
	if len(l.live) >= mostLive {
		oldest := ""
		for id, other := range l.live {
			if oldest == "" || other.used.Before(l.live[oldest].used) {
				oldest = id
			}
		}
		delete(l.live, oldest)
	}
	r.used = time.Now()
	l.live[run] = r
	return r, nil
}

// errAnother says that the log is not the one that was read before.
var errAnother = errors.New("another log has taken the place of the one that was read")

// read takes the events of the log that follow those already read, and gives
// each of them to see. Every link of the chain is looked at.
func (r *live) read(ctx context.Context, q querier, see func(Event, []byte) error) error {
	rows, err := q.QueryContext(ctx, "SELECT seq, id, body, chain FROM event WHERE run = ? AND seq >= ? ORDER BY seq", r.head.ID, r.seq)
	if err != nil {
		return fmt.Errorf("read the log of run %s: %w", r.head.ID, err)
	}
	defer rows.Close()
	torn := func(format string, args ...any) error {
		return &Torn{Run: r.head.ID, Good: r.seq, State: r.tally.State(), Why: fmt.Sprintf(format, args...)}
	}
	met := r.seq == 0
	for rows.Next() {
		var seq int64
		var id string
		var body, chain []byte
		if err := rows.Scan(&seq, &id, &body, &chain); err != nil {
			return torn("event %d cannot be read (%v).", r.seq+1, err)
		}
		if !met {
			if seq != r.seq || !bytes.Equal(chain, r.chain) {
				return errAnother
			}
			met = true
			continue
		}
		if seq != r.seq+1 {
			return torn("event %d is missing.", r.seq+1)
		}
		if !bytes.Equal(chain, link(r.chain, body)) {
			return torn("event %d is not as it was written.", seq)
		}
		e, err := readBody(body)
		if err != nil || e.Seq != seq || e.ID != id {
			return torn("event %d cannot be read.", seq)
		}
		if out := r.tally.Take(e); out.Verdict == Refused {
			return torn("event %d is none that the log would have taken: %s.", seq, out.Why)
		}
		r.seq, r.chain = seq, chain
		if see != nil {
			if err := see(e, body); err != nil {
				return err
			}
		}
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("read the log of run %s: %w", r.head.ID, err)
	}
	if !met {
		return errAnother
	}
	return nil
}

// add writes an event behind the others.
func (r *live) add(ctx context.Context, tx *sql.Tx, e Event) (Outcome, error) {
	if e.Kind == Started {
		return Outcome{e.ID, Refused, "a run is started only once"}, nil
	}
	now := time.Now().UTC().Truncate(time.Millisecond)
	e.At = e.At.UTC().Round(0)
	if _, ok := r.tally.ids[e.ID]; ok {
		var body []byte
		if err := tx.QueryRowContext(ctx, "SELECT body FROM event WHERE run = ? AND id = ?", r.head.ID, e.ID).Scan(&body); err != nil {
			return Outcome{}, err
		}
		if was, err := readBody(body); err != nil || !same(was, e) {
			return Outcome{e.ID, Refused, "another event of the run has this id"}, nil
		}
		return r.tally.Take(e), nil
	}
	if e.At.IsZero() {
		e.At = now
	}
	if m := r.tally.ids[e.Undoes]; e.Kind == Undone {
		e.Cut = m.cut
	}
	e.Seq, e.Kept, e.Digest = r.seq+1, now, r.head.Digest
	e.Settings = r.inForce(e.Cut)
	return r.put(ctx, tx, e)
}

// put writes an event that has all that the log fills in.
func (r *live) put(ctx context.Context, tx *sql.Tx, e Event) (Outcome, error) {
	body, err := e.body()
	if err != nil {
		return Outcome{e.ID, Refused, err.Error()}, nil
	}
	out := r.tally.Take(e)
	if out.Verdict == Refused {
		return out, nil
	}
	chain := link(r.chain, body)
	if _, err := tx.ExecContext(ctx, "INSERT INTO event (run, seq, id, body, chain) VALUES (?, ?, ?, ?, ?)", r.head.ID, e.Seq, e.ID, body, chain); err != nil {
		return Outcome{}, err
	}
	r.seq, r.chain = e.Seq, chain
	return out, nil
}

// inForce returns the settings of a cut, or of the cut counted last where an
// event concerns none.
func (r *live) inForce(cut int) engine.Settings {
	if cut < 1 {
		cut = r.tally.next() - 1
	}
	return r.settings[min(max(cut, 1), len(r.settings))-1]
}
