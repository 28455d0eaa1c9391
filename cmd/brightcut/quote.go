package main

import (
	"fmt"
	"os"
	"path/filepath"

	"brightcut/bench"
	"brightcut/costing"
	"brightcut/job"
)

type quoteCommand struct {
	Job  string `arg:"" help:"Job file."`
	JSON bool   `name:"json" help:"Print the quote as JSON (docs/json.md names the keys)."`
}

func (quoteCommand) Help() string {
	return `The time of a stroke is learned from the runs of the same engine that were counted
in this workshop, else taken from the engine's file. Prices stand in
prices/prices.yaml beside the job (docs/record.md). Example:

  brightcut quote sunburst.yaml`
}

func (c quoteCommand) Run(b console) error {
	j, err := job.Read(c.Job)
	if err != nil {
		return err
	}
	list, err := j.Cuts(b)
	if err != nil {
		return err
	}
	folder := filepath.Dir(c.Job)
	prices, err := job.ReadPrices(os.DirFS(folder))
	if err != nil {
		return err
	}
	log, err := bench.Open(folder)
	if err != nil {
		return err
	}
	defer log.Close()
	learned, err := costing.Learn(b, log, j.Setup.Engine.Name)
	if err != nil {
		return fmt.Errorf("learn from the runs in %s: %w", folder, err)
	}
	q := costing.Of(j, list, learned, prices)
	if c.JSON {
		return printJSON(b.out, q.Report(j.Title))
	}
	fmt.Fprintf(b.out, "%s\n\n", j.Title)
	for _, s := range q.Sentences() {
		fmt.Fprintln(b.out, s)
	}
	if prices == nil {
		fmt.Fprintf(b.out, "Write the workshop's prices to %s for a sum.\n", filepath.Join(folder, job.PricesFile))
	}
	return nil
}
