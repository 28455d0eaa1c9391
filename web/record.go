package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"mime"
	"net/http"
	"time"

	"brightcut/bench"
	"brightcut/costing"
	"brightcut/job"
	"brightcut/record"
	"brightcut/sheet"
)

// recordPixels is the longer side of a record's picture.
const recordPixels = 1200

// forRecord answers with a record set in type. It is made anew each time: a run
// goes on, and prices change.
func (s *Server) forRecord(kind string, set func(*bytes.Buffer, *record.Record) error) route {
	return func(w http.ResponseWriter, r *http.Request) error {
		zone := time.Local
		if name := r.URL.Query().Get("zone"); name != "" {
			var err error
			if zone, err = time.LoadLocation(name); err != nil || name == "Local" {
				return badRequest("the zone %q is not known; write it as Europe/Berlin, or UTC", name)
			}
		}
		log, err := s.runs.open()
		if err != nil {
			return err
		}
		run, err := log.Run(r.Context(), r.PathValue("run"))
		if err != nil {
			return err
		}
		prices, err := job.ReadPrices(s.fsys)
		if err != nil {
			return err
		}
		_, leave, err := s.easel.come(r.Context(), "record "+clientOf(r), recordPixels)
		if err != nil {
			return err
		}
		defer leave()
		made, err := record.Make(r.Context(), log, run, prices, zone, recordPixels)
		if err != nil {
			return err
		}
		var b bytes.Buffer
		if err := set(&b, made); err != nil {
			return err
		}
		return send(w, kind, b.Bytes())
	}
}

func (s *Server) recordHTML(w http.ResponseWriter, r *http.Request) error {
	return s.forRecord("text/html; charset=utf-8", func(b *bytes.Buffer, made *record.Record) error { return record.WriteHTML(b, made) })(w, r)
}

func (s *Server) recordText(w http.ResponseWriter, r *http.Request) error {
	return s.forRecord("text/plain; charset=utf-8", func(b *bytes.Buffer, made *record.Record) error { return record.WriteText(b, made) })(w, r)
}

func (s *Server) recordPDF(w http.ResponseWriter, r *http.Request) error {
	name := r.URL.Query().Get("paper")
	paper, ok := map[string]sheet.Paper{"": sheet.A4, "a4": sheet.A4, "letter": sheet.Letter}[name]
	if !ok {
		return badRequest("paper is a4 or letter, not %q", name)
	}
	return s.forRecord("application/pdf", func(b *bytes.Buffer, made *record.Record) error {
		w.Header().Set("Content-Disposition", mime.FormatMediaType("inline", map[string]string{"filename": r.PathValue("run") + ".pdf"}))
		return record.WritePDF(b, made, paper)
	})(w, r)
}

// getQuote says what a job takes, by the runs of its engine and the prices.
func (s *Server) getQuote(w http.ResponseWriter, r *http.Request) error {
	m, err := s.cuttable(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	prices, err := job.ReadPrices(s.fsys)
	if err != nil {
		return err
	}
	log, err := s.runs.open()
	if err != nil {
		return err
	}
	runs, err := log.Runs(r.Context())
	if err != nil {
		return err
	}
	key := sha256.New() // what the runs have come to: a count more tells another pace
	for _, one := range runs {
		fmt.Fprintln(key, one.ID, one.State.Seq)
	}
	name := m.job.Setup.Engine.Name
	learned, err := s.learned.get(r.Context(), s.ctx, fmt.Sprintf("%x %s", key.Sum(nil), name), func(ctx context.Context) (bench.Learned, error) {
		return costing.Learn(ctx, log, name)
	})
	if err != nil {
		return err
	}
	return answer(w, http.StatusOK, costing.Of(m.job, m.list, learned, prices).Report(m.job.Title))
}
