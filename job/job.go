package job

import (
	"brightcut/cutter"
	"brightcut/depth"
	"brightcut/engine"
)

// Units are those in which a job's bare numbers are written and its lengths shown.
type Units int

// The units a job may use.
const (
	Millimetre Units = iota + 1
	Inch
)

// Job is a job file, read.
type Job struct {
	Title  string
	Units  Units
	Setup  engine.Setup
	Metal  cutter.Metal
	Finish Finish
	Guide  *depth.Guide // nil when the job names none
	Stock  *Stock       // nil when the job says nothing of it
	Stop   *depth.Stop  // nil when the engine has none set
	Hand   depth.Pressure
	Wishes *depth.Wishes // what the plan of the depth must keep to; nil when the job asks for none
	Notes  string

	// Calibration is what test cuts told of cutter and guide; Setup.Cutter and
	// Guide have its values already. nil when there were none.
	Calibration *Calibration

	File   string // the path it was read from, as the user gave it
	Digest string // SHA-256 of the job's text and of every part it names, hex

	reading *reading // where each value stands; nil for a job that no file was read for
}
