package record

import (
	"bytes"
	"context"
	"time"

	"brightcut/bench"
	"brightcut/costing"
	"brightcut/inspect"
	"brightcut/job"
)

// Make makes the record of a run of a log, with its cost by the workshop's prices,
// nil when it has none, with the picture of so many pixels, and with the run's own
// file to carry along.
func Make(ctx context.Context, log *bench.Log, run *bench.Run, prices *job.Prices, zone *time.Location, pixels int) (*Record, error) {
	worked, err := costing.Worked(ctx, log, run)
	if err != nil {
		return nil, err
	}
	cost, err := Cost(ctx, run, worked, prices)
	if err != nil {
		return nil, err
	}
	found, _, err := Inspect(ctx, run, worked.Events, inspect.Options{})
	if err != nil {
		return nil, err
	}
	var archive bytes.Buffer
	if err := log.Export(ctx, run.ID, &archive); err != nil {
		return nil, err
	}
	return New(ctx, run, worked.Events, Options{Zone: zone, Pixels: pixels, Found: found, More: []Section{cost}, Archive: archive.Bytes()})
}
