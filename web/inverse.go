package web

import (
	"math"
	"net/http"

	"brightcut/bar"
)

// inverseView is the edge that gives a path wanted.
type inverseView struct {
	Unit             string    `json:"unit"`
	Possible         bool      `json:"possible"`
	FallUM           float64   `json:"fall_um"`
	Missed           []lost    `json:"missed"`
	NearestOffUM     float64   `json:"nearest_off_um"`
	SmallestHollowMM *float64  `json:"smallest_hollow_mm,omitempty"`
	SteepestDeg      float64   `json:"steepest_deg"`
	Steep            bool      `json:"steep"` // above the angle at which the thrust is felt
	ToolLeaves       []lost    `json:"tool_leaves"`
	DepartureUM      *float64  `json:"departure_um,omitempty"`
	At               []float64 `json:"at"`
	WantedMM         []float64 `json:"wanted_mm"`
	EdgeMM           []float64 `json:"edge_mm"`
	PathMM           []float64 `json:"path_mm"`
}

// barInverse takes the job's bar as the path wanted on the work and tells the edge
// that gives it; with take it is written as a part of that name and given to the job.
func (s *Server) barInverse(w http.ResponseWriter, r *http.Request) error {
	var body struct {
		Name     string   `json:"name"`
		TouchMM  *float64 `json:"touch_mm"`
		ToolMM   float64  `json:"tool_mm"`
		Nearest  bool     `json:"nearest"`
		Take     string   `json:"take"`
		Revision string   `json:"if_revision"`
	}
	if err := ask(w, r, &body); err != nil {
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
	engine := &m.job.Setup.Engine
	want := bar.Want{Path: e, Lever: engine.Lever, Touch: m.job.Setup.Touch, Tool: body.ToolMM}
	if e.Radius > 0 {
		if want.Lever = engine.Rocking; name == m.job.Setup.Pump {
			want.Lever = engine.Pumping
		}
	}
	if body.TouchMM != nil {
		want.Touch = *body.TouchMM
	}
	v, err := want.Inverse()
	if err != nil {
		return cannot(err)
	}
	made := v.Edge
	if body.Nearest {
		made = v.Nearest
	}
	if body.Take != "" {
		return s.takeEdge(w, r, id, name, body.Take, body.Revision, made, []string{"The edge that gives the path of " + e.Name + " on the work."})
	}
	out, err := inverseOf(v, e, made)
	if err != nil {
		return cannot(err)
	}
	return answer(w, http.StatusOK, out)
}

func inverseOf(v *bar.Inverse, wanted, made bar.Edge) (inverseView, error) {
	scale := 1.0
	out := inverseView{Unit: "mm", Possible: len(v.Missed) == 0, FallUM: micron(v.Fall), NearestOffUM: micron(v.Off), Missed: []lost{}, ToolLeaves: []lost{},
		SteepestDeg: tidy(degrees(v.Steepest)), Steep: v.Steepest > bar.UsualAngle}
	if wanted.Radius > 0 {
		out.Unit, scale = "deg", 180/math.Pi
	}
	for i, one := range v.Missed {
		if i == mostPlaces {
			break
		}
		out.Missed = append(out.Missed, lost{tidy(one.From * scale), tidy(one.To * scale), micron(one.Fall)})
	}
	if v.HasHollow {
		h := tidy(v.SmallestHollow)
		out.SmallestHollowMM = &h
	}
	if v.Cut != nil {
		for i, l := range v.Cut.Left {
			if i == mostPlaces {
				break
			}
			out.ToolLeaves = append(out.ToolLeaves, lost{tidy(l.From * scale), tidy(l.To * scale), micron(l.Depth)})
		}
		d := micron(v.Departure)
		out.DepartureUM = &d
	}
	want, err := wanted.Profile()
	if err != nil {
		return out, err
	}
	edge, err := made.Profile()
	if err != nil {
		return out, err
	}
	const n = 600
	from, to := drawnSpan(wanted)
	for i := range n {
		at := from + (to-from)*float64(i)/(n-1)
		h, _ := want.Height(at)
		g, _ := edge.Height(at)
		motion, _ := v.At(at)
		out.At, out.WantedMM, out.EdgeMM, out.PathMM = append(out.At, tidy(at*scale)), append(out.WantedMM, tidy(h)), append(out.EdgeMM, tidy(g)), append(out.PathMM, tidy(motion))
	}
	return out, nil
}
