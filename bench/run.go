package bench

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"brightcut/engine"
)

// Start is what a run begins with.
type Start struct {
	ID     string // chosen by who asks, so that asking twice starts once
	Frozen *Frozen
	Device string
	At     time.Time
}

// Summary tells of a run in a list.
type Summary struct {
	ID      string
	Job     string // name of its file, without the extension
	Title   string
	Device  string // that started it
	Started time.Time
	State   State
	Torn    *Torn // the log cannot be relied on; State is that of what can
}

// Run is a run of a frozen job.
type Run struct {
	Summary
	Frozen   *Frozen
	Circle   int               // of the index wheel; 0 when it is not used
	Rounds   Rounds            // after which the dials show the same
	Settings []engine.Settings // of every cut, in the order of cutting
}

// Start begins a run. With the ID of a run that was started before with the same
// frozen job it returns that run.
func (l *Log) Start(ctx context.Context, s Start) (*Run, error) {
	if !validID(s.ID) {
		return nil, fmt.Errorf("start a run: its id must have 1 to %d letters, digits, dashes, dots or colons", mostID)
	}
	l.mu.Lock()
	r, err := l.run(ctx, s.ID)
	l.mu.Unlock()
	if err == nil {
		if r.Frozen.Digest != s.Frozen.Digest {
			return nil, fmt.Errorf("start a run: another run has the id %s", s.ID)
		}
		return r, nil
	}
	if !errors.Is(err, ErrNoRun) {
		return nil, err
	}
	p, err := program(ctx, s.Frozen)
	if err != nil {
		return nil, err
	}
	if s.At.IsZero() {
		s.At = time.Now()
	}
	h := head{Format: 1, ID: s.ID, Job: jobName(s.Frozen.Name), Title: p.Job.Title, Device: s.Device, At: s.At.UTC().Round(0), Digest: s.Frozen.Digest,
		Strokes: len(p.List.Cuts), Circle: p.Circle, Rounds: roundsOf(&p.Job.Setup, p.Circle)}
	settings := settingsText(p.List.Cuts)
	h.Settings = digestOf(settings)
	first := Event{ID: "start-" + s.ID[:min(len(s.ID), mostID-6)], Kind: Started, At: h.At, Device: s.Device}
	if why := first.unfit(h.Strokes); why != "" {
		return nil, fmt.Errorf("start a run: %s", why)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.make(ctx); err != nil {
		return nil, err
	}
	err = l.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		r, err := insert(ctx, tx, &h, nil, s.Frozen.files, settings)
		if err != nil || r == nil {
			return err
		}
		first.Seq, first.Kept, first.Digest, first.Settings = 1, time.Now().UTC().Truncate(time.Millisecond), h.Digest, p.List.Cuts[0].Settings
		_, err = r.put(ctx, tx, first)
		return err
	})
	if err != nil {
		return nil, err
	}
	r, err = l.run(ctx, s.ID)
	if err == nil && r.Frozen.Digest != s.Frozen.Digest { // another process was quicker
		return nil, fmt.Errorf("start a run: another run has the id %s", s.ID)
	}
	return r, err
}

// make makes the file if there is none. The caller holds l.mu.
func (l *Log) make(ctx context.Context) error {
	if err := l.attach(ctx); err != nil {
		return notKept(err)
	}
	if l.db != nil {
		return nil
	}
	if err := l.create(ctx); err != nil {
		return notKept(err)
	}
	if err := l.attach(ctx); err != nil {
		return notKept(err)
	}
	return nil
}

