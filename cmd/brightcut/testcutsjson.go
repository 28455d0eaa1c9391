package main

// testcutsReport is what testcuts --json prints.
type testcutsReport struct {
	File         string           `json:"file"`
	Cuts         int              `json:"cuts"`
	Scatter      float64          `json:"scatter_um"`
	Estimated    bool             `json:"scatter_estimated"`
	Freedom      float64          `json:"degrees_of_freedom"`
	Estimates    []estimateReport `json:"estimates"`
	Correlation  [][]float64      `json:"correlation"`
	ZeroHolds    string           `json:"zero_holds_flex_of,omitempty"`
	Residuals    []float64        `json:"residuals_um"`
	Outliers     []outlierReport  `json:"outliers"`
	Remarks      []string         `json:"remarks"`
	Setting      *settingReport   `json:"setting,omitempty"`
	Next         *nextReport      `json:"next,omitempty"`
	Kept         string           `json:"kept_in,omitempty"`
	CannotBeTold []faultReport    `json:"setting_faults,omitempty"`
}

type estimateReport struct {
	Name        string   `json:"name"`
	Unit        string   `json:"unit"`
	Value       *float64 `json:"value,omitempty"`
	Uncertainty *float64 `json:"uncertainty,omitempty"`
	Why         string   `json:"why,omitempty"`
	Add         string   `json:"add,omitempty"`
}

type outlierReport struct {
	Cut         int     `json:"cut"`
	Name        string  `json:"name"`
	Residual    float64 `json:"residual_um"`
	Studentised float64 `json:"studentised"`
	Limit       float64 `json:"limit"`
}

type settingReport struct {
	Width       float64 `json:"width_um"`
	Hand        string  `json:"hand"`
	Force       float64 `json:"force_n,omitempty"`
	Extension   float64 `json:"extension_um"`
	Uncertainty float64 `json:"extension_uncertainty_um"`
	Off         float64 `json:"width_uncertainty_um"`
}

type nextReport struct {
	Extension float64 `json:"extension_um"`
	Hand      string  `json:"hand,omitempty"`
	Force     float64 `json:"force_n,omitempty"`
	Settles   bool    `json:"settles"`
	Text      string  `json:"text"`
}

func newTestcutsReport(t *tried) testcutsReport {
	c := t.found
	um := func(mm float64) float64 { return rounded(1000*mm, 1e6) }
	r := testcutsReport{File: t.file, Cuts: len(t.cuts), Scatter: um(c.Scatter), Estimated: c.Estimated, Freedom: rounded(c.Freedom, 1e6),
		ZeroHolds: c.ZeroAtUsual, Residuals: []float64{}, Outliers: []outlierReport{}, Remarks: []string{}, Kept: t.kept}
	for _, e := range c.Estimates {
		f, _, key := scaled(e.Unit)
		one := estimateReport{Name: e.Name, Unit: key, Why: e.Why, Add: e.Add}
		if e.Known {
			v, u := rounded(f*e.Value, 1e6), rounded(f*e.Uncertainty, 1e6)
			one.Value, one.Uncertainty = &v, &u
		}
		r.Estimates = append(r.Estimates, one)
	}
	for _, row := range c.Correlation {
		line := make([]float64, len(row))
		for i := range row {
			line[i] = rounded(row[i], 1e6)
		}
		r.Correlation = append(r.Correlation, line)
	}
	for _, v := range c.Residuals {
		r.Residuals = append(r.Residuals, um(v))
	}
	for _, o := range c.Outliers {
		r.Outliers = append(r.Outliers, outlierReport{o.Index + 1, o.Name, um(o.Residual), rounded(o.Studentised, 1e6), rounded(o.Limit, 1e6)})
	}
	r.Remarks = append(r.Remarks, c.Remarks...)
	if s := t.setting; s != nil {
		r.Setting = &settingReport{um(t.width), orUsual(t.hand), t.force, um(s.Extension), um(s.Uncertainty), um(s.Width)}
	}
	for _, f := range t.why {
		r.CannotBeTold = append(r.CannotBeTold, faultReport{f.Origin.File, f.Origin.Line, f.Origin.Column, f.Field, f.Problem, f.Mend})
	}
	if n := t.next; n != nil {
		r.Next = &nextReport{um(n.Extension), n.Hand, n.Force, n.Settles, n.Text}
	}
	return r
}
