package bench

import "time"

// Phase is how far a run is.
type Phase string

// The phases.
const (
	UnderWay    Phase = "under way"
	AtRest      Phase = "paused"
	IsFinished  Phase = "finished"
	IsAbandoned Phase = "abandoned"
)

// State is what the log of a run means. It shares nothing with the tally that
// made it.
type State struct {
	Strokes     int
	Seq         int64 // of the last event
	Phase       Phase
	Next        int // first cut neither done nor skipped; Strokes + 1 when there is none
	Counted     int // cuts that someone counted, or witnessed after they were passed over
	Skipped     []Skip
	Unwitnessed []int // cuts that were passed over when the dials told the place
	Last        *Act  // what an undo would take back
	Open        []Question
	Held        *Event // the latest change of guide or stop
	Notes       []Event
	Measured    int // widths measured
	TouchUps    int
	Begun       time.Time // when the first event was made
	Latest      time.Time // when the last event was kept
}

// Skip is a cut left out.
type Skip struct {
	Cut    int
	Text   string // why
	Device string
}

// Act is a count that stands.
type Act struct {
	ID     string
	Kind   Kind // Done or Skipped
	Cut    int
	Device string
	At     time.Time
}

// Question is an event that contradicts the log, with what its device counted on
// top of it before it knew. Nothing of it holds until someone settles it.
type Question struct {
	Event     Event
	Why       string
	Following []Event
}
