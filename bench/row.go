package bench

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"brightcut/engine"
)

// row is an event as it stands in the log and in the file of a run: one line of
// JSON. Nothing is ever taken out of it.
type row struct {
	Seq     int64     `json:"seq"`
	ID      string    `json:"id"`
	Kind    Kind      `json:"kind"`
	Cut     int       `json:"cut,omitempty"`
	At      time.Time `json:"at"`
	Kept    time.Time `json:"kept"`
	Device  string    `json:"device,omitempty"`
	Seen    int64     `json:"seen"`
	Undoes  string    `json:"undoes,omitempty"`
	Piece   int       `json:"piece,omitempty"`
	Reading float64   `json:"reading,omitempty"`
	Width   float64   `json:"width,omitempty"`
	Text    string    `json:"text,omitempty"`
	Settles string    `json:"settles,omitempty"`
	Choice  string    `json:"choice,omitempty"`
	Place   string    `json:"place,omitempty"`
	Slide   int       `json:"slide"`
	Index   int       `json:"index"`
	Shift   int       `json:"shift"`
	Chuck   int       `json:"chuck"`
	Bar     string    `json:"bar,omitempty"`
	Digest  string    `json:"digest"`
}

// body writes an event as the log keeps it.
func (e *Event) body() ([]byte, error) {
	return json.Marshal(row{Seq: e.Seq, ID: e.ID, Kind: e.Kind, Cut: e.Cut, At: e.At, Kept: e.Kept, Device: e.Device, Seen: e.Seen, Undoes: e.Undoes,
		Piece: e.Piece, Reading: e.Reading, Width: e.Width, Text: e.Text, Settles: e.Settles, Choice: e.Choice, Place: e.Place,
		Slide: e.Settings.Slide, Index: e.Settings.Index, Shift: e.Settings.Shift, Chuck: e.Settings.Chuck, Bar: e.Settings.Bar, Digest: e.Digest})
}

// readBody reads an event that the log kept.
func readBody(body []byte) (Event, error) {
	var r row
	d := json.NewDecoder(bytes.NewReader(body))
	d.DisallowUnknownFields()
	if err := d.Decode(&r); err != nil {
		return Event{}, err
	}
	return Event{Seq: r.Seq, ID: r.ID, Kind: r.Kind, Cut: r.Cut, At: r.At, Kept: r.Kept, Device: r.Device, Seen: r.Seen, Undoes: r.Undoes,
		Piece: r.Piece, Reading: r.Reading, Width: r.Width, Text: r.Text, Settles: r.Settles, Choice: r.Choice, Place: r.Place,
		Settings: engine.Settings{Slide: r.Slide, Index: r.Index, Shift: r.Shift, Chuck: r.Chuck, Bar: r.Bar}, Digest: r.Digest}, nil
}

// link is the chain's next link: SHA-256 of the one before and the row.
func link(before, body []byte) []byte {
	h := sha256.New()
	h.Write(before)
	h.Write(body)
	return h.Sum(nil)
}

// same says whether two events tell the same, as far as a device tells it.
func same(a, b Event) bool {
	for _, e := range []*Event{&a, &b} {
		e.Seq, e.Kept, e.Settings, e.Digest = 0, time.Time{}, engine.Settings{}, ""
		if e.Kind == Undone {
			e.Cut = 0 // the log fills it in
		}
	}
	if !a.At.Equal(b.At) && !a.At.IsZero() && !b.At.IsZero() {
		return false
	}
	a.At, b.At = time.Time{}, time.Time{}
	return a == b
}

// head is what a run begins with; the chain begins with it.
type head struct {
	Format   int       `json:"format"`
	ID       string    `json:"id"`
	Job      string    `json:"job"`
	Title    string    `json:"title"`
	Device   string    `json:"device,omitempty"`
	At       time.Time `json:"at"`
	Digest   string    `json:"digest"` // of the frozen job
	Strokes  int       `json:"strokes"`
	Circle   int       `json:"circle"`
	Rounds   Rounds    `json:"rounds"`
	Files    []named   `json:"files"`
	Settings string    `json:"settings"` // digest of the file with the settings of every cut
}

// named is a frozen file: its name and the SHA-256 of its contents, hex.
type named struct {
	Name   string `json:"name"`
	Digest string `json:"digest"`
}

func digestOf(body []byte) string {
	sum := sha256.Sum256(body)
	return hex.EncodeToString(sum[:])
}

// settingsText writes the settings of every cut, a line each.
func settingsText(cuts []engine.Cut) []byte {
	var b bytes.Buffer
	for i := range cuts {
		s := &cuts[i].Settings
		fmt.Fprintf(&b, "%d %d %d %d %s\n", s.Slide, s.Index, s.Shift, s.Chuck, s.Bar)
	}
	return b.Bytes()
}

// readSettings reads what settingsText wrote.
func readSettings(text []byte, strokes int) ([]engine.Settings, error) {
	out := make([]engine.Settings, 0, min(strokes, mostStrokes))
	bars := map[string]string{} // one string a bar, not one a cut
	for line := range bytes.Lines(text) {
		if len(out) == strokes {
			return nil, fmt.Errorf("there are more settings than the %d cuts of the run", strokes)
		}
		var s engine.Settings
		line, ok := bytes.CutSuffix(line, []byte("\n"))
		words := strings.SplitN(string(line), " ", 5)
		if !ok || len(words) != 5 {
			return nil, fmt.Errorf("the settings of cut %d cannot be read", len(out)+1)
		}
		for i, to := range []*int{&s.Slide, &s.Index, &s.Shift, &s.Chuck} {
			n, err := strconv.Atoi(words[i])
			if err != nil {
				return nil, fmt.Errorf("the settings of cut %d cannot be read: %w", len(out)+1, err)
			}
			*to = n
		}
		if b, ok := bars[words[4]]; ok {
			s.Bar = b
		} else {
			s.Bar = strings.Clone(words[4])
			bars[s.Bar] = s.Bar
		}
		out = append(out, s)
	}
	if len(out) != strokes {
		return nil, fmt.Errorf("there are settings of %d cuts, and the run has %d", len(out), strokes)
	}
	return slices.Clip(out), nil
}
