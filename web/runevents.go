package web

import (
	"math"
	"net/http"
	"strconv"
	"time"

	"brightcut/bench"
)

// Events that go over in one request.
const (
	mostSent = 5000
	mostRead = 10_000
)

// sent is an event as a device sends it.
type sent struct {
	ID      string     `json:"id"`
	Kind    bench.Kind `json:"kind"`
	Cut     int        `json:"cut"`
	At      string     `json:"at"`
	Seen    int64      `json:"seen"`
	Undoes  string     `json:"undoes"`
	Piece   int        `json:"piece"`
	Reading float64    `json:"reading"` // mm, or degrees
	Width   float64    `json:"width_um"`
	Text    string     `json:"text"`
	Settles string     `json:"settles"`
	Choice  string     `json:"choice"`
	Place   string     `json:"place"`
}

// event is the event as the log takes it, or why it cannot be.
func (e *sent) event(device string, angle bool) (bench.Event, string) {
	out := bench.Event{ID: e.ID, Kind: e.Kind, Cut: e.Cut, Device: device, Seen: e.Seen, Undoes: e.Undoes, Piece: e.Piece,
		Reading: e.Reading, Width: e.Width / 1000, Text: e.Text, Settles: e.Settles, Choice: e.Choice, Place: e.Place}
	if angle {
		out.Reading = e.Reading * math.Pi / 180
	}
	if e.At != "" {
		at, err := time.Parse(time.RFC3339, e.At)
		if err != nil {
			return out, "its time is not one that can be read, such as 2026-03-05T10:02:00Z"
		}
		out.At = at
	}
	return out, ""
}

type outcomeView struct {
	ID      string        `json:"id"`
	Outcome bench.Verdict `json:"outcome"`
	Why     string        `json:"why,omitempty"`
}

type appended struct {
	Seq      int64         `json:"seq"`
	Outcomes []outcomeView `json:"outcomes"`
	Run      *runView      `json:"run,omitempty"`
}

// postEvents adds events to the log and answers when they are on the disk.
func (s *Server) postEvents(w http.ResponseWriter, r *http.Request) error {
	var q struct {
		Events []sent `json:"events"`
		Device string `json:"device"`
	}
	if err := ask(w, r, &q); err != nil {
		return err
	}
	if len(q.Events) > mostSent {
		return newProblem(http.StatusRequestEntityTooLarge, "request", "The request is too large", "at most %d events are taken at once; send them in parts, in their order", mostSent)
	}
	device, err := deviceOf(r, q.Device)
	if err != nil {
		return err
	}
	id := r.PathValue("run")
	l, err := s.ledger(r.Context(), id)
	if err != nil {
		return err
	}
	log, err := s.runs.open()
	if err != nil {
		return err
	}
	out := appended{Outcomes: make([]outcomeView, len(q.Events))}
	events := make([]bench.Event, 0, len(q.Events))
	places := make([]int, 0, len(q.Events)) // of each event among those sent
	for i := range q.Events {
		e, why := q.Events[i].event(device, l.angle)
		if why != "" {
			out.Outcomes[i] = outcomeView{e.ID, bench.Refused, why}
			continue
		}
		events, places = append(events, e), append(places, i)
	}
	a, err := log.Append(r.Context(), id, events)
	if err != nil {
		return err
	}
	out.Seq = a.Seq
	news := false
	for i, o := range a.Outcomes {
		out.Outcomes[places[i]] = outcomeView{o.ID, o.Verdict, o.Why}
		news = news || o.Verdict == bench.Kept || o.Verdict == bench.Conflict || o.Verdict == bench.Already
	}
	if news {
		s.hub.tell(event{name: "run", data: ran{id, a.Seq, clientOf(r)}})
	}
	// They are on the disk; what cannot be told of the run now is asked for again.
	if out.Run, err = s.runView(r.Context(), id, &a.State); err != nil {
		out.Run = nil
	}
	return answer(w, http.StatusOK, out)
}

// logged is an event as the log has it.
type logged struct {
	Seq      int64      `json:"seq"`
	ID       string     `json:"id"`
	Kind     bench.Kind `json:"kind"`
	Cut      int        `json:"cut,omitempty"`
	At       time.Time  `json:"at"`
	Kept     time.Time  `json:"kept"`
	Device   string     `json:"device,omitempty"`
	Seen     int64      `json:"seen"`
	Undoes   string     `json:"undoes,omitempty"`
	Piece    int        `json:"piece,omitempty"`
	Reading  *float64   `json:"reading,omitempty"` // of a measured one: mm, or degrees
	Width    float64    `json:"width_um,omitempty"`
	Text     string     `json:"text,omitempty"`
	Settles  string     `json:"settles,omitempty"`
	Choice   string     `json:"choice,omitempty"`
	Place    string     `json:"place,omitempty"`
	Settings settings   `json:"settings"`
}

// getEvents reads the log on from a place.
func (s *Server) getEvents(w http.ResponseWriter, r *http.Request) error {
	after := int64(0)
	if text := r.URL.Query().Get("after"); text != "" {
		var err error
		if after, err = strconv.ParseInt(text, 10, 64); err != nil || after < 0 {
			return badRequest("after=%s: the seq of the last event that was read is due", text)
		}
	}
	id := r.PathValue("run")
	l, err := s.ledger(r.Context(), id)
	if err != nil {
		return err
	}
	log, err := s.runs.open()
	if err != nil {
		return err
	}
	events, err := log.Events(r.Context(), id, after)
	if err != nil {
		return err
	}
	out := struct {
		Seq    int64    `json:"seq"`
		Events []logged `json:"events"`
	}{after, []logged{}}
	if n := len(events); n > 0 {
		out.Seq = events[n-1].Seq
	}
	for _, e := range events[:min(len(events), mostRead)] {
		v := logged{Seq: e.Seq, ID: e.ID, Kind: e.Kind, Cut: e.Cut, At: e.At, Kept: e.Kept, Device: s.devices.called(e.Device), Seen: e.Seen, Undoes: e.Undoes,
			Piece: e.Piece, Width: tidy(e.Width * 1000), Text: e.Text, Settles: e.Settles, Choice: e.Choice, Place: e.Place, Settings: settings(e.Settings)}
		if e.Kind == bench.Measured {
			reading := tidy(e.Reading)
			if l.angle {
				reading = tidy(degrees(e.Reading))
			}
			v.Reading = &reading
		}
		out.Events = append(out.Events, v)
	}
	return answer(w, http.StatusOK, out)
}
