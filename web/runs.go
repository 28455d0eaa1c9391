package web

import (
	"context"
	"errors"
	"net/http"
	"time"

	"brightcut/bench"
	"brightcut/fault"
)

// runLine is a run in a list.
type runLine struct {
	ID        string      `json:"id"`
	Job       string      `json:"job"`
	Title     string      `json:"title"`
	Device    string      `json:"device,omitempty"`
	Started   time.Time   `json:"started"`
	State     bench.Phase `json:"state"`
	Next      int         `json:"next"`
	Total     int         `json:"total"`
	Last      time.Time   `json:"last"`
	Conflicts int         `json:"conflicts"`
	Torn      string      `json:"torn,omitempty"` // why the log cannot be relied on
}

func (s *Server) listRuns(w http.ResponseWriter, r *http.Request) error {
	log, err := s.runs.open()
	if err != nil {
		return err
	}
	all, err := log.Runs(r.Context())
	if err != nil {
		return err
	}
	lines := make([]runLine, 0, len(all))
	for _, one := range all {
		l := runLine{ID: one.ID, Job: one.Job, Title: one.Title, Device: s.devices.called(one.Device), Started: one.Started, State: one.State.Phase,
			Next: one.State.Next, Total: one.State.Strokes, Last: one.State.Latest, Conflicts: len(one.State.Open)}
		if one.Torn != nil {
			l.Torn = one.Torn.Error()
		}
		lines = append(lines, l)
	}
	return answer(w, http.StatusOK, struct {
		Runs []runLine `json:"runs"`
	}{lines})
}

// onTheBench tells which jobs have a run under way, the latest of each.
func (s *Server) onTheBench(ctx context.Context) map[string]string {
	log, err := s.runs.open()
	if err != nil {
		return nil // the list of runs says why
	}
	all, err := log.Runs(ctx)
	if err != nil {
		return nil
	}
	under := map[string]string{}
	for _, one := range all {
		if _, ok := under[one.Job]; !ok && one.Torn == nil && (one.State.Phase == bench.UnderWay || one.State.Phase == bench.AtRest) {
			under[one.Job] = one.ID
		}
	}
	return under
}

func (s *Server) startRun(w http.ResponseWriter, r *http.Request) error {
	var q struct {
		ID     string `json:"id"`
		Job    string `json:"job"`
		Device string `json:"device"`
	}
	if err := ask(w, r, &q); err != nil {
		return err
	}
	device, err := deviceOf(r, q.Device)
	if err != nil {
		return err
	}
	log, err := s.runs.open()
	if err != nil {
		return err
	}
	switch was, err := log.Run(r.Context(), q.ID); {
	case err == nil && was.Job == q.Job: // asked twice; the job may have changed meanwhile
		return s.sendRun(w, r, http.StatusCreated, was.ID)
	case err == nil:
		return newProblem(http.StatusConflict, "exists", "There is a run of that name", "it is a run of %s", was.Job)
	case !errors.Is(err, bench.ErrNoRun):
		return err
	}
	file, err := jobFile(q.Job)
	if err != nil {
		return err
	}
	if _, err := s.read(file); err != nil {
		return err
	}
	frozen, err := bench.Freeze(s.fsys, file)
	if err != nil {
		return unstarted(err)
	}
	run, err := log.Start(r.Context(), bench.Start{ID: q.ID, Frozen: frozen, Device: device, At: time.Now()})
	if err != nil {
		return unstarted(err)
	}
	s.hub.tell(event{name: "run", data: ran{run.ID, run.State.Seq, clientOf(r)}})
	return s.sendRun(w, r, http.StatusCreated, run.ID)
}

// unstarted finds the words for a run that was not started. What is neither the
// disk's nor the job's fault lies in what was asked.
func unstarted(err error) error {
	var faults fault.List
	if asLogProblem(err) != nil || errors.As(err, &faults) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return newProblem(http.StatusUnprocessableEntity, "request", "The run cannot be started", "%v", err)
}

// ran tells every page that a run went on.
type ran struct {
	ID  string `json:"id"`
	Seq int64  `json:"seq"`
	By  string `json:"by"`
}

func (s *Server) getRun(w http.ResponseWriter, r *http.Request) error {
	return s.sendRun(w, r, http.StatusOK, r.PathValue("run"))
}

func (s *Server) sendRun(w http.ResponseWriter, r *http.Request, status int, id string) error {
	log, err := s.runs.open()
	if err != nil {
		return err
	}
	run, err := log.Run(r.Context(), id)
	if err != nil {
		return err
	}
	v, err := s.runView(r.Context(), id, &run.State)
	if err != nil {
		return err
	}
	return answer(w, status, v)
}
