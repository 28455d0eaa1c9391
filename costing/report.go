package costing

import "math"

// Report is a quote as JSON has it.
type Report struct {
	Job      string   `json:"job"`
	Strokes  int      `json:"strokes"`
	LengthMM float64  `json:"length_mm"`
	Basis    string   `json:"basis"` // "runs", "engine" or "unknown"
	Runs     int      `json:"runs"`
	Stroke   *Band    `json:"stroke_seconds,omitempty"`
	Cutting  *Band    `json:"cutting_seconds,omitempty"`
	Life     *Band    `json:"cutter_life_mm,omitempty"`
	TouchUps *Band    `json:"touch_ups,omitempty"`
	Weight   float64  `json:"weight_g,omitempty"`
	Currency string   `json:"currency,omitempty"`
	Hours    *Band    `json:"hours,omitempty"`
	Work     *Band    `json:"work,omitempty"`
	Metal    *float64 `json:"metal,omitempty"`
	Total    *Band    `json:"total,omitempty"`
	Text     []string `json:"text"`
}

// Band is a Range as JSON has it.
type Band struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// Report returns the quote as JSON has it. What is not known is left out.
func (q Quote) Report(title string) Report {
	band := func(r Range, known bool) *Band {
		if !known {
			return nil
		}
		round := func(v float64) float64 { return math.Round(v*1000) / 1000 }
		return &Band{round(r.Value), round(r.Low), round(r.High)}
	}
	out := Report{
		Job: title, Strokes: q.Strokes, LengthMM: math.Round(q.Length*1000) / 1000, Basis: map[Basis]string{ByRuns: "runs", ByEngine: "engine", Unknown: "unknown"}[q.Basis],
		Runs: q.Runs, Stroke: band(q.Stroke, q.Basis != Unknown), Cutting: band(q.Cutting, q.Basis != Unknown),
		Life: band(q.Life, q.Life.Value > 0), TouchUps: band(q.TouchUps, q.Life.Value > 0), Weight: math.Round(q.Weight*1000) / 1000, Text: q.Sentences(),
	}
	if q.Currency != "" {
		out.Currency = q.Currency
		out.Hours, out.Work, out.Total = band(q.Hours, true), band(q.Work, true), band(q.Total, true)
		if q.Priced {
			metal := math.Round(q.Metal*1000) / 1000
			out.Metal = &metal
		}
	}
	return out
}
