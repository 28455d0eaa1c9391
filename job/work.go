package job

import (
	"context"
	"errors"
	"fmt"

	"brightcut/blank"
	"brightcut/depth"
	"brightcut/engine"
	"brightcut/fault"
	"brightcut/sight"
)

// Planned says whether the job tells enough of its stock or of what it wants for
// its depth to be planned: it has stock:, stop: or plan:.
func (j *Job) Planned() bool { return j.Stock != nil || j.Stop != nil || j.Wishes != nil }

// Form is what the readings of the stock leave beside its nominal form and the
// best plane; nil when the work was not read.
func (j *Job) Form() (*blank.Residual, error) {
	if j.Stock == nil || j.Stock.Readings == nil {
		return nil, nil
	}
	form, err := j.Stock.Readings.Residual(blank.ResidualOptions{Nominal: j.Setup.Blank.Nominal, Noise: j.Stock.Scatter})
	if err != nil {
		return nil, j.said(err, "work out the form of the stock")
	}
	return form, nil
}

// Work gathers what the depth of the job's cuts depends on.
func (j *Job) Work(list *engine.List) (*depth.Work, error) {
	w := &depth.Work{List: list, Cutter: j.Setup.Cutter, Blank: &j.Setup.Blank, Stop: j.Stop, Pressure: j.Hand, Depth: j.Setup.Depth}
	if j.Calibration != nil && j.Calibration.Wear != nil {
		w.Wear = j.Calibration.Wear.Value / 1000
	}
	if j.Guide != nil {
		g := *j.Guide
		g.Extension = j.Calibration.effective(j.Guide, j.Hand)
		w.Guide = &g
	}
	if j.Stock == nil {
		return w, nil
	}
	form, err := j.Form()
	if err != nil {
		return nil, err
	}
	if w.Stock, err = depth.NewStock(&j.Setup.Blank, j.Setup.Blank.Nominal, form, j.Stock.Untrued); err != nil {
		return nil, fmt.Errorf("work out the form of the stock of %s: %w", j.File, err)
	}
	return w, nil
}

// Plan makes the plan of the depth: how each cut is held, and the heights of the
// tip that come of it.
func (j *Job) Plan(ctx context.Context, list *engine.List) (*depth.Plan, *depth.Work, error) {
	w, err := j.Work(list)
	if err != nil {
		return nil, nil, err
	}
	var wishes depth.Wishes
	if j.Wishes != nil {
		wishes = *j.Wishes
	}
	if wishes.Tolerance, err = j.Tolerance(ctx, list); err != nil {
		return nil, nil, err
	}
	p, err := depth.MakePlan(ctx, w, wishes)
	if err != nil {
		return nil, nil, j.said(err, "plan the depth")
	}
	return p, w, nil
}

// Tolerance is the share of the width by which a groove may be off. Where the job
// leaves it to the eye it is what just does not show, in the piece's own metal and
// finish, and the usual one where no fault shows at all.
func (j *Job) Tolerance(ctx context.Context, list *engine.List) (float64, error) {
	switch {
	case j.Wishes == nil || j.Wishes.Tolerance == 0:
		return depth.DefaultTolerance, nil
	case j.Wishes.Tolerance != depth.Unseen:
		return j.Wishes.Tolerance, nil
	}
	scene, _ := j.Scene() // of silver, where the look of the metal is not known
	f, err := sight.Look(ctx, sight.Piece{Blank: &j.Setup.Blank, Cuts: list.Cuts, Cutter: j.Setup.Cutter, Depth: j.Setup.Depth}, scene)
	if err != nil {
		return 0, fmt.Errorf("work out what does not show on %s: %w", j.File, err)
	}
	if t := f.Reading.UsualShare; t > 0 && t < 1 {
		return t, nil
	}
	return depth.DefaultTolerance, nil
}

// said gives faults their places in the job's files, and other errors the job's.
func (j *Job) said(err error, doing string) error {
	var found fault.List
	if errors.As(err, &found) {
		return j.place(found)
	}
	return fmt.Errorf("%s of %s: %w", doing, j.File, err)
}

// setGuide checks the guide. One that leaves its extension open is set to give
// the wished depth on flat ground under the job's hand.
func (j *Job) setGuide() fault.List {
	l := j.Guide.Check()
	if j.Guide.Extension != 0 || j.Setup.Depth <= 0 {
		return l
	}
	j.Guide.Extension, _ = j.Extension()
	if j.Guide.Extension <= 0 {
		l = append(l, fault.Fault{Field: "extension", Problem: "the hand alone bends the cutter deeper than is wished", Mend: "press less, or wish for a deeper cut"})
	}
	return l
}

// Extension returns how far the cutter is to stand out beyond the guide's foot, as
// it is set, to give the wished depth on ground not yet cut, flat, under the job's
// hand; and the depth that it gives as it is. Both are 0 without a guide.
func (j *Job) Extension() (set, gives float64) {
	if j.Guide == nil {
		return 0, 0
	}
	gives = j.Calibration.effective(j.Guide, j.Hand) + j.Guide.Compliance*j.Hand.Force
	return j.Guide.Extension + j.Setup.Depth - gives, gives
}
