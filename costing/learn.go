package costing

import (
	"context"
	"errors"

	"brightcut/bench"
)

// mostRuns bounds the runs that are learned from: the latest tell most.
const mostRuns = 20

// Learn gathers what the latest runs on an engine teach, by the name that its
// file gives it. A run whose log is torn or whose job the program now works out
// otherwise teaches nothing.
func Learn(ctx context.Context, log *bench.Log, engine string) (bench.Learned, error) {
	runs, err := log.Runs(ctx)
	if err != nil {
		return bench.Learned{}, err
	}
	var worked []bench.Worked
	for _, s := range runs {
		if len(worked) == mostRuns {
			break
		}
		if s.Torn != nil || s.State.Counted < 2 {
			continue
		}
		run, err := log.Run(ctx, s.ID)
		if err != nil {
			return bench.Learned{}, err
		}
		j, err := run.Frozen.Job()
		if err != nil || j.Setup.Engine.Name != engine {
			continue
		}
		w, err := Worked(ctx, log, run)
		if errors.Is(err, bench.ErrOtherCuts) {
			continue
		}
		if err != nil {
			return bench.Learned{}, err
		}
		worked = append(worked, w)
	}
	return bench.Learn(worked), nil
}

// Worked returns a run as far as costs are learned from it.
func Worked(ctx context.Context, log *bench.Log, run *bench.Run) (bench.Worked, error) {
	p, err := run.Plan(ctx)
	if err != nil {
		return bench.Worked{}, err
	}
	w := bench.Worked{Lengths: make([]float64, len(p.Cuts))}
	for i := range p.Cuts {
		w.Lengths[i] = p.Cuts[i].Length
	}
	w.Events, err = log.Events(ctx, run.ID, 0)
	return w, err
}
