package web

import (
	"bytes"
	"io"
	"math"
	"net/http"
	"path"
	"strconv"
	"strings"

	"brightcut/bar"
	"brightcut/job"
	"brightcut/tracing"
)

// mostDrawing bounds a drawing or picture that is dropped, in bytes.
const mostDrawing = 32 << 20

// tracedView is an edge as it was taken from a drawing.
type tracedView struct {
	Rosette bool         `json:"rosette"`
	Unit    string       `json:"unit"` // of places: "mm" or "deg"
	Points  [][2]float64 `json:"points"`
	Drawn   int          `json:"drawn_points"`
	Wave    float64      `json:"wave,omitempty"`
	Waves   float64      `json:"waves,omitempty"`
	Count   int          `json:"count,omitempty"`
	Remarks []string     `json:"remarks"`
	Lines   []lineView   `json:"lines"`
}

// lineView is a line of the drawing that may be asked for.
type lineView struct {
	Index    int      `json:"index"` // from 1
	Names    []string `json:"names"`
	Kind     string   `json:"kind"`
	LengthMM float64  `json:"length_mm"`
}

// mostLines bounds the lines that are told; the longest first would need a choice
// nobody can make from more.
const mostLines = 200

// traceBar reads a drawing that was dropped on a bar and tells the edge that it
// gives. With take= a part of that name is written, and the job is given it.
func (s *Server) traceBar(w http.ResponseWriter, r *http.Request) error {
	id, q := r.PathValue("id"), &query{Values: r.URL.Query()}
	m, err := s.cuttable(r.Context(), id)
	if err != nil {
		return err
	}
	name, e, err := m.edge(q.Get("name"))
	if err != nil {
		return err
	}
	o, t := tracingOf(q, e)
	if q.err != nil {
		return q.err
	}
	text, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostDrawing))
	if err != nil {
		return err
	}
	file := path.Base("/" + strings.ReplaceAll(q.Get("filename"), `\`, "/"))
	if file == "/" || len(file) > 200 {
		file = "drawing"
	}
	d, err := tracing.Read(bytes.NewReader(text), file, o)
	if err != nil {
		return cannot(err)
	}
	if t.Name = q.Get("take"); t.Name == "" {
		t.Name = strings.TrimSuffix(file, path.Ext(file))
	}
	traced, err := d.Edge(t)
	if err != nil {
		return cannot(err)
	}
	remarks := append(d.Remarks, traced.Remarks...)
	if q.Get("take") == "" {
		return answer(w, http.StatusOK, tracedOf(d, traced, remarks))
	}
	head := []string{"Traced from " + file + "."}
	for _, one := range remarks {
		head = append(head, one.Text)
	}
	return s.takeEdge(w, r, id, name, q.Get("take"), q.Get("if_revision"), traced.Edge, head)
}

// takeEdge writes an edge as a part of its own and gives it to the job in place of
// the named one.
func (s *Server) takeEdge(w http.ResponseWriter, r *http.Request, id, name, part, revision string, e bar.Edge, head []string) error {
	folder := "bars"
	if e.Radius > 0 {
		folder = "rosettes"
	}
	e.Name = part
	text, err := job.MarshalEdge(e, head...)
	if err != nil {
		return cannot(err)
	}
	m, err := s.cuttable(r.Context(), id)
	if err != nil {
		return err
	}
	field := m.job.EdgeField(name)
	err = s.change(id, revision, clientOf(r), func(st *state) error {
		file, err := s.freePart(folder, part)
		if err != nil {
			return err
		}
		if err := st.doc.Set(field, file); err != nil {
			return newProblem(http.StatusUnprocessableEntity, "request", "The job cannot be given it", "its bar stands in %s itself, at %s; put it into a file in %s/ first", id, field, folder)
		}
		return s.write(folder+"/"+file+extension, text, clientOf(r))
	})
	if err != nil {
		return err
	}
	return s.answerJob(w, r, http.StatusOK, id)
}

// tracingOf reads how a drawing is to be taken; it is taken as a rosette where the
// job's edge is one.
func tracingOf(q *query, e bar.Edge) (o tracing.Options, t tracing.Take) {
	o = tracing.Options{Unit: q.number("unit", 0, 0, farthest), Radius: e.Radius,
		Photo: tracing.Photo{Distance: q.number("distance", 0, 0, farthest), Threshold: q.number("threshold", 0, 0, 1)}}
	t = tracing.Take{Line: q.Get("line"), Index: q.whole("index", 0, 0, tracing.MaxLines), Silhouette: q.Get("silhouette") != "", Under: q.Get("under") != "",
		Rosette: e.Radius > 0, Spline: q.Get("spline") != "", Count: q.whole("count", 0, 0, 100_000), Tolerance: q.number("tolerance", 0, 0, 10)}
	t.Repeat = map[string]tracing.Repeat{"none": tracing.Whole, "once": tracing.Once}[q.Get("repeat")]
	if marks := q.places("marks", 4); marks != nil {
		o.Photo.Marks = [2]tracing.Pixel{{X: marks[0], Y: marks[1]}, {X: marks[2], Y: marks[3]}}
	}
	if base := q.places("base", 4); base != nil {
		o.Photo.Base = &[2]tracing.Pixel{{X: base[0], Y: base[1]}, {X: base[2], Y: base[3]}}
	}
	return o, t
}

// places reads so many numbers between commas; nil when they are not there.
func (q *query) places(name string, n int) []float64 {
	if q.Get(name) == "" {
		return nil
	}
	var out []float64
	for _, part := range strings.Split(q.Get(name), ",") {
		v, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
		if err != nil || !(math.Abs(v) <= farthest) {
			break
		}
		out = append(out, v)
	}
	if len(out) == n {
		return out
	}
	if q.err == nil {
		q.err = badRequest("%s takes %d numbers between commas", name, n)
	}
	return nil
}

func tracedOf(d *tracing.Drawing, t *tracing.Traced, remarks []tracing.Remark) tracedView {
	v := tracedView{Rosette: t.Edge.Radius > 0, Unit: "mm", Points: [][2]float64{}, Drawn: t.Drawn, Waves: tidy(t.Waves), Remarks: []string{}, Lines: []lineView{}}
	scale := 1.0
	if v.Rosette {
		v.Unit, v.Count, scale = "deg", t.Edge.Count, 180/math.Pi
	}
	v.Wave = tidy(t.Wave * scale)
	step := max(1, len(t.Edge.Drawn)/mostPlaces) // to be looked at; what is taken has all
	for i := 0; i < len(t.Edge.Drawn); i += step {
		p := t.Edge.Drawn[i]
		v.Points = append(v.Points, [2]float64{tidy(p[0] * scale), tidy(p[1])})
	}
	for _, one := range remarks {
		v.Remarks = append(v.Remarks, one.Text)
	}
	for i := range d.Lines {
		if i == mostLines {
			break
		}
		l := &d.Lines[i]
		names := l.Names
		if names == nil {
			names = []string{}
		}
		v.Lines = append(v.Lines, lineView{i + 1, names, l.Kind, math.Round(l.Length()*1000) / 1000})
	}
	return v
}
