package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"mime"
	"net/http"
	"syscall"

	"brightcut/fault"
)

// problem is an error of the API, told as RFC 9457 has it.
type problem struct {
	Type     string  `json:"type"`
	Title    string  `json:"title"`
	Status   int     `json:"status"`
	Detail   string  `json:"detail,omitempty"`
	Faults   []told  `json:"faults,omitempty"`
	Text     *string `json:"text,omitempty"`     // of a conflict: the file on the disk
	Revision string  `json:"revision,omitempty"` // and its revision
	Part     *inPart `json:"part,omitempty"`
}

// told is a fault as the page hears it.
type told struct {
	File       string `json:"file"`
	Line       int    `json:"line,omitempty"`
	Column     int    `json:"column,omitempty"`
	Field      string `json:"field,omitempty"`
	Path       string `json:"path,omitempty"`
	SourceLine string `json:"source_line,omitempty"`
	Problem    string `json:"problem"`
	Mend       string `json:"mend,omitempty"`
}

func (p *problem) Error() string { return p.Title + ": " + p.Detail }

func newProblem(status int, kind, title, format string, values ...any) *problem {
	return &problem{Type: "/problems/" + kind, Title: title, Status: status, Detail: fmt.Sprintf(format, values...)}
}

func badRequest(format string, values ...any) *problem {
	return newProblem(http.StatusBadRequest, "request", "The request cannot be meant", format, values...)
}

// cannot is a change that its document does not allow.
func cannot(err error) error {
	var faults fault.List
	if errors.As(err, &faults) {
		return &problem{Type: "/problems/faults", Title: "The change would break the file", Status: http.StatusUnprocessableEntity, Detail: err.Error(), Faults: tell(faults, nil)}
	}
	return newProblem(http.StatusUnprocessableEntity, "request", "The change cannot be made", "%v", err)
}

func notFound(format string, values ...any) *problem {
	return newProblem(http.StatusNotFound, "not-found", "There is no such thing", format, values...)
}

// tell prepares faults for the page. lead gives the path in the job of what
// stands in a part's file.
func tell(faults fault.List, lead func(fault.Fault) string) []told {
	out := make([]told, 0, len(faults))
	for _, f := range faults {
		t := told{f.Origin.File, f.Origin.Line, f.Origin.Column, f.Field, f.Field, f.Line, f.Problem, f.Mend}
		if lead != nil {
			t.Path = lead(f)
		}
		out = append(out, t)
	}
	return out
}

// statusGone is what is logged for a client that did not wait.
const statusGone = 499

// asProblem finds the words for any error.
func asProblem(err error) *problem {
	var p *problem
	var faults fault.List
	var tooLarge *http.MaxBytesError
	if p := asLogProblem(err); p != nil {
		return p
	}
	switch {
	case errors.As(err, &p):
		return p
	case errors.As(err, &faults):
		return &problem{Type: "/problems/faults", Title: "The job cannot be cut as it stands", Status: http.StatusUnprocessableEntity,
			Detail: fmt.Sprintf("%d to mend", len(faults)), Faults: tell(faults, nil)}
	case errors.As(err, &tooLarge):
		return newProblem(http.StatusRequestEntityTooLarge, "request", "The request is too large", "at most %d bytes are taken", tooLarge.Limit)
	case errors.Is(err, context.DeadlineExceeded):
		return newProblem(http.StatusServiceUnavailable, "busy", "This takes too long", "ask for less: fewer pixels, or a job with fewer cuts")
	case errors.Is(err, context.Canceled):
		return newProblem(statusGone, "superseded", "Nobody waits any more", "the client went, or the server is stopping")
	case errors.Is(err, syscall.ENOSPC):
		return newProblem(http.StatusInternalServerError, "server", "The disk is full", "nothing was changed; make room and try again")
	case errors.Is(err, fs.ErrPermission):
		return newProblem(http.StatusInternalServerError, "server", "The folder may not be written", "nothing was changed: %v", err)
	}
	return newProblem(http.StatusInternalServerError, "server", "The machine failed", "%v", err)
}

// route is a handler that may fail.
type route func(w http.ResponseWriter, r *http.Request) error

func (f route) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	err := f(w, r)
	if err == nil {
		return
	}
	p := asProblem(err)
	if p.Status == statusGone && r.Context().Err() != nil {
		return
	}
	h := w.Header()
	for _, name := range []string{"Content-Length", "Etag", "Last-Modified"} {
		h.Del(name)
	}
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Type", "application/problem+json")
	w.WriteHeader(p.Status)
	encode(w, p)
}

func encode(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// answer sends v as JSON.
func answer(w http.ResponseWriter, status int, v any) error {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	encode(w, v) // the client may have gone
	return nil
}

// Bodies of a request, in bytes.
const (
	mostBody     = 2 << 20
	mostReadings = 8 << 20
)

// ask reads the JSON body of a request, one value without unknown keys.
func ask(w http.ResponseWriter, r *http.Request, v any) error {
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "application/json" {
		return newProblem(http.StatusUnsupportedMediaType, "request", "The request cannot be meant", "send Content-Type: application/json")
	}
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, mostBody))
	d.DisallowUnknownFields()
	err := d.Decode(v)
	if err == nil {
		if _, more := d.Token(); more != io.EOF {
			err = errors.New("something stands behind the value")
		}
	}
	var tooLarge *http.MaxBytesError
	if err != nil && !errors.As(err, &tooLarge) {
		return badRequest("the body cannot be read as JSON: %v", err)
	}
	return err
}
