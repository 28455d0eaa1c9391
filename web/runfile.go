package web

import (
	"bytes"
	"errors"
	"mime"
	"net/http"
)

// mostRunFile bounds the file of a run that comes in, in bytes; it is read into
// memory. A run of 10 000 cuts has about 2 MB.
const mostRunFile = 64 << 20

// exportRun sends a run as one file.
func (s *Server) exportRun(w http.ResponseWriter, r *http.Request) error {
	log, err := s.runs.open()
	if err != nil {
		return err
	}
	id := r.PathValue("run")
	var b bytes.Buffer // whole or not at all
	if err := log.Export(r.Context(), id, &b); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/octet-stream")
	h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": id + ".run"}))
	w.Write(b.Bytes())
	return nil
}

// importRun takes a run in from its file.
func (s *Server) importRun(w http.ResponseWriter, r *http.Request) error {
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "application/octet-stream" {
		return newProblem(http.StatusUnsupportedMediaType, "request", "The request cannot be meant", "send Content-Type: application/octet-stream")
	}
	log, err := s.runs.open()
	if err != nil {
		return err
	}
	if !s.importM.TryLock() {
		return newProblem(http.StatusServiceUnavailable, "busy", "A run is being taken in", "wait until that is done, and send this one again")
	}
	defer s.importM.Unlock()
	body := http.MaxBytesReader(w, r.Body, mostRunFile)
	id, err := log.Import(r.Context(), body)
	if err != nil {
		var tooLarge *http.MaxBytesError
		if asLogProblem(err) != nil || errors.As(err, &tooLarge) || r.Context().Err() != nil {
			return err
		}
		return newProblem(http.StatusUnprocessableEntity, "request", "The file is not taken in", "%v", err)
	}
	run, err := log.Run(r.Context(), id)
	if err != nil {
		return err
	}
	s.hub.tell(event{name: "run", data: ran{id, run.State.Seq, clientOf(r)}})
	return s.sendRun(w, r, http.StatusCreated, id)
}
