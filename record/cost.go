package record

import (
	"context"
	"fmt"

	"brightcut/bench"
	"brightcut/costing"
	"brightcut/job"
)

// Cost tells what a piece like this takes by the pace of this run alone, with the
// workshop's prices, nil when it has none.
func Cost(ctx context.Context, run *bench.Run, worked bench.Worked, prices *job.Prices) (Section, error) {
	j, err := run.Frozen.Job()
	if err != nil {
		return Section{}, fmt.Errorf("reckon the cost: %w", err)
	}
	list, err := j.Cuts(ctx)
	if err != nil {
		return Section{}, fmt.Errorf("reckon the cost: %w", err)
	}
	q := costing.Of(j, list, bench.Learn([]bench.Worked{worked}), prices)
	return Section{Name: "What another like it takes", List: q.Sentences()}, nil
}
