package web

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"net/http"

	"brightcut/depth"
	"brightcut/engine"
	"brightcut/light"
)

type depthView struct {
	ReadingUnit   string       `json:"reading_unit"`
	WishedDepthUM float64      `json:"wished_depth_um"`
	WishedWidthUM float64      `json:"wished_width_um"`
	Tolerance     float64      `json:"tolerance"`
	Closed        bool         `json:"closed"`
	Begin         int          `json:"begin"`
	Advance       string       `json:"advance"`
	Choices       []planChoice `json:"choices"`
	Holds         []planHold   `json:"holds"`
	Compared      []planSpread `json:"compared"`
	Cuts          []cutDepth   `json:"cuts"`
}

type planChoice struct {
	Kind   string `json:"kind"`
	First  int    `json:"first,omitempty"`
	Last   int    `json:"last,omitempty"`
	Forced bool   `json:"forced,omitempty"`
	Text   string `json:"text"`
}

type planHold struct {
	First  int      `json:"first"`
	Last   int      `json:"last"`
	By     string   `json:"by"`
	Groove int      `json:"groove,omitempty"`
	Read   *float64 `json:"reading,omitempty"`
	LiftUM *float64 `json:"lift_um,omitempty"`
	Text   string   `json:"text"`
}

type span struct {
	Min  float64 `json:"min"`
	Mean float64 `json:"mean"`
	Max  float64 `json:"max"`
}

type planSpread struct {
	Way    string  `json:"way"`
	Width  span    `json:"width_um"`
	StepUM float64 `json:"step_um"`
	StepTo int     `json:"step_to,omitempty"`
	Within float64 `json:"within"`
	Out    int     `json:"out"`
}

type cutDepth struct {
	Number    int     `json:"number"`
	Written   int     `json:"written"`
	By        string  `json:"by"`
	Depth     span    `json:"depth_um"`
	Width     span    `json:"width_um"`
	Reference string  `json:"reference"`
	LoweredUM float64 `json:"lowered_um,omitempty"`
	StepUM    float64 `json:"step_um"`
}

// micron tells a length in micrometres, to a tenth of a nanometre.
func micron(mm float64) float64 { return math.Round(mm*1e7)/1e4 + 0 }

func microns(r depth.Range) span { return span{micron(r.Min), micron(r.Mean), micron(r.Max)} }

// forPlan answers with something that the plan of a job's depth holds.
func (s *Server) forPlan(w http.ResponseWriter, r *http.Request, send func(*made) error) error {
	m, err := s.cuttable(r.Context(), r.PathValue("id"))
	if err != nil || lasting(w, r, m.job.Digest) {
		return err
	}
	if m, err = s.planned(r.Context(), m); err != nil {
		return err
	}
	return send(m)
}

func (s *Server) getDepth(w http.ResponseWriter, r *http.Request) error {
	return s.forPlan(w, r, func(m *made) error { return answer(w, http.StatusOK, m.depth()) })
}

// depth tells the plan.
func (m *made) depth() depthView {
	p, setup := m.plan, &m.job.Setup
	v := depthView{ReadingUnit: "mm", WishedDepthUM: micron(setup.Depth), WishedWidthUM: micron(setup.Cutter.Width(setup.Depth)),
		Tolerance: p.Tolerance, Closed: p.Closed, Begin: p.Begin, Advance: p.Advance.String(),
		Choices: []planChoice{}, Holds: []planHold{}, Compared: []planSpread{}, Cuts: make([]cutDepth, 0, len(p.Prediction.Cuts))}
	reading := tidy
	if setup.Engine.Kind == engine.Rose {
		v.ReadingUnit = "deg"
		reading = func(rad float64) float64 { return tidy(degrees(rad)) }
	}
	for _, c := range p.Choices {
		v.Choices = append(v.Choices, planChoice{c.Kind, c.First, c.Last, c.Forced, c.Text})
	}
	for _, h := range p.Holds {
		one := planHold{First: h.First, Last: h.Last, By: h.By.String(), Text: h.String()}
		if h.By == depth.ByStop {
			at, lift := reading(h.Reading), micron(h.Lift)
			one.Groove, one.Read, one.LiftUM = h.Groove, &at, &lift
		}
		v.Holds = append(v.Holds, one)
	}
	for _, c := range p.Compared {
		v.Compared = append(v.Compared, planSpread{c.Name, microns(c.Width), micron(c.Step), c.StepTo, tidy(c.Within), c.Out})
	}
	for _, c := range p.Prediction.Cuts {
		v.Cuts = append(v.Cuts, cutDepth{c.Number, c.Written, c.By.String(), microns(c.Depth), microns(c.Width), c.Reference.String(), micron(c.Lowered), micron(c.Step)})
	}
	return v
}

type placesView struct {
	Cut       int       `json:"cut"`
	At        []float64 `json:"at"`
	X         []float64 `json:"x"`
	Y         []float64 `json:"y"`
	Stock     []float64 `json:"stock_um"`
	Ground    []float64 `json:"ground_um"`
	Tip       []float64 `json:"tip_um"`
	Depth     []float64 `json:"depth_um"`
	Width     []float64 `json:"width_um"`
	Reference []string  `json:"reference"`
}

