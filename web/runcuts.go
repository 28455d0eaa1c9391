package web

import (
	"context"
	"net/http"
	"strconv"

	"brightcut/bench"
	"brightcut/engine"
	"brightcut/job"
)

// program is what a frozen job makes, with the words for the engine.
type program struct {
	*bench.Program
	made *made
}

func (p *program) size() int { return p.made.size() + 600*len(p.Cuts) }

// program works out the cuts of a run, or finds them.
func (s *Server) program(r *http.Request) (*program, error) {
	log, err := s.runs.open()
	if err != nil {
		return nil, err
	}
	run, err := log.Run(r.Context(), r.PathValue("run"))
	if err != nil {
		return nil, err
	}
	return s.programs.get(r.Context(), s.ctx, run.ID, func(ctx context.Context) (*program, error) {
		p, err := run.Plan(ctx)
		if err != nil {
			return nil, err
		}
		return &program{p, gather(p.Job, p.List, p.Plan)}, nil
	})
}

// lengths are those of the run's cuts in the metal, mm; nil while its cuts were
// not worked out, which a count does not wait for.
func (s *Server) lengths(l *ledger) []float64 {
	p, ok := s.programs.peek(l.id)
	if !ok {
		return nil
	}
	out := make([]float64, len(p.Cuts))
	for i := range p.Cuts {
		out[i] = p.Cuts[i].Length
	}
	return out
}

type programView struct {
	ReadingUnit string       `json:"reading_unit"`
	Total       int          `json:"total"`
	Circle      int          `json:"circle,omitempty"`
	Dials       []dialView   `json:"dials"`
	After       string       `json:"after_action,omitempty"`
	Cuts        []strokeView `json:"cuts"`
}

type dialView struct {
	Axis string `json:"axis"`
	Name string `json:"name"`
	Unit string `json:"unit"`
}

type strokeView struct {
	Number   int          `json:"number"`
	Written  int          `json:"written"`
	Action   string       `json:"action"`
	Moves    string       `json:"moves"`
	Spans    []strokeSpan `json:"spans"`
	Hold     bench.Hold   `json:"hold"`
	HoldText string       `json:"hold_text"`
	Change   string       `json:"change,omitempty"`
	DepthUM  float64      `json:"depth_um"`
	Settings settings     `json:"settings"`
	Dials    []string     `json:"dials"`
	LengthMM float64      `json:"length_mm"`
}

type strokeSpan struct {
	Start string `json:"start"`
	Stop  string `json:"stop"`
	Ring  bool   `json:"ring,omitempty"`
}

// runCuts tells the whole run, cut by cut. It never changes.
func (s *Server) runCuts(w http.ResponseWriter, r *http.Request) error {
	p, err := s.program(r)
	if err != nil || lasting(w, r, p.Job.Digest) {
		return err
	}
	v := programView{ReadingUnit: "mm", Total: len(p.Cuts), Circle: p.Circle, Dials: []dialView{}, After: p.After, Cuts: make([]strokeView, 0, len(p.Cuts))}
	switch {
	case p.Angle:
		v.ReadingUnit = "deg"
	case p.Job.Units == job.Inch:
		v.ReadingUnit = "in"
	}
	for _, d := range p.Sheet.Scales() {
		v.Dials = append(v.Dials, dialView{axisKey(d.Axis), d.Name, d.Unit})
	}
	for i := range p.Cuts {
		c := &p.Cuts[i]
		one := strokeView{Number: c.Number, Written: c.Written, Action: c.Action, Moves: c.Moves.String(), Spans: []strokeSpan{}, Hold: c.Hold, HoldText: c.HoldText,
			Change: c.Change, DepthUM: tidy(c.Depth * 1000), Settings: settings(c.Settings), Dials: append([]string{}, c.Dials...), LengthMM: tidy(c.Length)}
		for _, at := range c.Spans {
			one.Spans = append(one.Spans, strokeSpan{at.Start, at.Stop, at.Ring})
		}
		v.Cuts = append(v.Cuts, one)
	}
	return answer(w, http.StatusOK, v)
}

func (s *Server) runBinary(w http.ResponseWriter, r *http.Request) error {
	p, err := s.program(r)
	if err != nil || lasting(w, r, p.Job.Digest) {
		return err
	}
	b, err := p.made.binary()
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("Content-Length", strconv.Itoa(len(b)))
	w.Write(b)
	return nil
}

func (s *Server) runPicture(w http.ResponseWriter, r *http.Request) error {
	p, err := s.program(r)
	if err != nil {
		return err
	}
	return s.sendPicture(w, r, r.PathValue("run"), p.made)
}

type candidateView struct {
	Next     int    `json:"next"`
	Last     int    `json:"last"`
	Text     string `json:"text"`
	Distance int    `json:"distance"`
	Unlikely bool   `json:"unlikely,omitempty"`
}

// whereInRun tells where in the run the dials can be.
func (s *Server) whereInRun(w http.ResponseWriter, r *http.Request) error {
	log, err := s.runs.open()
	if err != nil {
		return err
	}
	run, err := log.Run(r.Context(), r.PathValue("run"))
	if err != nil {
		return err
	}
	q := &query{Values: r.URL.Query()}
	shown := bench.Dials{Bar: q.Get("bar")}
	for name, to := range map[string]**int{"slide": &shown.Slide, "index": &shown.Index, "shift": &shown.Shift, "chuck": &shown.Chuck} {
		if q.Get(name) != "" {
			n := q.whole(name, 0, -mostTeeth, mostTeeth)
			*to = &n
		}
	}
	if q.err != nil {
		return q.err
	}
	found := run.Where(shown)
	out := struct {
		Candidates []candidateView `json:"candidates"`
		Total      int             `json:"total"`
		Exact      bool            `json:"exact"`
		Text       string          `json:"text"`
	}{[]candidateView{}, found.Total, found.Exact, found.Text}
	for _, c := range found.Candidates {
		out.Candidates = append(out.Candidates, candidateView{c.Next, c.Last, c.Text, c.Distance, c.Unlikely})
	}
	return answer(w, http.StatusOK, out)
}

// mostTeeth is more than any dial of an engine counts.
const mostTeeth = 1_000_000_000

// axisKey is the key that an axis has in settings.
func axisKey(a engine.Axis) string {
	switch a {
	case engine.SlideAxis:
		return "slide"
	case engine.IndexAxis:
		return "index"
	case engine.ShiftAxis:
		return "shift"
	}
	return "chuck"
}
