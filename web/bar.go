package web

import (
	"errors"
	"maps"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"brightcut/bar"
	"brightcut/fault"
	"brightcut/job"
)

type barView struct {
	Name    string   `json:"name"`
	Bar     string   `json:"bar"`
	Bars    []choice `json:"bars"`
	Rosette bool     `json:"rosette"`
	Figure  string   `json:"figure"`
	Field   string   `json:"field,omitempty"`
	Part    *inPart  `json:"part,omitempty"`
	TouchMM float64  `json:"touch_mm"`
	Unit    string   `json:"unit"`
	Period  float64  `json:"period,omitempty"`
	From    float64  `json:"from"`
	To      float64  `json:"to"`

	At     []float64    `json:"at"`
	EdgeMM []float64    `json:"edge_mm"`
	PathMM []float64    `json:"path_mm"`
	Lost   []lost       `json:"lost"`
	Slight int          `json:"slight,omitempty"` // losses too small to be told
	Kinks  []float64    `json:"kinks"`
	Points [][2]float64 `json:"points,omitempty"`
	Spline bool         `json:"spline,omitempty"`

	SmallestHollowMM *float64 `json:"smallest_hollow_mm,omitempty"`
	SmallestBumpMM   *float64 `json:"smallest_bump_mm,omitempty"`
	SteepestEdgeDeg  float64  `json:"steepest_edge_deg"`
	SteepestPathDeg  float64  `json:"steepest_path_deg"`
	DrawnMM          float64  `json:"drawn_mm"`
	LeftMM           float64  `json:"left_mm"`
}

type lost struct {
	From    float64 `json:"from"`
	To      float64 `json:"to"`
	DepthUM float64 `json:"depth_um"`
}

var figureWords = map[bar.Figure]string{bar.Plain: "plain", bar.Sine: "sine", bar.Trapezoid: "trapezoid", bar.Arcs: "arcs",
	bar.Zigzag: "zigzag", bar.Points: "points", bar.Bumps: "bumps", bar.Harmonics: "harmonics", bar.Blend: "blend"}

// Bounds of a drawing of an edge.
const (
	mostPlaces = 5000
	mostDrawn  = 2000
)

