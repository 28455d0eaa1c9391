// Package job reads and writes the job file: one YAML file a job, with the
// parts a workshop owns in files of their own beside it.
//
// A job becomes an engine.Setup, in millimetres and radians; the units of the
// file end here. Reading is strict and reports every fault of a file at once,
// with its line and column and what would mend it.
package job