// insert writes the head of a run and its files; text is the head as it is
// written already, nil where the run is new. It returns nil when the log has the
// run.
func insert(ctx context.Context, tx *sql.Tx, h *head, text []byte, files map[string][]byte, settings []byte) (*live, error) {
	var n int
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM run WHERE id = ?", h.ID).Scan(&n); err != nil || n > 0 {
		return nil, err
	}
	if text == nil {
		for _, name := range slices.Sorted(maps.Keys(files)) {
			h.Files = append(h.Files, named{name, digestOf(files[name])})
		}
		var err error
		if text, err = json.Marshal(h); err != nil {
			return nil, err
		}
	}
	keep := func(body []byte) error {
		_, err := tx.ExecContext(ctx, "INSERT INTO file (digest, body) VALUES (?, ?) ON CONFLICT DO NOTHING", digestOf(body), append([]byte{}, body...))
		return err
	}
	for _, body := range files {
		if err := keep(body); err != nil {
			return nil, err
		}
	}
	if err := keep(settings); err != nil {
		return nil, err
	}
	if _, err := tx.ExecContext(ctx, "INSERT INTO run (id, head) VALUES (?, ?)", h.ID, text); err != nil {
		return nil, err
	}
	all, err := readSettings(settings, h.Strokes)
	if err != nil {
		return nil, err
	}
	first := link(nil, text)
	return &live{head: *h, settings: all, tally: NewTally(h.Strokes), first: first, chain: first}, nil
}

// begin reads the head of a run and its settings.
func begin(ctx context.Context, q querier, run string) (*live, error) {
	torn := func(why string) error { return &Torn{Run: run, Why: why} }
	var text []byte
	err := q.QueryRowContext(ctx, "SELECT head FROM run WHERE id = ?", run).Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, fmt.Errorf("%w: %.80s", ErrNoRun, run)
	}
	if err != nil {
		return nil, fmt.Errorf("read the head of run %s: %w", run, err)
	}
	r := &live{first: link(nil, text)}
	r.chain = r.first
	if json.Unmarshal(text, &r.head) != nil || r.head.ID != run || r.head.Strokes < 1 || r.head.Strokes > mostStrokes {
		return nil, torn("its head cannot be read.")
	}
	if r.head.Format != 1 {
		return nil, fmt.Errorf("run %s was written by a newer version of the program; use that", run)
	}
	settings, err := frozenFile(ctx, q, r.head.Settings)
	if err == nil {
		r.settings, err = readSettings(settings, r.head.Strokes)
	}
	if err != nil {
		if code(err) != 0 {
			return nil, fmt.Errorf("read the settings of run %s: %w", run, err)
		}
		return nil, torn(err.Error() + ".")
	}
	r.tally = NewTally(r.head.Strokes)
	return r, nil
}

// frozenFile reads a file by its digest.
func frozenFile(ctx context.Context, q querier, digest string) ([]byte, error) {
	var body []byte
	err := q.QueryRowContext(ctx, "SELECT body FROM file WHERE digest = ?", digest).Scan(&body)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, errors.New("one of its files is missing")
	}
	if err != nil {
		return nil, err
	}
	if digestOf(body) != digest {
		return nil, errors.New("one of its files is not as it was written")
	}
	return body, nil
}

// Run returns a run with the state that its log comes to. The error is an
// ErrNoRun, or a *Torn that tells what is still good.
func (l *Log) Run(ctx context.Context, id string) (*Run, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.run(ctx, id)
}

// run is Run for a caller that holds l.mu.
func (l *Log) run(ctx context.Context, id string) (*Run, error) {
	if err := l.attach(ctx); err != nil {
		return nil, err
	}
	if l.db == nil {
		return nil, fmt.Errorf("%w: %.80s", ErrNoRun, id)
	}
	r, err := l.follow(ctx, l.db, id)
	if err != nil {
		return nil, err
	}
	files := map[string][]byte{}
	for _, f := range r.head.Files {
		if files[f.Name], err = frozenFile(ctx, l.db, f.Digest); err != nil {
			return nil, fmt.Errorf("read %s, frozen for run %s: %w", f.Name, id, err)
		}
	}
	frozen, err := thaw(r.head.Job+extension, files)
	if err != nil {
		return nil, fmt.Errorf("read the frozen job of run %s: %w", id, err)
	}
	if frozen.Digest != r.head.Digest {
		return nil, &Torn{Run: id, Why: "the frozen files are not those that it was started with."}
	}
	return &Run{Summary: r.summary(), Frozen: frozen, Circle: r.head.Circle, Rounds: r.head.Rounds, Settings: slices.Clone(r.settings)}, nil
}