func (s *Server) getBar(w http.ResponseWriter, r *http.Request) error {
	q := &query{Values: r.URL.Query()}
	n := q.whole("n", 600, 2, mostPlaces)
	if q.err != nil {
		return q.err
	}
	m, err := s.cuttable(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	name, e, err := m.edge(q.Get("name"))
	if err != nil || lasting(w, r, m.job.Digest) {
		return err
	}
	return m.answerBar(w, name, e, n)
}

// edge finds a bar of the job; without a name the one on the engine at the start.
func (m *made) edge(name string) (string, bar.Edge, error) {
	setup := &m.job.Setup
	if name == "" {
		for _, n := range append([]string{setup.Bar, setup.Pump}, slices.Sorted(maps.Keys(setup.Bars))...) {
			if n != "" {
				name = n
				break
			}
		}
	}
	e, ok := setup.Bars[name]
	if !ok {
		return "", e, notFound("the job has no bar or rosette %q", name)
	}
	return name, e, nil
}

func (m *made) answerBar(w http.ResponseWriter, name string, e bar.Edge, n int) error {
	profile, err := e.Profile()
	if err != nil {
		return err
	}
	path, err := profile.Follow(m.job.Setup.Touch)
	if err != nil {
		return err
	}
	v := barView{Name: e.Name, Bar: name, Rosette: e.Radius > 0, Figure: figureWords[e.Figure], Field: m.job.EdgeField(name), TouchMM: m.job.Setup.Touch,
		Unit: "mm", Lost: []lost{}, Kinks: []float64{}, Spline: e.Spline}
	scale := 1.0
	if v.Rosette {
		v.Unit, scale = "deg", 180/math.Pi
	}
	for _, known := range slices.Sorted(maps.Keys(m.job.Setup.Bars)) {
		v.Bars = append(v.Bars, choice{known, m.job.Setup.Bars[known].Name})
	}
	from, to := drawnSpan(e)
	v.Period, v.From, v.To = e.Period()*scale, from*scale, to*scale
	for i := range n {
		at := from + (to-from)*float64(i)/float64(n-1)
		h, _ := profile.Height(at)
		lift, _ := path.At(at)
		v.At, v.EdgeMM, v.PathMM = append(v.At, tidy(at*scale)), append(v.EdgeMM, tidy(h)), append(v.PathMM, tidy(lift))
	}
	report := path.Report()
	into := func(s float64) float64 { // the stretch that is drawn
		if p := e.Period(); p > 0 {
			return s - p*math.Floor((s-from)/p)
		}
		return s
	}
	told, slight := report.Told()
	v.Slight = slight
	for i, l := range told {
		if i == mostPlaces {
			break
		}
		at := into(l.From)
		v.Lost = append(v.Lost, lost{at * scale, (at + l.To - l.From) * scale, l.Depth * 1000})
	}
	for i, k := range path.Kinks() {
		if i == mostPlaces {
			break
		}
		v.Kinks = append(v.Kinks, into(k)*scale)
	}
	if e.Figure == bar.Points {
		for _, p := range e.Drawn {
			v.Points = append(v.Points, [2]float64{tidy(p[0] * scale), tidy(p[1])})
		}
	}
	if report.HasHollow {
		v.SmallestHollowMM = &report.SmallestHollow
	}
	if report.HasBump {
		v.SmallestBumpMM = &report.SmallestBump
	}
	v.SteepestEdgeDeg, v.SteepestPathDeg = degrees(report.SteepestSlope), degrees(report.SteepestPath)
	v.DrawnMM, v.LeftMM = report.Drawn, report.Left
	return answer(w, http.StatusOK, v)
}

// drawnSpan is the stretch of an edge worth drawing: one period, from the first point
// if it is drawn by points, all of a bar that does not repeat, or some of one that is
// plain.
func drawnSpan(e bar.Edge) (from, to float64) {
	if p := e.Period(); p > 0 {
		if e.Figure == bar.Points {
			from = e.Drawn[0][0]
		}
		return from, from + p
	}
	if from, to = e.Span(); !math.IsInf(from, 0) && !math.IsInf(to, 0) {
		return from, to
	}
	return -10, 10
}

// drawn is an edge drawn by points, mm along a bar or degrees round a rosette.
type drawn struct {
	Name     string       `json:"name"`
	Points   [][2]float64 `json:"points"`
	Spline   bool         `json:"spline"`
	Revision string       `json:"if_revision"`
	Scope    string       `json:"scope"`
	PartName string       `json:"part_name"`
}

func (d *drawn) check() error {
	if len(d.Points) < 2 || len(d.Points) > mostDrawn {
		return badRequest("an edge is drawn by 2 to %d points, not %d", mostDrawn, len(d.Points))
	}
	for i, p := range d.Points {
		if !(math.Abs(p[0]) <= farthest && math.Abs(p[1]) <= farthest) {
			return badRequest("points[%d] lies out of reach", i)
		}
	}
	return nil
}

// onto makes e an edge drawn by the points.
func (d *drawn) onto(e bar.Edge) bar.Edge {
	out := bar.Edge{Name: e.Name, Figure: bar.Points, Radius: e.Radius, Count: e.Count, Length: e.Length, Spline: d.Spline,
		Repeats: e.Radius == 0 && (e.Figure != bar.Points || e.Repeats)}
	for _, p := range d.Points {
		if e.Radius > 0 {
			p[0] *= math.Pi / 180
		}
		out.Drawn = append(out.Drawn, p)
	}
	return out
}

// barTry shows what an edge would be, without writing it.
func (s *Server) barTry(w http.ResponseWriter, r *http.Request) error {
	var body drawn
	if err := ask(w, r, &body); err != nil {
		return err
	}
	if err := body.check(); err != nil {
		return err
	}
	m, err := s.cuttable(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	name, e, err := m.edge(body.Name)
	if err != nil {
		return err
	}
	err = m.answerBar(w, name, body.onto(e), 600)
	var faults fault.List
	if errors.As(err, &faults) {
		return cannot(faults)
	}
	return err
}

func (s *Server) barPoints(w http.ResponseWriter, r *http.Request) error {
	var body drawn
	if err := ask(w, r, &body); err != nil {
		return err
	}
	if err := body.check(); err != nil {
		return err
	}
	id := r.PathValue("id")
	m, err := s.cuttable(r.Context(), id)
	if err != nil {
		return err
	}
	name, e, err := m.edge(body.Name)
	if err != nil {
		return err
	}
	if _, err := body.onto(e).Profile(); err != nil {
		return cannot(err)
	}
	field := m.job.EdgeField(name)
	err = s.change(id, body.Revision, clientOf(r), func(st *state) error {
		return s.within(st, field+".points", body.Scope, body.PartName, clientOf(r), func(d *job.Document, field string) error {
			return body.write(d, strings.TrimSuffix(field, "points"), e)
		})
	})
	if err != nil {
		return err
	}
	return s.answerJob(w, r, http.StatusOK, id)
}

// write makes the edge whose keys begin with prefix one drawn by the points.
func (d *drawn) write(doc *job.Document, prefix string, e bar.Edge) error {
	has := map[string]string{}
	for _, v := range doc.Values(mostValues) {
		has[v.Path] = v.Text
	}
	unit := 1.0
	if has["units"] == "inch" {
		unit = 25.4
	}
	number := func(v float64) string {
		return strconv.FormatFloat(math.Round(v*1e5)/1e5+0, 'f', -1, 64)
	}
	var words []string
	for _, p := range d.Points {
		along := p[0]
		if e.Radius == 0 {
			along /= unit
		}
		words = append(words, "["+number(along)+", "+number(p[1]/unit)+"]")
	}
	if err := doc.Put(prefix+"points", "["+strings.Join(words, ", ")+"]"); err != nil {
		return err
	}
	if err := doc.Set(prefix+"figure", "points"); err != nil {
		return err
	}
	for _, key := range []string{"wave", "amplitude", "crest", "hollow", "nose", "root", "heights"} {
		_, one := has[prefix+key]
		if _, many := has[prefix+key+"[0]"]; !one && !many {
			continue
		}
		if err := doc.Remove(prefix + key); err != nil {
			return err
		}
	}
	if _, told := has[prefix+"spline"]; told || d.Spline {
		if err := doc.Set(prefix+"spline", strconv.FormatBool(d.Spline)); err != nil {
			return err
		}
	}
	if e.Radius == 0 && e.Figure != bar.Points {
		return doc.Set(prefix+"repeats", "true")
	}
	return nil
}
