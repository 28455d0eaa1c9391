package record

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"brightcut/bench"
)

// keeper reads a log for the record.
type keeper struct {
	run     *bench.Run
	program *bench.Program
	events  []bench.Event
	zone    *time.Location
}

// zoneName names the zone by its offset at the start; a piece is seldom cut over
// the night when clocks change, and then the offsets of both stand in the times.
func (k *keeper) zoneName() string {
	_, offset := k.run.Started.In(k.zone).Zone()
	if offset == 0 {
		return "UTC"
	}
	sign := '+'
	if offset < 0 {
		sign, offset = '-', -offset
	}
	return fmt.Sprintf("UTC%c%02d:%02d", sign, offset/3600, offset/60%60)
}

const day = "2 January 2006"

func (k *keeper) day(t time.Time) string { return t.In(k.zone).Format(day) }

func (k *keeper) clock(t time.Time) string { return t.In(k.zone).Format("15.04") }

// lengths are those of the cuts in the metal, in their order.
func (k *keeper) lengths() []float64 {
	out := make([]float64, len(k.program.Cuts))
	for i := range k.program.Cuts {
		out[i] = k.program.Cuts[i].Length
	}
	return out
}

// devices lists those that told anything, in the order of their names.
func (k *keeper) devices() []string {
	var out []string
	for i := range k.events {
		if d := k.events[i].Device; d != "" && !slices.Contains(out, d) {
			out = append(out, d)
		}
	}
	slices.Sort(out)
	return out
}

func (k *keeper) summary() []string {
	s := k.run.State
	phase := map[bench.Phase]string{bench.UnderWay: "is under way", bench.AtRest: "is paused", bench.IsFinished: "was finished", bench.IsAbandoned: "was abandoned"}[s.Phase]
	out := []string{fmt.Sprintf("The run of %s was begun on %s at %s and %s.", k.run.Title, k.day(k.run.Started), k.clock(k.run.Started), phase)}
	counted := fmt.Sprintf("%d of %s counted", s.Counted, many(s.Strokes, "cut"))
	if n := len(s.Skipped); n > 0 {
		counted += fmt.Sprintf(", %d left out", n)
	}
	if n := len(s.Unwitnessed); n > 0 {
		counted += fmt.Sprintf(", %d passed over by the dials without a count", n)
	}
	if n := len(s.Open); n > 0 {
		counted += fmt.Sprintf(", %s not settled", many(n, "conflict"))
	}
	out = append(out, counted+".")
	if p := bench.PaceOf(k.events, k.lengths()); p.Cuts > 0 {
		pace := fmt.Sprintf("A cut took %.1f s (four in five between %.1f and %.1f s), breaks apart", p.Seconds, p.Low, p.High)
		if at := k.at(); len(at) > 1 {
			pace += fmt.Sprintf("; from the first count to the last %s went by", lasting(at[len(at)-1].Sub(at[0])))
		}
		out = append(out, pace+".")
	}
	if d := k.devices(); len(d) > 0 {
		out = append(out, "Counted at: "+strings.Join(d, ", ")+".")
	}
	return append(out, fmt.Sprintf("Times are %s, by the clocks of the devices that counted.", k.zoneName()))
}

// at are the times of the counts.
func (k *keeper) at() []time.Time {
	var out []time.Time
	for i := range k.events {
		if k.events[i].Kind == bench.Done {
			out = append(out, k.events[i].At)
		}
	}
	slices.SortFunc(out, time.Time.Compare)
	return out
}

// told tells the log line by line: counts that follow one another in one line.
func (k *keeper) told() []string {
	pause := time.Duration(math.MaxInt64)
	if p := bench.PaceOf(k.events, k.lengths()); p.Cuts > 0 {
		pause = max(2*time.Minute, time.Duration(p.CutOff*float64(time.Second)))
	}
	open := map[string]bool{}
	for _, q := range k.run.State.Open {
		open[q.Event.ID] = true
		for _, e := range q.Following {
			open[e.ID] = true
		}
	}
	var out []string
	var from, to *bench.Event // of a run of counts
	date := ""
	line := func(t time.Time, text string) {
		if d := k.day(t); d != date {
			date = d
			text = d + ", " + text
		}
		out = append(out, text)
	}
	flush := func() {
		if from == nil {
			return
		}
		at := k.clock(from.At)
		if t := k.clock(to.At); t != at {
			at += "–" + t
		}
		what := fmt.Sprintf("cut %d counted", from.Cut)
		if to.Cut > from.Cut {
			what = fmt.Sprintf("cuts %d to %d counted", from.Cut, to.Cut)
		}
		line(from.At, at+": "+what+by(from.Device)+".")
		from = nil
	}
	for i := range k.events {
		e := &k.events[i]
		if e.Kind == bench.Done && !open[e.ID] {
			if from != nil && e.Cut == to.Cut && e.Device != from.Device {
				continue // the same cut from another device
			}
			if from != nil && e.Device == from.Device && e.Cut == to.Cut+1 && e.At.Sub(to.At) <= pause {
				to = e
				continue
			}
			rest := time.Duration(0)
			if from != nil && e.Device == from.Device && e.Cut == to.Cut+1 {
				rest = e.At.Sub(to.At)
			}
			flush()
			if rest > 0 {
				out = append(out, fmt.Sprintf("A break of %s.", lasting(rest)))
			}
			from, to = e, e
			continue
		}
		flush()
		if text := k.sentence(e); text != "" {
			if open[e.ID] {
				text += " It contradicts the log and was not settled."
			}
			line(e.At, k.clock(e.At)+": "+text)
		}
	}
	flush()
	return out
}

func by(device string) string {
	if device == "" {
		return ""
	}
	return " at " + device
}

// sentence tells one event that is no count. Widths have a table of their own.
func (k *keeper) sentence(e *bench.Event) string {
	why := ""
	if e.Text != "" {
		why = ": " + strings.TrimSuffix(e.Text, ".")
	}
	switch e.Kind {
	case bench.Started:
		return "the run was begun" + by(e.Device) + "."
	case bench.Done:
		return fmt.Sprintf("cut %d counted%s.", e.Cut, by(e.Device))
	case bench.Undone:
		return fmt.Sprintf("the count of cut %d was taken back%s.", e.Cut, by(e.Device))
	case bench.Skipped:
		return fmt.Sprintf("cut %d was left out%s.", e.Cut, why)
	case bench.Note:
		return "note" + why + "."
	case bench.Paused:
		return "paused" + why + "."
	case bench.Resumed:
		return "gone on with" + why + "."
	case bench.Held:
		return fmt.Sprintf("the hold of the depth was changed%s.", why)
	case bench.TouchedUp:
		return "the cutter was touched up" + why + "."
	case bench.Placed:
		return fmt.Sprintf("by the dials, cut %d was the next%s.", e.Cut, why)
	case bench.Settled:
		if e.Choice == bench.Drop {
			return "a count in question was dropped" + why + "."
		}
		return "a count in question was settled" + why + "."
	case bench.Finished:
		return "finished" + why + "."
	case bench.Abandoned:
		return "abandoned" + why + "."
	case bench.Reopened:
		return "taken up again" + why + "."
	}
	return ""
}
