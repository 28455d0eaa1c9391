package bench

import (
	"context"
	"errors"
	"fmt"
	"os"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// ErrNotKept is the error of Append, Start and Import when the disk did not take
// it: nothing was counted.
var ErrNotKept = errors.New("nothing was counted")

// ErrNoRun is the error when the log has no such run.
var ErrNoRun = errors.New("there is no such run")

// NotKept says why the disk did not take an event. It is an ErrNotKept.
type NotKept struct {
	Why, Mend string // sentences
	Cause     error
}

// Error tells why and what would mend it.
func (e *NotKept) Error() string { return "Nothing was counted: " + e.Why + " " + e.Mend }

// Unwrap returns the cause.
func (e *NotKept) Unwrap() error { return e.Cause }

// Is says that it is an ErrNotKept.
func (e *NotKept) Is(target error) bool { return target == ErrNotKept }

// Torn says that the log of a run was altered or torn: it goes by nothing from
// there on.
type Torn struct {
	Run   string
	Good  int64 // Seq of the last event that is sound; 0 when none is
	State State // of those
	Why   string
}

// Error tells what is still good.
func (e *Torn) Error() string {
	if e.Good == 0 {
		return fmt.Sprintf("The log of run %s cannot be relied on: %s Nothing of it is sound; put back a copy of %s, or begin another run and tell it the place by the dials.", e.Run, e.Why, FileName)
	}
	return fmt.Sprintf("The log of run %s cannot be relied on after its event %d: %s Up to there it is sound, and cut %d was the next. Put back a copy of %s, or begin another run and tell it the place by the dials.",
		e.Run, e.Good, e.Why, e.State.Next, FileName)
}

// code is the primary result code of the database; 0 when the error is not its.
func code(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return 0
}

// unwritable says whether a file cannot be opened because the folder does not
// allow to write.
func unwritable(err error) bool {
	switch code(err) {
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		return true
	}
	return errors.Is(err, os.ErrPermission)
}

// notKept puts a failure to write into words.
func notKept(err error) error {
	var known *NotKept
	var torn *Torn
	if errors.As(err, &known) || errors.As(err, &torn) || errors.Is(err, ErrNoRun) || errors.Is(err, context.Canceled) {
		return err
	}
	e := &NotKept{Cause: err}
	switch code(err) {
	case sqlite3.SQLITE_FULL:
		e.Why, e.Mend = "the disk is full.", "Make room on it, then count again."
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
		e.Why, e.Mend = "the workshop's folder cannot be written.", "Give yourself the right to write in it, then count again."
	case sqlite3.SQLITE_CANTOPEN:
		e.Why, e.Mend = "the log cannot be opened in the workshop's folder.", "Look whether the folder is still there and may be written, then count again."
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		e.Why, e.Mend = "another program holds the log locked.", "Close the program that has "+FileName+" open, then count again."
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		e.Why, e.Mend = FileName+" is damaged.", "Put back a copy of it, or move it away and tell a new run the place by the dials."
	case sqlite3.SQLITE_IOERR:
		e.Why, e.Mend = fmt.Sprintf("the disk did not take it (%v).", err), "Look whether the disk is full or failing, then count again."
	default:
		e.Why, e.Mend = fmt.Sprintf("%v.", err), "Look at the disk and at the folder's rights, then count again."
	}
	return e
}

// opening puts a failure to open the log into words.
func opening(err error) error {
	switch code(err) {
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return fmt.Errorf("open the log of runs: %s is damaged or no log; put back a copy, or move it away: %w", FileName, err)
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return fmt.Errorf("open the log of runs: another program holds %s locked; close it: %w", FileName, err)
	}
	return fmt.Errorf("open the log of runs: %w", err)
}
