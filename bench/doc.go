// Package bench keeps the run at the engine: which cuts of a job are done, in a
// log that is only ever added to.
package bench
