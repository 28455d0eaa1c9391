package bench

import (
	"fmt"
	"math"
	"time"
	"unicode/utf8"

	"brightcut/engine"
)

// Kind says what an event tells.
type Kind string

// The kinds of event.
const (
	Started   Kind = "started"
	Done      Kind = "done"       // Cut is cut
	Undone    Kind = "undone"     // the count named in Undoes is taken back
	Skipped   Kind = "skipped"    // Cut is left out; Text says why
	Note      Kind = "note"       // Text
	Paused    Kind = "paused"     //
	Resumed   Kind = "resumed"    //
	Held      Kind = "held"       // guide or stop changed; Text says how
	Measured  Kind = "measured"   // Width of Cut at Piece and Reading
	TouchedUp Kind = "touched-up" // the cutter was sharpened or polished
	Placed    Kind = "placed"     // by the dials, Cut is the next one
	Settled   Kind = "settled"    // of the conflict named in Settles, Choice
	Finished  Kind = "finished"   //
	Abandoned Kind = "abandoned"  //
	Reopened  Kind = "reopened"   // after finished or abandoned
)

// The choices of a Settled event.
const (
	Count = "count" // what is in question holds
	Drop  = "drop"  // it does not
)

// What an event may hold at most.
const (
	mostID   = 64
	mostText = 2000 // characters
)

// Event is one line of the log of a run.
type Event struct {
	ID     string // given by the device that made it, never used twice
	Kind   Kind
	Cut    int       // in the order of cutting, from 1; 0 where it concerns none
	At     time.Time // by the clock of the device
	Device string

	// Seen is the greatest Seq of the run that the device had seen when it made
	// the event. Events made one after the other without the network carry the
	// same Seen and build on one another.
	Seen int64

	Undoes  string  // Undone: ID of the Done or Skipped event that it takes back
	Piece   int     // Measured: of the cut, from 1; 0 when it has only one
	Reading float64 // Measured: along the stroke, mm, or the spindle, rad
	Width   float64 // Measured, mm
	Text    string
	Settles string // Settled: ID of the event in question
	Choice  string // Settled: Count or Drop
	Place   string // where the device stood or what was measured there, in the user's words

	// The log fills in what follows; what a device says of it is not taken.
	Seq      int64           // place in the log of the run, from 1
	Kept     time.Time       // when it was brought to the disk
	Settings engine.Settings // in force: those of Cut, or of the cut counted last
	Digest   string          // of the frozen job
}

// counting says whether the kind changes the count or ends it.
func (k Kind) counting() bool {
	switch k {
	case Done, Undone, Skipped, Placed, Finished, Abandoned:
		return true
	}
	return false
}

// unfit says why an event cannot be of a run of so many strokes, "" when it can.
// Only what is malformed is unfit: what contradicts the log is kept as a conflict.
func (e *Event) unfit(strokes int) string {
	if !validID(e.ID) {
		return fmt.Sprintf("an event needs an id of 1 to %d letters, digits, dashes, dots or colons", mostID)
	}
	cut := func(least, most int) string {
		if e.Cut < least || e.Cut > most {
			return fmt.Sprintf("there is no cut %d in this run, which has %d", e.Cut, strokes)
		}
		return ""
	}
	for name, text := range map[string]string{"text": e.Text, "place": e.Place, "device": e.Device} {
		if !utf8.ValidString(text) || utf8.RuneCountInString(text) > mostText {
			return fmt.Sprintf("the %s is longer than %d characters, or no text", name, mostText)
		}
	}
	if e.Seen < 0 {
		return "seen cannot be below 0"
	}
	if y := e.At.Year(); !e.At.IsZero() && (y < 1900 || y > 9999) {
		return fmt.Sprintf("the time lies in the year %d; look at the clock of the device", y)
	}
	if math.IsNaN(e.Reading) || math.IsInf(e.Reading, 0) || math.Abs(e.Reading) > 1e6 {
		return "the reading is no number that a scale shows"
	}
	switch e.Kind {
	case Done, Skipped:
		return cut(1, strokes)
	case Placed:
		return cut(1, strokes+1)
	case Undone:
		if !validID(e.Undoes) {
			return "it does not say which count it takes back"
		}
	case Settled:
		if !validID(e.Settles) {
			return "it does not say which event it settles"
		}
		if e.Choice != Count && e.Choice != Drop {
			return fmt.Sprintf("a conflict is settled by %q or %q", Count, Drop)
		}
	case Measured:
		if !(e.Width > 0 && e.Width < 100) {
			return "a measured width must be above 0 and below 100 mm"
		}
		if e.Piece < 0 || e.Piece > 1e6 {
			return fmt.Sprintf("a cut has no piece %d", e.Piece)
		}
		return cut(1, strokes)
	case Started, Note, Paused, Resumed, Held, TouchedUp, Finished, Abandoned, Reopened:
	default:
		return fmt.Sprintf("no event is called %.40q", string(e.Kind))
	}
	return cut(0, strokes+1)
}

func validID(id string) bool {
	if id == "" || len(id) > mostID {
		return false
	}
	for _, c := range []byte(id) {
		if !(c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '-' || c == '.' || c == ':' || c == '_') {
			return false
		}
	}
	return true
}

// Verdict is what the log made of an event.
type Verdict string

// The verdicts.
const (
	Kept     Verdict = "kept"     // it is in the log and holds
	Already  Verdict = "already"  // this id, or the same fact from another device: counted once
	Conflict Verdict = "conflict" // it is in the log, without effect until someone settles it
	Refused  Verdict = "refused"  // malformed: it is not in the log
)

// Outcome is what became of one event.
type Outcome struct {
	ID      string
	Verdict Verdict
	Why     string // a sentence; empty for Kept
}
