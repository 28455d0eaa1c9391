package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"math"
	"mime"
	"net/http"
	"regexp"
	"strconv"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/light"
	"brightcut/sheet"
	"brightcut/surface"
)

// forJob answers with something that a job's digest makes.
func (s *Server) forJob(w http.ResponseWriter, r *http.Request, send func(*made) error) error {
	m, err := s.cuttable(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	if lasting(w, r, m.job.Digest) {
		return nil
	}
	if m, err = s.deep(r.Context(), m); err != nil {
		return err
	}
	return send(m)
}

func send(w http.ResponseWriter, kind string, b []byte) error {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Length", strconv.Itoa(len(b)))
	w.Write(b)
	return nil
}

var styles = regexp.MustCompile(`(?s)<style>(.*?)</style>`)

// sheetHTML serves the sheet, which the page shows in a frame and prints. Its
// one style is allowed by its hash, and nothing else is.
func (s *Server) sheetHTML(w http.ResponseWriter, r *http.Request) error {
	return s.forJob(w, r, func(m *made) error {
		var b bytes.Buffer
		if err := sheet.WriteHTML(&b, m.sheet); err != nil {
			return err
		}
		policy := "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'self'; style-src"
		for _, style := range styles.FindAllSubmatch(b.Bytes(), -1) {
			sum := sha256.Sum256(style[1])
			policy += " 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
		}
		w.Header().Set("Content-Security-Policy", policy)
		return send(w, "text/html; charset=utf-8", b.Bytes())
	})
}

func (s *Server) sheetText(w http.ResponseWriter, r *http.Request) error {
	return s.forJob(w, r, func(m *made) error {
		var b bytes.Buffer
		if err := sheet.WriteText(&b, m.sheet); err != nil {
			return err
		}
		return send(w, "text/plain; charset=utf-8", b.Bytes())
	})
}

// lookPixels is the longer side of the picture on a printed cut sheet.
const lookPixels = 820

func (s *Server) sheetPDF(w http.ResponseWriter, r *http.Request) error {
	name := r.URL.Query().Get("paper")
	paper, ok := map[string]sheet.Paper{"": sheet.A4, "a4": sheet.A4, "letter": sheet.Letter}[name]
	if !ok {
		return badRequest("paper is a4 or letter, not %q", name)
	}
	return s.forJob(w, r, func(m *made) error {
		b, err := s.papers.get(r.Context(), s.ctx, m.job.Digest+" "+strconv.Itoa(int(paper)), func(ctx context.Context) ([]byte, error) {
			lit := *m.sheet
			scene, _ := m.job.Scene() // of silver, where the look of the metal is not known
			a := asked{view: light.Whole(&m.job.Setup.Blank, lookPixels), scene: scene, upto: len(m.list.Cuts)}
			png, err := m.draw(ctx, a, nil)
			if err != nil {
				return nil, err
			}
			lit.Look = &sheet.Look{PNG: png, W: a.view.W, H: a.view.H, Across: a.view.Width, About: scene.String()}
			var b bytes.Buffer
			err = sheet.WritePDF(&b, &lit, paper)
			return b.Bytes(), err
		})
		if err != nil {
			return err
		}
		w.Header().Set("Content-Disposition", mime.FormatMediaType("inline", map[string]string{"filename": r.PathValue("id") + ".pdf"}))
		return send(w, "application/pdf", b)
	})
}

func (s *Server) getFigures(w http.ResponseWriter, r *http.Request) error {
	return s.forJob(w, r, func(m *made) error {
		f, err := s.figures.get(r.Context(), s.ctx, m.job.Digest, func(ctx context.Context) (surface.Figures, error) {
			return surface.Measure(ctx, m.list, &m.job.Setup, m.job.Metal)
		})
		if err != nil {
			return err
		}
		return answer(w, http.StatusOK, f)
	})
}

// mostHeights bounds a section.
const mostHeights = 20_000

func (s *Server) section(w http.ResponseWriter, r *http.Request) error {
	q := &query{Values: r.URL.Query()}
	for _, name := range []string{"ax", "ay", "bx", "by"} {
		if q.Get(name) == "" {
			return badRequest("a section goes from ax, ay to bx, by; %s is missing", name)
		}
	}
	a := r2.Vec{X: q.number("ax", 0, -farthest, farthest), Y: q.number("ay", 0, -farthest, farthest)}
	b := r2.Vec{X: q.number("bx", 0, -farthest, farthest), Y: q.number("by", 0, -farthest, farthest)}
	n := q.whole("n", 1000, 2, mostHeights)
	if q.err != nil {
		return q.err
	}
	if a == b {
		return badRequest("the section has no length")
	}
	return s.forJob(w, r, func(m *made) error {
		carver, err := m.carver()
		if err != nil {
			return err
		}
		z, err := carver.Section(r.Context(), a, b, n)
		if err != nil {
			return err
		}
		out := struct {
			LengthMM float64   `json:"length_mm"`
			Heights  []float64 `json:"heights_um"`
			Flat     bool      `json:"flat"`
		}{r2.Norm(r2.Sub(b, a)), make([]float64, len(z)), true}
		for i, v := range z {
			out.Heights[i] = math.Round(v*1e6) / 1e3 // to a nanometre
			out.Flat = out.Flat && v >= 0
		}
		return answer(w, http.StatusOK, out)
	})
}
