package main

import "brightcut/job"

type schemaCommand struct {
	Of string `arg:"" optional:"" default:"job" enum:"job,engine,bar,rosette,cutter,guide,metal,calibration" help:"What to describe: job, engine, bar, rosette, cutter, guide, metal or calibration."`
}

func (schemaCommand) Help() string {
	return `The schema is JSON Schema 2020-12. An editor that knows it completes the keys
and marks mistakes while you write. Examples:

  brightcut schema > job.schema.json
  brightcut schema engine > engine.schema.json`
}

func (c schemaCommand) Run(b console) error {
	text, err := job.Schema(), error(nil)
	if c.Of != "job" {
		text, err = job.PartSchema(c.Of)
	}
	if err != nil {
		return err
	}
	_, err = b.out.Write(text)
	return err
}
