package web

import (
	"errors"
	"net/http"
	"sync"

	"brightcut/bench"
)

// runLog is the log of the folder's runs. One that cannot be opened is tried
// again when it is asked for: someone may have put a copy back meanwhile, and the
// rest of the page does not wait for it.
type runLog struct {
	folder string
	mu     sync.Mutex
	log    *bench.Log
}

func (l *runLog) open() (*bench.Log, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.log == nil {
		log, err := bench.Open(l.folder)
		if err != nil {
			return nil, newProblem(http.StatusInternalServerError, "server", "The log of runs cannot be read", "%v", err)
		}
		l.log = log
	}
	return l.log, nil
}

func (l *runLog) close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.log == nil {
		return nil
	}
	return l.log.Close()
}

// asLogProblem finds the words for an error of the log, nil when it is none.
func asLogProblem(err error) *problem {
	var kept *bench.NotKept
	var torn *bench.Torn
	switch {
	case errors.As(err, &kept):
		return newProblem(http.StatusServiceUnavailable, "not-kept", "Nothing was counted", "%v", kept)
	case errors.As(err, &torn):
		return newProblem(http.StatusInternalServerError, "torn", "The log of this run cannot be relied on", "%v", torn)
	case errors.Is(err, bench.ErrNoRun):
		return notFound("the workshop's log has no such run")
	case errors.Is(err, bench.ErrOtherCuts):
		return newProblem(http.StatusConflict, "other-cuts", "The cuts of this run have changed", "%v", bench.ErrOtherCuts)
	case errors.Is(err, bench.ErrOtherHistory):
		return newProblem(http.StatusConflict, "other-history", "There are two histories of this run", "%v; nothing was taken in", err)
	}
	return nil
}