func (s *Server) depthPlaces(w http.ResponseWriter, r *http.Request) error {
	q := &query{Values: r.URL.Query()}
	cut := q.whole("cut", 1, 1, math.MaxInt32)
	if q.err != nil {
		return q.err
	}
	return s.forPlan(w, r, func(m *made) error {
		if cut > len(m.plan.Prediction.Cuts) {
			return notFound("the plan has no cut %d; its last is %d", cut, len(m.plan.Prediction.Cuts))
		}
		reading := tidy
		if m.job.Setup.Engine.Kind == engine.Rose {
			reading = func(rad float64) float64 { return tidy(degrees(rad)) }
		}
		places := m.plan.Prediction.Places(cut)
		v := placesView{Cut: cut, At: []float64{}, X: []float64{}, Y: []float64{}, Stock: []float64{}, Ground: []float64{}, Tip: []float64{},
			Depth: []float64{}, Width: []float64{}, Reference: []string{}}
		for _, p := range places {
			v.At, v.X, v.Y = append(v.At, reading(p.Reading)), append(v.X, tidy(p.X)), append(v.Y, tidy(p.Y))
			v.Stock, v.Ground, v.Tip = append(v.Stock, micron(p.Stock)), append(v.Ground, micron(p.Ground)), append(v.Tip, micron(p.Tip))
			v.Depth, v.Width = append(v.Depth, micron(p.Depth)), append(v.Width, micron(p.Width))
			v.Reference = append(v.Reference, p.Reference.String())
		}
		return answer(w, http.StatusOK, v)
	})
}

// depthCuts is cuts.bin with the planned depths, in the plan's order.
func (s *Server) depthCuts(w http.ResponseWriter, r *http.Request) error {
	return s.forPlan(w, r, func(m *made) error {
		b, err := m.binary()
		if err != nil {
			return err
		}
		return send(w, "application/octet-stream", b)
	})
}

// depthMap draws the predicted width over the work.
func (s *Server) depthMap(w http.ResponseWriter, r *http.Request) error {
	q := &query{Values: r.URL.Query()}
	pixels := q.whole("pixels", 600, leastPixels, 2000)
	if q.err != nil {
		return q.err
	}
	return s.forPlan(w, r, func(m *made) error {
		key := fmt.Sprint("map ", m.job.Digest, pixels)
		scale := m.widthScale()
		b, err := s.pictures.get(r.Context(), s.ctx, key, func(ctx context.Context) ([]byte, error) { return m.widthMap(ctx, pixels, scale) })
		if err != nil {
			return err
		}
		w.Header().Set("Brightcut-Scale", fmt.Sprintf("%.1f,%.1f,%.1f", 1000*scale[0], 1000*scale[1], 1000*scale[2]))
		return send(w, "image/png", b)
	})
}

// widthScale are the widths at the ends and in the middle of the map's colours,
// mm: twice the tolerance to either side of the wish.
func (m *made) widthScale() [3]float64 {
	wish := m.job.Setup.Cutter.Width(m.job.Setup.Depth)
	return [3]float64{wish * (1 - 2*m.plan.Tolerance), wish, wish * (1 + 2*m.plan.Tolerance)}
}

// widthMap colours each pixel by the nearest place of a cut.
func (m *made) widthMap(ctx context.Context, pixels int, scale [3]float64) ([]byte, error) {
	view := light.Whole(&m.job.Setup.Blank, pixels)
	pixel := view.Pixel()
	out := image.NewNRGBA(image.Rect(0, 0, view.W, view.H))
	nearest := make([]float32, view.W*view.H) // squared distance of the place that coloured it, pixels
	for i := range nearest {
		nearest[i] = math.MaxFloat32
	}
	reach := max(1.5, 0.5*scale[1]/pixel+1) // half a groove, pixels
	for number := 1; number <= len(m.plan.Prediction.Cuts); number++ {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		for _, p := range m.plan.Prediction.Places(number) {
			x := (p.X-view.Centre.X)/pixel + float64(view.W)/2 - 0.5
			y := float64(view.H)/2 - (p.Y-view.Centre.Y)/pixel - 0.5
			c := widthColour(p.Width, scale)
			for j := max(0, int(math.Ceil(y-reach))); j <= min(view.H-1, int(y+reach)); j++ {
				for i := max(0, int(math.Ceil(x-reach))); i <= min(view.W-1, int(x+reach)); i++ {
					dx, dy := float64(i)-x, float64(j)-y
					d := float32(dx*dx + dy*dy)
					if k := j*view.W + i; d < nearest[k] && float64(d) <= reach*reach {
						nearest[k] = d
						out.SetNRGBA(i, j, c)
					}
				}
			}
		}
	}
	var b bytes.Buffer
	err := png.Encode(&b, out)
	return b.Bytes(), err
}

// widthColour goes from blue where a groove is too narrow by light grey, where it
// is as wished, to orange where it is too wide, darker to both sides: two hues
// that eyes which take red for green tell apart.
func widthColour(width float64, scale [3]float64) color.NRGBA {
	off := max(-1, min(1, (width-scale[1])/(scale[2]-scale[1])))
	end := [3]float64{30, 80, 170}
	if off > 0 {
		end = [3]float64{190, 85, 0}
	}
	mix := func(i int) uint8 { return uint8(math.Round(232 + (end[i]-232)*math.Abs(off))) }
	return color.NRGBA{mix(0), mix(1), mix(2), 255}
}
