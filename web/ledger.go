package web

import (
	"context"
	"net/http"
	"sync"
	"time"

	"brightcut/bench"
	"brightcut/engine"
)

// ledger is what is kept in memory of a run, so that a count does not read the
// whole log again.
type ledger struct {
	id      string
	job     string
	title   string
	device  string
	started time.Time
	file    string // of the job, in the folder
	digest  string // of the frozen files
	angle   bool   // readings are angles

	mu      sync.Mutex
	events  []bench.Event
	looked  bool  // whether the job's files are still those of the run,
	age     int64 // when the folder was of this age,
	changed bool  // and what was found
}

const keepLedgers = 32

// ledger returns what is kept of a run.
func (s *Server) ledger(ctx context.Context, id string) (*ledger, error) {
	return s.ledgers.get(ctx, s.ctx, id, func(ctx context.Context) (*ledger, error) {
		log, err := s.runs.open()
		if err != nil {
			return nil, err
		}
		run, err := log.Run(ctx, id)
		if err != nil {
			return nil, err
		}
		j, err := run.Frozen.Job()
		if err != nil {
			return nil, newProblem(http.StatusConflict, "other-cuts", "The cuts of this run have changed", "%v", bench.ErrOtherCuts)
		}
		return &ledger{id: run.ID, job: run.Job, title: run.Title, device: run.Device, started: run.Started,
			file: run.Frozen.Name, digest: run.Frozen.Digest, angle: j.Setup.Engine.Kind == engine.Rose}, nil
	})
}

// eventsOf returns the events of the run as far as its state goes.
func (s *Server) eventsOf(ctx context.Context, l *ledger, seq int64) ([]bench.Event, error) {
	log, err := s.runs.open()
	if err != nil {
		return nil, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	after := int64(0)
	if n := len(l.events); n > 0 {
		after = l.events[n-1].Seq
	}
	if after > seq { // an older copy of the log was put back
		l.events, after = nil, 0
	}
	if after == seq {
		return l.events, nil
	}
	fresh, err := log.Events(ctx, l.id, after)
	if err != nil {
		l.events = nil
		return nil, err
	}
	l.events = append(l.events, fresh...)
	return l.events, nil
}

// differs says whether the job's files are no longer those that the run was
// started with. It looks only when the folder has changed since.
func (s *Server) differs(l *ledger) bool {
	age := s.age.Load()
	l.mu.Lock()
	defer l.mu.Unlock()
	if !l.looked || l.age != age {
		now, err := bench.Freeze(s.fsys, l.file)
		l.looked, l.age, l.changed = true, age, err != nil || now.Digest != l.digest
	}
	return l.changed
}