func (r *live) summary() Summary {
	return Summary{ID: r.head.ID, Job: r.head.Job, Title: r.head.Title, Device: r.head.Device, Started: r.head.At, State: r.tally.State()}
}

// Runs lists the runs of the log, the latest first.
func (l *Log) Runs(ctx context.Context) ([]Summary, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.attach(ctx); err != nil {
		return nil, err
	}
	if l.db == nil {
		return nil, nil
	}
	rows, err := l.db.QueryContext(ctx, "SELECT id, (SELECT max(seq) FROM event WHERE run = run.id) FROM run ORDER BY number DESC")
	if err != nil {
		return nil, fmt.Errorf("list the runs: %w", err)
	}
	defer rows.Close()
	type end struct {
		id  string
		seq sql.NullInt64
	}
	var ends []end
	for rows.Next() {
		var e end
		if err := rows.Scan(&e.id, &e.seq); err != nil {
			return nil, fmt.Errorf("list the runs: %w", err)
		}
		ends = append(ends, e)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("list the runs: %w", err)
	}
	var out []Summary
	for _, e := range ends {
		if s, ok := l.summary[e.id]; ok && s.State.Seq == e.seq.Int64 && s.Torn == nil {
			out = append(out, s)
			continue
		}
		r, err := l.follow(ctx, l.db, e.id)
		var torn *Torn
		switch {
		case errors.As(err, &torn):
			s := Summary{ID: e.id}
			if r, err := begin(ctx, l.db, e.id); err == nil { // its head may be sound
				s = r.summary()
			}
			s.State, s.Torn = torn.State, torn
			out = append(out, s)
			continue
		case err != nil:
			return nil, err
		}
		s := r.summary()
		l.summary[e.id] = s
		out = append(out, s)
	}
	return out, nil
}

// Events returns the events of a run that follow the one with the given Seq, in
// the log's order.
func (l *Log) Events(ctx context.Context, run string, after int64) ([]Event, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.attach(ctx); err != nil {
		return nil, err
	}
	if l.db == nil {
		return nil, fmt.Errorf("%w: %.80s", ErrNoRun, run)
	}
	r, err := l.follow(ctx, l.db, run)
	if err != nil {
		return nil, err
	}
	rows, err := l.db.QueryContext(ctx, "SELECT seq, body, chain FROM event WHERE run = ? AND seq BETWEEN ? AND ? ORDER BY seq", run, after, r.seq)
	if err != nil {
		return nil, fmt.Errorf("read the log of run %s: %w", run, err)
	}
	defer rows.Close()
	after = max(after, 0)
	var out []Event
	at, last := after, r.first // of the event before
	torn := func() error {     // from its beginning on the log tells what is still good
		delete(l.live, run)
		if _, err := l.follow(ctx, l.db, run); err != nil {
			return err
		}
		return fmt.Errorf("read the log of run %s: it changed meanwhile; ask again", run)
	}
	for rows.Next() {
		var seq int64
		var body, chain []byte
		if err := rows.Scan(&seq, &body, &chain); err != nil {
			return nil, torn()
		}
		if seq == after {
			last = chain
			continue
		}
		e, err := readBody(body)
		if err != nil || seq != at+1 || !bytes.Equal(chain, link(last, body)) {
			return nil, torn()
		}
		at, last = seq, chain
		out = append(out, e)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read the log of run %s: %w", run, err)
	}
	if after < r.seq && !bytes.Equal(last, r.chain) { // the chain's end was followed before: it vouches for what leads to it
		return nil, torn()
	}
	return out, nil
}

// Where tells where in the run the dials can be.
func (r *Run) Where(shown Dials) Found {
	return Where(r.Settings, r.Rounds, shown, r.State.Next)
}
