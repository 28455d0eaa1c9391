package main

import (
	"strings"

	"brightcut/depth"
	"brightcut/engine"
)

// depthReport is what depth --json prints.
type depthReport struct {
	Job         string            `json:"job"`
	Digest      string            `json:"digest"`
	ReadingUnit string            `json:"reading_unit"`
	Strokes     int               `json:"strokes"`
	WishedDepth float64           `json:"wished_depth_um"`
	WishedWidth float64           `json:"wished_width_um"`
	Tolerance   float64           `json:"tolerance"`
	Calibrated  string            `json:"calibrated,omitempty"`
	Begin       int               `json:"begin,omitempty"`
	Advance     string            `json:"advance,omitempty"`
	Holds       []holdReport      `json:"holds"`
	Compared    []spreadReport    `json:"compared"`
	Choices     []choiceReport    `json:"choices"`
	Influences  []influenceReport `json:"sensitivity,omitempty"`
	Cuts        []cutDepthReport  `json:"cuts"`
}

type rangeReport struct {
	Min  float64 `json:"min"`
	Mean float64 `json:"mean"`
	Max  float64 `json:"max"`
}

type holdReport struct {
	First   int      `json:"first_cut"`
	Last    int      `json:"last_cut"`
	By      string   `json:"hold"`
	Groove  int      `json:"groove,omitempty"`
	Reading *float64 `json:"reading,omitempty"`
	Lift    *float64 `json:"lift_um,omitempty"`
}

type spreadReport struct {
	Name   string      `json:"name"`
	Width  rangeReport `json:"width_um"`
	Step   float64     `json:"step_um"`
	StepTo int         `json:"step_to_cut,omitempty"`
	StepAt float64     `json:"step_at"`
	Within float64     `json:"within_share"`
	Out    int         `json:"cuts_outside"`
}

type choiceReport struct {
	Kind   string `json:"kind"`
	First  int    `json:"first_cut,omitempty"`
	Last   int    `json:"last_cut,omitempty"`
	Forced bool   `json:"forced,omitempty"`
	Text   string `json:"text"`
}

type influenceReport struct {
	Of     string  `json:"of"`
	Change float64 `json:"change"`
	Unit   string  `json:"unit"`
	By     string  `json:"hold"`
	Width  float64 `json:"width_um"`
	Most   float64 `json:"most_um"`
	Share  float64 `json:"share"`
}

type cutDepthReport struct {
	Number    int           `json:"number"`
	Written   int           `json:"job_number"`
	By        string        `json:"hold"`
	Depth     rangeReport   `json:"depth_um"`
	Width     rangeReport   `json:"width_um"`
	Reference string        `json:"reference"`
	Lowered   float64       `json:"lowered_um"`
	Scatter   float64       `json:"width_scatter_um"`
	Step      float64       `json:"step_um"`
	StepAt    float64       `json:"step_at"`
	Out       float64       `json:"outside_share"`
	Places    []placeReport `json:"places,omitempty"`
	Stance    *stanceReport `json:"stance,omitempty"`
}

type stanceReport struct {
	Along   float64 `json:"along_mm"`
	Swing   float64 `json:"swing_deg"`
	Slide   float64 `json:"slide_mm"`
	Advance float64 `json:"advance_mm"`
	Deeper  float64 `json:"guide_error_um"`
	Lean    float64 `json:"lean_deg"`
}

type placeReport struct {
	Reading   float64 `json:"reading"`
	X         float64 `json:"x_mm"`
	Y         float64 `json:"y_mm"`
	Depth     float64 `json:"depth_um"`
	Width     float64 `json:"width_um"`
	Reference string  `json:"reference"`
}

func newDepthReport(t *foretold, from, to int) depthReport {
	um := func(mm float64) float64 { return rounded(1000*mm, 1e4) }
	span := func(r depth.Range) rangeReport { return rangeReport{um(r.Min), um(r.Mean), um(r.Max)} }
	reading, unit := func(v float64) float64 { return rounded(v, 1e6) }, "mm"
	if t.job.Setup.Engine.Kind == engine.Rose {
		reading, unit = func(v float64) float64 { return rounded(degrees(v), 1e6) }, "deg"
	}
	r := depthReport{Job: t.job.Title, Digest: t.job.Digest, ReadingUnit: unit, Strokes: len(t.list.Cuts),
		WishedDepth: um(t.job.Setup.Depth), WishedWidth: um(t.job.Setup.Cutter.Width(t.job.Setup.Depth)), Tolerance: t.tolerance,
		Holds: []holdReport{}, Compared: []spreadReport{}, Choices: []choiceReport{}, Cuts: []cutDepthReport{}}
	if t.job.Calibration != nil {
		r.Calibrated = t.job.Calibration.Date
	}
	spreads := []depth.Spread{t.prediction.Spread}
	if p := t.plan; p != nil {
		r.Begin, r.Advance, spreads = p.Begin, p.Advance.String(), p.Compared
		for _, c := range p.Choices {
			r.Choices = append(r.Choices, choiceReport{c.Kind, c.First, c.Last, c.Forced, c.Text})
		}
	}
	for _, h := range t.prediction.Holds {
		one := holdReport{First: h.First, Last: h.Last, By: h.By.String()}
		if h.By == depth.ByStop {
			at, lift := reading(h.Reading), um(h.Lift)
			one.Groove, one.Reading, one.Lift = h.Groove, &at, &lift
		}
		r.Holds = append(r.Holds, one)
	}
	for _, s := range spreads {
		r.Compared = append(r.Compared, spreadReport{s.Name, span(s.Width), um(s.Step), s.StepTo, reading(s.StepAt), rounded(s.Within, 1e6), s.Out})
	}
	for _, f := range t.influences {
		r.Influences = append(r.Influences, influenceReport{f.Of, f.Change, strings.Replace(f.Unit, "µ", "u", 1), f.By.String(), um(f.Width), um(f.Most), rounded(f.Share, 1e6)})
	}
	for i := from; i <= to; i++ {
		d := &t.prediction.Cuts[i-1]
		one := cutDepthReport{d.Number, d.Written, d.By.String(), span(d.Depth), span(d.Width), d.Reference.String(), um(d.Lowered), um(d.Scatter), um(d.Step), reading(d.StepAt), rounded(d.Out, 1e6), nil, nil}
		for _, at := range t.places {
			if q, ok := t.prediction.At(i, at); ok {
				one.Places = append(one.Places, placeReport{reading(at), rounded(q.X, 1e6), rounded(q.Y, 1e6), um(q.Depth), um(q.Width), q.Reference.String()})
			}
		}
		if len(t.stances) > 0 {
			s := &t.stances[d.Written-1]
			one.Stance = &stanceReport{tidy(s.Along), rounded(degrees(s.Swing), 1e6), tidy(s.Slide), tidy(s.Advance), um(s.GuideError), rounded(degrees(s.Lean), 1e6)}
		}
		r.Cuts = append(r.Cuts, one)
	}
	return r
}
