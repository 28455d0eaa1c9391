package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"mime"
	"net/http"
	"strconv"
	"time"

	"brightcut/bench"
	"brightcut/engine"
	"brightcut/inspect"
	"brightcut/job"
	"brightcut/record"
)

// inspected is the inspection of a run, kept by what its log came to.
type inspected struct {
	run   *bench.Run
	job   *job.Job
	found *inspect.Report // nil when nothing was measured
}

// inspection looks at the widths that were measured in a run.
func (s *Server) inspection(ctx context.Context, id string) (*inspected, error) {
	log, err := s.runs.open()
	if err != nil {
		return nil, err
	}
	run, err := log.Run(ctx, id)
	if err != nil {
		return nil, err
	}
	return s.looks.get(ctx, s.ctx, fmt.Sprint(id, " ", run.State.Seq), func(ctx context.Context) (*inspected, error) {
		events, err := log.Events(ctx, id, 0)
		if err != nil {
			return nil, err
		}
		found, j, err := record.Inspect(ctx, run, events, inspect.Options{})
		return &inspected{run, j, found}, err
	})
}

// inspectionView is the report with what the page needs besides.
type inspectionView struct {
	Run         string          `json:"run"`
	Title       string          `json:"title"`
	ReadingUnit string          `json:"reading_unit"` // of places: "mm" or "rad"
	Strokes     int             `json:"strokes"`
	Measured    int             `json:"measured"`
	Report      *inspect.Report `json:"report,omitempty"`
}

func (s *Server) getInspection(w http.ResponseWriter, r *http.Request) error {
	in, err := s.inspection(r.Context(), r.PathValue("run"))
	if err != nil {
		return err
	}
	v := inspectionView{Run: in.run.ID, Title: in.run.Title, ReadingUnit: "mm", Strokes: in.run.State.Strokes, Measured: in.run.State.Measured, Report: in.found}
	if in.job.Setup.Engine.Kind == engine.Rose {
		v.ReadingUnit = "rad"
	}
	return answer(w, http.StatusOK, v)
}

// drawn answers with a drawing of the inspection.
func (s *Server) inspectionDrawing(draw func(*inspected, *bytes.Buffer) error) route {
	return func(w http.ResponseWriter, r *http.Request) error {
		in, err := s.inspection(r.Context(), r.PathValue("run"))
		if err != nil {
			return err
		}
		if in.found == nil {
			return notFound("no width was measured in this run yet")
		}
		var b bytes.Buffer
		if err := draw(in, &b); err != nil {
			return err
		}
		return send(w, "image/svg+xml", b.Bytes())
	}
}

func (s *Server) inspectionChart(w http.ResponseWriter, r *http.Request) error {
	return s.inspectionDrawing(func(in *inspected, b *bytes.Buffer) error { return in.found.Chart(b) })(w, r)
}

func (s *Server) inspectionMap(w http.ResponseWriter, r *http.Request) error {
	return s.inspectionDrawing(func(in *inspected, b *bytes.Buffer) error { return in.found.Map(b, &in.job.Setup.Blank) })(w, r)
}

// postWidths takes a table of measured widths into the log of a run. The same table
// sent twice counts once.
func (s *Server) postWidths(w http.ResponseWriter, r *http.Request) error {
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "text/csv" {
		return newProblem(http.StatusUnsupportedMediaType, "request", "The request cannot be meant", "send Content-Type: text/csv")
	}
	id := r.PathValue("run")
	log, err := s.runs.open()
	if err != nil {
		return err
	}
	run, err := log.Run(r.Context(), id)
	if err != nil {
		return err
	}
	readings, err := inspect.ReadWidths(http.MaxBytesReader(w, r.Body, mostReadings), "widths.csv")
	if err != nil {
		return err
	}
	device, err := deviceOf(r, "")
	if err != nil {
		return err
	}
	before, err := log.Events(r.Context(), id, 0)
	if err != nil {
		return err
	}
	known := map[string]bool{}
	for i := range before {
		known[before[i].ID] = true
	}
	events := make([]bench.Event, 0, len(readings))
	twice := map[string]int{}
	for _, one := range readings {
		if one.On || one.Pitch > 0 {
			return badRequest("the widths of a run are told by cut and place along the stroke; a table with x and y or with pitch goes to brightcut inspect")
		}
		text := fmt.Sprint(one.Cut, " ", one.Place, " ", one.Width, " ", one.Note)
		twice[text]++
		sum := sha256.Sum256(fmt.Append(nil, id, " ", text, " ", twice[text]))
		name := fmt.Sprintf("width-%x", sum[:12])
		if known[name] {
			continue
		}
		events = append(events, bench.Event{ID: name, Kind: bench.Measured, Cut: one.Cut, At: time.Now(), Device: device, Seen: run.State.Seq, Reading: one.Place, Width: one.Width, Place: one.Note})
	}
	if len(readings) == 0 {
		return badRequest("the table holds no width")
	}
	if len(events) == 0 {
		return s.getInspection(w, r)
	}
	a, err := log.Append(r.Context(), id, events)
	if err != nil {
		return err
	}
	for _, o := range a.Outcomes {
		if o.Verdict == bench.Refused {
			return newProblem(http.StatusUnprocessableEntity, "request", "Some widths were not taken", "%s; the others were", o.Why)
		}
	}
	s.hub.tell(event{name: "run", data: ran{id, a.Seq, clientOf(r)}})
	return s.getInspection(w, r)
}

// keepCause keeps what a cause, or one of its rivals, corrects of the workshop.
func (s *Server) keepCause(w http.ResponseWriter, r *http.Request) error {
	var body struct {
		Rival int `json:"rival"` // from 1; 0 is the cause itself
	}
	if err := ask(w, r, &body); err != nil {
		return err
	}
	in, err := s.inspection(r.Context(), r.PathValue("run"))
	if err != nil {
		return err
	}
	n, err := strconv.Atoi(r.PathValue("cause"))
	if err != nil || in.found == nil || n < 1 || n > len(in.found.Causes) {
		return notFound("the inspection has no cause %s", r.PathValue("cause"))
	}
	c := &in.found.Causes[n-1]
	of := c.Corrects
	if body.Rival != 0 {
		if body.Rival < 0 || body.Rival > len(c.Rivals) {
			return notFound("the cause has %d others that explain it as well", len(c.Rivals))
		}
		of = c.Rivals[body.Rival-1].Corrects
	}
	s.folderM.Lock()
	_, err = record.Keep(s.folder, time.Now().Format(time.DateOnly), in.run, in.job, of)
	s.folderM.Unlock()
	if err != nil {
		return newProblem(http.StatusUnprocessableEntity, "request", "It cannot be kept", "%v", err)
	}
	s.hub.tell(event{name: "part", data: changed{Kind: "calibrations", ID: in.run.Job, By: clientOf(r)}})
	return s.listCalibrations(w, r)
}
