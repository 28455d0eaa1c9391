package web

import (
	"bytes"
	"math"
	"mime"
	"net/http"
	"path"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/export"
)

var exportTypes = map[string]string{
	"svg": "image/svg+xml", "dxf": "image/vnd.dxf", "pdf": "application/pdf", "png": "image/png", "csv": "text/csv; charset=utf-8",
	"ngc": "text/plain; charset=utf-8", "stl": "model/stl", "3mf": "model/3mf", "obj": "model/obj",
}

// mostExport bounds what is written in memory before it is sent: whole or not at
// all. The command streams to a file and takes what is larger.
const mostExport = 256 << 20

// exportJob sends what the job makes in the formats of other programs:
// "cuts.dxf", "surface.stl", "bar.svg".
func (s *Server) exportJob(w http.ResponseWriter, r *http.Request) error {
	q := &query{Values: r.URL.Query()}
	file := r.PathValue("file")
	format := strings.TrimPrefix(path.Ext(file), ".")
	o := export.UsualOrder(export.Subject(strings.TrimSuffix(file, path.Ext(file))), format)
	if l := o.Check(); len(l) > 0 {
		return notFound("%s: %s; %s", file, l[0].Problem, l[0].Mend)
	}
	if q.Get("dxf") == "r12" {
		o.DXF = export.R12
	}
	if q.Get("paper") == "letter" {
		o.Paper = export.Letter
	}
	o.Pixels = q.number("pixels", 0, 0, 1000)
	if t := q.number("tolerance", 0, 0, 10); t > 0 {
		o.Tolerance, o.Relief = t, t
	}
	o.Thickness = q.number("thickness", o.Thickness, 0, farthest)
	o.Milling.Thickness = o.Thickness
	o.Milling.Cutter = q.number("cutter", o.Milling.Cutter, 0, farthest)
	o.Shape.From, o.Shape.To = q.number("from", 0, -farthest, farthest), q.number("to", 0, -farthest, farthest)
	o.Shape.Back, o.Shape.Ends, o.Shape.Bore = q.number("back", 0, 0, farthest), q.number("ends", 0, 0, farthest), q.number("bore", 0, 0, farthest)
	o.Milling.Inch = q.Get("inch") != ""
	o.Engraving.Inch = o.Milling.Inch
	if text := q.Get("letters"); text != "" {
		o.Name = &export.Lettering{Text: text}
	}
	if v := q.places("window", 4); v != nil && q.err == nil {
		o.Window = &r2.Box{Min: r2.Vec{X: min(v[0], v[2]), Y: min(v[1], v[3])}, Max: r2.Vec{X: max(v[0], v[2]), Y: max(v[1], v[3])}}
	}
	if q.err != nil {
		return q.err
	}
	m, err := s.cuttable(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	b := &bounded{most: mostExport}
	if o.Subject == export.Edge {
		_, e, err := m.edge(q.Get("name"))
		if err != nil {
			return err
		}
		if from, _ := e.Span(); math.IsInf(from, 0) {
			o.Of(m.job)
		}
		_, err = o.Edge(r.Context(), b, e)
		if err != nil {
			return exported(err)
		}
	} else {
		work, err := m.job.Work(m.list)
		if err != nil {
			return err
		}
		p := m
		if m.job.Planned() {
			if p, err = s.planned(r.Context(), m); err != nil {
				return err
			}
		}
		if _, err = o.Job(r.Context(), b, m.job, m.list, p.plan, work.Stock); err != nil {
			return exported(err)
		}
	}
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": r.PathValue("id") + "-" + file}))
	return send(w, exportTypes[format], b.Bytes())
}

// exported finds the words for what could not be written.
func exported(err error) error {
	p := asProblem(cannot(err))
	p.Title = "It cannot be written so"
	return p
}

// bounded is a buffer that refuses to grow beyond a limit.
type bounded struct {
	bytes.Buffer
	most int
}

func (b *bounded) Write(p []byte) (int, error) {
	if b.Len()+len(p) > b.most {
		return 0, newProblem(http.StatusRequestEntityTooLarge, "request", "The file would be too large", "more than %d MB; ask for a smaller window or a coarser tolerance, or use brightcut export", b.most>>20)
	}
	return b.Buffer.Write(p)
}
